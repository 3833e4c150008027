"""Statements on positions that are not mate, and the teller that chooses them: what the king
or a defender does, and what is missing.

Reads what `cases.missing` found; nothing is tried here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import chess

from flightless.cases.case import FieldSquare, Man
from flightless.words.account import SectionName
from flightless.words.facts.statements import Duty, Squares, Statement
from flightless.words.notation import Step, steps
from flightless.words.places import by_name

if TYPE_CHECKING:
    from flightless.cases.changes import Change
    from flightless.cases.missing import NearCheck, NearMate

__all__ = [
    "CheckNow",
    "Flights",
    "Missing",
    "NearestCheck",
    "NotMated",
    "OtherAnswers",
    "WouldMate",
    "nearly_told",
]

_MOST_EXAMPLES = 2
Told = list[tuple[SectionName, Statement]]


@dataclass(frozen=True, slots=True)
class NotMated(Statement):
    """The verdict: in check with `answers`, stalemate, or nothing forced."""

    kind: Literal["check", "stalemate", "quiet"]
    side: chess.Color
    answers: int = 0


@dataclass(frozen=True, slots=True)
class CheckNow(Statement):
    """Who gives the check that is on the board."""

    checkers: tuple[Man, ...]


@dataclass(frozen=True, slots=True)
class Flights(Statement):
    """Where the king can go: `free` squares that nothing guards, men that nobody protects, and
    line men who would guard a square but for one man: (square, guard, who is in the way)."""

    free: tuple[chess.Square, ...]
    takes: tuple[Man, ...]
    shut: tuple[tuple[chess.Square, Man, Man], ...]


@dataclass(frozen=True, slots=True)
class OtherAnswers(Statement):
    """What men other than the king can do: take a checker, or stand between."""

    captures: tuple[tuple[Man, Man], ...]
    interpositions: tuple[tuple[Man, tuple[chess.Square, ...]], ...]


@dataclass(frozen=True, slots=True)
class NearestCheck(Statement):
    """The check with the fewest answers: the answers as steps, with how each is made."""

    step: Step
    flights: tuple[chess.Square, ...]
    """Empty squares; where he takes a man it is among the others."""
    others: tuple[Step, ...]
    answers: int


@dataclass(frozen=True, slots=True)
class Missing(Statement):
    """What is missing for mate: a guard of the free `squares`, or (none) a check; with natural
    examples of men of the mating side."""

    squares: tuple[chess.Square, ...]
    examples: tuple[tuple[chess.PieceType, chess.Square], ...]


@dataclass(frozen=True, slots=True)
class WouldMate(Statement):
    """Another single change that makes it mate.

    `blocked`: a man of the king's own (`side`) on one of these squares.  `gone`: a defender off
    the board.  `added`: men of the mating side.  `mate` is the move that then mates, for a
    position in which it must still be made.
    """

    side: chess.Color
    blocked: tuple[chess.Square, ...] = ()
    gone: tuple[Man, ...] = ()
    added: tuple[tuple[chess.PieceType, chess.Square], ...] = ()
    mate: Step | None = None


def nearly_told(near: NearMate) -> Told:
    """Everything worth saying, each with its section of the account."""
    board = chess.Board(near.fen)
    board.fullmove_number = 1
    if near.kind == "quiet":
        return _quiet(near, board)
    side = board.turn
    answers = near.check.answers if near.check is not None else 0
    told: Told = [("verdict", NotMated(near.kind, side, answers))]
    if near.check is not None:
        told.append(("check", CheckNow(_men(board, near.check.checkers))))
    told += [("squares", s) for s in _field(board, side, near.field)]
    if near.check is not None:
        told += [("wrong", s) for s in _answers(board, near.check)]
    told += [("saved", s) for s in _missing(board, near)]
    return told


def _quiet(near: NearMate, board: chess.Board) -> Told:
    told: Told = []
    for check in near.checks[:_MOST_EXAMPLES]:
        if check.answers <= _MOST_EXAMPLES and check.move is not None:
            told.append(("check", _nearest(board, check)))
    blocked: list[tuple[chess.Square, Step]] = []
    gone: list[tuple[Man, Step]] = []
    for helped in near.helped:
        change = helped.change
        after = change.applied(board)
        (mate,) = steps(after, [helped.mate])
        if change.action == "removed" and change.piece.color != board.turn:
            gone.append((Man(change.square, change.piece), mate))
        if change.action == "added" and change.piece.color != board.turn:
            blocked.append((change.square, mate))
    for square, mate in blocked[:1]:
        told.append(("saved", WouldMate(not board.turn, blocked=(square,), mate=mate)))
    for man, mate in gone[:1]:
        told.append(("saved", WouldMate(not board.turn, gone=(man,), mate=mate)))
    return told


def _nearest(board: chess.Board, check: NearCheck) -> NearestCheck:
    assert check.move is not None
    (step,) = steps(board, [check.move])
    takes = [f.move for f in check.flights if f.takes]
    replies = (*takes, *check.captures, *check.interpositions)
    others = [steps(step.after, [move])[0] for move in replies]
    flights = tuple(sorted({f.square for f in check.flights if not f.takes}, key=by_name))
    return NearestCheck(step, flights, tuple(others), check.answers)


def _men(board: chess.Board, squares: Iterable[chess.Square]) -> tuple[Man, ...]:
    found = []
    for square in sorted(squares, key=by_name):
        piece = board.piece_at(square)
        assert piece is not None
        found.append(Man(square, piece))
    return tuple(found)


def _field(board: chess.Board, side: chess.Color, field: Sequence[FieldSquare]) -> list[Statement]:
    """The squares that are shut, grouped as for a mate."""
    by_kind: dict[chess.PieceType, list[chess.Square]] = {}
    by_guard: dict[chess.Square, list[chess.Square]] = {}
    squares = [f for f in field if f.square is not None]
    for f in sorted(squares, key=lambda f: by_name(f.square or 0)):
        assert f.square is not None
        if f.state == "blocked":
            kind = board.piece_type_at(f.square)
            assert kind is not None
            by_kind.setdefault(kind, []).append(f.square)
        elif f.state == "guarded":
            guard = next((g for g in f.by if g in by_guard), f.by[0])
            by_guard.setdefault(guard, []).append(f.square)
    held = [(kind, tuple(at)) for kind, at in by_kind.items()]
    held.sort(key=lambda group: (-len(group[1]), group[0]))
    duties = []
    for guard, at in by_guard.items():
        empty = tuple(s for s in at if board.piece_at(s) is None)
        protects = _men(board, [s for s in at if board.piece_at(s) is not None])
        duties.append(Duty(_men(board, [guard])[0], empty, protects))
    if not held and not duties:
        return []
    all_held = sum(len(at) for _, at in held) == len(squares)
    return [Squares(side, tuple(held), all_held, tuple(duties))]


def _answers(board: chess.Board, check: NearCheck) -> list[Statement]:
    told: list[Statement] = []
    if check.flights:
        free = [f.square for f in check.flights if not f.takes]
        takes = [f.square for f in check.flights if f.takes]
        shut = [
            (f.square, _men(board, [g.man])[0], _men(board, [g.shut_by])[0])
            for f in check.flights
            for g in f.shut[:1]
        ]
        told.append(Flights(tuple(sorted(free, key=by_name)), _men(board, takes), tuple(shut)))
    captures = [
        (_men(board, [m.from_square])[0], _men(board, [_victim(board, m)])[0])
        for m in check.captures
    ]
    between: dict[chess.Square, set[chess.Square]] = {}
    for move in check.interpositions:
        between.setdefault(move.from_square, set()).add(move.to_square)
    interpositions = [
        (_men(board, [man])[0], tuple(sorted(at, key=by_name))) for man, at in between.items()
    ]
    if captures or interpositions:
        told.append(OtherAnswers(tuple(dict.fromkeys(captures)), tuple(interpositions)))
    return told


def _victim(board: chess.Board, move: chess.Move) -> chess.Square:
    if board.is_en_passant(move):
        return move.to_square + (-8 if board.turn else 8)
    return move.to_square


def _missing(board: chess.Board, near: NearMate) -> list[Statement]:
    told: list[Statement] = []
    mating = [c for c in near.changes if c.action == "added" and c.piece.color != board.turn]
    examples = _natural(board, near.king, mating)
    side = board.turn
    if examples and near.kind == "check" and not near.free:
        told.append(WouldMate(side, added=examples))
    elif examples:
        squares = near.free if near.kind == "check" else ()
        told.append(Missing(tuple(sorted(squares, key=by_name)), examples))
    own = [c for c in near.changes if c.action == "added" and c.piece.color == board.turn]
    blocked = sorted({c.square for c in own}, key=by_name)
    gone = [c for c in near.changes if c.action == "removed"]
    if blocked:
        told.append(WouldMate(side, blocked=tuple(blocked)))
    if gone:
        men = tuple(Man(c.square, c.piece) for c in gone[:_MOST_EXAMPLES])
        told.append(WouldMate(side, gone=men))
    return told


def _natural(
    board: chess.Board, king: chess.Square, changes: Sequence[Change]
) -> tuple[tuple[chess.PieceType, chess.Square], ...]:
    """A safe square not too near the king, for each of up to two kinds (common practice, no
    source): safe ones and minor pieces first, a queen only if nothing else would do."""
    side = board.turn

    def oddity(square: chess.Square) -> tuple[int, ...]:
        attacked = bool(board.attackers(side, square))
        near = chess.square_distance(square, king)
        return (attacked, near < 2, abs(near - 3), square)

    best = []
    for order, kind in enumerate((chess.KNIGHT, chess.BISHOP, chess.PAWN, chess.ROOK, chess.QUEEN)):
        squares = [c.square for c in changes if c.piece.piece_type == kind]
        if squares:
            square = min(squares, key=oddity)
            best.append((kind == chess.QUEEN, oddity(square)[0], order, kind, square))
    plain = [b for b in best if not b[0]] or best
    return tuple((kind, square) for *_, kind, square in sorted(plain)[:_MOST_EXAMPLES])
