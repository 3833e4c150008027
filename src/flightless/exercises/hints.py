"""The hint ladder: first the pattern, then the man, then the square.

Each step is data; `words.reasons` speaks it.  A step that would give the answer away is left
out by the kind of exercise that makes the ladder.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import chess

from flightless.cases.case import Man

__all__ = ["Hint"]


@dataclass(frozen=True, slots=True)
class Hint:
    """One step of the ladder.

    - "pattern": the mate is of this pattern (`description` and `known_as` of the catalogue).
    - "tandem": these `kinds` of men work together.
    - "man": look at `man`; `role` says as what ("moves", "checks", "protected", "defends").
    - "square": look at `square`; `role` as what ("target", "flight", "from here").
    - "none": think of the possibility that there is no mate.
    """

    of: Literal["pattern", "tandem", "man", "square", "none"]
    description: str = ""
    known_as: str | None = None
    kinds: tuple[chess.PieceType, ...] = ()
    man: Man | None = None
    square: chess.Square | None = None
    role: Literal[
        "", "moves", "checks", "protected", "defends", "look", "target", "flight", "from here"
    ] = ""
