"""What a set of mates has in common, in sentences: shares with their numbers.

The counts are the patterns room's; only how they are told is decided here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from flightless.words.english.grammar import capital, listed

if TYPE_CHECKING:
    from flightless.patterns.atlas import Atlas, Share

__all__ = ["atlas_sentences"]

_MOST = 3
_OWN = {
    "0": "none of his own men",
    "1": "one own man",
    "2": "two own men",
    "3": "three own men",
}


def atlas_sentences(atlas: Atlas) -> tuple[str, ...]:
    """From how many there are to how they come about, each with count and percentage."""
    lines = [f"{atlas.total:,} mates with {len(atlas.entries):,} different skeletons."]
    if atlas.names:
        lines.append(f"Most often: {_listed(atlas.names)}.")
    if atlas.unnamed.count:
        lines.append(f"{_share(atlas.unnamed)} have no name.")
    lines.append(f"Who does it: {_listed(atlas.tandems)}.")
    lines.append(f"The check: {_listed(atlas.checks)}.")
    if atlas.double.count:
        lines.append(f"{_share(atlas.double)} are double checks.")
    if atlas.discovered.count:
        lines.append(f"{_share(atlas.discovered)} are discovered checks.")
    lines.append(f"The place: {_listed(atlas.places)}.")
    lines.append(f"Own men in the way: {_listed(atlas.own_men, _OWN)}.")
    told = tuple(share for share in atlas.natures if share.what not in ("mate", "check"))
    if told:
        lines.append(f"In the forced line: {_listed(told)}.")
    if atlas.in_common:
        lines.append(f"All have in common: {listed(share.what for share in atlas.in_common)}.")
    return tuple(capital(line) for line in lines)


def _listed(shares: tuple[Share, ...], words: dict[str, str] | None = None) -> str:
    names = words or {}
    return listed(f"{names.get(s.what, s.what)} {_share(s)}" for s in shares[:_MOST])


def _share(share: Share) -> str:
    return f"{share.count:,} of {share.of:,} ({share.part:.0%})"
