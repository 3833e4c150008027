"""A casebook of a million positions: how long opening, filtering and paging take.

The positions are synthetic: real finds of a harvest, varied by men that stand about, by
invented games and by drawn lengths, and marked so in every occurrence.  Nothing about chess
can be learnt from them; only tables of that size and spread are wanted.

    python benchmarks/casebook/million.py [--positions N] [--records FILE] [--keep CASEBOOK]
        [--copied M]

With --copied there are M positions more: rows copied within the database, with other numbers, keys
and worths, in the games of those they were copied from.  That is quick where the machine is slow.
"""

from __future__ import annotations

import argparse
import json
import random
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import chess

from flightless.casebook import Casebook, Counts, Filter, Weighed

ROOT = Path(__file__).parents[2]
SEED = 20240229
LENGTHS = (1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12)
LENGTH_WEIGHTS = (300, 260, 150, 90, 60, 40, 25, 15, 10, 5, 3, 2)
PLAYERS = 40_000
EVENTS = 5_000
REPEATS = 5

COPIED = {
    "position_id": "position_id + :offset",
    "worth": "max(0, min(10000, worth + (position_id * 7919 + :offset) % 401 - 200))",
}
"""What is another in a copy."""

FILTERS: dict[str, Filter] = {
    "everything": Filter(),
    "pattern, common": Filter(patterns=("supported queen beside the king",)),
    "pattern, rare": Filter(patterns=("Arabian",)),
    "moves 2": Filter(moves=2),
    "moves 12": Filter(moves=12),
    "moves 3 to 5": Filter(moves=(3, 5)),
    "tandem": Filter(tandem="queen and rook"),
    "key nature": Filter(nature="double check"),
    "side": Filter(side="black"),
    "phase": Filter(phase="endgame"),
    "years, twenty": Filter(years=(1900, 1919)),
    "year, one": Filter(years=(1923, 1923)),
    "player, one": Filter(player="Player 123, Invented"),
    "player, many": Filter(player="player 1"),
    "kind": Filter(kind="missed"),
    "not used in a lesson": Filter(unused=True),
    "used in a lesson": Filter(lesson="Back rank, first lesson"),
    "difficulty": Filter(difficulty=(2.0, 2.5)),
    "tag": Filter(tags=("for Tuesday",)),
    "few men": Filter(men=(None, 8)),
    "text, a rare event": Filter(text="invented open 77"),
    "text, everywhere": Filter(text="invented"),
    "pattern and moves": Filter(patterns=("corridor",), moves=2),
    "pattern and side": Filter(patterns=("corridor",), side="white"),
    "pattern and tandem": Filter(patterns=("back rank",), tandem="RR"),
    "pattern and not used": Filter(patterns=("back rank",), unused=True),
    "pattern and years": Filter(patterns=("corridor",), years=(1900, 1919)),
    "pattern and player": Filter(patterns=("corridor",), player="Player 123, Invented"),
    "pattern and nature": Filter(patterns=("corridor",), nature="quiet"),
    "two patterns": Filter(patterns=("corridor", "back rank")),
    "moves and not used": Filter(moves=3, unused=True),
    "moves and phase": Filter(moves=3, phase="endgame"),
    "moves and tag": Filter(moves=2, tags=("for Tuesday",)),
    "years and difficulty": Filter(years=(1900, 1919), difficulty=(2.0, 2.5)),
    "four at once": Filter(patterns=("corridor",), moves=2, side="white", unused=True),
}


def main() -> int:
    """Build or reuse a casebook, then measure."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--positions", type=int, default=1_000_000)
    parser.add_argument("--copied", type=int, default=0, help="positions more, as copies")
    parser.add_argument("--records", type=Path, help="JSON Lines of a harvest to vary")
    parser.add_argument("--keep", type=Path, help="build here, or reuse what was built here")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path = options.keep or Path(folder) / "synthetic.sqlite"
        if not path.exists():
            build(path, base_records(options.records), options.positions)
        if options.copied:
            copy(path, options.copied)
        measure(path)
    return 0


def base_records(file: Path | None) -> list[dict[str, Any]]:
    """The finds to vary: those of a file, or of the games that come with Flightless."""
    if file is not None:
        return [json.loads(line) for line in file.read_text("utf-8").splitlines()]
    from flightless.harvest.records import Record, record_document
    from flightless.harvest.run import harvest

    games = sorted(str(path) for path in (ROOT / "examples").glob("*/*.pgn"))
    if not games:
        raise SystemExit("there are no games under examples/: give --records FILE")
    return [record_document(item) for item in harvest(games) if isinstance(item, Record)]


def build(path: Path, records: list[dict[str, Any]], wanted: int) -> None:
    """A casebook of so many positions, with tags, lessons and grades on some of them."""
    start = time.perf_counter()

    def progress(counts: Counts) -> None:
        if counts.read % 50_000 == 0:
            note(f"{counts.positions:,} positions, {time.perf_counter() - start:.0f} s")

    with Casebook.open(path) as book:
        counts = book.add_records(variations(records, wanted), progress=progress)
        seconds = time.perf_counter() - start
        chance = random.Random(SEED + 1)
        numbers = range(1, counts.positions + 1)
        book.grade({number: chance.gauss(3, 1) for number in numbers})
        for start_number in range(1, counts.positions + 1, 20_000):
            batch = range(start_number, min(start_number + 20_000, counts.positions + 1))
            book.set_worths({number: drawn_worth(chance) for number in batch})
        book.tag(chance.sample(numbers, counts.positions // 100), "for Tuesday")
        book.mark_used(chance.sample(numbers, counts.positions // 200), "Back rank, first lesson")
    say(
        f"SYNTHETIC casebook: {counts.positions:,} positions, {counts.occurrences:,} occurrences "
        f"from {len(records)} real finds, {counts.refusals:,} refused; "
        f"added at {counts.read / seconds:,.0f} records/s; {path.stat().st_size / 1e6:,.0f} MB"
    )


def copy(path: Path, more: int) -> None:
    """So many positions more, each table's rows copied in one statement a round."""
    with closing(sqlite3.connect(path)) as book:
        (made,) = book.execute("SELECT max(id) FROM positions").fetchone()
        tables = ("facets", "position_patterns", "position_tags", "uses", "occurrences", "worths")
        round_ = 0
        while more:
            part, round_ = min(made, more), round_ + 1
            more -= part
            offset = made * round_
            book.execute(
                "INSERT INTO positions SELECT id + ?, key || ' copy ' || ?, halfmove, fullmove, "
                "proved, shortest, keys, line, skeleton FROM positions WHERE id <= ?",
                (offset, round_, part),
            )
            for table in tables:
                columns = [row[1] for row in book.execute(f"PRAGMA table_info({table})")]
                chosen = ", ".join(COPIED.get(column, column) for column in columns)
                names = ", ".join(columns)
                book.execute(
                    f"INSERT INTO {table} ({names}) SELECT {chosen} FROM {table} "
                    "WHERE position_id <= :part",
                    {"offset": offset, "part": part},
                )
            book.execute(
                "UPDATE meta SET value = ? WHERE name = 'next position'", (str(offset + part + 1),)
            )
            book.commit()
            note(f"{offset + part:,} positions")


def drawn_worth(chance: random.Random) -> Weighed:
    """A worth with the spread of real ones (mean 0.7, standard deviation 0.14), drawn by lot."""
    return Weighed(min(1.0, max(0.0, chance.gauss(0.7, 0.14))), {"synthetic": True})


def variations(records: list[dict[str, Any]], wanted: int) -> Iterator[dict[str, Any]]:
    """Real finds with men put about at random and invented games around them."""
    chance = random.Random(SEED)
    made: set[str] = set()
    game = 0
    while len(made) < wanted:
        for record in records:
            fen = varied(record, chance)
            if fen is None or fen in made:
                continue
            made.add(fen)
            game += 1
            yield synthetic(record, fen, game // 2, chance)
            if len(made) >= wanted:
                return


def varied(record: dict[str, Any], chance: random.Random) -> str | None:
    """The position with up to four men more; None if that breaks its mate, key or line."""
    board = chess.Board(record["fen"])
    for _ in range(chance.randint(1, 4)):
        square = chance.randrange(8, 56)
        if board.piece_type_at(square) is None:
            kind = chance.choice((chess.PAWN, chess.PAWN, chess.PAWN, chess.KNIGHT))
            board.set_piece_at(square, chess.Piece(kind, chance.random() < 0.5))
    if not board.is_valid() or board.is_checkmate() != (record["kind"] == "mated"):
        return None
    if not all(board.is_legal(chess.Move.from_uci(key)) for key in record["keys"]):
        return None
    return board.fen()


def synthetic(record: dict[str, Any], fen: str, game: int, chance: random.Random) -> dict[str, Any]:
    moves = record["moves"]
    if moves > 0:
        moves = chance.choices(LENGTHS, LENGTH_WEIGHTS)[0]
    white, black = chance.randrange(PLAYERS), chance.randrange(PLAYERS)
    return {
        **{name: record[name] for name in ("kind", "keys", "patterns", "skeleton", "ply")},
        "synthetic": True,
        "fen": fen,
        "moves": moves,
        "tandem": record.get("tandem"),
        "game": game,
        "source": {
            "file": "synthetic.pgn",
            "white": f"Player {white}, Invented",
            "black": f"Player {black}, Invented",
            "event": f"Invented Open {chance.randrange(EVENTS)}",
            "site": "Nowhere",
            "date": f"{int(chance.triangular(1850, 2024, 2020))}.??.??",
            "round": str(chance.randint(1, 11)),
            "result": "*",
        },
    }


def measure(path: Path) -> None:
    """Opening and the first page with its exact total, in this process and as a new one."""
    for best_first in (False, True):
        filters(path, best_first=best_first)
    deep(path)
    whole_process(path)


def filters(path: Path, *, best_first: bool) -> None:
    """Every filter, in the order of adding or of worth."""
    say(
        f"\nopen, filter, first page of 50 {'in order of worth' if best_first else ''} and total; "
        f"median and worst of {REPEATS} and the median processor time, each on a newly opened "
        "casebook"
    )
    worst = 0.0
    for name, wanted in FILTERS.items():
        times, used = [], []
        for _ in range(REPEATS):
            start, began = time.perf_counter(), time.process_time()
            with Casebook.open(path, create=False) as book:
                page = book.find(wanted, best_first=best_first)
            times.append(time.perf_counter() - start)
            used.append(time.process_time() - began)
        worst = max(worst, max(times))
        say(
            f"  {name:24} {statistics.median(times) * 1e3:7.1f} ms {max(times) * 1e3:7.1f} ms "
            f"cpu {statistics.median(used) * 1e3:6.1f} ms {page.total:>11,} "
            f"{'and more' if page.more_than_total else 'found'}"
        )
    say(f"  worst of all {worst * 1e3:.0f} ms (asked: {'1000' if best_first else '300'})")


def deep(path: Path) -> None:
    with Casebook.open(path, create=False) as book:
        wanted = Filter(moves=(1, 12))
        start = time.perf_counter()
        after, pages = None, 0
        while pages < 200:
            page = book.find(wanted, after=after, count=False)
            pages, after = pages + 1, page.after
            if after is None:
                break
        say(
            f"a further page of 50: {(time.perf_counter() - start) / pages * 1e3:.1f} ms "
            f"(mean of {pages})"
        )
        start = time.perf_counter()
        book.get(1)
        say(f"one position with everything: {(time.perf_counter() - start) * 1e3:.1f} ms")
        start = time.perf_counter()
        book.statistics()
        say(f"all statistics: {time.perf_counter() - start:.2f} s")
        start = time.perf_counter()
        book.tag(range(1, 1001), "bench")
        book.untag(range(1, 1001), "bench")
        say(f"a thousand positions tagged and untagged: {time.perf_counter() - start:.2f} s")
        start = time.perf_counter()
        target = book.backup(path.with_name("synthetic.backup.sqlite"), overwrite=True)
        say(f"backup, checked: {time.perf_counter() - start:.2f} s")
        target.unlink()


def whole_process(path: Path) -> None:
    code = (
        "import sys; from flightless.casebook import Casebook, Filter; "
        "print(Casebook.open(sys.argv[1]).find(Filter(moves=12)).total)"
    )
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        subprocess.run([sys.executable, "-c", code, str(path)], check=True, capture_output=True)
        times.append(time.perf_counter() - start)
    say(
        f"as a new process, with Python and SQLAlchemy to load: "
        f"{statistics.median(times) * 1e3:.0f} ms"
    )


def say(text: str) -> None:
    print(text, flush=True)


def note(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main())
