"""What is said of a second opinion beside a proof: the engine's word, and where it differs.

It weighs nothing; `uci.opinion` decides whether the two differ and how.
"""

from __future__ import annotations

import chess

from flightless.prove.proof import Proof
from flightless.uci.opinion import Opinion, difference
from flightless.words.english.grammar import number
from flightless.words.notation import eye, steps

__all__ = ["opinion_text"]

_ONLY_PROOF = "Only the proof counts."


def opinion_text(proof: Proof, opinion: Opinion) -> str:
    """'The engine NAME says: mate in 3 by 1.Qh6 (in 1.2 s).', and what is to be said of it."""
    remark = _remark(proof, opinion)
    return f"The engine {opinion.engine} says: {_word(proof, opinion)}." + (
        f" {remark}" if remark else ""
    )


def _word(proof: Proof, opinion: Opinion) -> str:
    if opinion.moves is None:
        return f"no mate (in {opinion.seconds:.1f} s)"
    if opinion.moves < 0:
        return f"mated in {-opinion.moves} (in {opinion.seconds:.1f} s)"
    by = f" by {_move(proof, opinion.move)}" if opinion.move else ""
    return f"mate in {opinion.moves}{by} (in {opinion.seconds:.1f} s)"


def _move(proof: Proof, move: chess.Move) -> str:
    board = chess.Board(proof.fen)
    if not board.is_legal(move):
        return move.uci()
    board.fullmove_number = 1
    return eye(steps(board, [move])[0], mate_word="#")


def _remark(proof: Proof, opinion: Opinion) -> str:
    match difference(proof, opinion):
        case None:
            return ""
        case "no mate":
            return f"That is not what is proved. {_ONLY_PROOF}"
        case "length" | "other side":
            return f"That cannot be: the proof says otherwise. {_ONLY_PROOF}"
        case "first move":
            return f"That move is not among the first moves that are proved. {_ONLY_PROOF}"
        case "unproved":
            return _unproved(proof, opinion)
        case "unfinished":
            return (
                f"That is not proved, and not refuted: the search did not get so far. {_ONLY_PROOF}"
            )


def _unproved(proof: Proof, opinion: Opinion) -> str:
    length = abs(opinion.moves or 0)
    if length <= proof.within:
        moves = "move" if proof.within == 1 else "moves"
        return (
            f"That cannot be: there is no mate within {number(proof.within)} {moves}. {_ONLY_PROOF}"
        )
    return f"That is not proved: to look so far, say --within {length}. {_ONLY_PROOF}"
