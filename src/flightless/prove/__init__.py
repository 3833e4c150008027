"""Prove: is it mate, in how many, against every defence?

This room searches and hands over a `Proof` and its document; it does not judge beauty and
does not explain.  Loading the package loads nothing compiled: `prove()` does, when called.
"""

from flightless.prove.asking import (
    DEFAULT_NODES,
    LONGEST,
    distance_after,
    mate_in_one_keys,
    prove,
    prove_by_checks,
    refutations,
    shortest_mate,
    threat_of,
)
from flightless.prove.documents import document, refusal_document
from flightless.prove.proof import Find, Proof, Threat, Verdict

__all__ = [
    "DEFAULT_NODES",
    "LONGEST",
    "Find",
    "Proof",
    "Threat",
    "Verdict",
    "distance_after",
    "document",
    "mate_in_one_keys",
    "prove",
    "prove_by_checks",
    "refusal_document",
    "refutations",
    "shortest_mate",
    "threat_of",
]
