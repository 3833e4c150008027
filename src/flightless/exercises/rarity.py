"""How often each pattern is met: its share of the mates of a casebook, or of historical games.

Shares alone; what a rare pattern adds to a grade is the matter of `grade`.  The counts in
`pattern_counts.json` come from `flightless harvest` over the games that the file names.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files
from types import MappingProxyType

from flightless.patterns.recognise import catalogue

__all__ = ["ENOUGH", "historical_shares", "shares_met", "shares_of"]

ENOUGH = 500
"""So many mates a casebook must have for its own counts to be taken (common practice, no
source)."""


def shares_of(counts: Mapping[str, int], mates: int) -> Mapping[str, float]:
    """The share of each pattern of the catalogue, 0 to 1, from how many of `mates` have it.

    A pattern that was not met has the share 0; one that is not in the catalogue has its share
    if it was met.
    """
    if mates < 1:
        return MappingProxyType({})
    every = [*(pattern.name for pattern in catalogue().patterns), *sorted(counts)]
    return MappingProxyType({name: min(1.0, counts.get(name, 0) / mates) for name in every})


def shares_met(counts: Mapping[str, int], mates: int) -> Mapping[str, float]:
    """The shares of a casebook with so many mates, or the historical ones if they are too few."""
    return shares_of(counts, mates) if mates >= ENOUGH else historical_shares()


@lru_cache(maxsize=1)
def historical_shares() -> Mapping[str, float]:
    """The shares in 773 mates of 6,730 master games of 1749 to 1946."""
    text = (files("flightless.exercises") / "pattern_counts.json").read_text("utf-8")
    document = json.loads(text)
    return shares_of(document["patterns"], document["mates"])
