"""The table of what is known about positions: bounds on the number of moves to mate.

A bound is a fact about the position alone (no path, no clock), so it holds wherever the
position turns up, for either side, and entries never go stale; they are only lost.
"""

from __future__ import annotations

import numpy as np

from flightless.core.bits import ONE, ZERO
from flightless.core.compiled import inner
from flightless.core.state import Moves

__all__ = ["BYTE", "MOVE", "known_move", "mates_within", "new_table", "probe", "store"]

BYTE, MOVE = np.uint64(0xFF), np.uint64(0x7FFF)
_N2, _N3, _N8, _N16, _N32 = (np.uint64(n) for n in (2, 3, 8, 16, 32))
_HEAD = np.uint64(4)
_NOTHING = BYTE << _N8
"""No length is refuted (0), none is proved (255)."""


def new_table(bits: int) -> Moves:
    """An empty table of 2^bits pairs of entries, 32 bytes a pair.

    The first word is the index mask; a pair begins at `4 + 4 * (key & mask)`.  An entry is a
    word (refuted length, proved length, move, and the length that decides which entry of a
    pair gives way) and before it the position's key combined with that word: so an entry that
    two threads wrote at once, half and half, is no position's entry.
    """
    table = np.zeros(4 + (4 << bits), np.uint64)
    table[0] = (1 << bits) - 1
    return table


@inner
def probe(table: Moves, key: np.uint64) -> np.uint64:
    """What is known: the length refuted in the low byte, then the length proved, then the move.

    The side to move has no mate in the refuted length and mates within the proved one.
    """
    at = ((key & table[ZERO]) << _N2) + _HEAD
    word = table[at + ONE]
    if table[at] ^ word == key and word:
        return np.uint64(word)
    word = table[at + _N3]
    if table[at + _N2] ^ word == key and word:
        return np.uint64(word)
    return _NOTHING


@inner
def mates_within(known: np.uint64, left: np.uint64) -> bool:
    """Whether the word from `probe` proves a mate within `left`."""
    return bool((known >> _N8) & BYTE <= left)


@inner
def known_move(known: np.uint64) -> np.uint64:
    """The move that mates in the proved length, or 0."""
    return (known >> _N16) & MOVE


@inner
def store(
    table: Moves, key: np.uint64, refuted: np.uint64, proved: np.uint64, move: np.uint64
) -> None:
    """Note bounds; `proved` is 255 for none.  They are joined to what the entry has.

    A new position takes the first place of its pair if it is searched no less deeply than
    the one that stands there, which then moves to the second; else it takes the second.
    """
    at = ((key & table[ZERO]) << _N2) + _HEAD
    old = table[at + ONE]
    if table[at] ^ old != key:
        first = old
        old = table[at + _N3]
        if table[at + _N2] ^ old == key:
            at += _N2
        else:
            depth = proved if proved != BYTE else refuted
            if depth < first >> _N32:
                at += _N2
            else:
                table[at + _N2] = table[at]
                table[at + _N3] = first
            word = refuted | proved << _N8 | move << _N16 | depth << _N32
            table[at] = key ^ word
            table[at + ONE] = word
            return
    refuted = max(refuted, old & BYTE)
    if old and (old >> _N8) & BYTE <= proved:
        proved = (old >> _N8) & BYTE
        move = (old >> _N16) & MOVE
    depth = proved if proved != BYTE else refuted
    word = refuted | proved << _N8 | move << _N16 | depth << _N32
    table[at] = key ^ word
    table[at + ONE] = word
