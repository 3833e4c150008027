"""What is asked of the pupil under a diagram, and the solution in one line.

Text from a proof that stands already; nothing is computed.
"""

from __future__ import annotations

import chess

from flightless.errors import UsageError
from flightless.prove.proof import Proof
from flightless.words.english.grammar import COLOUR, number
from flightless.words.german import grammar as german
from flightless.words.notation import figure_line, steps

__all__ = ["solution_text", "task_text"]


def task_text(board: chess.Board, proof: Proof | None, language: str = "en") -> str:
    """The task under a diagram: to find the mate, or to say why it is one.

    Raises `UsageError` for a language that is not there.
    """
    return (_german_task if _is_german(language) else _english_task)(board, proof)


def solution_text(board: chess.Board, proof: Proof | None, language: str = "en") -> str:
    """The main line, and the other first moves if there are any."""
    if proof is None or not proof.line:
        return ""
    is_german = _is_german(language)
    line = steps(board, proof.line)
    text = german.figure_line(line) if is_german else figure_line(line)
    others = [board.san(move) for move in proof.keys if move != proof.line[0]]
    if not others:
        return text
    dots = "1." if board.turn else "1…"
    if is_german:
        others = ["".join(german.LETTERS.get(c, c) for c in san) for san in others]
    also = "auch" if is_german else "also"
    return f"{text}; {also} {', '.join(dots + san for san in others)}"


def _is_german(language: str) -> bool:
    if language not in ("de", "en"):
        raise UsageError(f"there is no phrasebook for language {language!r}, only for de and en")
    return language == "de"


def _english_task(board: chess.Board, proof: Proof | None) -> str:
    mover, other = COLOUR[board.turn], COLOUR[not board.turn]
    if proof is None or proof.moves is None:
        return f"{mover} is mated. Why? What holds each square round the king?"
    if proof.moves < 0:
        return f"{mover} to move. {other} mates in {number(-proof.moves)}, whatever {mover} plays."
    return f"{mover} to move and mate in {number(proof.moves)}."


def _german_task(board: chess.Board, proof: Proof | None) -> str:
    mover, other = german.SIDE[board.turn], german.SIDE[not board.turn]
    if proof is None or proof.moves is None:
        return f"{mover} ist matt. Warum? Was sperrt jedes Feld um den König?"
    count = german.times(abs(proof.moves), "einem Zug", "Zügen")
    if proof.moves < 0:
        return f"{mover} am Zug. {other} setzt in {count} matt, was {mover} auch spielt."
    return f"{mover} am Zug. Matt in {count}."
