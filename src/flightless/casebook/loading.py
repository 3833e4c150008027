"""From numbers of positions to what the other rooms see of them.

A page of positions costs a handful of statements, however many games they occur in.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from types import MappingProxyType
from typing import Any

from sqlalchemy import Connection, Select, func, select

from flightless.casebook.codes import KINDS, NATURES, PHASES, SIDES, words_of, worth_of_code
from flightless.casebook.data import Details, Entry, Game, Kind, Occurrence
from flightless.casebook.models import (
    CaseRow,
    FacetsRow,
    GeometryRow,
    NoteRow,
    OccurrenceRow,
    PositionRow,
    PositionTagRow,
    ProofRow,
    SourceRow,
    SourceTextRow,
    TagRow,
    UseRow,
    WorthRow,
)
from flightless.casebook.rows import chunks
from flightless.casebook.store import pattern_names

__all__ = ["load_details", "load_entries", "load_worths"]


def load_entries(connection: Connection, ids: Sequence[int]) -> tuple[Entry, ...]:
    """The entries with these numbers, in the order given; a number that is not there is left out.

    Their first occurrences are those of the earliest year.
    """
    rows = {row.id: row for row in _rows(connection, ids)}
    patterns = pattern_names(connection, list(rows))
    tags = _labels(
        connection,
        select(PositionTagRow.position_id, TagRow.name)
        .join(TagRow, TagRow.id == PositionTagRow.tag_id)
        .order_by(PositionTagRow.position_id, TagRow.name),
        PositionTagRow.position_id,
        list(rows),
    )
    lessons = _labels(
        connection,
        select(UseRow.position_id, UseRow.lesson).order_by(UseRow.position_id, UseRow.lesson),
        UseRow.position_id,
        list(rows),
    )
    firsts = _first_occurrences(connection, list(rows))
    return tuple(
        _entry(
            rows[number],
            patterns.get(number, ()),
            tuple(sorted(tags.get(number, ()))),
            tuple(sorted(lessons.get(number, ()))),
            *firsts.get(number, (0, None)),
        )
        for number in ids
        if number in rows
    )


def load_details(connection: Connection, ids: Sequence[int]) -> tuple[Details, ...]:
    """Entries with all their occurrences and their documents."""
    entries = load_entries(connection, ids)
    occurrences = _occurrences(connection, ids)
    proofs = _documents(connection, ProofRow, ids)
    cases = _documents(connection, CaseRow, ids)
    return tuple(
        Details(
            entry,
            tuple(occurrences.get(entry.id, ())),
            proofs.get(entry.id),
            cases.get(entry.id),
        )
        for entry in entries
    )


def load_worths(connection: Connection, ids: Sequence[int]) -> dict[int, dict[str, Any]]:
    """The documents that say what positions are worth, by number; those that have one."""
    return _documents(connection, WorthRow, ids)


def _rows(connection: Connection, ids: Sequence[int]) -> list[Any]:
    statement = (
        select(
            *(PositionRow.id, PositionRow.key, PositionRow.halfmove, PositionRow.fullmove),
            *(PositionRow.proved, PositionRow.shortest, PositionRow.keys),
            *(PositionRow.line, PositionRow.skeleton),
            *(FacetsRow.moves, FacetsRow.side, FacetsRow.phase, FacetsRow.kinds),
            *(FacetsRow.natures, FacetsRow.men, FacetsRow.tandem, FacetsRow.difficulty),
            FacetsRow.worth,
            GeometryRow.key.label("geometry_key"),
            NoteRow.text.label("note"),
        )
        .join(FacetsRow, FacetsRow.position_id == PositionRow.id)
        .outerjoin(GeometryRow, GeometryRow.id == FacetsRow.geometry_id)
        .outerjoin(NoteRow, NoteRow.position_id == PositionRow.id)
    )
    return [
        row
        for chunk in chunks(ids)
        for row in connection.execute(statement.where(PositionRow.id.in_(chunk)))
    ]


def _entry(
    row: Any,
    patterns: tuple[str, ...],
    tags: tuple[str, ...],
    lessons: tuple[str, ...],
    occurrences: int,
    first: Occurrence | None,
) -> Entry:
    return Entry(
        id=row.id,
        fen=f"{row.key} {row.halfmove} {row.fullmove}",
        kinds=tuple(kind for bit, kind in enumerate(KINDS) if row.kinds >> bit & 1),
        moves=row.moves,
        proved=row.proved,
        shortest=row.shortest,
        side=SIDES[row.side],
        phase=PHASES[row.phase],
        men=row.men,
        natures=words_of(row.natures, NATURES),
        keys=tuple(row.keys.split()),
        line=tuple(row.line.split()),
        patterns=patterns,
        tandem=row.tandem,
        skeleton=row.skeleton,
        geometry_key=row.geometry_key,
        difficulty=row.difficulty,
        tags=tags,
        used_in=lessons,
        note="" if row.note is None else str(json.loads(row.note)["note"]),
        occurrences=occurrences,
        first=first,
        worth=worth_of_code(row.worth),
    )


def _labels(
    connection: Connection, statement: Select[int, str], position: Any, ids: Sequence[int]
) -> dict[int, list[str]]:
    found: dict[int, list[str]] = {}
    for chunk in chunks(ids):
        for row in connection.execute(statement.where(position.in_(chunk))):
            found.setdefault(row[0], []).append(row[1])
    return found


_OCCURRENCE = (
    *(OccurrenceRow.position_id, OccurrenceRow.ply, OccurrenceRow.kind, OccurrenceRow.facts),
    *(SourceTextRow.tags, SourceTextRow.file, SourceTextRow.number, SourceRow.year),
)
_ORDER = (
    SourceRow.year.is_(None),
    SourceRow.year,
    SourceRow.key,
    OccurrenceRow.ply,
    OccurrenceRow.kind,
)
"""By year, unknown years last, then by what does not depend on the order of coming."""


def _first_occurrences(
    connection: Connection, ids: Sequence[int]
) -> dict[int, tuple[int, Occurrence]]:
    """How many occurrences each position has, and the first of them."""
    found: dict[int, tuple[int, Occurrence]] = {}
    for chunk in chunks(ids):
        for row in connection.execute(_firsts(chunk)):
            found[row.position_id] = (row.many, _occurrence(row))
    return found


def _firsts(ids: Sequence[int]) -> Select[Any]:
    position = OccurrenceRow.position_id
    ranked = (
        select(
            *(position, OccurrenceRow.source_id, OccurrenceRow.ply, OccurrenceRow.kind),
            func.row_number().over(partition_by=position, order_by=_ORDER).label("place"),
            func.count().over(partition_by=position).label("many"),
        )
        .join(SourceRow, SourceRow.id == OccurrenceRow.source_id)
        .where(position.in_(ids))
        .subquery()
    )
    same = (
        (position == ranked.c.position_id)
        & (OccurrenceRow.source_id == ranked.c.source_id)
        & (OccurrenceRow.ply == ranked.c.ply)
        & (OccurrenceRow.kind == ranked.c.kind)
    )
    return (
        select(*_OCCURRENCE, ranked.c.many)
        .join(ranked, same)
        .join(SourceRow, SourceRow.id == OccurrenceRow.source_id)
        .join(SourceTextRow, SourceTextRow.source_id == OccurrenceRow.source_id)
        .where(ranked.c.place == 1)
    )


def _occurrences(connection: Connection, ids: Sequence[int]) -> dict[int, list[Occurrence]]:
    statement = (
        select(*_OCCURRENCE)
        .join(SourceRow, SourceRow.id == OccurrenceRow.source_id)
        .join(SourceTextRow, SourceTextRow.source_id == OccurrenceRow.source_id)
        .order_by(OccurrenceRow.position_id, *_ORDER)
    )
    found: dict[int, list[Occurrence]] = {}
    for chunk in chunks(ids):
        for row in connection.execute(statement.where(OccurrenceRow.position_id.in_(chunk))):
            found.setdefault(row.position_id, []).append(_occurrence(row))
    return found


def _occurrence(row: Any) -> Occurrence:
    kind: Kind = KINDS[row.kind]
    game = Game(
        tags=MappingProxyType(json.loads(row.tags)),
        file=row.file,
        number=row.number,
        year=row.year,
    )
    return Occurrence(game, row.ply, kind, MappingProxyType(json.loads(row.facts)))


def _documents(
    connection: Connection,
    model: type[ProofRow] | type[CaseRow] | type[WorthRow],
    ids: Sequence[int],
) -> dict[int, dict[str, Any]]:
    found: dict[int, dict[str, Any]] = {}
    for chunk in chunks(ids):
        statement = select(model.position_id, model.document)
        for number, text in connection.execute(statement.where(model.position_id.in_(chunk))):
            found[number] = json.loads(text)
    return found
