"""One position from two that are the same: what stays, what fills a gap, what replaces.

The rules do not depend on the order of coming or on how a harvest was cut into batches, and
taking the same thing twice changes nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from flightless.casebook.incoming import Incoming, Mate

__all__ = ["merge", "merge_mates", "merged"]


def merged(batch: Iterable[Incoming]) -> dict[str, Incoming]:
    """The batch with each position once, by key, in the order of their first coming."""
    found: dict[str, Incoming] = {}
    for item in batch:
        first = found.get(item.key)
        found[item.key] = item if first is None else merge(first, item)
    return found


def merge(known: Incoming, new: Incoming) -> Incoming:
    """One position from two."""
    return replace(
        known,
        kinds=known.kinds | new.kinds,
        mate=merge_mates(known.mate, new.mate),
        difficulty=known.difficulty if known.difficulty is not None else new.difficulty,
        places=tuple(dict.fromkeys((*known.places, *new.places))),
        tags=tuple(sorted({*known.tags, *new.tags})),
        used_in=tuple(sorted({*known.used_in, *new.used_in})),
        note=known.note or new.note,
    )


def merge_mates(known: Mate, new: Mate) -> Mate:
    """The better knowledge of the two, whole; of equals the first with its gaps filled.

    Better is a length than none, a proof than somebody's word, and then the shorter mate:
    what was said of a longer one (its names, its line) does not hold of the shorter.
    """
    if new.level > known.level:
        return new
    if new.level < known.level or new.moves != known.moves:
        return known
    return replace(
        known,
        natures=known.natures | new.natures,
        keys=known.keys or new.keys,
        line=known.line or new.line,
        patterns=tuple(dict.fromkeys((*known.patterns, *new.patterns))),
        tandem=known.tandem or new.tandem,
        skeleton=known.skeleton or new.skeleton,
        geometry_key=known.geometry_key or new.geometry_key,
        proof=known.proof or new.proof,
        case=known.case or new.case,
    )
