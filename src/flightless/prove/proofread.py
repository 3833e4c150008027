"""Old sheets read against the proof: what was claimed of a position, and what is true of it.

Compares claims (the length of a mate, its first moves, a whole solution) with a proof, and
keeps the line that shows each fault.  Reading files and wording are left to others.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import chess

from flightless.errors import PositionError
from flightless.prove.asking import DEFAULT_NODES, distance_after, prove, refutations
from flightless.prove.proof import Proof

__all__ = ["Claim", "Fault", "FaultKind", "Finding", "proofread"]

FaultKind = Literal[
    "second key",
    "not a key",
    "shorter",
    "longer",
    "no mate",
    "no solution",
    "not to the end",
    "illegal",
    "undecided",
]


@dataclass(frozen=True, slots=True)
class Claim:
    """What a sheet says of a position; what it does not say is None or empty.

    `moves` is the length of the mate (negative: the side to move is mated), `keys` its first
    moves, `line` a solution to the end.
    """

    board: chess.Board
    moves: int | None = None
    keys: tuple[chess.Move, ...] = ()
    line: tuple[chess.Move, ...] = ()


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong, and the moves from the position that show it.

    For a *second key* the other key and its mate; for *not a key* the move and the reply that
    refutes it (then `distance` is the length of the mate that it still gives, or None); for
    *shorter* and *longer* the true main line; for *illegal* the reason in words.
    """

    kind: FaultKind
    line: tuple[chess.Move, ...] = ()
    distance: int | None = None
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """What became of a claim: sound if there are no faults.  `proof` is what is true."""

    claim: Claim | None
    faults: tuple[Fault, ...]
    proof: Proof | None = None

    @property
    def sound(self) -> bool:
        """Whether the sheet is right in all that it says."""
        return not self.faults


def proofread(claim: Claim, within: int = 5, budget: int = DEFAULT_NODES) -> Finding:
    """Compare a claim with the proof of its position.

    Looks within `within` moves or as far as the claim goes, whichever is longer.  A claim
    that says nothing, and a position that is over, are faults too.
    """
    if claim.moves is None and not claim.keys and not claim.line:
        return Finding(claim, (Fault("no solution"),))
    claimed = _claimed_moves(claim)
    try:
        proof = prove(claim.board, max(within, abs(claimed or 0)), budget)
    except PositionError as error:
        return Finding(claim, (Fault("illegal", reason=str(error)),))
    if proof.verdict == "undecided":
        return Finding(claim, (Fault("undecided"),), proof)
    faults = _length_faults(claim, claimed, proof)
    if proof.verdict == "mate":
        faults += _key_faults(claim, proof, budget)
    return Finding(claim, tuple(faults), proof)


def _claimed_moves(claim: Claim) -> int | None:
    """The claimed length: as written, or that of a solution that ends in mate."""
    if claim.moves is not None or not claim.line:
        return claim.moves
    end = claim.board.copy(stack=False)
    for move in claim.line:
        end.push(move)
    if not end.is_checkmate():
        return None
    moves = (len(claim.line) + 1) // 2
    return moves if len(claim.line) % 2 else -moves


def _length_faults(claim: Claim, claimed: int | None, proof: Proof) -> list[Fault]:
    if proof.moves is None:
        return [Fault("no mate")]
    faults = []
    if claimed is None:
        if claim.line and claim.moves is None and len(claim.line) > 1:
            faults.append(Fault("not to the end", proof.line))
    elif (claimed > 0) != (proof.moves > 0):
        faults.append(Fault("no mate", proof.line))
    elif abs(proof.moves) != abs(claimed):
        kind: FaultKind = "shorter" if abs(proof.moves) < abs(claimed) else "longer"
        faults.append(Fault(kind, proof.line))
    return faults


def _key_faults(claim: Claim, proof: Proof, budget: int) -> list[Fault]:
    named = claim.keys or claim.line[:1]
    faults = [_not_a_key(claim.board, move, proof) for move in named if move not in proof.keys]
    if named:
        others = [move for move in proof.keys if move not in named]
        faults += [
            Fault("second key", _mate_by(claim.board, move, proof, budget)) for move in others
        ]
    return faults


def _not_a_key(board: chess.Board, move: chess.Move, proof: Proof) -> Fault:
    distance = distance_after(board, move, proof.within)
    replies = refutations(board, move, proof.within)
    return Fault("not a key", (move, *replies[:1]), distance)


def _mate_by(
    board: chess.Board, key: chess.Move, proof: Proof, budget: int
) -> tuple[chess.Move, ...]:
    """The main line that begins with another key."""
    after = board.copy(stack=False)
    after.push(key)
    if after.is_checkmate() or proof.moves is None:
        return (key,)
    return (key, *prove(after, max(proof.moves - 1, 1), budget).line)
