"""What if: a man taken away, another put in his place, one added, a pawn moved in time.

Each question is answered by trying it.  'Mate' is python-chess's `is_checkmate()` with the
mating side's own king not in check.  Counts of men are not looked at: a ninth pawn is a
thought experiment here, not an illegal position.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import chess

from flightless.cases.case import Luft, Removal, Saviour, Substitute

__all__ = ["Trials", "luft_of", "move_order", "tried"]


class Trials(NamedTuple):
    """What trying every man of a mated position gave."""

    removals: tuple[Removal, ...]
    substitutes: tuple[Substitute, ...]
    saviours: tuple[Saviour, ...]


def tried(board: chess.Board) -> Trials:
    """Every man but the kings taken off; every needed man of the mating side replaced by each
    other man and square; every man of the mated side added.  `board` must be mate."""
    from flightless.cases.kernels import trials  # compiled, so loaded late

    numbers = trials(board)
    at = 3
    removals = []
    for _ in range(numbers[0]):
        head = numbers[at]
        end = at + 1 + (head >> 16)
        removals.append(
            Removal(
                head & 63,
                bool(head & 64),
                bool(head & 128),
                bool(head & 256),
                tuple(map(_move, numbers[at + 1 : end])),
            )
        )
        at = end
    substitutes = [Substitute(n & 63, n >> 6 & 63, n >> 12) for n in numbers[at : at + numbers[1]]]
    at += numbers[1]
    saviours = []
    for _ in range(numbers[2]):
        head = numbers[at]
        end = at + 1 + (head >> 16)
        answers = tuple(map(_move, numbers[at + 1 : end]))
        saviours.append(Saviour(head & 63, head >> 6 & 7, answers))
        at = end
    return Trials(tuple(removals), tuple(substitutes), tuple(saviours))


@cache
def _move(number: int) -> chess.Move:
    """The move of a number (from, to << 6, promotion << 12); made once, since few differ."""
    return chess.Move(number & 63, number >> 6 & 63, number >> 12 or None)


def luft_of(board: chess.Board) -> tuple[Luft, ...]:
    """Each pawn move of the mated side that, had it been made before the mating move, leaves
    that move legal but no longer mate.

    The move must be legal if it were the mated side's turn, but for the mating side's king,
    who may have been in check (the mating move may have answered one).  Empty if the last
    move is not known.
    """
    if not board.move_stack:
        return ()
    before = board.copy(stack=1)
    mating_move = before.pop()
    before.turn = board.turn
    before.ep_square = None
    their_king = before.kings & before.occupied_co[not board.turn]
    found = []
    for move in sorted(before.generate_legal_moves(before.pawns, ~their_king), key=move_order):
        after = before.copy(stack=False)
        after.push(move)
        if not after.is_legal(mating_move):
            continue
        after.push(mating_move)
        if not after.is_checkmate():
            found.append(Luft(move, tuple(sorted(after.legal_moves, key=move_order))))
    return tuple(found)


def move_order(move: chess.Move) -> tuple[int, int, int]:
    """Sort key of moves: from, to, promotion."""
    return move.from_square, move.to_square, move.promotion or 0
