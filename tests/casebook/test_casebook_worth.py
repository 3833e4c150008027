"""What positions are worth in class, kept in a casebook: set, told, forgotten, gone on with.

How a position is weighed is tested in tests/exercises; the order of worth with every filter in
test_casebook_finding.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from casebook_samples import key_of, records
from sqlalchemy import text

from flightless.casebook import Casebook, Filter, Game, NewPosition, Weighed
from flightless.casebook.engine import make_engine, reading
from flightless.casebook.places import find_place
from flightless.casebook.schema import MIGRATIONS, bring_up_to_date, version_of
from flightless.errors import FileError, UsageError
from flightless.exercises.worth import weigh, worth_of_document
from flightless.exercises.worth_keeping import weigh_casebook

RECORDS = records()
SOURCE = Path(__file__).parents[2] / "src"
BACK_RANK = "6k1/5ppp/8/8/8/8/5PPP/4R1K1 w - - 0 1"


def weighed(worth: float | None, why: str = "") -> Weighed:
    return Weighed(worth, {"why": why})


def test_a_worth_is_kept_and_told(book: Casebook) -> None:
    book.add_records(RECORDS[:9])
    assert book.statistics().not_weighed == book.count()
    assert book.set_worths({1: weighed(0.25, "é\x00"), 2: weighed(None), 3: weighed(1.0)}) == 3
    assert [book.get(n).entry.worth for n in (1, 2, 3, 4)] == [0.25, None, 1.0, None]
    assert book.worths([1, 2, 4]) == {1: {"why": "é\x00"}, 2: {"why": ""}}
    waiting = book.without_worth(count=True)
    assert [entry.id for entry in waiting.entries] == list(range(4, book.count() + 1))
    assert waiting.total == book.count() - 3 == book.statistics().not_weighed
    book.set_worths({1: weighed(0.5, "again")})
    assert book.worths([1]) == {1: {"why": "again"}}
    book.forget_worths()
    assert book.worths(range(1, 10)) == {}
    assert book.without_worth(count=True).total == book.count()


def test_worths_that_make_no_sense(book: Casebook) -> None:
    book.add(NewPosition(BACK_RANK))
    for worth in (-0.1, 1.1, float("nan"), float("inf")):
        with pytest.raises(UsageError, match="from 0 to 1"):
            book.set_worths({1: weighed(worth)})
    with pytest.raises(FileError, match="JSON"):
        book.set_worths({1: Weighed(0.5, {"why": object()})})
    assert book.set_worths({7: weighed(0.5)}) == 0
    assert book.set_worths({}) == 0
    with pytest.raises(UsageError, match="newest first or the best"):
        book.find(newest_first=True, best_first=True)
    with pytest.raises(UsageError, match="no position 9 any more"):
        book.find(best_first=True, after=9)


def test_better_knowledge_lets_a_position_be_weighed_again(book: Casebook) -> None:
    number = book.add(NewPosition(BACK_RANK, moves=2)).id
    book.set_worths({number: weighed(0.5)})
    book.add(NewPosition(BACK_RANK, tags=("monday",)))  # nothing that its worth depends on
    assert book.get(number).entry.worth == 0.5
    book.add(NewPosition(BACK_RANK, moves=1, keys=("e1e8",)))
    assert book.get(number).entry.worth is None
    assert book.worths([number]) == {}
    assert book.without_worth(count=True).total == 1
    book.set_worths({number: weighed(0.5)})
    game = Game({"White": "Sand, Ann"}, "games.pgn", 1)
    book.add(NewPosition(BACK_RANK, moves=1, keys=("e1e8",), game=game))
    assert book.get(number).occurrences
    assert book.get(number).entry.worth is None


def test_worths_go_with_their_positions(book: Casebook) -> None:
    book.add_records(RECORDS[:3])
    book.set_worths({1: weighed(0.5), 2: weighed(0.6)})
    book.remove(1)
    assert book.worths([1, 2]) == {2: {"why": ""}}
    with book._reading() as connection:
        assert connection.execute(text("SELECT count(*) FROM worths")).scalar_one() == 1


def test_a_backup_has_them(book: Casebook, tmp_path: Path) -> None:
    book.add_records(RECORDS[:3])
    book.set_worths({1: weighed(0.5, "so")})
    copy = book.backup(tmp_path / "copy.sqlite")
    with Casebook.open(copy) as other:
        assert other.get(1).entry.worth == 0.5
        assert other.worths([1]) == {1: {"why": "so"}}
    book.forget_worths()
    book.restore(copy)
    assert book.get(1).entry.worth == 0.5


def test_a_casebook_of_the_first_format_is_brought_up_to_date(target: Callable[[], str]) -> None:
    """A casebook as the first format had it, with its positions: all are there, none weighed."""
    from alembic import command

    from flightless.casebook.engine import writing
    from flightless.casebook.schema import _config

    where = target()
    with Casebook.open(where) as book:
        book.add_records(RECORDS)
        before = list(book.export("jsonl"))
        book.set_worths({1: weighed(0.5)})
    engine = make_engine(find_place(where))
    with writing(engine, where) as connection:
        config = _config(MIGRATIONS)
        config.attributes["connection"] = connection
        command.downgrade(config, "0001")
    with reading(engine, where) as connection:
        assert version_of(connection, where) == "0001"
    bring_up_to_date(engine, where)
    engine.dispose()
    with Casebook.open(where) as book:
        assert list(book.export("jsonl")) == before
        assert book.without_worth(count=True).total == book.count()
        weigh_casebook(book, most=3)
        assert book.without_worth(count=True).total == book.count() - 3


# --- weighed by those who weigh ---------------------------------------------------------------


def test_a_casebook_is_weighed_as_its_positions_are(book: Casebook) -> None:
    book.add_records(RECORDS)
    book.add(NewPosition(BACK_RANK, moves=1))
    told: list[tuple[int, int]] = []
    everything = book.count()
    done = weigh_casebook(book, progress=lambda *so_far: told.append(so_far))
    assert done == everything
    assert told[-1] == (everything, everything)
    assert weigh_casebook(book) == 0
    for entry in book.find(size=1000).entries:
        document = book.worths([entry.id])[entry.id]
        within = 5 if entry.moves is None else max(1, abs(entry.moves))
        alone = weigh(entry.board, from_game=entry.occurrences > 0, within=within)
        assert worth_of_document(document) == alone
        assert entry.worth == getattr(alone, "total", None)
    assert sum(e.worth is not None for e in book.find(size=1000).entries) > 20


def test_interrupted_it_goes_on(new_book: Callable[[], Casebook], monkeypatch: Any) -> None:
    monkeypatch.setattr("flightless.exercises.worth_keeping._BATCH", 5)
    book, other = new_book(), new_book()
    for one in (book, other):
        one.add_records(RECORDS)
    weigh_casebook(other)

    def stop(done: int, of: int) -> None:
        del of
        if done >= 15:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        weigh_casebook(book, progress=stop)
    assert book.without_worth(count=True).total == book.count() - 15
    assert weigh_casebook(book) == book.count() - 15
    best = [[e.fen for e in one.find(best_first=True).entries] for one in (book, other)]
    assert best[0] == best[1]


WEIGHER = """
import sys
import flightless.exercises.worth_keeping as keeping
keeping._BATCH = 2
with keeping_book(sys.argv[1]) as book:
    keeping.weigh_casebook(book, progress=lambda done, of: print(done, flush=True))
""".replace("keeping_book", "__import__('flightless.casebook').casebook.Casebook.open")


def _weigher(where: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", WEIGHER, where],
        env={**os.environ, "PYTHONPATH": str(SOURCE)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def test_killed_and_two_at_once(target: Callable[[], str]) -> None:
    where = target()
    with Casebook.open(where) as book:
        book.add_records(RECORDS)
    first = _weigher(where)
    assert first.stdout is not None
    for _ in range(3):
        assert first.stdout.readline()
    first.send_signal(signal.SIGKILL)
    first.communicate(timeout=60)
    with Casebook.open(where) as book:
        left = book.without_worth(count=True).total
        assert left is not None
        assert 0 < left <= book.count() - 6
    for weigher in [_weigher(where), _weigher(where)]:
        _, errors = weigher.communicate(timeout=120)
        assert weigher.returncode == 0, errors
    with Casebook.open(where) as book:
        assert book.without_worth(count=True).total == 0
        assert len(book.worths(range(1, 1000))) == book.count()
        assert len({key_of({"fen": e.fen}) for e in book.find(Filter(), size=1000).entries}) == (
            book.count()
        )


def test_equals_go_by_fen_whatever_the_language_of_the_server(server: str) -> None:
    """A database that sorts as dictionaries do, small letters beside capitals: FENs still go by
    their characters, as on SQLite."""
    import psycopg

    made = (
        "CREATE DATABASE dictionary TEMPLATE template0 ENCODING 'UTF8' "
        "LOCALE_PROVIDER icu ICU_LOCALE 'en-US'"
    )
    address = f"postgresql://flightless@/postgres?host={server}"
    with psycopg.connect(address, autocommit=True) as connection:
        try:
            connection.execute(made)  # type: ignore[arg-type]
        except psycopg.Error as error:
            pytest.skip(f"this server has no dictionary order: {error}")
    with Casebook.open(f"postgresql://flightless@/dictionary?host={server}") as book:
        book.add_records(RECORDS)
        everything = book.count()
        book.set_worths({id: weighed(0.5) for id in range(1, everything + 1)})
        found: list[str] = []
        after = None
        while len(found) < everything:
            page = book.find(best_first=True, size=9, after=after)
            found += [key_of({"fen": entry.fen}) for entry in page.entries]
            after = page.after
        assert found == sorted(found)
        with book._reading() as connection:
            theirs = connection.execute(text("SELECT key FROM positions ORDER BY key")).scalars()
            assert list(theirs) != found
