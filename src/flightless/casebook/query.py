"""From a filter to the numbers of the positions that it lets through, in order and counted.

Names (patterns, tags, lessons) are found through their own tables in order of position, and
everything else in the narrow facets table, so that no answer needs more than one look through
either.  Text is compared as text: there is no wildcard, and every value is bound.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any, TypeVar

from sqlalchemy import ColumnElement, Connection, Select, exists, func, or_, select, union
from sqlalchemy.orm import InstrumentedAttribute, aliased

from flightless.casebook.codes import KINDS, NATURES, PHASES, SIDES, fold, mask_of, tandem_of
from flightless.casebook.data import Filter
from flightless.casebook.models import (
    FacetsRow,
    GeometryRow,
    NameRow,
    NoteRow,
    OccurrenceRow,
    PatternRow,
    PositionPatternRow,
    PositionRow,
    PositionTagRow,
    SourceRow,
    TagRow,
    UseRow,
)
from flightless.casebook.rows import numbers_known
from flightless.errors import UsageError

__all__ = ["Selection", "best_page", "select_by"]

_T = TypeVar("_T")

_MANY = 50_000
"""So many games, or other places, that mention a text are not few any more."""

_MOST_LISTED = 1000
"""Names that are handed to the database one by one."""

_FEW = 30_000
"""So many positions are sooner sorted by their worth than met in its order."""


@dataclass(slots=True)
class Selection:
    """A filter as SQL.  `labels` are tables of names, joined by position, the first leading.

    With `ranked` it is for the order of worth: then the facets lead, and `labels` is empty.
    """

    ranked: bool = False
    few: bool = False
    """There are few positions of some name: they are found by it and then sorted."""
    labels: list[Any] = field(default_factory=list)
    conditions: list[ColumnElement[bool]] = field(default_factory=list)
    ranges: list[tuple[Any, float | None, float | None]] = field(default_factory=list)
    """Columns of the facets with the least and the most."""
    uses_facets: bool = False
    nothing: bool = False
    """A name that the casebook does not have was asked for: nothing can fit."""
    scattered: bool = False
    """Positions must be looked at one by one: they are not counted to the end."""

    def add(self, condition: ColumnElement[bool]) -> None:
        """One more condition on the facets."""
        self.uses_facets = True
        self.conditions.append(condition)

    def add_label(self, label: Any, condition: ColumnElement[bool]) -> None:
        """One more name that a position must have: a row of `label` for which this holds."""
        if self.ranked:
            position = FacetsRow.position_id
            self.conditions.append(
                position.in_(select(label.position_id).where(condition))
                if self.few
                else exists().where(label.position_id == position, condition)
            )
            return
        self.labels.append(label)
        self.conditions.append(condition)

    @property
    def number(self) -> Any:
        """The column that has the positions' numbers."""
        return self.labels[0].position_id if self.labels else FacetsRow.position_id

    def page(self, after: int | None, size: int, *, newest_first: bool) -> Select[int]:
        """The next `size` numbers after `after`, in order."""
        number = self.number
        statement = self._of(select(number))
        if after is not None:
            statement = statement.where(number < after if newest_first else number > after)
        return statement.order_by(number.desc() if newest_first else number).limit(size)

    def best(
        self, after: tuple[int, str] | None, size: int, key: ColumnElement[str]
    ) -> Select[int]:
        """The next `size` numbers after a worth and key, in order of worth, equals by `key`."""
        worth = FacetsRow.worth + 0 if self.few else FacetsRow.worth
        statement = self._of(select(FacetsRow.position_id))
        statement = statement.join(PositionRow, PositionRow.id == FacetsRow.position_id)
        if after is not None:
            least, last = after
            statement = statement.where(worth <= least, or_(worth < least, key > last))
        return statement.order_by(worth.desc(), key).limit(size)

    def count(self) -> Select[int]:
        """How many there are."""
        return self._of(select(func.count()), by_index=True)

    def count_to(self, most: int) -> Select[int]:
        """How many there are, but no more than one above `most`, looked at in order."""
        some = self.page(None, most + 1, newest_first=False).subquery()
        return select(func.count()).select_from(some)

    def _of(self, statement: Select[_T], *, by_index: bool = False) -> Select[_T]:
        """The statement with tables and conditions.

        A range alone is counted by its index.  For a page, which would have to sort all of it,
        and with other conditions, for which rows would be fetched out of order, one look through
        the table is shorter: adding 0 to the column keeps the database from its index.
        """
        conditions = list(self.conditions)
        alone = by_index and not conditions and not self.labels
        for column, least, most in self.ranges:
            value = column if alone else column + 0
            conditions += [value >= least] if least is not None else []
            conditions += [value <= most] if most is not None else []
        if not self.labels:
            return statement.select_from(FacetsRow).where(*conditions)
        first, *others = self.labels
        statement = statement.select_from(first)
        for label in others:
            statement = statement.join(label, label.position_id == first.position_id)
        if self.uses_facets:
            statement = statement.join(FacetsRow, FacetsRow.position_id == first.position_id)
        return statement.where(*conditions)


def select_by(connection: Connection, wanted: Filter, *, ranked: bool = False) -> Selection:
    """The filter as SQL, with `ranked` for `Selection.best`.  `UsageError` for a word or range
    that makes no sense."""
    selection = Selection(ranked=ranked)
    _by_names(connection, selection, wanted)
    _by_codes(connection, selection, wanted)
    _by_ranges(connection, selection, wanted)
    if wanted.geometry_key is not None:
        known = numbers_known(connection, GeometryRow.id, GeometryRow.key, [wanted.geometry_key])
        selection.nothing |= not known
        same = FacetsRow.geometry_id == known.get(wanted.geometry_key)
        selection.few |= ranked and _is_few(connection, select(FacetsRow.position_id).where(same))
        selection.add(same)
    if wanted.player is not None:
        _by_player(connection, selection, _to_find(wanted.player, "player"))
    if wanted.text is not None:
        _by_text(connection, selection, _to_find(wanted.text, "text"))
    return selection


def _by_names(connection: Connection, selection: Selection, wanted: Filter) -> None:
    _by_label(connection, selection, wanted.patterns, PatternRow, PositionPatternRow, "pattern_id")
    _by_label(connection, selection, wanted.tags, TagRow, PositionTagRow, "tag_id")
    if wanted.lesson is not None:
        label = aliased(UseRow)
        _add_label(connection, selection, label, label.lesson == wanted.lesson)


def _by_label(
    connection: Connection,
    selection: Selection,
    names: tuple[str, ...],
    words: type[PatternRow] | type[TagRow],
    junction: type[PositionPatternRow] | type[PositionTagRow],
    column: str,
) -> None:
    numbers = numbers_known(connection, words.id, words.name, list(dict.fromkeys(names)))
    for name in dict.fromkeys(names):
        if name not in numbers:
            selection.nothing = True
            continue
        label = aliased(junction)
        _add_label(connection, selection, label, getattr(label, column) == numbers[name])


def _add_label(
    connection: Connection, selection: Selection, label: Any, condition: ColumnElement[bool]
) -> None:
    if selection.ranked:
        named = select(label.position_id).where(condition)
        selection.few |= _is_few(connection, named)
    selection.add_label(label, condition)


def _is_few(connection: Connection, statement: Select[Any]) -> bool:
    some = statement.limit(_FEW + 1).subquery()
    return connection.scalars(select(func.count()).select_from(some)).one() <= _FEW


def _by_codes(connection: Connection, selection: Selection, wanted: Filter) -> None:
    if wanted.side is not None:
        selection.add(FacetsRow.side == _code(wanted.side, SIDES, "side"))
    if wanted.phase is not None:
        selection.add(FacetsRow.phase == _code(wanted.phase, PHASES, "phase"))
    if wanted.kind is not None:
        bit = 1 << _code(wanted.kind, KINDS, "kind of find")
        selection.add(FacetsRow.kinds.bitwise_and(bit) != 0)
    if wanted.nature is not None:
        bit = mask_of((wanted.nature,), NATURES, "nature of a key")
        selection.add(FacetsRow.natures.bitwise_and(bit) != 0)
    if wanted.tandem is not None:
        _equal(connection, selection, FacetsRow.tandem, tandem_of(wanted.tandem))
    if wanted.unused:
        selection.add(FacetsRow.uses == 0)


def _code(word: str, vocabulary: tuple[str, ...], what: str) -> int:
    return mask_of((word,), vocabulary, what).bit_length() - 1


def _by_ranges(connection: Connection, selection: Selection, wanted: Filter) -> None:
    if isinstance(wanted.moves, int):
        _equal(connection, selection, FacetsRow.moves, wanted.moves)
    elif wanted.moves is not None:
        _within(selection, FacetsRow.moves, wanted.moves, "moves")
    if wanted.difficulty is not None:
        _within(selection, FacetsRow.difficulty, wanted.difficulty, "difficulty")
    if wanted.men is not None:
        _within(selection, FacetsRow.men, wanted.men, "men")
    if wanted.years is not None:
        _by_years(selection, wanted.years)


def _equal(
    connection: Connection, selection: Selection, column: InstrumentedAttribute[Any], value: Any
) -> None:
    """A value that has an index.  In the order of worth the index is for a value that few have:
    of many, all would be fetched by it and sorted for one page, so it is hidden."""
    same = column == value
    if selection.ranked and not _is_few(connection, select(FacetsRow.position_id).where(same)):
        same = func.coalesce(column, value) == value
        same &= column.is_not(None)
    elif selection.ranked:
        selection.few = True
    selection.add(same)


def _within(
    selection: Selection,
    column: InstrumentedAttribute[Any],
    limits: tuple[float | None, float | None],
    what: str,
) -> None:
    selection.ranges.append((column, *_limits(limits, what)))
    selection.uses_facets = True


def _limits(
    limits: tuple[float | None, float | None], what: str
) -> tuple[float | None, float | None]:
    least, most = limits
    for limit in limits:
        if limit is not None and not math.isfinite(limit):
            raise UsageError(f"a limit of {what} must be a number, and is {limit}")
    if least is not None and most is not None and least > most:
        raise UsageError(f"the range of {what} is empty: from {least} to {most}")
    return least, most


def _by_years(selection: Selection, years: tuple[int | None, int | None]) -> None:
    """A game between two years.

    A position knows its games' first and last year.  Only where these lie on both sides of the
    range must its games be looked at one by one.
    """
    first, last = _limits(years, "years")
    if first is not None:
        selection.add(FacetsRow.last_year >= first)
    if last is not None:
        selection.add(FacetsRow.first_year <= last)
    if first is None or last is None:
        return
    between = (
        select(OccurrenceRow.position_id)
        .join(SourceRow, SourceRow.id == OccurrenceRow.source_id)
        .where(
            OccurrenceRow.position_id == FacetsRow.position_id,
            SourceRow.year.between(first, last),
        )
    )
    selection.add(or_(FacetsRow.first_year >= first, FacetsRow.last_year <= last, exists(between)))


def _to_find(text: str, what: str) -> str:
    folded = fold(text)
    if not folded:
        raise UsageError(f"the {what} to look for is empty")
    return folded


def _has(connection: Connection, column: Any, text: str) -> ColumnElement[bool]:
    """Whether the column has the text in it: plain comparison, without patterns."""
    position_in = func.strpos if connection.dialect.name == "postgresql" else func.instr
    return position_in(column, text) > 0


def _by_player(connection: Connection, selection: Selection, text: str) -> None:
    _by_mention(connection, selection, text, (SourceRow.white_id, SourceRow.black_id), {})


def _by_text(connection: Connection, selection: Selection, text: str) -> None:
    columns = (SourceRow.white_id, SourceRow.black_id, SourceRow.event_id, SourceRow.site_id)
    tags = PositionTagRow.tag_id.in_(_words_with(connection, TagRow, text))
    patterns = PositionPatternRow.pattern_id.in_(_words_with(connection, PatternRow, text))
    others: dict[Any, ColumnElement[bool]] = {
        NoteRow.position_id: _has(connection, NoteRow.folded, text),
        PositionTagRow.position_id: tags,
        PositionPatternRow.position_id: patterns,
    }
    _by_mention(connection, selection, text, columns, others)


def _by_mention(
    connection: Connection,
    selection: Selection,
    text: str,
    columns: tuple[Any, ...],
    others: dict[Any, ColumnElement[bool]],
) -> None:
    """A game with the text in one of the columns' names, or another table that mentions it.

    `others` maps the position column of such a table to what its row must be.  If the text is
    in few places, these give the positions.  If it is in many, so many positions have it that
    they are better looked at one by one, in order, until a page is full.
    """
    names = _names_with(connection, text)
    places = [select(SourceRow.id).where(column.in_(names)) for column in columns]
    tables = [select(column).where(condition) for column, condition in others.items()]
    number = selection.number
    if _are_few(connection, [*places, *tables]):
        games = union(*places).subquery()
        of_games = select(OccurrenceRow.position_id).where(
            OccurrenceRow.source_id.in_(select(games.c.id))
        )
        found = union(of_games, *tables).subquery()
        selection.conditions.append(number.in_(select(found.c.position_id)))
        selection.few = True
        return
    selection.scattered = True
    game = (
        exists()
        .where(OccurrenceRow.position_id == number)
        .where(SourceRow.id == OccurrenceRow.source_id)
        .where(or_(*(column.in_(names) for column in columns)))
    )
    elsewhere = [exists().where(c == number, condition) for c, condition in others.items()]
    selection.conditions.append(or_(game, *elsewhere))


def _names_with(connection: Connection, text: str) -> list[int] | Select[int]:
    """The names that have the text: if not too many as a list, from which databases plan well."""
    statement = select(NameRow.id).where(_has(connection, NameRow.folded, text))
    listed = list(connection.scalars(statement.limit(_MOST_LISTED + 1)))
    return listed if len(listed) <= _MOST_LISTED else statement


def _are_few(connection: Connection, statements: list[Select[Any]]) -> bool:
    """Whether the statements have few rows together, without reading more than that."""
    left = _MANY
    for statement in statements:
        some = statement.limit(left + 1).subquery()
        left -= connection.scalars(select(func.count()).select_from(some)).one()
        if left < 0:
            return False
    return True


def _words_with(
    connection: Connection, words: type[TagRow] | type[PatternRow], text: str
) -> list[int]:
    """Numbers of the tags or patterns whose name has the text; there are few enough to look."""
    rows = connection.execute(select(words.id, words.name).order_by(words.id))
    return [number for number, name in rows if text in fold(name)]


def best_page(
    connection: Connection, wanted: Filter, after: int | None, size: int
) -> tuple[list[int], bool]:
    """Numbers of the next positions in order of worth, equals by FEN, and whether there are
    more.  `UsageError` if the position `after` which to go on is gone."""
    selection = select_by(connection, wanted, ranked=True)
    if selection.nothing:
        return [], False
    key: ColumnElement[str] = PositionRow.key.expression
    if connection.dialect.name == "postgresql":
        key = key.collate("C")  # as SQLite has it, whatever the server's language
    last = None if after is None else _standing(connection, after)
    ids = list(connection.scalars(selection.best(last, size + 1, key)))
    return ids[:size], len(ids) > size


def _standing(connection: Connection, position: int) -> tuple[int, str]:
    """Where a position stands in the order of worth."""
    statement = (
        select(FacetsRow.worth, PositionRow.key)
        .join(PositionRow, PositionRow.id == FacetsRow.position_id)
        .where(FacetsRow.position_id == position)
    )
    found = connection.execute(statement).first()
    if found is None:
        raise UsageError(f"the casebook has no position {position} any more to go on after")
    return found[0], found[1]
