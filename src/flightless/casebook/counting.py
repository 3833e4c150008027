"""How many there are of what, over the whole casebook, in one look through each table."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from types import MappingProxyType
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, func, select
from sqlalchemy.orm import InstrumentedAttribute

from flightless.casebook.codes import KINDS, NATURES, NOT_WEIGHED, PHASES, SIDES
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

__all__ = ["NOT_KNOWN", "count_everything", "geometry_counts"]

NOT_KNOWN = "not known"


def count_everything(connection: Connection) -> Statistics:
    """Every count of `Statistics`, all as of one moment."""
    facets = _facet_counts(connection)
    first, last = facets["first year"], facets["last year"]
    return Statistics(
        positions=facets["positions"] or 0,
        occurrences=_rows(connection, OccurrenceRow),
        games=_rows(connection, SourceRow),
        proofs=_rows(connection, ProofRow),
        cases=_rows(connection, CaseRow),
        proved=connection.scalars(
            select(func.count()).select_from(PositionRow).where(PositionRow.proved)
        ).one(),
        unused=facets["unused"] or 0,
        without_geometry=facets["no geometry"] or 0,
        not_weighed=facets["not weighed"] or 0,
        years=None if first is None or last is None else (first, last),
        kinds=_picked(facets, "kind", KINDS),
        moves=_short_first(_grouped(connection, FacetsRow.moves)),
        sides=_picked(facets, "side", SIDES),
        phases=_picked(facets, "phase", PHASES),
        natures=_picked(facets, "nature", NATURES),
        tandems=_frequent_first(
            {name or NOT_KNOWN: many for name, many in _grouped(connection, FacetsRow.tandem)}
        ),
        patterns=_named(connection, _of_patterns()),
        tags=_named(connection, _of_tags()),
        lessons=_named(connection, select(UseRow.lesson, func.count()).group_by(UseRow.lesson)),
    )


def _facet_counts(connection: Connection) -> dict[str, int | None]:
    """Counts of the facets with few values, in one look without sorting anything."""
    wanted: dict[str, ColumnElement[bool]] = {
        "unused": FacetsRow.uses == 0,
        "no geometry": FacetsRow.geometry_id.is_(None),
        "not weighed": FacetsRow.worth == NOT_WEIGHED,
    }
    for code, side in enumerate(SIDES):
        wanted[f"side {side}"] = FacetsRow.side == code
    for code, phase in enumerate(PHASES):
        wanted[f"phase {phase}"] = FacetsRow.phase == code
    for bit, kind in enumerate(KINDS):
        wanted[f"kind {kind}"] = FacetsRow.kinds.bitwise_and(1 << bit) != 0
    for bit, nature in enumerate(NATURES):
        wanted[f"nature {nature}"] = FacetsRow.natures.bitwise_and(1 << bit) != 0
    row = connection.execute(
        select(
            func.count(),
            func.min(FacetsRow.first_year),
            func.max(FacetsRow.last_year),
            *(func.count().filter(condition) for condition in wanted.values()),
        ).select_from(FacetsRow)
    ).one()
    return dict(zip(("positions", "first year", "last year", *wanted), row, strict=True))


def _picked(
    counts: Mapping[str, int | None], what: str, words: tuple[str, ...]
) -> Mapping[str, int]:
    """The counts of these words that are not nought."""
    found = {word: counts[f"{what} {word}"] or 0 for word in words}
    return _frequent_first({word: many for word, many in found.items() if many})


def _grouped(connection: Connection, column: InstrumentedAttribute[Any]) -> list[tuple[Any, int]]:
    rows = connection.execute(select(column, func.count()).group_by(column))
    return [(row[0], row[1]) for row in rows]


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


def _short_first(counts: Iterable[tuple[int | None, int]]) -> Mapping[str, int]:
    found = dict(counts)
    unknown = found.pop(None, 0)
    items = [(str(moves), found[moves]) for moves in sorted(m for m in found if m is not None)]
    return _ordered([*items, (NOT_KNOWN, unknown)] if unknown else items)


def _ordered(items: Iterable[tuple[str, int]]) -> Mapping[str, int]:
    return MappingProxyType(dict(items))
