"""What a proofreader says of an old sheet: sound, or each fault with the moves that show it.

Speaks findings of `prove.proofread`; it looks nothing up.
"""

from __future__ import annotations

import chess

from flightless.prove.proofread import Fault, Finding
from flightless.words.english.grammar import capital, listed, number
from flightless.words.notation import figure_line, steps

__all__ = ["finding_text"]


def finding_text(finding: Finding) -> str:
    """One or more sentences on a claim."""
    if finding.sound:
        return _sound(finding)
    return " ".join(capital(_fault(fault, finding)) for fault in finding.faults)


def _sound(finding: Finding) -> str:
    proof = finding.proof
    if proof is None or finding.claim is None or proof.moves is None:
        return "Sound."
    line = _line(finding, proof.line)
    if proof.moves < 0:
        return f"Sound: mated in {number(-proof.moves)}, {line}."
    if len(proof.keys) > 1:
        moves = listed(_line(finding, (key,)) for key in proof.keys)
        return f"Sound: mate in {number(proof.moves)}, by {moves}, as the sheet says."
    return f"Sound: mate in {number(proof.moves)}, {line}."


def _fault(fault: Fault, finding: Finding) -> str:
    line = _line(finding, fault.line)
    proof = finding.proof
    length = number(abs(proof.moves)) if proof is not None and proof.moves is not None else ""
    match fault.kind:
        case "second key":
            return f"a second key: {line}."
        case "not a key":
            return _not_a_key(fault, finding)
        case "shorter":
            return f"there is a shorter mate, in {length}: {line}."
        case "longer":
            return f"the mate takes longer, {length} moves: {line}."
        case "no mate":
            if proof is not None and proof.moves is not None:
                side = "the side to move is mated" if proof.moves < 0 else "the side to move mates"
                return f"it is the other way round: {side} in {length}, {line}."
            within = number(proof.within) if proof is not None else ""
            return f"there is no mate within {within}."
        case "no solution":
            return "the sheet claims nothing: there is neither a length nor a move."
        case "not to the end":
            return f"the solution stops before the mate; it goes {line}."
        case "undecided":
            return "not decided: the budget was spent first."
        case "illegal":
            return f"cannot be right as it stands: {fault.reason}."


def _not_a_key(fault: Fault, finding: Finding) -> str:
    move = _line(finding, fault.line[:1])
    if fault.distance is not None and finding.proof is not None:
        return f"{move} is no key: it mates, but only in {number(fault.distance)}."
    if len(fault.line) > 1:
        return f"{move} does not mate: {_line(finding, fault.line)} refutes it."
    return f"{move} does not mate."


def _line(finding: Finding, moves: tuple[chess.Move, ...]) -> str:
    if finding.claim is None or not moves:
        return ""
    board = finding.claim.board.copy(stack=False)
    board.fullmove_number = 1
    return figure_line(steps(board, moves))
