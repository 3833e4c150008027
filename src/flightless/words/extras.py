"""What an account may add to a proof and a case: the way in, the other king, shared duties,
tries, and changes that break the mate.

A record of what the case room found; `gather` asks for all of it.  Nothing is said here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import chess

from flightless.cases.case import Case
from flightless.prove.proof import Proof

if TYPE_CHECKING:
    from flightless.cases.breaks import Break
    from flightless.cases.duties import EitherWouldDo
    from flightless.cases.ownking import OwnKing
    from flightless.cases.tries import Try
    from flightless.cases.wayin import WayIn

__all__ = ["Extras", "gather"]


@dataclass(frozen=True, slots=True)
class Extras:
    """What is known beside the proof and the case; anything may be missing."""

    way: WayIn | None = None
    own_king: OwnKing | None = None
    either: tuple[EitherWouldDo, ...] = ()
    tries: tuple[Try, ...] = ()
    breaks: tuple[Break, ...] = ()


def gather(proof: Proof | None, case: Case | None, *, tries: bool = True) -> Extras:
    """Ask the case room for everything that an account can use.

    `tries` may be left out where time matters: each asks the search anew.
    """
    from flightless.cases.breaks import breaks_of
    from flightless.cases.duties import either_would_do
    from flightless.cases.ownking import own_king
    from flightless.cases.tries import tries_of
    from flightless.cases.wayin import way_in

    mates = proof is not None and proof.verdict == "mate" and proof.moves is not None
    way = way_in(proof) if proof is not None and mates else None
    found: tuple[Try, ...] = ()
    if proof is not None and mates and tries and (proof.moves or 0) > 1:
        found = tries_of(chess.Board(proof.fen), proof.moves or 0).tries
    if case is None:
        return Extras(way, tries=found)
    return Extras(way, own_king(case), either_would_do(case), found, breaks_of(case))
