"""Taking positions out, with the games, names and tags that nothing else needs any more.

Names of players are personal data: none stays behind a position that was removed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sqlalchemy import Connection, delete, exists, select

from flightless.casebook.models import (
    NameRow,
    OccurrenceRow,
    PositionRow,
    PositionTagRow,
    SourceRow,
    TagRow,
)
from flightless.casebook.rows import chunks
from flightless.errors import UsageError

__all__ = ["drop_unused_tags", "present", "remove_positions"]

_NAMES = (SourceRow.white_id, SourceRow.black_id, SourceRow.event_id, SourceRow.site_id)


def present(connection: Connection, ids: int | Iterable[int], *, must: bool = True) -> list[int]:
    """Those of the numbers that are positions, in the order given, each once.

    With `must`, `UsageError` names the first that is none.
    """
    wanted = list(dict.fromkeys([ids] if isinstance(ids, int) else ids))
    found: set[int] = set()
    for chunk in chunks(wanted):
        statement = select(PositionRow.id).where(PositionRow.id.in_(chunk))
        found.update(connection.execute(statement).scalars())
    missing = next((number for number in wanted if number not in found), None)
    if must and missing is not None:
        raise UsageError(f"the casebook has no position {missing}")
    return [number for number in wanted if number in found]


def remove_positions(connection: Connection, ids: Sequence[int]) -> int:
    """Remove the positions and everything kept of them alone; how many there were."""
    games: set[int] = set()
    for chunk in chunks(ids):
        of_these = select(OccurrenceRow.source_id).where(OccurrenceRow.position_id.in_(chunk))
        games.update(connection.execute(of_these).scalars())
        connection.execute(delete(PositionRow).where(PositionRow.id.in_(chunk)))
    _drop_unused_games(connection, sorted(games))
    drop_unused_tags(connection)
    return len(ids)


def _drop_unused_games(connection: Connection, games: Sequence[int]) -> None:
    names: set[int] = set()
    needed = exists().where(OccurrenceRow.source_id == SourceRow.id)
    for chunk in chunks(games):
        unused = SourceRow.id.in_(chunk) & ~needed
        for row in connection.execute(select(*_NAMES).where(unused)):
            names.update(number for number in row if number is not None)
        connection.execute(delete(SourceRow).where(unused))
    for chunk in chunks(sorted(names)):
        in_use = [exists().where(column == NameRow.id) for column in _NAMES]
        connection.execute(
            delete(NameRow).where(NameRow.id.in_(chunk), *(~condition for condition in in_use))
        )


def drop_unused_tags(connection: Connection) -> None:
    """Forget tags that no position has."""
    connection.execute(delete(TagRow).where(~exists().where(PositionTagRow.tag_id == TagRow.id)))
