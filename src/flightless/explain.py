"""One position in, everything about it out: proof, case, names and words, and their JSON form.

This is the one place where the rooms above come together for a single position; the command
line, the press and later rooms ask here.  It computes nothing itself and prints nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import chess

from flightless.cases.breaks import Rescue, rescues_of
from flightless.cases.build import case_of
from flightless.cases.case import Case
from flightless.cases.document import case_document
from flightless.cases.missing import NearMate, missing_of
from flightless.cases.records import (
    breaks_record,
    either_record,
    near_record,
    other_keys_record,
    own_king_record,
    rescues_record,
    start_record,
    try_record,
    variations_record,
    way_record,
)
from flightless.cases.tries import OtherKey, other_keys
from flightless.cases.variations import StartVariations, Variations, start_variations, variations_of
from flightless.patterns.describe import Description, describe
from flightless.patterns.documents import pattern_documents
from flightless.patterns.own import own_catalogue
from flightless.patterns.recognise import Name, names
from flightless.prove.proof import Proof
from flightless.words.explain import account, account_of_missing
from flightless.words.extras import Extras, gather

if TYPE_CHECKING:
    from flightless.words.account import Account

__all__ = ["Explanation", "Further", "explain", "explanation_document", "final_board"]

_LONGEST_START = 3
"""The starting position of a forced line is varied for mates of up to this length: every
change is proved anew, and pupils are asked about no longer ones (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Further:
    """What could be different: in the mated position, and in the starting position of a
    forced line (None if not asked for, or the line is too long)."""

    variations: Variations
    rescues: tuple[Rescue, ...]
    other_keys: tuple[OtherKey, ...] = ()
    start: StartVariations | None = None


@dataclass(frozen=True, slots=True)
class Explanation:
    """All that is known of one position.

    `proof` is None for a position that is over (mated, stalemated).  `case` is that of the
    mated position itself, or of the final position of the proof's main line; `names`,
    `description`, `extras` and `further` belong to it.  Without a mate `near` says what the
    answers to the check are, or what is missing.
    """

    fen: str
    proof: Proof | None
    case: Case | None
    names: tuple[Name, ...]
    description: Description | None
    extras: Extras
    further: Further | None
    near: NearMate | None
    account: Account


def explain(
    board: chess.Board,
    within: int = 5,
    budget: int | None = None,
    seconds: float | None = None,
    language: str = "en",
    *,
    start: bool = False,
) -> Explanation:
    """Explain any legal position: mated, stalemated, in check with answers, mate in n, or no
    mate within the limit and the nearest things to one.

    `within`, `budget` and `seconds` limit the search as in `prove.prove`.  A mated position
    keeps its move stack's last move in view (luft, discovered check).  With `start` the
    starting position of a forced line is varied too, which costs a search for each change.
    Raises `PositionError` for an illegal position.
    """
    if board.is_checkmate():
        return _of_mate(board, None, case_of(board), language, start=False)
    if board.is_stalemate():
        return _of_near(board, None, language)
    from flightless.prove import DEFAULT_NODES, prove

    proof = prove(board, within, budget or DEFAULT_NODES, seconds)
    end = final_board(board, proof)
    if end is None:
        return _of_near(board, proof, language)
    return _of_mate(board, proof, case_of(end), language, start=start)


def final_board(board: chess.Board, proof: Proof) -> chess.Board | None:
    """The mated position at the end of the main line, with its moves; None without a mate."""
    if proof.verdict not in ("mate", "mated"):
        return None
    end = board.copy(stack=False)
    for move in proof.line:
        end.push(move)
    return end


def _of_mate(
    board: chess.Board, proof: Proof | None, case: Case, language: str, *, start: bool
) -> Explanation:
    found = names(case, own_catalogue())
    extras = gather(proof, case)
    keys: tuple[OtherKey, ...] = ()
    varied = None
    if proof is not None and proof.verdict == "mate" and proof.moves is not None:
        keys = other_keys(proof)
        if start and proof.moves <= _LONGEST_START:
            varied = start_variations(board, proof.moves)
    return Explanation(
        fen=board.fen(),
        proof=proof,
        case=case,
        names=found,
        description=describe(case),
        extras=extras,
        further=Further(variations_of(case), rescues_of(case), keys, varied),
        near=None,
        account=account(proof, case, found, language, extras=extras),
    )


def _of_near(board: chess.Board, proof: Proof | None, language: str) -> Explanation:
    near = missing_of(board)
    return Explanation(
        fen=board.fen(),
        proof=proof,
        case=None,
        names=(),
        description=None,
        extras=Extras(),
        further=None,
        near=near,
        account=account_of_missing(near, proof, language),
    )


def explanation_document(explanation: Explanation) -> dict[str, Any]:
    """The JSON form: one flat document, the proof's fields and the case's side by side.

    `fen` is the position that was asked about and `case_fen` the mated one that the case
    describes (the same if it was mated already).  docs/commands.md lists the fields.
    """
    document: dict[str, Any] = {"format": "flightless-explanation", "version": 1}
    document |= _proof_fields(explanation)
    if explanation.case is not None:
        case = case_document(explanation.case)
        document["case_fen"] = case.pop("fen")
        document |= {k: v for k, v in case.items() if k not in ("format", "version")}
        document |= pattern_documents(explanation.case, own_catalogue())
    document |= _extra_fields(explanation)
    document["sentences"] = list(explanation.account.sentences)
    return document


def _proof_fields(explanation: Explanation) -> dict[str, Any]:
    if explanation.proof is None:
        mated = explanation.case is not None
        return {
            "fen": explanation.fen,
            "verdict": "mated" if mated else "stalemate",
            "moves": 0 if mated else None,
            "shortest": mated,
            "keys": [],
            "line": [],
            "nodes": 0,
        }
    from flightless.prove import document as proof_document

    proof = proof_document(explanation.proof)
    fields = {k: v for k, v in proof.items() if k not in ("format", "version", "tree")}
    return fields | {"proof": proof}


def _extra_fields(explanation: Explanation) -> dict[str, Any]:
    extras, further = explanation.extras, explanation.further
    fields: dict[str, Any] = {}
    if further is not None:
        fields["either_would_do"] = either_record(extras.either)
        fields["breaks"] = breaks_record(extras.breaks)
        fields["rescues"] = rescues_record(further.rescues)
        fields["variations"] = variations_record(further.variations)
        fields["other_keys"] = other_keys_record(further.other_keys)
        if further.start is not None:
            fields["start_variations"] = start_record(further.start)
    if extras.own_king is not None:
        fields["other_king"] = own_king_record(extras.own_king)
    if extras.way is not None:
        fields["way_in"] = way_record(extras.way)
    if explanation.proof is not None and explanation.near is None:
        fields["tries"] = [try_record(one) for one in extras.tries]
    if explanation.near is not None:
        fields["near"] = near_record(explanation.near)
    return fields
