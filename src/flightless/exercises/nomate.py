"""The same position with one man moved, and no mate any more: for telling real from false.

Only changes that a game could have brought: a pawn one step on or back, a piece on another
square of its own moves.  Each is tried by a search; ranking by teaching value beyond that is
not done here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import chess

from flightless.cases.changes import Change, lookalike_moves, moved
from flightless.exercises.boards import fresh
from flightless.exercises.material import Material
from flightless.positions import board_refusals

__all__ = ["Spoilt", "without_mate"]

_MOST_TRIED = 60
_NODES = 200_000


@dataclass(frozen=True, slots=True)
class Spoilt:
    """A position without the mate: what was changed, and the position then.

    `key_legal`: the first move of the mate can still be made there."""

    change: Change
    board: chess.Board
    key_legal: bool


def without_mate(material: Material, enough: int = 6) -> tuple[Spoilt, ...]:
    """Up to `enough` ways to spoil the mate of `material` by moving one man, proved: no mate as
    long as the material's.

    Those that a pupil learns most from come first: the mated king's own pawns, then his
    pieces, then the mating side's men, each the nearer to the king the better (common
    practice, no source).
    """
    if material.proof is None or not material.proof.moves:
        return ()
    found: list[Spoilt] = []
    for tried, change in enumerate(_changes(material)):
        if len(found) >= enough or tried >= _MOST_TRIED:
            break
        board = fresh(change.applied(material.board))
        board.castling_rights = board.clean_castling_rights()
        if _is_natural(board) and _no_mate(board, material.proof.moves):
            found.append(Spoilt(change, board, board.is_legal(material.proof.keys[0])))
    return tuple(found)


def _is_natural(board: chess.Board) -> bool:
    if board_refusals(board) or not any(board.legal_moves):
        return False
    return not board.is_check() and board.is_valid()


def _no_mate(board: chess.Board, moves: int) -> bool:
    from flightless.prove import shortest_mate

    find = shortest_mate(board, moves, moves, _NODES)
    return find.moves is None and not find.exhausted


def _changes(material: Material) -> Iterator[Change]:
    case, board = material.case, material.board
    mated = case.mated
    candidates: list[tuple[tuple[int, int, int, int], Change]] = []
    mover = material.proof.keys[0].from_square if material.proof else None
    for square, piece in board.piece_map().items():
        if piece.piece_type == chess.KING or square == mover:
            continue
        near = chess.square_distance(square, case.king)
        own = piece.color == mated
        group = (0 if piece.piece_type == chess.PAWN else 1) if own else 2
        if not own and not _works(material, square):
            continue
        candidates.extend(
            ((group, near, square, to), moved(board, square, to))
            for to in _steps(board, square, piece)
        )
    for _, change in sorted(candidates, key=lambda c: c[0]):
        yield change


def _works(material: Material, square: chess.Square) -> bool:
    """Whether the man still stands there in the final position and takes part."""
    return material.case.takes_part.get(square, "none") != "none"


def _steps(board: chess.Board, square: chess.Square, piece: chess.Piece) -> Iterator[chess.Square]:
    yield from lookalike_moves(board, square)
    if piece.piece_type == chess.PAWN:
        back = square + (-8 if piece.color else 8)
        if chess.square_rank(back) not in (0, 7) and board.piece_at(back) is None:
            yield back
