"""From a mated position to its `Case`: gathers what the other modules of this room find.

Nothing is decided here; `anatomy` reads, `whatif` tries, `skeletons` searches.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Literal

import chess

from flightless.cases.anatomy import field_of, held_off, protectors, segments, squares
from flightless.cases.case import Case, Skeleton
from flightless.cases.skeletons import skeletons_of
from flightless.cases.whatif import luft_of, tried
from flightless.errors import PositionError

__all__ = ["case_of"]


def case_of(board: chess.Board) -> Case:
    """The case of the mated position on `board`.

    If the board has moves on its stack, the last one tells a discovered check and what luft
    would have done; else these are left open.  Raises `PositionError` if the side to move is
    not mated, or if the other side's king is in check as well (FIDE Laws 3.9.2, 5.1.1).

    >>> case_of(chess.Board("R5k1/5ppp/8/8/8/8/8/6K1 b - - 0 1")).needed == (
    ...     chess.F7, chess.G7, chess.H7, chess.A8)
    True
    """
    board = _checked(board)
    mated = board.turn
    king, mating_king = board.king(mated), board.king(not mated)
    assert king is not None
    assert mating_king is not None
    field = field_of(board, mated)
    checkers = squares(board.checkers_mask())
    between = 0
    for segment in segments(board).values():
        between |= segment
    trials = tried(board)
    removals = trials.removals
    needed = tuple(r.square for r in removals if not r.still_mate)
    skeletons, king_takes_part, complete = skeletons_of(board, field, needed)
    return Case(
        fen=board.fen(en_passant="fen"),
        mated=mated,
        king=king,
        mating_king=mating_king,
        field=field,
        checkers=checkers,
        interposition_squares=squares(between),
        held_off=held_off(board),
        checker_protectors=MappingProxyType({c: protectors(board, c) for c in checkers}),
        removals=removals,
        needed=needed,
        not_needed=tuple(r.square for r in removals if r.still_mate),
        shields_own_king=tuple(r.square for r in removals if r.still_mate and r.exposes),
        skeletons=skeletons,
        takes_part=MappingProxyType({r.square: _part(r.square, skeletons) for r in removals}),
        king_takes_part=king_takes_part,
        substitutes=trials.substitutes,
        saviours=trials.saviours,
        luft=luft_of(board),
        last_move=board.peek() if board.move_stack else None,
        discovered=_discovered(board, checkers),
        complete=complete,
    )


def _checked(board: chess.Board) -> chess.Board:
    board = board.copy(stack=1)
    if board.status() & chess.STATUS_INVALID_EP_SQUARE:
        board.ep_square = None
    side = "White" if board.turn else "Black"
    if len(board.pieces(chess.KING, True)) != 1 or len(board.pieces(chess.KING, False)) != 1:
        raise PositionError(f"a case needs one king on each side: {board.fen()}")
    if board.was_into_check():
        raise PositionError(f"both kings are in check: {board.fen()}")
    if not board.is_checkmate():
        raise PositionError(f"{side} is not mated in this position: {board.fen()}")
    return board


def _part(man: chess.Square, skeletons: tuple[Skeleton, ...]) -> Literal["all", "some", "none"]:
    count = sum(1 for skeleton in skeletons if man in skeleton.men)
    if count == len(skeletons):
        return "all"
    return "some" if count else "none"


def _discovered(board: chess.Board, checkers: tuple[chess.Square, ...]) -> bool | None:
    """A checker is discovered if he is not the man who moved (castling moves two men)."""
    if not board.move_stack:
        return True if len(checkers) > 1 else None
    before = board.copy(stack=1)
    move = before.pop()
    arrived = {move.to_square}
    if before.is_castling(move):
        rank = chess.square_rank(move.to_square)
        arrived.add(chess.square(5 if before.is_kingside_castling(move) else 3, rank))
    return any(checker not in arrived for checker in checkers)
