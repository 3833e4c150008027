"""English small change: lists, articles, numbers, pronouns, names of men and lines.

Nothing here knows what a sentence is about.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

import chess

from flightless.words.places import Line, Places, Span, by_name

__all__ = [
    "COLOUR",
    "KIND",
    "article",
    "capital",
    "listed",
    "men_on",
    "number",
    "ordinal_rank",
    "place_phrase",
    "plural",
    "pronoun",
    "sentence",
    "sq",
    "sqs",
]

COLOUR = {chess.WHITE: "White", chess.BLACK: "Black"}
KIND = {
    chess.PAWN: "pawn",
    chess.KNIGHT: "knight",
    chess.BISHOP: "bishop",
    chess.ROOK: "rook",
    chess.QUEEN: "queen",
    chess.KING: "king",
}
_NUMBERS = (
    *("no", "one", "two", "three", "four", "five", "six"),
    *("seven", "eight", "nine", "ten", "eleven", "twelve"),
)
_RANKS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")


def number(n: int) -> str:
    """Numbers up to twelve as words."""
    return _NUMBERS[n] if n < len(_NUMBERS) else f"{n:,}"


def listed(items: Iterable[str], last: str = "and") -> str:
    """'a', 'a and b', 'a, b and c'."""
    things = list(items)
    if len(things) < 2:
        return "".join(things)
    return f"{', '.join(things[:-1])} {last} {things[-1]}"


def article(word: str) -> str:
    """The word with its indefinite article, by sound: 'an e-pawn', 'a rook'."""
    vowel = re.match(r"[aeiou]|[fhlmnrsx](?=[1-8-])|eight|11|18|8", word, re.IGNORECASE)
    return f"{'an' if vowel else 'a'} {word}"


def plural(kind: chess.PieceType) -> str:
    """'rooks'."""
    return KIND[kind] + "s"


def pronoun(kind: chess.PieceType, case: str = "object") -> str:
    """A queen is she, a king he, any other man it."""
    forms = {
        chess.QUEEN: {"subject": "she", "object": "her", "own": "her"},
        chess.KING: {"subject": "he", "object": "him", "own": "his"},
    }
    return forms.get(kind, {"subject": "it", "object": "it", "own": "its"})[case]


def sq(square: chess.Square) -> str:
    """The name of a square."""
    return chess.square_name(square)


def sqs(squares: Iterable[chess.Square], last: str = "and") -> str:
    """Squares by file and rank, joined."""
    return listed((sq(s) for s in sorted(squares, key=by_name)), last)


def ordinal_rank(index: int) -> str:
    """'the eighth rank' without its article."""
    return f"{_RANKS[index]} rank"


def line_name(line: Line) -> str:
    """'the back rank', 'the h-file', 'the long diagonal', 'the diagonal'."""
    if line.kind == "rank":
        return f"the {ordinal_rank(line.index)}"
    if line.kind == "file":
        return f"the {chess.FILE_NAMES[line.index]}-file"
    return f"the {line.kind}"


def place_phrase(places: Places) -> str:
    """'anywhere from c3 to f6 or on h6', 'on e6, f5 or h5', 'anywhere on the long diagonal'."""
    parts = [_span(span) for span in places.spans]
    if places.singles:
        parts.append("on " + sqs(places.singles, "or"))
    text = listed(parts, "or")
    return f"anywhere {text}" if places.spans else text


def _span(span: Span) -> str:
    if span.whole_long_diagonal:
        return "on the long diagonal"
    return f"from {sq(span.first)} to {sq(span.last)}"


def men_on(examples: Iterable[tuple[chess.PieceType, chess.Square]]) -> str:
    """'a knight on e8 or a bishop on h6'; on the same square 'a knight or a bishop on e5'."""
    pairs = list(examples)
    if len(pairs) > 1 and len({square for _, square in pairs}) == 1:
        return f"{listed((article(KIND[kind]) for kind, _ in pairs), 'or')} on {sq(pairs[0][1])}"
    return listed((f"{article(KIND[kind])} on {sq(square)}" for kind, square in pairs), "or")


def capital(text: str) -> str:
    """A capital at the start, unless it is a square or a move."""
    if re.match(r"[a-h][1-8]\b", text):
        return text
    return text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """A full sentence: capital and full stop."""
    text = capital(text.strip())
    return text if text.endswith((".", ":", "!", "?")) else text + "."
