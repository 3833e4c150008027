"""The atlas: what a set of mates has in common, and which skeletons occur how often.

Counts only: data for pictures and words.  The cases come from the caller, or from a harvest's
records through `mated_board`; what the moves before the mate are is told by the caller, who
has the proofs.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import chess

from flightless.cases.case import Case
from flightless.errors import PositionError
from flightless.patterns.describe import Description, describe
from flightless.patterns.geometry import Geometry, geometry_of, key_hash
from flightless.patterns.keys import readable
from flightless.patterns.recognise import Catalogue, names

__all__ = [
    "Atlas",
    "Entry",
    "Item",
    "Share",
    "atlas_document",
    "atlas_of",
    "item_of",
    "mated_board",
]


@dataclass(frozen=True, slots=True)
class Item:
    """One mate as the atlas counts it.

    `natures` are those of the mating side's moves in the forced line ('sacrifice', 'quiet'
    and so on), None if the line is not known; `label` says where the mate comes from.
    """

    fen: str
    geometry: Geometry
    names: tuple[str, ...]
    description: Description
    discovered: bool | None
    natures: frozenset[str] | None = None
    label: str = ""


@dataclass(frozen=True, slots=True)
class Share:
    """So many of so many: `count` mates have `what`, of the `of` for which it is known."""

    what: str
    count: int
    of: int

    @property
    def part(self) -> float:
        """From 0 to 1; 0 where nothing is known."""
        return self.count / self.of if self.of else 0.0


@dataclass(frozen=True, slots=True)
class Entry:
    """Mates with one geometry key.

    `skeleton` is a position to draw, the commonest with this key (of equally common ones
    Black mated before White, then in order of FEN), `example` the first mate that has it.
    `names` are counted; `fens` and `labels` are those of all mates, in the order in which they
    came.
    """

    key: str
    count: int
    skeleton: str
    example: str
    names: tuple[tuple[str, int], ...]
    fens: tuple[str, ...]
    labels: tuple[str, ...]

    @property
    def hash(self) -> str:
        """The key's short form."""
        return key_hash(self.key)

    @property
    def name(self) -> str:
        """The name that most of its mates have first, or an empty text."""
        return self.names[0][0] if self.names else ""


@dataclass(frozen=True, slots=True)
class Atlas:
    """A set of mates, counted.  Every list has the greatest count first, then goes by text.

    `checks`, `places`, `tandems`, `purity` and `names` are shares of all mates; `discovered`
    of those whose last move is known, `natures` of those whose forced line is.  `own_men`
    counts mates by the number of own men who take part and stand in the king's way,
    `own_kinds` those with at least one such man of a kind.
    """

    total: int
    entries: tuple[Entry, ...]
    names: tuple[Share, ...]
    unnamed: Share
    checks: tuple[Share, ...]
    discovered: Share
    double: Share
    natures: tuple[Share, ...]
    places: tuple[Share, ...]
    tandems: tuple[Share, ...]
    own_men: tuple[Share, ...]
    own_kinds: tuple[Share, ...]
    purity: tuple[Share, ...]

    @property
    def in_common(self) -> tuple[Share, ...]:
        """What all of these mates have, of two or more."""
        if self.total < 2:
            return ()
        groups = (
            self.names,
            self.checks,
            (self.discovered, self.double),
            self.natures,
            self.places,
            self.tandems,
            self.own_men,
            self.own_kinds,
            self.purity,
        )
        return tuple(
            share for group in groups for share in group if share.count == share.of == self.total
        )


def item_of(
    case: Case,
    *,
    natures: Iterable[str] | None = None,
    label: str = "",
    among: Catalogue | None = None,
) -> Item:
    """A case as the atlas counts it."""
    return Item(
        fen=case.fen,
        geometry=geometry_of(case),
        names=tuple(name.name for name in names(case, among)),
        description=describe(case),
        discovered=None if case.last_move is None else case.discovered,
        natures=None if natures is None else frozenset(natures),
        label=label,
    )


def mated_board(record: Mapping[str, Any]) -> chess.Board:
    """The mated position of a harvest's record: its `fen`, then the SAN moves of its `line`.

    The board has the line on its stack.  Raises `PositionError` if the record has no such
    position, or if the line does not end in mate.
    """
    fen, line = record.get("fen"), record.get("line", [])
    if not isinstance(fen, str) or not isinstance(line, list):
        raise PositionError("the record has no position and line to mate")
    try:
        board = chess.Board(fen)
        for move in line:
            board.push_san(str(move))
    except ValueError as error:
        raise PositionError(f"the record's line cannot be played: {error}") from None
    if not board.is_checkmate():
        raise PositionError(f"the record's line does not end in mate: {fen!r}")
    return board


def atlas_of(items: Iterable[Item]) -> Atlas:
    """The atlas of some mates."""
    mates = list(items)
    total = len(mates)
    known = [m for m in mates if m.discovered is not None]
    lines = [m.natures for m in mates if m.natures is not None]
    described = [m.description for m in mates]
    checks = Counter(
        word for d in described for word in d.check if word not in ("discovered", "double")
    )
    return Atlas(
        total=total,
        entries=_entries(mates),
        names=_shares(Counter(name for m in mates for name in m.names), total),
        unnamed=Share("no name", sum(not m.names for m in mates), total),
        checks=_shares(checks, total),
        discovered=Share("discovered", sum(bool(m.discovered) for m in known), len(known)),
        double=Share("double", sum("double" in d.check for d in described), total),
        natures=_shares(Counter(nature for line in lines for nature in line), len(lines)),
        places=_shares(Counter(d.place for d in described), total),
        tandems=_shares(Counter(" and ".join(d.tandem_words) for d in described), total),
        own_men=_shares(Counter(str(len(d.in_the_way)) for d in described), total),
        own_kinds=_shares(Counter(kind for d in described for kind in _own_kinds(d)), total),
        purity=_shares(Counter(d.purity for d in described), total),
    )


def _own_kinds(description: Description) -> set[str]:
    return {chess.piece_name(man.piece.piece_type) for man in description.in_the_way}


def _shares(counts: Counter[str], of: int) -> tuple[Share, ...]:
    ordered = sorted(counts.items(), key=lambda item: (-item[1], item[0]))
    return tuple(Share(what, count, of) for what, count in ordered)


def _entries(mates: list[Item]) -> tuple[Entry, ...]:
    groups: dict[str, list[Item]] = {}
    for mate in mates:
        groups.setdefault(mate.geometry.key, []).append(mate)
    entries = [_entry(key, group) for key, group in groups.items()]
    return tuple(sorted(entries, key=lambda entry: (-entry.count, entry.key)))


def _entry(key: str, group: list[Item]) -> Entry:
    positions = Counter(mate.geometry.fen for mate in group)
    shown = min(positions, key=lambda fen: (-positions[fen], " w " in fen, fen))
    firsts = Counter(mate.names[0] for mate in group if mate.names)
    later = Counter(name for mate in group for name in mate.names)
    order = sorted(later, key=lambda name: (-firsts[name], -later[name], name))
    return Entry(
        key=key,
        count=len(group),
        skeleton=shown,
        example=next(mate.fen for mate in group if mate.geometry.fen == shown),
        names=tuple((name, later[name]) for name in order),
        fens=tuple(mate.fen for mate in group),
        labels=tuple(mate.label for mate in group),
    )


def atlas_document(atlas: Atlas, *, most: int | None = None) -> dict[str, Any]:
    """The atlas as plain JSON values; `most` is the number of entries, all if None."""

    def shares(group: Iterable[Share]) -> list[dict[str, Any]]:
        return [{"what": s.what, "count": s.count, "of": s.of} for s in group]

    return {
        "format": "flightless atlas",
        "version": 1,
        "total": atlas.total,
        "skeletons": len(atlas.entries),
        "entries": [
            {
                "key": entry.key,
                "hash": entry.hash,
                "reads": readable(entry.key),
                "count": entry.count,
                "name": entry.name,
                "names": dict(entry.names),
                "skeleton": entry.skeleton,
                "example": entry.example,
                "labels": [label for label in entry.labels if label],
            }
            for entry in atlas.entries[:most]
        ],
        "names": shares(atlas.names),
        "unnamed": shares([atlas.unnamed])[0],
        "checks": shares(atlas.checks),
        "discovered": shares([atlas.discovered])[0],
        "double": shares([atlas.double])[0],
        "natures": shares(atlas.natures),
        "places": shares(atlas.places),
        "tandems": shares(atlas.tandems),
        "own_men_in_the_way": shares(atlas.own_men),
        "kinds_in_the_way": shares(atlas.own_kinds),
        "purity": shares(atlas.purity),
        "in_common": shares(atlas.in_common),
    }
