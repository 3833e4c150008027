"""Defences that only delay: spite checks, sacrifices and hopeless interpositions.

Plain python-chess on a finished proof tree; nothing is searched here.  A coach leaves such
moves out of the idea of a mate and mentions them in one breath.
"""

from __future__ import annotations

from collections.abc import Mapping

import chess

from flightless.certify.document import position_key
from flightless.prove.proof import Threat

__all__ = ["delays"]


def delays(
    board: chess.Board,
    key: chess.Move,
    threat: Threat | None,
    tree: Mapping[str, tuple[chess.Move, ...]],
    distance: Mapping[str, int],
) -> tuple[chess.Move, ...]:
    """The replies to `key` that put the mate off by one move and change nothing, by UCI text.

    After a quiet key with a threat: a check, or a man given up, after which the mate is one
    move further than the threat, and the answer leaves the same threat standing (or, if it
    gives check, the line ends in the same mating move).  After a check: a man put between
    and taken at once by the man who checks, the defender having no reply that he had not
    before.  `board` is the position before the key.
    """
    after_key = board.copy(stack=False)
    after_key.push(key)
    check = after_key.is_check()
    if not check and threat is None:
        return ()
    longest = distance[position_key(board)] - 1
    found = []
    for reply in after_key.legal_moves:
        after = after_key.copy(stack=False)
        after.push(reply)
        position = position_key(after)
        if distance[position] != longest:
            continue
        if check:
            good = _only_interposes(after_key, reply, after, tree[position][0])
        else:
            assert threat is not None
            far = longest == threat.moves + 1
            good = far and _changes_nothing(after, reply, tree, threat)
        if good:
            found.append(reply)
    return tuple(sorted(found, key=chess.Move.uci))


def _changes_nothing(
    after: chess.Board,
    reply: chess.Move,
    tree: Mapping[str, tuple[chess.Move, ...]],
    threat: Threat,
) -> bool:
    answer = tree[position_key(after)][0]
    if not after.is_check() and answer.to_square != reply.to_square:
        return False
    after = after.copy(stack=False)
    after.push(answer)
    if after.is_check():
        return _last_move(after, tree) == threat.line[-1]
    after.push(chess.Move.null())
    if threat.moves > 1:
        return any(after.is_legal(move) for move in threat.keys)
    return any(_mates(after, move) for move in threat.keys)


def _mates(board: chess.Board, move: chess.Move) -> bool:
    if not board.is_legal(move):
        return False
    board.push(move)
    mate = board.is_checkmate()
    board.pop()
    return mate


def _last_move(board: chess.Board, tree: Mapping[str, tuple[chess.Move, ...]]) -> chess.Move | None:
    """The mating move of the line in which the defender's first reply (by UCI) is played."""
    board = board.copy(stack=False)
    last = None
    while replies := sorted(board.legal_moves, key=chess.Move.uci):
        board.push(replies[0])
        last = tree[position_key(board)][0]
        board.push(last)
    return last


def _only_interposes(
    before: chess.Board, reply: chess.Move, after: chess.Board, answer: chess.Move
) -> bool:
    checkers = list(before.checkers())
    king = before.king(before.turn)
    if len(checkers) != 1 or king is None:
        return False
    between = chess.between(checkers[0], king)
    if not between & chess.BB_SQUARES[reply.to_square] or reply.from_square == king:
        return False
    if answer.from_square != checkers[0] or answer.to_square != reply.to_square:
        return False
    after = after.copy(stack=False)
    after.push(answer)
    return all(before.is_legal(move) for move in after.legal_moves)
