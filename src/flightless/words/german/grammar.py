"""German small change: genders and cases of the men, lists, numbers, names of lines.

Nothing here knows what a sentence is about.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Literal

import chess

from flightless.words.notation import Ear, Step
from flightless.words.notation import eye as plain_eye
from flightless.words.notation import figure_line as plain_line
from flightless.words.places import Line, Places, Span, by_name

__all__ = [
    "GERMAN_EAR",
    "LETTERS",
    "SIDE",
    "Case",
    "a",
    "adjective",
    "eye",
    "figure_line",
    "his",
    "line_name",
    "listed",
    "men_on",
    "name",
    "number",
    "place_phrase",
    "plural",
    "pronoun",
    "sentence",
    "sq",
    "sqs",
    "the",
    "times",
]

Case = Literal["nom", "acc", "dat", "gen"]

SIDE = {chess.WHITE: "Weiß", chess.BLACK: "Schwarz"}
LETTERS = {"K": "K", "Q": "D", "R": "T", "B": "L", "N": "S"}
_GENDER = {chess.QUEEN: "f"}  # all others are masculine
_NAMES: dict[chess.PieceType, dict[Case, str]] = {
    chess.PAWN: {"nom": "Bauer", "acc": "Bauern", "dat": "Bauern", "gen": "Bauern"},
    chess.KNIGHT: {"nom": "Springer", "acc": "Springer", "dat": "Springer", "gen": "Springers"},
    chess.BISHOP: {"nom": "Läufer", "acc": "Läufer", "dat": "Läufer", "gen": "Läufers"},
    chess.ROOK: {"nom": "Turm", "acc": "Turm", "dat": "Turm", "gen": "Turms"},
    chess.QUEEN: {"nom": "Dame", "acc": "Dame", "dat": "Dame", "gen": "Dame"},
    chess.KING: {"nom": "König", "acc": "König", "dat": "König", "gen": "Königs"},
}
_PLURALS = {
    chess.PAWN: "Bauern",
    chess.KNIGHT: "Springer",
    chess.BISHOP: "Läufer",
    chess.ROOK: "Türme",
    chess.QUEEN: "Damen",
}
_THE: dict[str, dict[Case, str]] = {
    "m": {"nom": "der", "acc": "den", "dat": "dem", "gen": "des"},
    "f": {"nom": "die", "acc": "die", "dat": "der", "gen": "der"},
    "pl": {"nom": "die", "acc": "die", "dat": "den", "gen": "der"},
}
_ENDING: dict[str, dict[Case, str]] = {
    "m": {"nom": "", "acc": "en", "dat": "em", "gen": "es"},
    "f": {"nom": "e", "acc": "e", "dat": "er", "gen": "er"},
    "pl": {"nom": "e", "acc": "e", "dat": "en", "gen": "er"},
}
_PRONOUN: dict[str, dict[Case, str]] = {
    "m": {"nom": "er", "acc": "ihn", "dat": "ihm", "gen": "seiner"},
    "f": {"nom": "sie", "acc": "sie", "dat": "ihr", "gen": "ihrer"},
}
_NUMBERS = (
    *("null", "eins", "zwei", "drei", "vier", "fünf", "sechs"),
    *("sieben", "acht", "neun", "zehn", "elf", "zwölf"),
)
_RANKS = ("ersten", "zweiten", "dritten", "vierten", "fünften", "sechsten", "siebten", "achten")

GERMAN_EAR = Ear(
    men={kind: forms["nom"] for kind, forms in _NAMES.items()},
    takes="schlägt",
    to="nach",
    check="Schach",
    mate="matt",
    short_castling="kurze Rochade",
    long_castling="lange Rochade",
    promotes="und verwandelt sich in",
    en_passant="im Vorübergehen",
    origin="von",
)


def eye(step: Step, *, numbered: bool = True, mate_word: str = " matt") -> str:
    """A move with German letters: '1.Te8+', '2.Txe8 matt'."""
    return plain_eye(step, numbered=numbered, letters=LETTERS, mate_word=mate_word)


def figure_line(line: Iterable[Step]) -> str:
    """A run of moves: '1.Te8+ Txe8 2.Txe8 matt'."""
    return plain_line(line, LETTERS).replace(" mate", " matt")


def gender(kind: chess.PieceType) -> str:
    """'m' or 'f'."""
    return _GENDER.get(kind, "m")


def name(kind: chess.PieceType, case: Case = "nom") -> str:
    """The man in a case, without an article."""
    return _NAMES[kind][case]


def plural(kind: chess.PieceType, case: Case = "nom") -> str:
    """Several of a kind; the dative has an n more."""
    word = _PLURALS[kind]
    return word + "n" if case == "dat" and not word.endswith("n") else word


def the(kind: chess.PieceType, case: Case = "nom") -> str:
    """'den Turm'."""
    return f"{_THE[gender(kind)][case]} {name(kind, case)}"


def the_several(kind: chess.PieceType, case: Case = "nom") -> str:
    """'den Türmen'."""
    return f"{_THE['pl'][case]} {plural(kind, case)}"


def a(kind: chess.PieceType, case: Case = "nom") -> str:
    """'einen Turm'."""
    return f"ein{_ENDING[gender(kind)][case]} {name(kind, case)}"


def his(kind: chess.PieceType, many: bool, case: Case = "nom", own: bool = False) -> str:
    """'sein eigener Turm', 'seinen Bauern'."""
    key = "pl" if many else gender(kind)
    possessive = f"sein{_ENDING[key][case]}"
    word = plural(kind, case) if many else name(kind, case)
    if not own:
        return f"{possessive} {word}"
    return f"{possessive} {adjective('eigen', kind, many, case)} {word}"


def adjective(stem: str, kind: chess.PieceType, many: bool, case: Case) -> str:
    """An adjective after 'sein' or 'ein'."""
    if case == "nom":
        return stem + ("en" if many else "er" if gender(kind) == "m" else "e")
    if case == "acc" and not many and gender(kind) == "f":
        return stem + "e"
    return stem + "en"


def pronoun(kind: chess.PieceType, case: Case = "acc") -> str:
    """'er', 'ihn', 'sie'."""
    return _PRONOUN[gender(kind)][case]


def number(n: int) -> str:
    """Numbers up to twelve as words."""
    return _NUMBERS[n] if n < len(_NUMBERS) else f"{n:,}".replace(",", ".")


def times(n: int, one: str, many: str) -> str:
    """'einem Zug', 'zwei Zügen'."""
    return one if n == 1 else f"{number(n)} {many}"


def listed(items: Iterable[str], last: str = "und") -> str:
    """'a', 'a und b', 'a, b und c'."""
    things = list(items)
    if len(things) < 2:
        return "".join(things)
    return f"{', '.join(things[:-1])} {last} {things[-1]}"


def sq(square: chess.Square) -> str:
    """The name of a square."""
    return chess.square_name(square)


def sqs(squares: Iterable[chess.Square], last: str = "und") -> str:
    """Squares by file and rank, joined."""
    return listed((sq(s) for s in sorted(squares, key=by_name)), last)


def line_name(line: Line) -> str:
    """'auf der Grundreihe', 'auf der h-Linie', in the dative."""
    if line.kind == "rank":
        return f"auf der {_RANKS[line.index]} Reihe"
    if line.kind == "file":
        return f"auf der {chess.FILE_NAMES[line.index]}-Linie"
    names = {
        "back rank": "Grundreihe",
        "long diagonal": "langen Diagonale",
        "diagonal": "Diagonale",
    }
    return f"auf der {names[line.kind]}"


def place_phrase(places: Places) -> str:
    """'irgendwo von c3 bis f6 oder auf h6', 'auf e6, f5 oder h5'."""
    parts = [span_phrase(span) for span in places.spans]
    if places.singles:
        parts.append("auf " + sqs(places.singles, "oder"))
    text = listed(parts, "oder")
    return f"irgendwo {text}" if places.spans else text


def span_phrase(span: Span) -> str:
    """'von a8 bis d8', 'auf der langen Diagonale'."""
    if span.whole_long_diagonal:
        return "auf der langen Diagonale"
    return f"von {sq(span.first)} bis {sq(span.last)}"


def men_on(examples: Iterable[tuple[chess.PieceType, chess.Square]], case: Case = "nom") -> str:
    """'ein Springer auf e8 oder ein Läufer auf h6'."""
    pairs = list(examples)
    if len(pairs) > 1 and len({square for _, square in pairs}) == 1:
        return f"{listed((a(kind, case) for kind, _ in pairs), 'oder')} auf {sq(pairs[0][1])}"
    return listed((f"{a(kind, case)} auf {sq(square)}" for kind, square in pairs), "oder")


def sentence(text: str) -> str:
    """A full sentence: capital (unless it begins with a square or a move) and full stop."""
    text = text.strip()
    if not re.match(r"[a-h][1-8]\b", text):
        text = text[:1].upper() + text[1:]
    return text if text.endswith((".", ":")) else text + "."
