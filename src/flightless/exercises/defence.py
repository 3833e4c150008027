"""The defender to move against a threat: which moves hold, and what happens after the others.

Shared by 'what saves him' and 'give luft'.
"""

from __future__ import annotations

from collections.abc import Iterator

import chess

from flightless.exercises.boards import fresh
from flightless.exercises.escapes import man_on, parry_of
from flightless.exercises.hints import Hint
from flightless.exercises.judging import holding_replies, threat_line
from flightless.exercises.mark import Mark
from flightless.exercises.material import Material
from flightless.exercises.proofs import names_at, proof_of
from flightless.exercises.reasons import Holds, NotHeld, Parry

__all__ = [
    "LONGEST",
    "best_parry",
    "defence_hints",
    "holding",
    "mark_defence",
    "threatened_positions",
]

LONGEST = 3
"""The longest threat that is asked about, in moves."""


def threatened_positions(material: Material) -> Iterator[tuple[chess.Board, int]]:
    """Positions in which the defender is to move and mate in so many moves is threatened.

    Taken from a mate in n and its main line: each position in which the mating side is to
    move, with the turn given to the other side.
    """
    proof = material.proof
    if proof is None or not proof.moves:
        return
    board = material.board
    for ply in range(0, len(proof.line), 2):
        moves = proof.moves - ply // 2
        if moves <= LONGEST and not board.is_check():
            turned = board.copy(stack=False)
            turned.turn = not board.turn
            turned.ep_square = None
            if turned.is_valid():
                yield fresh(turned), moves
        for move in proof.line[ply : ply + 2]:
            board.push(move)


def holding(board: chess.Board, moves: int) -> tuple[chess.Move, ...]:
    """Every move after which the other side has no mate within `moves`, by UCI text."""
    return tuple(sorted(holding_replies(board, moves, 300), key=chess.Move.uci))


def mark_defence(board: chess.Board, move: chess.Move, moves: int, *, only: bool) -> Mark:
    """The mark of a legal defence against mate in `moves`."""
    fen = board.fen()
    after = board.copy(stack=False)
    after.push(move)
    threat = threat_line(board, moves)
    if not any(after.legal_moves):
        return Mark("right", Holds(fen, move, None, moves, only))
    proof = proof_of(after.fen(), moves)
    if proof.verdict == "mate":
        threatened = bool(threat) and proof.line[0] == threat[0]
        line = proof.line
        if threat and threat[0] in proof.keys and not threatened:
            threatened = True
        return Mark("wrong", NotHeld(fen, move, line, threatened))
    parry = best_parry(board, move, moves)
    return Mark("right", Holds(fen, move, parry, moves, only))


def best_parry(board: chess.Board, move: chess.Move, moves: int) -> Parry | None:
    """How a move meets what was threatened; None if nothing was."""
    threat = threat_line(board, moves) if not board.is_check() else ()
    if not threat:
        return None
    return parry_of(board, move, threat[0], len(threat) // 2 + 1)


def defence_hints(board: chess.Board, moves: int, answer: chess.Move) -> tuple[Hint, ...]:
    """The pattern that threatens, the man who saves him, where he goes."""
    ladder: list[Hint] = []
    threat = threat_line(board, moves)
    if threat:
        passed = board.copy(stack=False)
        passed.push(chess.Move.null())
        passed = passed.copy(stack=False)
        found = names_at(passed.fen(), threat)
        if found:
            ladder.append(Hint("pattern", found[0].pattern.description, found[0].pattern.known_as))
    ladder.append(Hint("man", man=man_on(board, answer.from_square), role="defends"))
    ladder.append(Hint("square", square=answer.to_square, role="target"))
    return tuple(ladder)
