"""German for what is asked: tasks, the words beside boxes, hints, solutions of a key."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import chess

from flightless.cases.case import Man
from flightless.exercises.exercise import About, Exercise
from flightless.exercises.hints import Hint
from flightless.exercises.kinds.choose import ChooseMan
from flightless.exercises.kinds.find_mate import NONE, FindMate
from flightless.exercises.kinds.ledger import LedgerTable
from flightless.exercises.kinds.luft import GiveLuft
from flightless.exercises.kinds.name import NamePattern
from flightless.exercises.kinds.net import FinishNet
from flightless.exercises.kinds.saves import Saves
from flightless.exercises.kinds.second_way import SecondWay
from flightless.exercises.kinds.supporter import Supporter
from flightless.exercises.kinds.threat import SayThreat
from flightless.exercises.kinds.two_positions import TwoPositions
from flightless.exercises.rendering import Choice
from flightless.exercises.texts import kind_of
from flightless.words.german import grammar as g
from flightless.words.german.grammar import LETTERS, SIDE, figure_line, sentence, sq
from flightless.words.german.pattern_names import name_of_pattern, pattern_phrase
from flightless.words.german.reason_board import STANDINGS
from flightless.words.german.reason_moves import capital, in_moves, the
from flightless.words.notation import steps

__all__ = ["ROLES", "TASKS", "TITLES", "choice_text", "hint_text", "solution", "source_text"]

TITLES = {
    "find-mate": "Finde das Matt",
    "verdict": "Matt, Schach oder Patt?",
    "ledger": "Fülle die Tabelle aus",
    "not-needed": "Welcher Stein ist nicht nötig?",
    "supporter": "Stelle den Helfer auf",
    "choose": "Wähle den Stein",
    "save": "Was rettet ihn?",
    "net": "Mach das Netz fertig",
    "name": "Nenne das Muster",
    "two-positions": "Zwei Stellungen, in einer geht es",
    "threat": "Nenne die Drohung",
    "luft": "Schaffe rechtzeitig ein Luftloch",
    "second-way": "Finde den zweiten Weg",
}

ROLES = {
    "look-alike": "sieht dem Muster ähnlich und ist ein anderes",
    "no mate": "es gibt kein Matt",
}


def _mover(e: Exercise) -> str:
    return SIDE[e.board.turn]


def _other(e: Exercise) -> str:
    return SIDE[not e.board.turn]


def _german(san: str) -> str:
    return "".join(LETTERS.get(c, c) for c in san)


def _shown(e: Exercise, move: str) -> str:
    """'1.Te8' from the text of a move."""
    return f"{'1.' if e.board.turn else '1…'}{_german(move.rstrip('+#'))}"


def _find_mate(e: FindMate) -> str:
    if e.perhaps:
        return (
            f"{_mover(e)} am Zug. Gibt es ein Matt {in_moves(e.moves)}? Finde es, oder schreibe "
            f"„keins“."
        )
    return f"{_mover(e)} am Zug. Matt {in_moves(e.moves)}."


def _verdict(e: Exercise) -> str:
    return f"{_mover(e)} am Zug. Matt, Schach oder Patt?"


def _ledger(e: Exercise) -> str:
    return f"{_mover(e)} ist matt. Welche Felder kann der König nicht betreten, und warum?"


def _not_needed(e: Exercise) -> str:
    return f"{_mover(e)} ist matt. Welcher dieser Steine ist dafür nicht nötig?"


def _colour(e: Exercise) -> str:
    """The stem of the mating side's adjective."""
    return "schwarz" if e.board.turn else "weiß"


def _a_man(e: Exercise, kind: chess.PieceType) -> str:
    """'einen weißen Läufer', 'eine weiße Dame'."""
    return f"{g.a(kind, 'acc').split()[0]} {_of_colour(e, kind)}"


def _of_colour(e: Exercise, kind: chess.PieceType) -> str:
    """'weißen Läufer', 'weiße Dame', in the accusative after an article."""
    return f"{_colour(e)}{'e' if g.gender(kind) == 'f' else 'en'} {g.name(kind, 'acc')}"


def _supporter(e: Supporter) -> str:
    kinds = [kind for kind in map(kind_of, e.men) if kind is not None]
    men = g.listed((_a_man(e, kind) for kind in kinds), "oder")
    return f"Stelle {men} so auf, dass es matt ist."


def _choose(e: ChooseMan) -> str:
    return f"Welcher {_colour(e)}e Stein auf {e.square} setzt matt?"


def _net(e: FinishNet) -> str:
    first, second = (kind_of(letter) or chess.PAWN for letter in e.men)
    if first == second:
        return f"Stelle zwei {_colour(e)}e {g.plural(first, 'acc')} so auf, dass es matt ist."
    men = (f"{g.the(kind, 'acc').split()[0]} {_of_colour(e, kind)}" for kind in (first, second))
    return f"Stelle {g.listed(men)} so auf, dass es matt ist."


def _name(e: NamePattern) -> str:
    return f"{_mover(e)} ist matt. Welches Muster ist es?"


def _two(e: TwoPositions) -> str:
    in_n = "" if e.moves == 1 else f"{in_moves(e.moves)} "
    return (
        f"In welcher der beiden Stellungen setzt {_shown(e, e.move)} {in_n}matt? "
        f"Was ist in der anderen die Antwort darauf?"
    )


def _threat(e: SayThreat) -> str:
    return f"{_mover(e)} spielt {_shown(e, e.move)}. Was droht?"


def _save(e: Saves) -> str:
    check = ", im Schach" if e.board.is_check() else ""
    return (
        f"{_mover(e)} am Zug{check}. Nur ein Zug verhindert das Matt {in_moves(e.moves)}. Welcher?"
    )


def _luft(e: GiveLuft) -> str:
    return (
        f"{_mover(e)} am Zug. {_other(e)} droht Matt {in_moves(e.moves)}. "
        f"Welcher Bauernzug schafft dem König rechtzeitig ein Luftloch?"
    )


def _second(e: SecondWay) -> str:
    return (
        f"{_mover(e)} am Zug. Matt {in_moves(e.moves)}. {_shown(e, e.given)} ist ein Weg. "
        f"Finde einen anderen."
    )


TASKS: dict[str, Callable[[Any], str]] = {
    "find-mate": _find_mate,
    "verdict": _verdict,
    "ledger": _ledger,
    "not-needed": _not_needed,
    "supporter": _supporter,
    "choose": _choose,
    "save": _save,
    "net": _net,
    "name": _name,
    "two-positions": _two,
    "threat": _threat,
    "luft": _luft,
    "second-way": _second,
}


# --- solutions -------------------------------------------------------------------------------


def solution(e: Exercise) -> str:
    """The right answers in one line."""
    if isinstance(e, FindMate | SecondWay | SayThreat):
        return _line_solution(e)
    if isinstance(e, Saves | GiveLuft):
        return g.listed((_shown(e, a) for a in e.answers), "oder")
    if isinstance(e, NamePattern):
        return g.listed((name_of_pattern(name) for name in e.answers), "oder")
    if isinstance(e, ChooseMan):
        return g.listed((g.name(kind_of(a) or chess.PAWN) for a in e.answers), "oder")
    if e.kind == "not-needed":
        return g.listed((_man_at(e, chess.parse_square(a)) for a in e.answers), "oder")
    if isinstance(e, LedgerTable):
        return "; ".join(map(_ledger_row, e.filled()))
    if isinstance(e, Supporter | FinishNet):
        return g.listed((_german(a.replace("P", "")) for a in e.answers), "oder")
    if e.kind == "verdict":
        return g.listed((STANDINGS.get(a, a) for a in e.answers), "oder")
    return g.listed((_in_the_other(a) for a in e.answers), "oder")


def _in_the_other(answer: str) -> str:
    """'A, in B Kh7' with German letters; the letters of the positions stay."""
    head, comma, move = answer.rpartition(" ")
    return f"{head} {_german(move)}" if comma else answer


def _ledger_row(row: tuple[chess.Square, tuple[Man, ...]]) -> str:
    """'f7: eigener Bauer, Dame e7'."""
    square, men = row
    told = [
        f"eigene{'' if g.gender(m.piece.piece_type) == 'f' else 'r'} {g.name(m.piece.piece_type)}"
        if m.square == square
        else f"{g.name(m.piece.piece_type)} {sq(m.square)}"
        for m in sorted(men, key=lambda m: m.square != square)
    ]
    return f"{sq(square)}: {', '.join(told)}"


def _line_solution(e: FindMate | SecondWay | SayThreat) -> str:
    shown = e.rendering()
    if e.answers == (NONE,):
        return "keins"
    first = chess.Board(shown.line_from)
    text = figure_line(steps(first, shown.line))
    others = [a for a in e.answers if first.parse_san(a) != shown.line[0]]
    if not others:
        return text
    dots = f"{first.fullmove_number}{'.' if first.turn else '…'}"
    also = (dots + _german(a).replace("#", " matt") for a in others)
    return f"{text}; auch {', '.join(also)}"


def _man_at(e: Exercise, square: chess.Square) -> str:
    return f"{g.the(e.board.piece_type_at(square) or chess.PAWN)} auf {sq(square)}"


def source_text(about: About) -> str:
    """'nach Morphy – Allies, Paris 1858' for a position that was turned."""
    return f"nach {about.source}" if about.turned and about.source else about.source


# --- boxes and hints -------------------------------------------------------------------------


def choice_text(e: Exercise, choice: Choice) -> str:
    """What stands beside a box."""
    if choice.square is not None:
        return _man_at(e, choice.square)
    if choice.kind is not None:
        return g.name(choice.kind)
    if choice.pattern:
        return capital(name_of_pattern(choice.pattern))
    return STANDINGS.get(choice.word, choice.word)


def hint_text(h: Hint) -> str:
    """One step of the ladder."""
    if h.of == "pattern":
        return sentence(f"denke an dieses Muster: {pattern_phrase(h.description, h.known_as)}")
    if h.of == "tandem":
        return sentence(f"diese Steine arbeiten zusammen: {g.listed(g.a(k) for k in h.kinds)}")
    if h.of == "none":
        return "Sieh dir jedes Schach an: Gibt es wirklich ein Matt?"
    if h.of == "man" and h.man is not None:
        return _of_man(h.man, h.role)
    assert h.square is not None
    square = sq(h.square)
    return sentence(
        {
            "target": f"das Feld ist {square}",
            "flight": f"der König will nach {square}",
            "from here": f"sieh dir die Felder um den König auf {square} an",
        }.get(h.role, f"sieh dir {square} an")
    )


def _of_man(man: Man, role: str) -> str:
    kind = man.piece.piece_type
    if role == "moves":
        return sentence(f"{the(man)} macht den ersten Zug")
    if role == "protected":
        return f"{capital(the(man))} hängt: Wer deckt {g.pronoun(kind)}?"
    if role == "defends":
        return sentence(f"{the(man)} rettet ihn")
    if role == "checks":
        who = "die" if g.gender(kind) == "f" else "der"
        return sentence(f"sieh dir {the(man, 'acc')} an, {who} das Schach gibt")
    return sentence(f"sieh dir {the(man, 'acc')} an")
