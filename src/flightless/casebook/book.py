"""The casebook itself: one object over one database, frozen data in and out.

It opens, adds, finds, labels and removes; what the statements look like is left to `query`,
`store` and `loading`, files to `export`, `reading` and `safety`.  One object may be used by
several threads, and one casebook by several programs at once.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import AbstractContextManager
from pathlib import Path
from types import TracebackType
from typing import Any, TextIO

from sqlalchemy import Connection, Engine, bindparam, delete, func, insert, select, update

from flightless.casebook.codes import NOT_WEIGHED, plain_name, worth_code
from flightless.casebook.counting import count_everything
from flightless.casebook.data import (
    Added,
    Counts,
    Details,
    Filter,
    Format,
    NewPosition,
    Page,
    Restored,
    Statistics,
    Weighed,
)
from flightless.casebook.engine import make_engine, reading, refuse_no_casebook, writing
from flightless.casebook.games import json_text
from flightless.casebook.incoming import (
    Incoming,
    checked_geometry_key,
    items_of_record,
    of_position,
)
from flightless.casebook.loading import load_details, load_entries, load_worths
from flightless.casebook.models import (
    FacetsRow,
    GeometryRow,
    NoteRow,
    PositionRow,
    PositionTagRow,
    TagRow,
    UseRow,
    WorthRow,
)
from flightless.casebook.places import Place, find_place
from flightless.casebook.query import Selection, best_page, select_by
from flightless.casebook.removing import drop_unused_tags, present, remove_positions
from flightless.casebook.rows import chunks, count_uses, insert_new, numbers_of
from flightless.casebook.schema import bring_up_to_date
from flightless.casebook.store import note_values, store_batch
from flightless.casebook.taking import Taking
from flightless.errors import UsageError

__all__ = ["Casebook"]

_BATCH = 1000
"""Records stored in one transaction."""

_MOST_ON_A_PAGE = 1000

_MOST_COUNTED = 2000
"""Positions that must be looked at one by one are counted up to here."""

_EVERYTHING = Filter()


class Casebook:
    """The positions that a coach keeps.

    >>> from tempfile import mkdtemp
    >>> book = Casebook.open(mkdtemp() + "/casebook.sqlite")
    >>> book.add(NewPosition("6k1/5ppp/8/8/8/8/8/K3R3 w - - 0 1", keys=("e1e8",), moves=1))
    Added(id=1, new=True)
    >>> [entry.keys for entry in book.find(Filter(moves=1)).entries]
    [('e1e8',)]
    >>> book.close()
    """

    def __init__(self, engine: Engine, place: Place) -> None:
        """Use `Casebook.open`."""
        self._engine = engine
        self._place = place

    @classmethod
    def open(cls, target: str | os.PathLike[str] | None = None, *, create: bool = True) -> Casebook:
        """Open the casebook at a path or `postgresql://` URL.

        Without one: what FLIGHTLESS_CASEBOOK says, else `flightless/casebook.sqlite` in the
        user's data folder.  An older format is brought up to date; a casebook of a newer
        program, and any file or database that is no casebook, is refused with `FileError` and
        left as it is.  With `create` false, so is a file that is not there.
        """
        place = find_place(target)
        if place.path is not None:
            refuse_no_casebook(place.path, create=create)
        engine = make_engine(place)
        try:
            bring_up_to_date(engine, place.name)
        except BaseException:
            engine.dispose()
            raise
        return cls(engine, place)

    def close(self) -> None:
        """Close all connections."""
        self._engine.dispose()

    def __enter__(self) -> Casebook:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    @property
    def name(self) -> str:
        """Where it is, fit for messages: a path, or a URL without its password."""
        return self._place.name

    # Putting in

    def add_records(
        self,
        records: Iterable[Mapping[str, Any]],
        source: str = "",
        *,
        progress: Callable[[Counts], None] | None = None,
    ) -> Counts:
        """Add a harvest's records; `source` names where they come from if they do not.

        A mate's way in is added as a position of its own, of the kind *given*.  A position
        that is kept already gets more occurrences, and the same harvest twice adds nothing.  A
        record that is wrong is refused and costs itself alone.  Every thousand positions are
        one transaction, after which `progress` is called: what was interrupted is simply done
        again.
        """
        items = (
            (number, item)
            for number, record in enumerate(records, start=1)
            for item in items_of_record(record, source)
        )
        return self._take(items, progress)

    def add(self, position: NewPosition) -> Added:
        """Add one position by hand.

        Raises `PositionError`, `CertificateError` or `UsageError` with what is wrong.
        """
        item = of_position(position)
        with self._writing() as connection:
            stored = store_batch(connection, [item])
        return Added(stored.ids[item.key], item.key in stored.new)

    def import_(
        self,
        lines: str | os.PathLike[str] | TextIO,
        format: Format | None = None,
        *,
        progress: Callable[[Counts], None] | None = None,
    ) -> Counts:
        """Add what a file (or open text) has: PGN, EPD, or JSON Lines of ours or of a harvest.

        The format is told by the file's name if it is not given.  Numbers of refused items are
        lines, or games of a PGN.  A length that PGN or EPD gives is kept as somebody's word.
        """
        from flightless.casebook.reading import items_of

        return self._take(items_of(lines, format), progress)

    def _take(
        self,
        items: Iterable[tuple[int, Callable[[], Incoming]]],
        progress: Callable[[Counts], None] | None,
    ) -> Counts:
        taking = Taking()
        for batch in taking.batches(items, _BATCH):
            with self._writing() as connection:
                stored = store_batch(connection, batch)
            taking.stored(len(stored.new), stored.occurrences, stored.improved)
            if progress is not None:
                progress(taking.counts)
        return taking.counts

    # Getting out

    def find(
        self,
        wanted: Filter = _EVERYTHING,
        *,
        after: int | None = None,
        size: int = 50,
        newest_first: bool = False,
        best_first: bool = False,
        count: bool = True,
    ) -> Page:
        """The entries that the filter lets through, in the order in which they were added.

        With `best_first` in order of what they are worth in class, equals by FEN, those that are
        not weighed last.  `after` is the `after` of the page before.  `UsageError` for a filter
        that makes no sense.
        """
        if newest_first and best_first:
            raise UsageError("a list has the newest first or the best, not both")
        if not 1 <= size <= _MOST_ON_A_PAGE:
            raise UsageError(f"a page has 1 to {_MOST_ON_A_PAGE} entries, not {size}")
        with self._reading() as connection:
            selection = select_by(connection, wanted)
            if best_first:
                ids, more = best_page(connection, wanted, after, size)
            else:
                ids, more = _page(connection, selection, after, size, newest_first=newest_first)
            total: int | None = None
            if count:
                whole = after is None and not more
                total = len(ids) if whole else _count(connection, selection, _MOST_COUNTED)
            entries = load_entries(connection, ids)
        next_page = ids[-1] if more else None
        if total is not None and selection.scattered and total > _MOST_COUNTED:
            return Page(entries, next_page, _MOST_COUNTED, more_than_total=True)
        return Page(entries, next_page, total)

    def count(self, wanted: Filter = _EVERYTHING) -> int:
        """How many positions the filter lets through, exactly."""
        with self._reading() as connection:
            return _count(connection, select_by(connection, wanted))

    def get(self, id: int) -> Details:
        """Everything kept of one position.  `UsageError` if there is none of that number."""
        with self._reading() as connection:
            found = load_details(connection, [id])
        if not found:
            raise UsageError(f"the casebook has no position {id}")
        return found[0]

    def each(self, wanted: Filter = _EVERYTHING) -> Iterator[Details]:
        """Everything kept of all positions that the filter lets through, as of one moment."""
        with self._reading() as connection:
            selection = select_by(connection, wanted)
            after: int | None = None
            more = True
            while more:
                ids, more = _page(connection, selection, after, 500, newest_first=False)
                yield from load_details(connection, ids)
                after = ids[-1] if ids else None

    def export(self, format: Format, wanted: Filter = _EVERYTHING) -> Iterator[str]:
        """The casebook as text, piece by piece, each piece ending in a new line.

        JSON Lines ('jsonl') have everything and come back as they were; EPD has the position,
        its keys, its length and names; PGN has a game for each, from the position on.
        """
        from flightless.casebook.export import writer_of

        write = writer_of(format)
        return (write(details) for details in self.each(wanted))

    def statistics(self) -> Statistics:
        """How many there are of what."""
        with self._reading() as connection:
            return count_everything(connection)

    # The coach's own marks

    def tag(self, ids: int | Iterable[int], *names: str) -> int:
        """Put tags on positions; how many were not there before."""
        wanted = [plain_name(name, "tag") for name in names]
        with self._writing() as connection:
            positions = present(connection, ids)
            numbers = numbers_of(connection, TagRow.id, TagRow.name, wanted)
            rows = [
                {"position_id": position, "tag_id": numbers[name]}
                for name in dict.fromkeys(wanted)
                for position in positions
            ]
            return insert_new(connection, PositionTagRow, rows)

    def untag(self, ids: int | Iterable[int], *names: str) -> int:
        """Take tags off positions; how many were there."""
        with self._writing() as connection:
            positions = present(connection, ids)
            numbers = select(TagRow.id).where(TagRow.name.in_(names))
            gone = sum(
                connection.execute(
                    delete(PositionTagRow).where(
                        PositionTagRow.position_id.in_(chunk), PositionTagRow.tag_id.in_(numbers)
                    )
                ).rowcount
                for chunk in chunks(positions)
            )
            drop_unused_tags(connection)
            return gone

    def mark_used(self, ids: int | Iterable[int], lesson: str) -> int:
        """Say that positions were used in a lesson; how many were not marked so before."""
        name = plain_name(lesson, "lesson")
        with self._writing() as connection:
            positions = present(connection, ids)
            rows = [{"position_id": position, "lesson": name} for position in positions]
            new = insert_new(connection, UseRow, rows)
            count_uses(connection, positions)
            return new

    def unmark_used(self, ids: int | Iterable[int], lesson: str) -> int:
        """Take that back; how many were marked."""
        with self._writing() as connection:
            positions = present(connection, ids)
            gone = sum(
                connection.execute(
                    delete(UseRow).where(UseRow.position_id.in_(chunk), UseRow.lesson == lesson)
                ).rowcount
                for chunk in chunks(positions)
            )
            count_uses(connection, positions)
            return gone

    def note(self, id: int, text: str) -> None:
        """Write the coach's note on a position, in place of the one before; empty takes it off."""
        with self._writing() as connection:
            present(connection, id)
            connection.execute(delete(NoteRow).where(NoteRow.position_id == id))
            if text:
                connection.execute(insert(NoteRow).values(position_id=id, **note_values(text)))

    def grade(self, levels: Mapping[int, float | None]) -> None:
        """Set the difficulty of positions, by number; None for not known."""
        for level in levels.values():
            if level is not None and not math.isfinite(level):
                raise UsageError(f"a difficulty must be a number, and is {level}")
        with self._writing() as connection:
            present(connection, levels)
            _set_facet(connection, "difficulty", levels)

    # Geometry keys, which another room computes

    def without_geometry(self, *, after: int | None = None, size: int = 1000) -> Page:
        """Positions whose geometry key is not known yet but whose skeleton is, in order."""
        with self._reading() as connection:
            statement = (
                select(FacetsRow.position_id)
                .join(PositionRow, PositionRow.id == FacetsRow.position_id)
                .where(FacetsRow.geometry_id.is_(None), PositionRow.skeleton.is_not(None))
                .where(FacetsRow.position_id > (after or 0))
                .order_by(FacetsRow.position_id)
                .limit(size + 1)
            )
            ids = list(connection.execute(statement).scalars())
            page, more = ids[:size], len(ids) > size
            return Page(load_entries(connection, page), page[-1] if more else None, None)

    def set_geometry(self, keys: Mapping[int, str]) -> None:
        """Set the geometry keys of positions, by number."""
        wanted = {id: checked_geometry_key(key) for id, key in keys.items()}
        with self._writing() as connection:
            present(connection, wanted)
            numbers = numbers_of(connection, GeometryRow.id, GeometryRow.key, wanted.values())
            _set_facet(connection, "geometry_id", {id: numbers[k] for id, k in wanted.items()})

    def geometry_keys(self) -> Iterator[tuple[str, int, int]]:
        """Every geometry key with how many positions have it and the first of them, in order."""
        from flightless.casebook.counting import geometry_counts

        with self._reading() as connection:
            yield from geometry_counts(connection)

    # What positions are worth in class, which another room computes

    def without_worth(
        self, *, after: int | None = None, size: int = 1000, count: bool = False
    ) -> Page:
        """Positions that are not weighed yet, in the order in which they were added; with
        `count`, how many there are."""
        with self._reading() as connection:
            waiting = FacetsRow.worth == NOT_WEIGHED
            number = FacetsRow.position_id
            statement = select(number).where(waiting, number > (after or 0))
            ids = list(connection.scalars(statement.order_by(number).limit(size + 1)))
            total = connection.scalars(select(func.count()).where(waiting)).one() if count else None
            page, more = ids[:size], len(ids) > size
            return Page(load_entries(connection, page), page[-1] if more else None, total)

    def set_worths(self, weighed: Mapping[int, Weighed]) -> int:
        """Keep what positions are worth, by number; how many were still there."""
        codes = {id: worth_code(one.worth) for id, one in weighed.items()}
        texts = {id: json_text(one.document, "the worth") for id, one in weighed.items()}
        with self._writing() as connection:
            there = present(connection, weighed, must=False)
            for chunk in chunks(there):
                connection.execute(delete(WorthRow).where(WorthRow.position_id.in_(chunk)))
            rows = [{"position_id": id, "document": texts[id]} for id in there]
            if rows:
                connection.execute(insert(WorthRow), rows)
            _set_facet(connection, "worth", {id: codes[id] for id in there})
        return len(there)

    def worths(self, ids: Iterable[int]) -> dict[int, dict[str, Any]]:
        """The documents that say what positions are worth and why, by number; those weighed."""
        with self._reading() as connection:
            return load_worths(connection, list(ids))

    def forget_worths(self) -> None:
        """Let all positions be weighed again."""
        with self._writing() as connection:
            connection.execute(delete(WorthRow))
            weighed = FacetsRow.worth != NOT_WEIGHED
            connection.execute(update(FacetsRow).where(weighed).values(worth=NOT_WEIGHED))

    # Taking out

    def remove(self, ids: int | Iterable[int]) -> int:
        """Remove positions and everything kept of them; how many there were.

        Games and names that nothing else needs go with them.
        """
        with self._writing() as connection:
            return remove_positions(connection, present(connection, ids, must=False))

    # Safety

    def backup(self, path: str | os.PathLike[str], *, overwrite: bool = False) -> Path:
        """Write a copy, as it stands at one moment, into one SQLite file, even while in use.

        The copy is checked before it takes its name.  `FileError` if it cannot be written, or
        if there is a file of that name and `overwrite` is false.
        """
        from flightless.casebook.safety import write_backup

        return write_backup(self._engine, self._place, Path(path), overwrite=overwrite)

    def restore(self, path: str | os.PathLike[str]) -> Restored:
        """Put the contents of a backup in place of this casebook's.

        The backup is checked (whole, a casebook, not newer) before anything is touched, and the
        contents of before are put aside in a file of their own.  Programs that have the
        casebook open see the old contents or the new, never a mixture.
        """
        from flightless.casebook.safety import restore_backup

        return restore_backup(self._engine, self._place, Path(path))

    def _reading(self) -> AbstractContextManager[Connection]:
        return reading(self._engine, self.name)

    def _writing(self) -> AbstractContextManager[Connection]:
        return writing(self._engine, self.name)


def _page(
    connection: Connection,
    selection: Selection,
    after: int | None,
    size: int,
    *,
    newest_first: bool,
) -> tuple[list[int], bool]:
    """Numbers of the next positions, and whether there are more after them."""
    if selection.nothing:
        return [], False
    statement = selection.page(after, size + 1, newest_first=newest_first)
    ids = list(connection.execute(statement).scalars())
    return ids[:size], len(ids) > size


def _count(connection: Connection, selection: Selection, most: int | None = None) -> int:
    """How many there are; of scattered ones no more than one above `most`."""
    if selection.nothing:
        return 0
    cut = most is not None and selection.scattered
    statement = selection.count_to(most or 0) if cut else selection.count()
    return connection.scalars(statement).one()


def _set_facet(connection: Connection, column: str, values: Mapping[int, Any]) -> None:
    if not values:
        return
    connection.execute(
        update(FacetsRow)
        .where(FacetsRow.position_id == bindparam("number"))
        .values({column: bindparam("value")}),
        [{"number": number, "value": value} for number, value in values.items()],
    )
