"""The anatomy of a mated position: the king's field, the checkers, and who is held off.

Everything here is read off one position; nothing is tried by changing it (`whatif` does
that) and nothing is left out of it (`skeletons` does that).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import chess

from flightless.cases.case import FieldSquare, HeldOff

__all__ = ["Access", "accesses", "field_of", "held_off", "lines_to", "protectors", "segments"]

_STEPS = ((-1, -1), (0, -1), (1, -1), (-1, 0), (1, 0), (-1, 1), (0, 1), (1, 1))


@dataclass(frozen=True, slots=True)
class Access:
    """A way for a man of the mated side to a square where he would answer a check.

    `way` holds the men between him and `target`; the way is open if there are none.
    `checker` is the checker he takes, or whose line he shuts.
    """

    man: chess.Square
    target: chess.Square
    checker: chess.Square
    way: chess.Bitboard
    en_passant: bool = False


def field_of(board: chess.Board, colour: chess.Color) -> tuple[FieldSquare, ...]:
    """The eight squares round the king of `colour`, from his lower left to his upper right.

    Attacks are taken with that king lifted off the board.
    """
    king = _king(board, colour)
    file, rank = chess.square_file(king), chess.square_rank(king)
    lifted = board.occupied & ~chess.BB_SQUARES[king]
    found = []
    for step in _STEPS:
        f, r = file + step[0], rank + step[1]
        if not (0 <= f < 8 and 0 <= r < 8):
            found.append(FieldSquare(step, None, "off-board"))
            continue
        square = chess.square(f, r)
        guards = squares(board.attackers_mask(not colour, square, lifted))
        if board.occupied_co[colour] & chess.BB_SQUARES[square]:
            found.append(FieldSquare(step, square, "blocked", (square,), guards))
        else:
            found.append(FieldSquare(step, square, "guarded" if guards else "free", guards))
    return tuple(found)


def protectors(board: chess.Board, square: chess.Square) -> tuple[chess.Square, ...]:
    """The men who protect the checker on `square` with the checked king lifted."""
    lifted = board.occupied & ~chess.BB_SQUARES[_king(board, board.turn)]
    return squares(board.attackers_mask(not board.turn, square, lifted))


def segments(board: chess.Board) -> dict[chess.Square, chess.Bitboard]:
    """For each checker, the squares between him and the king (none for pawn and knight)."""
    king = _king(board, board.turn)
    return {
        checker: chess.between(checker, king)
        for checker in chess.scan_forward(board.checkers_mask())
    }


def lines_to(
    board: chess.Board, square: chess.Square, colour: chess.Color
) -> Iterator[tuple[chess.Square, chess.Bitboard]]:
    """Each line man of `colour` whose kind moves along a line to `square`, and the squares
    between.  Whether the line is open is left to the caller."""
    straight = chess.BB_RANK_ATTACKS[square][0] | chess.BB_FILE_ATTACKS[square][0]
    men = straight & (board.rooks | board.queens)
    men |= chess.BB_DIAG_ATTACKS[square][0] & (board.bishops | board.queens)
    for man in chess.scan_forward(men & board.occupied_co[colour]):
        yield man, chess.between(man, square)


def accesses(board: chess.Board) -> Iterator[Access]:
    """Every way, open or shut, by which a man of the side in check (not the king) reaches a
    checker to take him, or a square between a line checker and the king.

    Pins are not looked at.
    """
    for checker, segment in segments(board).items():
        yield from _captures(board, checker)
        for target in chess.scan_forward(segment):
            yield from _interpositions(board, checker, target)
    yield from _en_passant(board)


def held_off(board: chess.Board) -> tuple[HeldOff, ...]:
    """The men of the mated side who could take a checker or stand between, but for one thing.

    A man whose way is open is held off by a double check, else by a pin, else (en passant)
    by the line that the capture would open.  A man whose way is shut is listed if exactly one
    man stands in it and nothing else holds him: neither a pin nor a second checker.
    """
    checkers = squares(board.checkers_mask())
    found = []
    for way in accesses(board):
        action: Literal["capture", "interposition"] = (
            "capture" if way.target == way.checker or way.en_passant else "interposition"
        )
        pinned = _pinners(board, way.man)
        blocked = squares(way.way)
        if not blocked and len(checkers) > 1:
            reason = HeldOff(way.man, action, way.target, "double check", checkers)
        elif not blocked and pinned:
            reason = HeldOff(way.man, action, way.target, "pinned", pinned)
        elif not blocked and way.en_passant:
            reason = HeldOff(way.man, action, way.target, "exposes", _exposers(board, way))
        elif len(blocked) == 1 and len(checkers) == 1 and not pinned:
            reason = HeldOff(way.man, action, way.target, "shut off", blocked)
        else:
            continue
        found.append(reason)
    return tuple(sorted(set(found), key=lambda h: (h.man, h.target, h.action, h.why, h.by)))


def squares(mask: chess.Bitboard) -> tuple[chess.Square, ...]:
    """The squares of a bitboard in square order."""
    return tuple(chess.scan_forward(mask))


def _king(board: chess.Board, colour: chess.Color) -> chess.Square:
    king = board.king(colour)
    assert king is not None
    return king


def _captures(board: chess.Board, checker: chess.Square) -> Iterator[Access]:
    defenders = board.occupied_co[board.turn]
    near = chess.BB_KNIGHT_ATTACKS[checker] & board.knights
    near |= chess.BB_PAWN_ATTACKS[not board.turn][checker] & board.pawns
    for man in chess.scan_forward(near & defenders):
        yield Access(man, checker, checker, 0)
    for man, between in lines_to(board, checker, board.turn):
        yield Access(man, checker, checker, between & board.occupied)


def _interpositions(
    board: chess.Board, checker: chess.Square, target: chess.Square
) -> Iterator[Access]:
    defenders = board.occupied_co[board.turn]
    for man in chess.scan_forward(chess.BB_KNIGHT_ATTACKS[target] & board.knights & defenders):
        yield Access(man, target, checker, 0)
    for man, between in lines_to(board, target, board.turn):
        yield Access(man, target, checker, between & board.occupied)
    pawns = board.pawns & defenders
    step = 8 if board.turn else -8
    behind = target - step
    if 0 <= behind < 64 and pawns & chess.BB_SQUARES[behind]:
        yield Access(behind, target, checker, 0)
    double_rank = 3 if board.turn else 4
    if chess.square_rank(target) == double_rank and pawns & chess.BB_SQUARES[target - 2 * step]:
        yield Access(target - 2 * step, target, checker, board.occupied & chess.BB_SQUARES[behind])


def _en_passant(board: chess.Board) -> Iterator[Access]:
    """En passant answers a check by taking the pawn that gives it (or, in positions set up by
    hand, by standing between)."""
    if board.ep_square is None or not board.has_pseudo_legal_en_passant():
        return
    passed = board.ep_square + (-8 if board.turn else 8)
    for checker, segment in segments(board).items():
        if checker == passed or segment & chess.BB_SQUARES[board.ep_square]:
            for move in board.generate_pseudo_legal_ep():
                yield Access(move.from_square, board.ep_square, checker, 0, en_passant=True)


def _pinners(board: chess.Board, man: chess.Square) -> tuple[chess.Square, ...]:
    king = _king(board, board.turn)
    alone = chess.BB_SQUARES[man]
    return tuple(
        pinner
        for pinner, between in lines_to(board, king, not board.turn)
        if between & board.occupied == alone
    )


def _exposers(board: chess.Board, way: Access) -> tuple[chess.Square, ...]:
    after = board.copy(stack=False)
    after.push(chess.Move(way.man, way.target))
    return squares(after.attackers_mask(after.turn, _king(board, board.turn)))
