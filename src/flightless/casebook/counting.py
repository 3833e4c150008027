"""How many there are of what, over the whole casebook, in one look through each table."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from types import MappingProxyType
from typing import Any

from sqlalchemy import Connection, Select, func, select

from flightless.casebook.codes import KINDS, NATURES, PHASES, SIDES, words_of
from flightless.casebook.data import Statistics
from flightless.casebook.models import (
    Base,
    CaseRow,
    FacetsRow,
    GeometryRow,
    OccurrenceRow,
    PatternRow,
    PositionPatternRow,
    PositionRow,
    PositionTagRow,
    ProofRow,
    SourceRow,
    TagRow,
    UseRow,
)

__all__ = ["count_everything", "geometry_counts"]

NOT_KNOWN = "not known"


def count_everything(connection: Connection) -> Statistics:
    """Every count of `Statistics`, all as of one moment."""
    kinds: Counter[str] = Counter()
    moves: Counter[int | None] = Counter()
    sides: Counter[str] = Counter()
    phases: Counter[str] = Counter()
    natures: Counter[str] = Counter()
    tandems: Counter[str] = Counter()
    unused = without_geometry = positions = 0
    for row in connection.execute(_facet_groups()):
        positions += row.many
        moves[row.moves] += row.many
        sides[SIDES[row.side]] += row.many
        phases[PHASES[row.phase]] += row.many
        tandems[row.tandem or NOT_KNOWN] += row.many
        unused += 0 if row.used else row.many
        without_geometry += row.many if row.no_geometry else 0
        for word in words_of(row.kinds, KINDS):
            kinds[word] += row.many
        for word in words_of(row.natures, NATURES):
            natures[word] += row.many
    years = connection.execute(
        select(func.min(FacetsRow.first_year), func.max(FacetsRow.last_year))
    ).one()
    return Statistics(
        positions=positions,
        occurrences=_rows(connection, OccurrenceRow),
        games=_rows(connection, SourceRow),
        proofs=_rows(connection, ProofRow),
        cases=_rows(connection, CaseRow),
        proved=connection.execute(
            select(func.count()).select_from(PositionRow).where(PositionRow.proved)
        ).scalar_one(),
        unused=unused,
        without_geometry=without_geometry,
        years=None if years[0] is None or years[1] is None else (years[0], years[1]),
        kinds=_frequent_first(kinds),
        moves=_short_first(moves),
        sides=_frequent_first(sides),
        phases=_frequent_first(phases),
        natures=_frequent_first(natures),
        tandems=_frequent_first(tandems),
        patterns=_named(connection, _of_patterns()),
        tags=_named(connection, _of_tags()),
        lessons=_named(connection, select(UseRow.lesson, func.count()).group_by(UseRow.lesson)),
    )


def geometry_counts(connection: Connection) -> Iterator[tuple[str, int, int]]:
    """Each geometry key, how many positions have it, and the first of them."""
    statement = (
        select(GeometryRow.key, func.count(), func.min(FacetsRow.position_id))
        .join(FacetsRow, FacetsRow.geometry_id == GeometryRow.id)
        .group_by(GeometryRow.id, GeometryRow.key)
        .order_by(GeometryRow.id)
    )
    for row in connection.execute(statement):
        yield row[0], row[1], row[2]


def _facet_groups() -> Select[Any]:
    columns: tuple[Any, ...] = (
        FacetsRow.moves,
        FacetsRow.side,
        FacetsRow.phase,
        FacetsRow.kinds,
        FacetsRow.natures,
        FacetsRow.tandem,
        (FacetsRow.uses > 0).label("used"),
        FacetsRow.geometry_id.is_(None).label("no_geometry"),
    )
    statement: Select[Any] = select(*columns, func.count().label("many"))
    return statement.group_by(*columns)


def _of_patterns() -> Select[str, int]:
    number = PositionPatternRow.pattern_id
    counts = select(number, func.count().label("many")).group_by(number).subquery()
    return select(PatternRow.name, counts.c.many).join(counts, counts.c.pattern_id == PatternRow.id)


def _of_tags() -> Select[str, int]:
    number = PositionTagRow.tag_id
    counts = select(number, func.count().label("many")).group_by(number).subquery()
    return select(TagRow.name, counts.c.many).join(counts, counts.c.tag_id == TagRow.id)


def _rows(connection: Connection, model: type[Base]) -> int:
    return connection.execute(select(func.count()).select_from(model)).scalar_one()


def _named(connection: Connection, statement: Select[str, int]) -> Mapping[str, int]:
    return _frequent_first({row[0]: row[1] for row in connection.execute(statement)})


def _frequent_first(counts: Mapping[str, int]) -> Mapping[str, int]:
    return _ordered(sorted(counts.items(), key=lambda item: (-item[1], item[0])))


def _short_first(counts: Mapping[int | None, int]) -> Mapping[str, int]:
    known = sorted((n, many) for n, many in counts.items() if n is not None)
    items = [(str(n), many) for n, many in known]
    if None in counts:
        items.append((NOT_KNOWN, counts[None]))
    return _ordered(items)


def _ordered(items: Iterable[tuple[str, int]]) -> Mapping[str, int]:
    return MappingProxyType(dict(items))
