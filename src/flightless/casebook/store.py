"""Writing batches of positions into the tables, each batch whole or not at all.

The same position twice is one row with more occurrences, and the same batch twice changes
nothing: that is what makes an interrupted or doubled harvest safe.  The caller holds the
write lock, so that numbers can be given out here in order, the same way on every database.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, Integer, bindparam, case, delete, insert, select, update

from flightless.casebook.codes import KINDS, NOT_WEIGHED, fold, mask_of
from flightless.casebook.games import Source, json_text
from flightless.casebook.incoming import Incoming, Mate
from flightless.casebook.merging import merge_mates, merged
from flightless.casebook.models import (
    CaseRow,
    FacetsRow,
    GeometryRow,
    MetaRow,
    NameRow,
    NoteRow,
    OccurrenceRow,
    PatternRow,
    PositionPatternRow,
    PositionRow,
    PositionTagRow,
    ProofRow,
    SourceRow,
    SourceTextRow,
    TagRow,
    UseRow,
    WorthRow,
)
from flightless.casebook.rows import (
    chunks,
    count_uses,
    insert_new,
    next_number,
    numbers_known,
    numbers_of,
)

__all__ = ["Stored", "note_values", "pattern_names", "store_batch"]

_NEXT = "next position"

_KEPT = mask_of(("kept",), KINDS, "kind of find")


@dataclass(slots=True)
class Stored:
    """What a batch did: ids by position key, the new keys, and counts."""

    ids: dict[str, int] = field(default_factory=dict)
    new: set[str] = field(default_factory=set)
    occurrences: int = 0
    improved: int = 0


@dataclass(frozen=True, slots=True)
class _Known:
    """What the tables have of a position."""

    id: int
    kinds: int
    difficulty: float | None
    mate: Mate


def store_batch(connection: Connection, batch: Iterable[Incoming]) -> Stored:
    """Store positions with everything that came with them."""
    items = merged(batch)
    known = _known(connection, list(items))
    fresh = {key: item for key, item in items.items() if key not in known}
    stored = Stored(new=set(fresh))
    stored.ids = {key: row.id for key, row in known.items()}
    stored.ids |= _give_numbers(connection, list(fresh))
    ids = stored.ids
    _insert_positions(connection, {ids[key]: item for key, item in fresh.items()})
    improved = {key for key, row in known.items() if _improve(connection, row, items[key])}
    stored.occurrences = _store_places(connection, {ids[k]: i for k, i in items.items()})
    _widen_years(connection, {row.id: items[key] for key, row in known.items()})
    labelled = _store_labels(connection, {ids[k]: i for k, i in items.items()})
    improved |= {key for key in known if ids[key] in labelled}
    stored.improved = len(improved)
    return stored


def _known(connection: Connection, keys: list[str]) -> dict[str, _Known]:
    """The positions of the batch that are kept already."""
    statement = (
        select(
            *(PositionRow.id, PositionRow.key, PositionRow.proved, PositionRow.shortest),
            *(
                PositionRow.keys,
                PositionRow.line,
                PositionRow.skeleton,
                FacetsRow.moves,
                FacetsRow.side,
            ),
            *(FacetsRow.kinds, FacetsRow.natures, FacetsRow.tandem, FacetsRow.difficulty),
            GeometryRow.key.label("geometry_key"),
            ProofRow.document.label("proof"),
            CaseRow.document.label("case"),
        )
        .join(FacetsRow, FacetsRow.position_id == PositionRow.id)
        .outerjoin(GeometryRow, GeometryRow.id == FacetsRow.geometry_id)
        .outerjoin(ProofRow, ProofRow.position_id == PositionRow.id)
        .outerjoin(CaseRow, CaseRow.position_id == PositionRow.id)
    )
    rows = [
        row
        for chunk in chunks(keys)
        for row in connection.execute(statement.where(PositionRow.key.in_(chunk)))
    ]
    patterns = pattern_names(connection, [row.id for row in rows])
    return {
        row.key: _Known(
            id=row.id,
            kinds=row.kinds,
            difficulty=row.difficulty,
            mate=Mate(
                moves=row.moves,
                proved=row.proved,
                shortest=row.shortest,
                side=row.side,
                natures=row.natures,
                keys=tuple(row.keys.split()),
                line=tuple(row.line.split()),
                patterns=patterns.get(row.id, ()),
                tandem=row.tandem,
                skeleton=row.skeleton,
                geometry_key=row.geometry_key,
                proof=row.proof,
                case=row.case,
            ),
        )
        for row in rows
    }


def pattern_names(connection: Connection, ids: list[int]) -> dict[int, tuple[str, ...]]:
    """The patterns of each position, the most specific first."""
    statement = (
        select(PositionPatternRow.position_id, PatternRow.name)
        .join(PatternRow, PatternRow.id == PositionPatternRow.pattern_id)
        .order_by(PositionPatternRow.position_id, PositionPatternRow.rank)
    )
    found: dict[int, tuple[str, ...]] = {}
    for chunk in chunks(ids):
        condition = PositionPatternRow.position_id.in_(chunk)
        for position, name in connection.execute(statement.where(condition)):
            found[position] = (*found.get(position, ()), name)
    return found


def _give_numbers(connection: Connection, keys: list[str]) -> dict[str, int]:
    """The next numbers; a number once given is never given again, even if it was removed."""
    if not keys:
        return {}
    value = connection.scalar(select(MetaRow.value).where(MetaRow.name == _NEXT))
    start = int(value) if value is not None else 1
    following = str(start + len(keys))
    if value is None:
        connection.execute(insert(MetaRow).values(name=_NEXT, value=following))
    else:
        connection.execute(update(MetaRow).where(MetaRow.name == _NEXT).values(value=following))
    return dict(zip(keys, range(start, start + len(keys)), strict=True))


def _insert_positions(connection: Connection, fresh: Mapping[int, Incoming]) -> None:
    if not fresh:
        return
    positions = [
        {
            "id": number,
            "key": item.key,
            "halfmove": item.halfmove,
            "fullmove": item.fullmove,
            **_position_values(item.mate),
        }
        for number, item in fresh.items()
    ]
    geometries = _geometries(connection, [item.mate for item in fresh.values()])
    facets = [
        {
            "position_id": number,
            "phase": item.phase,
            "kinds": item.kinds,
            "men": item.men,
            "uses": 0,
            "difficulty": item.difficulty,
            **_year_span(item),
            **_facet_values(item.mate, geometries),
        }
        for number, item in fresh.items()
    ]
    connection.execute(insert(PositionRow), positions)
    connection.execute(insert(FacetsRow), facets)
    _insert_patterns(connection, {number: item.mate.patterns for number, item in fresh.items()})
    for number, item in fresh.items():
        _insert_documents(connection, number, item.mate)


def _position_values(mate: Mate) -> dict[str, Any]:
    return {
        "proved": mate.proved,
        "shortest": mate.shortest,
        "keys": " ".join(mate.keys),
        "line": " ".join(mate.line),
        "skeleton": mate.skeleton,
    }


def _facet_values(mate: Mate, geometries: Mapping[str, int]) -> dict[str, Any]:
    return {
        "moves": mate.moves,
        "side": mate.side,
        "natures": mate.natures,
        "tandem": mate.tandem,
        "geometry_id": geometries.get(mate.geometry_key or ""),
    }


def _geometries(connection: Connection, mates: Iterable[Mate]) -> dict[str, int]:
    keys = (mate.geometry_key for mate in mates)
    return numbers_of(connection, GeometryRow.id, GeometryRow.key, keys)


def _insert_patterns(connection: Connection, names: Mapping[int, tuple[str, ...]]) -> None:
    wanted = (name for some in names.values() for name in some)
    numbers = numbers_of(connection, PatternRow.id, PatternRow.name, wanted)
    rows = [
        {"position_id": position, "pattern_id": numbers[name], "rank": rank}
        for position, some in names.items()
        for rank, name in enumerate(some)
    ]
    if rows:
        connection.execute(insert(PositionPatternRow), rows)


def _insert_documents(connection: Connection, position: int, mate: Mate) -> None:
    for model, document in ((ProofRow, mate.proof), (CaseRow, mate.case)):
        if document is not None:
            connection.execute(insert(model).values(position_id=position, document=document))


def _improve(connection: Connection, known: _Known, new: Incoming) -> bool:
    """Merge what came into a position that is kept already; whether more is known of it now."""
    mate = merge_mates(known.mate, new.mate)
    facets: dict[str, Any] = {}
    if known.difficulty is None and new.difficulty is not None:
        facets["difficulty"] = new.difficulty
    changed = bool(facets) or mate != known.mate
    if known.kinds | new.kinds != known.kinds:
        facets["kinds"] = known.kinds | new.kinds
    if mate != known.mate:
        facets |= _facet_values(mate, _geometries(connection, [mate]))
        connection.execute(
            update(PositionRow).where(PositionRow.id == known.id).values(**_position_values(mate))
        )
        for model in (PositionPatternRow, ProofRow, CaseRow):
            connection.execute(delete(model).where(model.position_id == known.id))
        _insert_patterns(connection, {known.id: mate.patterns})
        _insert_documents(connection, known.id, mate)
    if mate != known.mate or "kinds" in facets or (new.places and known.kinds == _KEPT):
        # What it is worth was told of another length, or before it was known to be of a game.
        facets["worth"] = NOT_WEIGHED
        connection.execute(delete(WorthRow).where(WorthRow.position_id == known.id))
    if facets:
        connection.execute(
            update(FacetsRow).where(FacetsRow.position_id == known.id).values(**facets)
        )
    return changed


def _store_places(connection: Connection, items: Mapping[int, Incoming]) -> int:
    """Occurrences of each position; how many of them are new."""
    sources = _source_numbers(connection, items.values())
    rows = [
        {
            "position_id": number,
            "source_id": sources[place.source.key],
            "ply": place.ply,
            "kind": place.kind,
            "facts": place.facts,
        }
        for number, item in items.items()
        for place in item.places
    ]
    return insert_new(connection, OccurrenceRow, rows)


def _year_span(item: Incoming) -> dict[str, int | None]:
    years = [place.source.year for place in item.places if place.source.year is not None]
    return {"first_year": min(years, default=None), "last_year": max(years, default=None)}


def _widen_years(connection: Connection, items: Mapping[int, Incoming]) -> None:
    """Let the years of positions that are kept already take in those of their new games."""
    spans = [
        {"number": number, "first": span["first_year"], "last": span["last_year"]}
        for number, span in ((number, _year_span(item)) for number, item in items.items())
        if span["first_year"] is not None
    ]
    if not spans:
        return
    first, last = bindparam("first", type_=Integer), bindparam("last", type_=Integer)
    first_year, last_year = FacetsRow.first_year, FacetsRow.last_year
    connection.execute(
        update(FacetsRow)
        .where(
            FacetsRow.position_id == bindparam("number"),
            first_year.is_(None) | (first_year > first) | (last_year < last),
        )
        .values(
            first_year=case((first_year < first, first_year), else_=first),
            last_year=case((last_year > last, last_year), else_=last),
        ),
        spans,
    )


def _source_numbers(connection: Connection, items: Iterable[Incoming]) -> dict[str, int]:
    sources: dict[str, Source] = {}
    for item in items:
        for place in item.places:
            sources.setdefault(place.source.key, place.source)
    numbers = numbers_known(connection, SourceRow.id, SourceRow.key, list(sources))
    fresh = [source for key, source in sources.items() if key not in numbers]
    if not fresh:
        return numbers
    names = numbers_of(
        connection,
        NameRow.id,
        NameRow.folded,
        (name for s in fresh for name in (s.white, s.black, s.event, s.site)),
    )
    start = next_number(connection, SourceRow.id)
    rows = [
        {
            "id": start + at,
            "key": source.key,
            "white_id": names.get(source.white or ""),
            "black_id": names.get(source.black or ""),
            "event_id": names.get(source.event or ""),
            "site_id": names.get(source.site or ""),
            "year": source.year,
        }
        for at, source in enumerate(fresh)
    ]
    texts = [
        {"source_id": start + at, "file": s.file, "number": s.number, "tags": s.tags}
        for at, s in enumerate(fresh)
    ]
    connection.execute(insert(SourceRow), rows)
    connection.execute(insert(SourceTextRow), texts)
    return numbers | {source.key: start + at for at, source in enumerate(fresh)}


def _store_labels(connection: Connection, items: Mapping[int, Incoming]) -> set[int]:
    """The coach's tags, lessons and notes; the positions that got a new one."""
    tags = numbers_of(
        connection, TagRow.id, TagRow.name, (n for i in items.values() for n in i.tags)
    )
    changed = set()
    for number, item in items.items():
        new = insert_new(
            connection,
            PositionTagRow,
            [{"position_id": number, "tag_id": tags[name]} for name in item.tags],
        )
        lessons = [{"position_id": number, "lesson": name} for name in item.used_in]
        if insert_new(connection, UseRow, lessons):
            count_uses(connection, [number])
            new += 1
        if item.note:
            row = {"position_id": number, **note_values(item.note)}
            new += insert_new(connection, NoteRow, [row])
        if new:
            changed.add(number)
    return changed


def note_values(note: str) -> dict[str, Any]:
    """A note as its table keeps it: word for word, and folded for the search."""
    return {"text": json_text({"note": note}, "the note"), "folded": fold(note)}
