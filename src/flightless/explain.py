"""One position in, everything about it out: proof, case, names and words, and their JSON form.

This is the one place where the rooms above come together for a single position; the command
line, the press and later rooms ask here.  It computes nothing itself and prints nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import chess

from flightless.cases.build import case_of
from flightless.cases.case import Case
from flightless.cases.document import case_document
from flightless.patterns.describe import Description, describe
from flightless.patterns.documents import pattern_documents
from flightless.patterns.recognise import Name, names
from flightless.prove.proof import Proof
from flightless.words.explain import account

if TYPE_CHECKING:
    from flightless.words.account import Account

__all__ = ["Explanation", "explain", "explanation_document", "final_board"]


@dataclass(frozen=True, slots=True)
class Explanation:
    """All that is known of one position.

    `proof` is None for a position that is mated already.  `case` is that of the mated
    position itself, or of the final position of the proof's main line; None if there is no
    mate.  `names` and `description` belong to the case.
    """

    fen: str
    proof: Proof | None
    case: Case | None
    names: tuple[Name, ...]
    description: Description | None
    account: Account


def explain(
    board: chess.Board,
    within: int = 5,
    budget: int | None = None,
    seconds: float | None = None,
    language: str = "en",
) -> Explanation:
    """Explain a mated position, or one with a forced mate and the mate it ends in.

    `within`, `budget` and `seconds` limit the search as in `prove.prove`.  A mated position
    keeps its move stack's last move in view (luft, discovered check).  Raises
    `PositionError` for a position that is neither (stalemate, illegal).
    """
    if board.is_checkmate():
        case = case_of(board)
        return _explained(board, None, case, language)
    from flightless.prove import DEFAULT_NODES, prove

    proof = prove(board, within, budget or DEFAULT_NODES, seconds)
    end = final_board(board, proof)
    return _explained(board, proof, case_of(end) if end is not None else None, language)


def final_board(board: chess.Board, proof: Proof) -> chess.Board | None:
    """The mated position at the end of the main line, with its moves; None without a mate."""
    if proof.verdict not in ("mate", "mated"):
        return None
    end = board.copy(stack=False)
    for move in proof.line:
        end.push(move)
    return end


def _explained(
    board: chess.Board, proof: Proof | None, case: Case | None, language: str
) -> Explanation:
    found = names(case) if case is not None else ()
    return Explanation(
        board.fen(),
        proof,
        case,
        found,
        describe(case) if case is not None else None,
        account(proof, case, found, language),
    )


def explanation_document(explanation: Explanation) -> dict[str, Any]:
    """The JSON form: one flat document, the proof's fields and the case's side by side.

    `fen` is the position that was asked about and `case_fen` the mated one that the case
    describes (the same if it was mated already).  docs/commands.md lists the fields.
    """
    document: dict[str, Any] = {"format": "flightless-explanation", "version": 1}
    if explanation.proof is None:
        document |= {"fen": explanation.fen, "verdict": "mated", "moves": 0, "shortest": True}
        document |= {"keys": [], "line": [], "nodes": 0}
    else:
        from flightless.prove import document as proof_document

        proof = proof_document(explanation.proof)
        document |= {k: v for k, v in proof.items() if k not in ("format", "version", "tree")}
        document["proof"] = proof
    if explanation.case is not None:
        case = case_document(explanation.case)
        document["case_fen"] = case.pop("fen")
        document |= {k: v for k, v in case.items() if k not in ("format", "version")}
        document |= pattern_documents(explanation.case)
    document["sentences"] = list(explanation.account.sentences)
    return document
