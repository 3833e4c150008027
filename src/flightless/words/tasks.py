"""What is asked of the pupil under a diagram, and the solution in one line.

Text from a proof that stands already; nothing is computed.
"""

from __future__ import annotations

import chess

from flightless.prove.proof import Proof
from flightless.words.english.grammar import number
from flightless.words.notation import figure_line, steps

__all__ = ["solution_text", "task_text"]

_SIDE = {chess.WHITE: "White", chess.BLACK: "Black"}


def task_text(board: chess.Board, proof: Proof | None) -> str:
    """The task under a diagram: to find the mate, or to say why it is one."""
    mover, other = _SIDE[board.turn], _SIDE[not board.turn]
    if proof is None or proof.moves is None:
        return f"{mover} is mated. Why? What holds each square round the king?"
    if proof.moves < 0:
        return f"{mover} to move. {other} mates in {number(-proof.moves)}, whatever {mover} plays."
    return f"{mover} to move and mate in {number(proof.moves)}."


def solution_text(board: chess.Board, proof: Proof | None) -> str:
    """The main line, and the other first moves if there are any."""
    if proof is None or not proof.line:
        return ""
    text = figure_line(steps(board, proof.line))
    others = [board.san(move) for move in proof.keys if move != proof.line[0]]
    if not others:
        return text
    dots = "1." if board.turn else "1…"
    return f"{text}; also {', '.join(dots + san for san in others)}"
