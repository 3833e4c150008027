"""What a composed problem has, found by python-chess alone: slow, plain, and not ours.

Set play, threats, defences and tries are looked for move by move with `certify.brute`, which
shares nothing with the search.
"""

from __future__ import annotations

from collections.abc import Iterable

import chess

from flightless.certify.brute import has_mate_within, keys_within, mated_within


def after(board: chess.Board, move: chess.Move) -> chess.Board:
    then = board.copy(stack=False)
    then.push(move)
    return then


def soonest(board: chess.Board, within: int) -> tuple[int, set[chess.Move]]:
    """The least number of moves to mate, 1 or 2, and every move that keeps to it."""
    for moves in range(1, within + 1):
        found = keys_within(board, moves)
        if found:
            return moves, set(found)
    return 0, set()


def mates_within(board: chess.Board, move: chess.Move, within: int) -> bool:
    return board.is_legal(move) and mated_within(after(board, move), within - 1)


def set_play(board: chess.Board, moves: int) -> dict[chess.Move, tuple[int, set[chess.Move]]]:
    """Every reply that would be met in time if the defender had the move."""
    passed = after(board, chess.Move.null())
    found = {reply: soonest(after(passed, reply), moves - 1) for reply in passed.legal_moves}
    return {reply: (length, keys) for reply, (length, keys) in found.items() if length}


def threats(then: chess.Board, moves: int) -> tuple[int, set[chess.Move]]:
    """What a move threatens, if it gives no check."""
    if then.is_check():
        return 0, set()
    return soonest(after(then, chess.Move.null()), moves - 1)


def idle(then: chess.Board, length: int, every: Iterable[chess.Move]) -> set[chess.Move]:
    """The replies after which all threats still mate in their own number of moves."""
    if not length:
        return set()
    return {
        reply
        for reply in then.legal_moves
        if all(mates_within(after(then, reply), threat, length) for threat in every)
    }


def tries(board: chess.Board, moves: int) -> dict[chess.Move, chess.Move]:
    """Every first move with several replies of which exactly one holds, and that reply."""
    found = {}
    for move in board.legal_moves:
        then = after(board, move)
        replies = list(then.legal_moves)
        holding: list[chess.Move] = []
        for reply in replies:
            if not has_mate_within(after(then, reply), moves - 1):
                holding.append(reply)
            if len(holding) > 1:
                break
        if len(replies) > 1 and len(holding) == 1:
            found[move] = holding[0]
    return found
