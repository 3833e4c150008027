"""English for what is asked: tasks, the words beside boxes, hints, solutions of a key."""

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
from flightless.patterns.recognise import catalogue
from flightless.words.english.grammar import (
    COLOUR,
    KIND,
    article,
    capital,
    listed,
    number,
    plural,
    pronoun,
    sentence,
    sq,
)
from flightless.words.english.reason_board import pattern_phrase
from flightless.words.english.reason_moves import the
from flightless.words.notation import figure_line, steps

__all__ = ["ROLES", "TASKS", "TITLES", "choice_text", "hint_text", "solution", "source_text"]

TITLES = {
    "find-mate": "Find the mate",
    "verdict": "Mate, check or stalemate?",
    "ledger": "Fill in the ledger",
    "not-needed": "Which man is not needed?",
    "supporter": "Place the supporter",
    "choose": "Choose the man",
    "save": "What saves him?",
    "net": "Finish the net",
    "name": "Name the pattern",
    "two-positions": "Two positions, one works",
    "threat": "Say the threat",
    "luft": "Give luft in time",
    "second-way": "Find the second way",
}

ROLES = {
    "look-alike": "looks like the pattern, and is another",
    "no mate": "there is no mate",
}


def _mover(e: Exercise) -> str:
    return COLOUR[e.board.turn]


def _other(e: Exercise) -> str:
    return COLOUR[not e.board.turn]


def _shown(e: Exercise, move: str) -> str:
    """'1.Re8' from the text of a move."""
    return f"{'1.' if e.board.turn else '1…'}{move.rstrip('+#')}"


def _find_mate(e: FindMate) -> str:
    if e.perhaps:
        return (
            f"{_mover(e)} to move. Is there a mate in {number(e.moves)}? Find it, or write 'none'."
        )
    return f"{_mover(e)} to move and mate in {number(e.moves)}."


def _verdict(e: Exercise) -> str:
    return f"{_mover(e)} to move. Mate, check or stalemate?"


def _ledger(e: Exercise) -> str:
    return f"{_mover(e)} is mated. Which squares can the king not use, and why?"


def _not_needed(e: Exercise) -> str:
    return f"{_mover(e)} is mated. Which of these men is not needed for it?"


def _white(e: Exercise) -> str:
    return _other(e).lower()


def _supporter(e: Supporter) -> str:
    kinds = [KIND[kind] for kind in map(kind_of, e.men) if kind is not None]
    return f"Place a {_white(e)} {listed(kinds, 'or')} so that it is mate."


def _choose(e: ChooseMan) -> str:
    return f"Which {_white(e)} man on {e.square} makes it mate?"


def _net(e: FinishNet) -> str:
    first, second = (kind_of(letter) or chess.PAWN for letter in e.men)
    if first == second:
        return f"Place two {_white(e)} {plural(first)} so that it is mate."
    return f"Place the {_white(e)} {KIND[first]} and {KIND[second]} so that it is mate."


def _name(e: NamePattern) -> str:
    return f"{_mover(e)} is mated. Which pattern is it?"


def _two(e: TwoPositions) -> str:
    in_n = "" if e.moves == 1 else f" in {number(e.moves)}"
    return (
        f"In which of the two positions does {_shown(e, e.move)} mate{in_n}? "
        f"What is the answer to it in the other?"
    )


def _threat(e: SayThreat) -> str:
    return f"{_mover(e)} plays {_shown(e, e.move)}. What does it threaten?"


def _save(e: Saves) -> str:
    check = ", in check" if e.board.is_check() else ""
    return (
        f"{_mover(e)} to move{check}. One move holds against mate in {number(e.moves)}. Which one?"
    )


def _luft(e: GiveLuft) -> str:
    return (
        f"{_mover(e)} to move. {_other(e)} threatens mate in {number(e.moves)}. "
        f"Which pawn move gives the king luft in time?"
    )


def _second(e: SecondWay) -> str:
    return (
        f"{_mover(e)} to move and mate in {number(e.moves)}. {_shown(e, e.given)} does it. "
        f"Find another way."
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
        moves = [_shown(e, a) for a in e.answers]
        return listed(moves, "or")
    if isinstance(e, NamePattern):
        return listed((_short_name(name) for name in e.answers), "or")
    if isinstance(e, ChooseMan):
        return listed((KIND[kind_of(a) or chess.PAWN] for a in e.answers), "or")
    if e.kind == "not-needed":
        return listed((_man_at(e, chess.parse_square(a)) for a in e.answers), "or")
    if isinstance(e, LedgerTable):
        return "; ".join(map(_ledger_row, e.filled()))
    if isinstance(e, Supporter | FinishNet):
        return listed((a.replace("P", "") for a in e.answers), "or")
    return listed(e.answers, "or")


def _short_name(name: str) -> str:
    """'Greco's mate', or what it is where it has no name."""
    pattern = catalogue()[name]
    return pattern.known_as or pattern.description


def _ledger_row(row: tuple[chess.Square, tuple[Man, ...]]) -> str:
    """'f7: his own pawn, queen e7'."""
    square, men = row
    told = [
        f"his own {KIND[m.piece.piece_type]}"
        if m.square == square
        else f"{KIND[m.piece.piece_type]} {sq(m.square)}"
        for m in sorted(men, key=lambda m: m.square != square)
    ]
    return f"{sq(square)}: {', '.join(told)}"


def _line_solution(e: FindMate | SecondWay | SayThreat) -> str:
    shown = e.rendering()
    if e.answers == (NONE,):
        return "none"
    text = figure_line(steps(chess.Board(shown.line_from), shown.line))
    first = chess.Board(shown.line_from)
    others = [a for a in e.answers if first.parse_san(a) != shown.line[0]]
    if not others:
        return text
    dots = f"{first.fullmove_number}{'.' if first.turn else '…'}"
    return f"{text}; also {', '.join(dots + a.replace('#', ' mate') for a in others)}"


def _man_at(e: Exercise, square: chess.Square) -> str:
    kind = e.board.piece_type_at(square)
    return f"the {KIND[kind or chess.PAWN]} on {sq(square)}"


def source_text(about: About) -> str:
    """'after Morphy – Allies, Paris 1858' for a position that was turned."""
    return f"after {about.source}" if about.turned and about.source else about.source


# --- boxes and hints -------------------------------------------------------------------------


def choice_text(e: Exercise, choice: Choice) -> str:
    """What stands beside a box."""
    if choice.square is not None:
        return _man_at(e, choice.square)
    if choice.kind is not None:
        return KIND[choice.kind]
    if choice.pattern:
        return capital(catalogue()[choice.pattern].shown)
    return choice.word


def hint_text(h: Hint) -> str:
    """One step of the ladder."""
    if h.of == "pattern":
        return sentence(f"think of this pattern: {pattern_phrase(h.description, h.known_as)}")
    if h.of == "tandem":
        return sentence(f"these work together: {listed(article(KIND[k]) for k in h.kinds)}")
    if h.of == "none":
        return "Look at every check: is there really a mate?"
    if h.of == "man" and h.man is not None:
        man = the(h.man)
        return sentence(
            {
                "moves": f"{man} makes the first move",
                "checks": f"look at {man}, who gives the check",
                "protected": f"{man} hangs: who protects {pronoun(h.man.piece.piece_type)}?",
                "defends": f"{man} is the one who saves him",
            }.get(h.role, f"look at {man}")
        )
    assert h.square is not None
    square = sq(h.square)
    return sentence(
        {
            "target": f"the square is {square}",
            "flight": f"the king wants to go to {square}",
            "from here": f"look at the squares round the king on {square}",
        }.get(h.role, f"look at {square}")
    )
