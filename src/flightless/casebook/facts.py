"""What a position shows by itself, for sorting: who mates, the phase, the nature of the keys.

Read with python-chess from the position and the keys that were proved elsewhere; nothing is
searched here.
"""

from __future__ import annotations

from collections.abc import Iterable

import chess

from flightless.casebook.codes import NATURES, PHASES, mask_of

__all__ = ["mating_side", "natures_mask", "phase_code", "tandem_of_skeleton"]

_MINOR_HOMES = (
    (chess.KNIGHT, chess.WHITE, chess.BB_B1 | chess.BB_G1),
    (chess.BISHOP, chess.WHITE, chess.BB_C1 | chess.BB_F1),
    (chess.KNIGHT, chess.BLACK, chess.BB_B8 | chess.BB_G8),
    (chess.BISHOP, chess.BLACK, chess.BB_C8 | chess.BB_F8),
)


def mating_side(board: chess.Board, moves: int | None) -> chess.Color:
    """Who mates: the mover for a mate in n, the other for a mated king; else the mover."""
    return board.turn if moves is None or moves > 0 else not board.turn


def phase_code(board: chess.Board) -> int:
    """The code of the phase, from the position alone so that it does not change with the game.

    Endgame: at most four pieces besides kings and pawns (Minev, A Practical Guide to Rook
    Endgames, 2004; from memory).  Opening: otherwise, if at least four of the eight knights
    and bishops are at home (common practice, no source).
    """
    pieces = board.knights | board.bishops | board.rooks | board.queens
    if chess.popcount(pieces) <= 4:
        return PHASES.index("endgame")
    at_home = sum(
        chess.popcount(board.pieces_mask(kind, colour) & homes)
        for kind, colour, homes in _MINOR_HOMES
    )
    return PHASES.index("opening" if at_home >= 4 else "middlegame")


def natures_mask(board: chess.Board, keys: Iterable[chess.Move]) -> int:
    """The natures of all keys that the moves show by themselves, as bits of `NATURES`."""
    words: set[str] = set()
    for key in keys:
        capture, castling = board.is_capture(key), board.is_castling(key)
        if capture:
            words.add("capture")
        if key.promotion:
            words.add("promotion")
        board.push(key)
        checkers = board.checkers_mask()
        board.pop()
        if checkers:
            words.add("check")
            if checkers & ~chess.BB_SQUARES[key.to_square] and not castling:
                words.add("discovered check")
            if chess.popcount(checkers) > 1:
                words.add("double check")
        elif not capture:
            words.add("quiet")
    return mask_of(words, NATURES, "nature of a key")


def tandem_of_skeleton(skeleton: str, mating: chess.Color) -> str:
    """The kinds of the mating men in a skeleton's position, the king left out; may be empty.

    Where a mate has several skeletons, this sees the preferred one alone.
    """
    board = chess.Board(skeleton)
    return "".join(
        chess.piece_symbol(kind).upper()
        for kind in (chess.QUEEN, chess.ROOK, chess.BISHOP, chess.KNIGHT, chess.PAWN)
        if board.pieces_mask(kind, mating)
    )
