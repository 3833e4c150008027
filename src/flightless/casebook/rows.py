"""Small helpers over tables: numbers for words, rows that are new, long lists in pieces."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any, TypeVar

from sqlalchemy import Connection, func, insert, select, update
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import InstrumentedAttribute

from flightless.casebook.models import Base, FacetsRow, UseRow

__all__ = ["chunks", "count_uses", "insert_new", "next_number", "numbers_known", "numbers_of"]

_T = TypeVar("_T")

_CHUNK = 500
"""Values in one IN list."""


def chunks(items: Sequence[_T], size: int = _CHUNK) -> Iterator[Sequence[_T]]:
    """The items in pieces of at most `size`."""
    for start in range(0, len(items), size):
        yield items[start : start + size]


def insert_new(connection: Connection, model: type[Base], rows: list[dict[str, Any]]) -> int:
    """Insert the rows that are not there yet; how many those were."""
    if not rows:
        return 0
    insert_into = postgresql.insert if connection.dialect.name == "postgresql" else sqlite.insert
    statement = insert_into(model).on_conflict_do_nothing()
    return connection.execute(
        statement, rows, execution_options={"preserve_rowcount": True}
    ).rowcount


def next_number(connection: Connection, column: InstrumentedAttribute[int]) -> int:
    """The next free number of a table other than `positions`."""
    return (connection.scalar(select(func.max(column))) or 0) + 1


def numbers_of(
    connection: Connection,
    number: InstrumentedAttribute[int],
    column: InstrumentedAttribute[str],
    words: Iterable[str | None],
) -> dict[str, int]:
    """Numbers of the words in a table of words; new words get the next ones, in their order."""
    wanted = list(dict.fromkeys(word for word in words if word))
    numbers = numbers_known(connection, number, column, wanted)
    fresh = [word for word in wanted if word not in numbers]
    if fresh:
        start = next_number(connection, number)
        rows = [{"id": start + at, column.key: word} for at, word in enumerate(fresh)]
        connection.execute(insert(column.class_), rows)
        numbers |= {word: start + at for at, word in enumerate(fresh)}
    return numbers


def numbers_known(
    connection: Connection,
    number: InstrumentedAttribute[int],
    column: InstrumentedAttribute[str],
    words: Sequence[str],
) -> dict[str, int]:
    """Numbers of those words that are in a table of words already."""
    numbers: dict[str, int] = {}
    for chunk in chunks(words):
        rows = connection.execute(select(column, number).where(column.in_(chunk)))
        numbers |= {row[0]: row[1] for row in rows}
    return numbers


def count_uses(connection: Connection, positions: Sequence[int]) -> None:
    """Count the lessons of these positions anew."""
    uses = (
        select(func.count())
        .select_from(UseRow)
        .where(UseRow.position_id == FacetsRow.position_id)
        .scalar_subquery()
    )
    for chunk in chunks(positions):
        connection.execute(
            update(FacetsRow).where(FacetsRow.position_id.in_(chunk)).values(uses=uses)
        )
