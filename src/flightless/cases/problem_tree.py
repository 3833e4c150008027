"""The play of a long direct mate, read off its proof: defences, and one line after each.

Nothing is searched and nothing compiled is loaded; what a tree does not hold is left out.
"""

from __future__ import annotations

from dataclasses import replace

import chess

from flightless.cases.problem import Play, Variation
from flightless.certify import position_key
from flightless.prove.proof import Proof

__all__ = ["play_of"]


def play_of(proof: Proof, key: chess.Move) -> Play:
    """A key of a proof: its threat, and each defence with the line of the longest resistance.

    A reply is idle if the mate after it is no longer than the threat, and a threat is among
    the moves that the tree has there.
    """
    assert proof.moves is not None
    board = chess.Board(proof.fen)
    after = _after(board, key)
    check = after.is_check()
    threat = proof.threats.get(key)
    threats: tuple[Play, ...] = ()
    if threat is not None:
        passed = _after(after, chess.Move.null())
        threats = tuple(
            Play(move, threat.moves, passed.gives_check(move), followed=threat.moves == 1)
            for move in threat.keys
        )
    met: list[Variation] = []
    idle: list[Variation] = []
    for reply in _longest_first(proof, after):
        position = position_key(_after(after, reply))
        line = _line(proof, _after(after, reply))
        kept = (
            threat is not None
            and proof.distance[position] <= threat.moves
            and any(move in threat.keys for move in proof.tree[position])
        )
        (idle if kept else met).append(Variation((reply,), line))
    followed = check or threat is not None or "threats" not in proof.left_open
    return Play(key, proof.moves, check, threats, tuple(met), tuple(idle), followed)


def _line(proof: Proof, board: chess.Board) -> Play:
    """The tree's move and one line of the longest defence below it."""
    position = position_key(board)
    move, moves = proof.tree[position][0], proof.distance[position]
    after = _after(board, move)
    play = Play(move, moves, after.is_check(), followed=moves == 1)
    if moves == 1:
        return play
    reply = _longest_first(proof, after)[0]
    below = Variation((reply,), _line(proof, _after(after, reply)))
    return replace(play, variations=(below,))


def _longest_first(proof: Proof, after: chess.Board) -> list[chess.Move]:
    """The replies, those that hold out longest first, then by their text."""

    def place(reply: chess.Move) -> tuple[int, str]:
        return -proof.distance[position_key(_after(after, reply))], reply.uci()

    return sorted(after.legal_moves, key=place)


def _after(board: chess.Board, move: chess.Move) -> chess.Board:
    after = board.copy(stack=False)
    after.push(move)
    return after
