"""What is missing: a check that is not mate, a stalemate, or a quiet position, and the single
changes that would make it mate.

The ledger is that of a mate, with squares that are free.  `proof` and its search are not used
here: for a quiet position only mates at once are looked for.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import chess

from flightless.cases.anatomy import field_of, lines_to, squares
from flightless.cases.answers import how_it_answers, legal_answers
from flightless.cases.case import FieldSquare
from flightless.cases.changes import Change, added, is_mate, moved, removed
from flightless.errors import PositionError

__all__ = ["Flight", "HelpedMate", "NearCheck", "NearMate", "ShutGuard", "Stuck", "missing_of"]


@dataclass(frozen=True, slots=True)
class ShutGuard:
    """A line man who would guard a square but for exactly one man in his way (`shut_by`)."""

    man: chess.Square
    shut_by: chess.Square


@dataclass(frozen=True, slots=True)
class Flight:
    """A square to which the king can go, and why: nothing of the other side guards it.

    `takes`: a man stands there whom nobody protects.  `shut` are the line men who would guard
    it if one man were not in the way.
    """

    move: chess.Move
    square: chess.Square
    takes: bool
    shut: tuple[ShutGuard, ...]


@dataclass(frozen=True, slots=True)
class NearCheck:
    """A check and everything that answers it.

    `move` gives the check (None for a check that is already on the board).  `captures` and
    `interpositions` are moves of other men than the king.
    """

    fen: str
    move: chess.Move | None
    field: tuple[FieldSquare, ...]
    checkers: tuple[chess.Square, ...]
    flights: tuple[Flight, ...]
    captures: tuple[chess.Move, ...]
    interpositions: tuple[chess.Move, ...]

    @property
    def answers(self) -> int:
        """How many legal answers there are."""
        return len(self.flights) + len(self.captures) + len(self.interpositions)


@dataclass(frozen=True, slots=True)
class Stuck:
    """A man of the stalemated side who has no legal move: "blocked" (no move of his kind
    goes anywhere) or "pinned" (`by`: the men who would check)."""

    man: chess.Square
    why: Literal["blocked", "pinned"]
    by: tuple[chess.Square, ...] = ()


@dataclass(frozen=True, slots=True)
class HelpedMate:
    """A change after which the side to move has a mate at once, and one such mate."""

    change: Change
    mate: chess.Move


@dataclass(frozen=True, slots=True)
class NearMate:
    """What a position lacks to be mate.

    `kind`: the side to move is in "check" (and has answers), in "stalemate", or the position is
    "quiet"; then the king who might be mated is that of the other side.  `king` and `field`
    are his.  A stalemate has no check: what is missing is an attack on `king`'s own square.

    `changes` make it mate as it stands: any man of the mating side added on any square, any
    defender (not the king) gone, any man of the king's side added on a free square of the
    field, any of his men moved from elsewhere to a free square of the field.  The list is
    complete.  For a quiet position `helped` is the same list for the side to move and its
    mates at once; it is empty if there already is one.  `checks` are all checks that it has,
    fewest answers first.
    """

    fen: str
    kind: Literal["check", "stalemate", "quiet"]
    king: chess.Square
    field: tuple[FieldSquare, ...]
    check: NearCheck | None = None
    stuck: tuple[Stuck, ...] = ()
    changes: tuple[Change, ...] = ()
    checks: tuple[NearCheck, ...] = ()
    helped: tuple[HelpedMate, ...] = ()

    @property
    def free(self) -> tuple[chess.Square, ...]:
        """The free squares of the field."""
        return tuple(f.square for f in self.field if f.square is not None and f.state == "free")


def missing_of(board: chess.Board) -> NearMate:
    """What is missing for mate.  Raises `PositionError` if it is mate, or if the side that is
    not to move is in check."""
    if board.was_into_check():
        raise PositionError(f"the side that is not to move is in check: {board.fen()}")
    if board.is_checkmate():
        raise PositionError(f"nothing is missing, it is mate: {board.fen()}")
    if board.is_check():
        check = near_check(board, None)
        return NearMate(
            board.fen(),
            "check",
            _king(board, board.turn),
            check.field,
            check,
            changes=_changes(board),
        )
    if board.is_stalemate():
        return NearMate(
            board.fen(),
            "stalemate",
            _king(board, board.turn),
            field_of(board, board.turn),
            stuck=_stuck(board),
            changes=_changes(board),
        )
    return NearMate(
        board.fen(),
        "quiet",
        _king(board, not board.turn),
        field_of(board, not board.turn),
        checks=_checks(board),
        helped=_helped(board),
    )


def near_check(board: chess.Board, move: chess.Move | None) -> NearCheck:
    """The answers to the check on `board`, grouped; `move` gave it."""
    groups: dict[str, list[chess.Move]] = {"flight": [], "capture": [], "interposition": []}
    for answer in legal_answers(board):
        groups[how_it_answers(board, answer)].append(answer)
    return NearCheck(
        board.fen(),
        move,
        field_of(board, board.turn),
        squares(board.checkers_mask()),
        tuple(_flight(board, answer) for answer in groups["flight"]),
        tuple(groups["capture"]),
        tuple(groups["interposition"]),
    )


def _flight(board: chess.Board, move: chess.Move) -> Flight:
    to = move.to_square
    lifted = board.occupied & ~chess.BB_SQUARES[move.from_square]
    shut = []
    for man, between in lines_to(board, to, not board.turn):
        in_way = between & lifted
        if in_way and not in_way & (in_way - 1):
            shut.append(ShutGuard(man, chess.msb(in_way)))
    return Flight(move, to, board.is_capture(move), tuple(shut))


def _stuck(board: chess.Board) -> tuple[Stuck, ...]:
    """In a stalemate no man can move: each is blocked or pinned."""
    found = []
    king = _king(board, board.turn)
    men = board.occupied_co[board.turn] & ~board.kings
    for man in chess.scan_forward(men):
        moves = board.generate_pseudo_legal_moves(chess.BB_SQUARES[man])
        if not any(True for _ in moves):
            found.append(Stuck(man, "blocked"))
            continue
        left = removed(board, man).applied(board)
        by = left.attackers_mask(not board.turn, king)
        found.append(Stuck(man, "pinned", squares(by)))
    return tuple(found)


def _changes(board: chess.Board) -> tuple[Change, ...]:
    """The single changes that make it mate, for a side in check or in stalemate."""
    from flightless.cases.kernels import additions  # compiled, so loaded late

    found: list[Change] = []
    free = _free(board, board.turn)
    for colour, allowed in ((not board.turn, chess.BB_ALL), (board.turn, free)):
        found.extend(_additions(additions(board, colour), colour, allowed))
    rest = _rest(board, board.turn, free)
    return (*found, *(change for change in rest if is_mate(change.applied(board))))


def _helped(board: chess.Board) -> tuple[HelpedMate, ...]:
    """The single changes that give the side to move a mate at once."""
    from flightless.cases.kernels import helpers  # compiled, so loaded late
    from flightless.core.boards import mating_moves

    if mating_moves(board):
        return ()
    found: list[HelpedMate] = []
    free = _free(board, not board.turn)
    for colour, allowed in ((board.turn, chess.BB_ALL), (not board.turn, free)):
        found.extend(
            HelpedMate(change, _move(number >> 16))
            for number in helpers(board, colour)
            for change in _additions([number], colour, allowed)
        )
    for change in _rest(board, not board.turn, free):
        after = change.applied(board)
        mates = [] if after.was_into_check() else mating_moves(after)
        if mates:
            found.append(HelpedMate(change, mates[0]))
    return tuple(found)


def _additions(
    numbers: list[int], colour: chess.Color, allowed: chess.Bitboard
) -> Iterator[Change]:
    for number in numbers:
        if allowed & chess.BB_SQUARES[number & 63]:
            yield added(number & 63, number >> 6 & 7, colour)


def _rest(board: chess.Board, colour: chess.Color, free: chess.Bitboard) -> Iterator[Change]:
    """Men of `colour` (not the king) taken off, or moved to free squares of their king's field
    as if by hand."""
    men = list(chess.scan_forward(board.occupied_co[colour] & ~board.kings))
    for man in men:
        yield removed(board, man)
    for man in men:
        pawn = board.pawns & chess.BB_SQUARES[man]
        for square in chess.scan_forward(free & (~chess.BB_BACKRANKS if pawn else chess.BB_ALL)):
            yield moved(board, man, square)


def _free(board: chess.Board, colour: chess.Color) -> chess.Bitboard:
    """The empty free squares of the field of the king of `colour`."""
    mask = 0
    for f in field_of(board, colour):
        if f.square is not None and f.state == "free":
            mask |= chess.BB_SQUARES[f.square]
    return mask & ~board.occupied


def _checks(board: chess.Board) -> tuple[NearCheck, ...]:
    """All checks of the side to move that do not mate, fewest answers first."""
    found = []
    for move in sorted(board.legal_moves, key=lambda m: m.uci()):
        if board.gives_check(move):
            after = board.copy(stack=False)
            after.push(move)
            if not after.is_checkmate():
                found.append(near_check(after, move))
    return tuple(sorted(found, key=lambda c: c.answers))


def _king(board: chess.Board, colour: chess.Color) -> chess.Square:
    king = board.king(colour)
    assert king is not None
    return king


def _move(number: int) -> chess.Move:
    return chess.Move(number & 63, number >> 6 & 63, number >> 12 or None)
