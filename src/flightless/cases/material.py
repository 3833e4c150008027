"""Material: what a man is worth, and what a capture wins when both sides go on taking.

Used to tell a sacrifice from an exchange.  Nothing here looks further than one square.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import chess

__all__ = ["VALUES", "Offer", "captured_value", "exchange", "offers_of"]

VALUES: Mapping[chess.PieceType, int] = MappingProxyType(
    {
        chess.PAWN: 1,
        chess.KNIGHT: 3,
        chess.BISHOP: 3,
        chess.ROOK: 5,
        chess.QUEEN: 9,
        chess.KING: 0,
    }
)
"""Worth in pawns (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Offer:
    """A man whom a move gives to be taken: where he stands after the move, the captures that
    win material, the best first, and what the best wins in pawns, all told."""

    man: chess.Square
    captures: tuple[chess.Move, ...]
    net: int


def captured_value(board: chess.Board, move: chess.Move) -> int:
    """What a move takes, and gains by promotion, in pawns."""
    value = 0
    if board.is_en_passant(move):
        value = VALUES[chess.PAWN]
    elif board.is_capture(move):
        value = VALUES[board.piece_type_at(move.to_square) or chess.PAWN]
    if move.promotion:
        value += VALUES[move.promotion] - VALUES[chess.PAWN]
    return value


def exchange(board: chess.Board, move: chess.Move) -> int:
    """What a capture wins in pawns if both sides then take on that square, the cheapest man
    first, each as long as it pays.  Only legal captures count."""
    gained = captured_value(board, move)
    board.push(move)
    answers = list(board.generate_legal_moves(to_mask=chess.BB_SQUARES[move.to_square]))
    if answers:
        cheapest = min(answers, key=lambda m: _cost(board, m))
        gained -= max(0, exchange(board, cheapest))
    board.pop()
    return gained


def _cost(board: chess.Board, move: chess.Move) -> tuple[int, int, int]:
    kind = board.piece_type_at(move.from_square)
    worth = 100 if kind == chess.KING else VALUES[kind or chess.PAWN]
    return worth, -(move.promotion or 0), move.from_square


def offers_of(board: chess.Board, move: chess.Move) -> tuple[Offer, ...]:
    """The men whom `move` offers, square order.

    A man is offered if the opponent can legally take him and thereby, the exchange on that
    square played out, wins more than `move` itself took; and if he could not win that much by
    taking the same man had the move been a pass.  So an exchange is no offer, nor is a man who
    was hanging already.
    """
    taken = captured_value(board, move)
    passed = board.copy(stack=False)
    passed.turn = not board.turn
    passed.ep_square = None
    after = board.copy(stack=False)
    after.push(move)
    found: dict[chess.Square, list[tuple[int, chess.Move]]] = {}
    for capture in list(after.generate_legal_captures()):
        man = capture.to_square
        if after.is_en_passant(capture):
            man += 8 if board.turn else -8
        net = exchange(after, capture) - taken
        if net <= 0:
            continue
        hung = (
            man != move.to_square
            and passed.is_legal(capture)
            and passed.piece_type_at(man) != chess.KING
            and exchange(passed, capture) >= net
        )
        if not hung:
            found.setdefault(man, []).append((net, capture))
    offers = []
    for man, captures in sorted(found.items()):
        captures.sort(key=lambda c: (-c[0], c[1].from_square, c[1].promotion or 0))
        offers.append(Offer(man, tuple(c for _, c in captures), captures[0][0]))
    return tuple(offers)
