"""What has been seen before in a harvest: games and positions, eight bytes for each key.

Keys are hashes of 64 bits; with ten million of them the chance that any two differing things
share one is about 3 in a million.  The store grows by sorted runs, so that asking for many
keys at once is quick and a million take 16 MB.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping

import numpy as np

__all__ = ["Keys", "Known", "counting", "game_key", "position_key"]

Keys = np.ndarray[tuple[int], np.dtype[np.uint64]]

_YEAR = re.compile(r"\d{4}")


def game_key(start: str, moves: bytes, tags: Mapping[str, str]) -> int:
    """The key of a game: its starting position ("" for the usual one), its moves as the core's
    numbers, the players' family names and the year.

    Two games with one key are the same game: collections differ in first names, events and
    rounds, and different games with the same moves are common (short traps), but not between
    the same players in the same year.
    """
    year = _YEAR.match(tags.get("Date", ""))
    parts = (
        start,
        _family_name(tags.get("White", "")),
        _family_name(tags.get("Black", "")),
        year[0] if year else "",
    )
    return _hash("\0".join(parts).encode() + b"\0" + moves)


def position_key(fen: str, kind: str) -> int:
    """The key of a find: its kind, and the FEN without its counters."""
    return _hash(" ".join([kind, *fen.split()[:4]]).encode())


def counting(first: int, count: int) -> Keys:
    """So many numbers from `first` on."""
    return np.arange(first, first + count, dtype=np.uint64)


def _family_name(name: str) -> str:
    return " ".join(name.split(",")[0].lower().split())


def _hash(data: bytes) -> int:
    return int.from_bytes(hashlib.blake2b(data, digest_size=8).digest(), "little")


class Known:
    """Keys with, for each, the number under which it was first seen."""

    def __init__(self) -> None:
        self._runs: list[tuple[Keys, Keys]] = []

    def __len__(self) -> int:
        return sum(len(keys) for keys, _ in self._runs)

    def first_seen(self, keys: Keys, numbers: Keys) -> Keys:
        """For each key the number under which it was first seen; new ones are taken in under
        theirs, the first of equals first."""
        found = numbers.copy()
        fresh = np.ones(len(keys), bool)
        for known, under in self._runs:
            at = np.searchsorted(known, keys)
            at[at == len(known)] = 0
            hits = known[at] == keys
            found[hits] = under[at[hits]]
            fresh &= ~hits
        new, first, which = np.unique(keys[fresh], return_index=True, return_inverse=True)
        if len(new):
            under = numbers[fresh][first]
            found[fresh] = under[which]
            self._add(new, under)
        return found

    def _add(self, keys: Keys, numbers: Keys) -> None:
        """A new run; runs of like size are joined, so that there are few."""
        while self._runs and len(self._runs[-1][0]) < 2 * len(keys):
            other, under = self._runs.pop()
            keys, numbers = np.concatenate((other, keys)), np.concatenate((under, numbers))
            order = np.argsort(keys, kind="stable")
            keys, numbers = keys[order], numbers[order]
        self._runs.append((keys, numbers))
