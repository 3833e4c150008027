"""Adding: the same thing twice, in any order and any batches, by two at once, cut off midway."""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import chess
import pytest
from casebook_samples import comparable, key_of, records
from hypothesis import given, settings
from hypothesis import strategies as st

import flightless.casebook.book as book_module
from flightless.casebook import Casebook, Counts, Filter, Game, NewPosition
from flightless.errors import CertificateError, FileError, PositionError, UsageError

RECORDS = records()
SOURCE = Path(__file__).parents[2] / "src"
BACK_RANK = "6k1/5ppp/8/8/8/8/8/K3R3 w - - 0 1"


def test_the_same_harvest_twice_adds_nothing(book: Casebook) -> None:
    first = book.add_records(RECORDS)
    positions = {key_of(record) for record in RECORDS}
    assert first == Counts(len(RECORDS), len(positions), len(RECORDS))
    before = list(book.export("jsonl"))
    assert book.add_records(RECORDS) == Counts(read=len(RECORDS))
    assert list(book.export("jsonl")) == before


def test_other_games_are_more_occurrences(book: Casebook) -> None:
    (record,) = RECORDS[:1]
    other = {**record, "source": {**record["source"], "white": "Somebody, Else"}}
    later = {**other, "ply": record["ply"] + 2}
    assert book.add_records([record]) == Counts(1, 1, 1)
    assert book.add_records([other, later, other]) == Counts(3, 0, 2)
    assert book.find().entries[0].occurrences == 3


def test_the_same_game_in_another_file_is_the_same_game(book: Casebook) -> None:
    record = RECORDS[1]
    assert "?" not in (record["source"]["white"], record["source"]["event"])
    moved = {**record, "game": 77, "source": {**record["source"], "file": "/home/ann/other.pgn"}}
    assert book.add_records([record, moved]) == Counts(2, 1, 1)
    # A friendly game says too little of itself: there the file and the number count.
    friendly = {**record, "source": {**record["source"], "round": "?", "event": "?"}}
    again = {**friendly, "game": record["game"] + 1}
    assert book.add_records([friendly, again]) == Counts(2, 0, 2)


@settings(max_examples=20, deadline=None)
@given(
    order=st.lists(st.integers(0, len(RECORDS) - 1), min_size=1, max_size=60),
    batch=st.integers(3, 30),
    cut=st.integers(0, 60),
)
def test_batches_and_repeats_change_nothing(
    tmp_path_factory: pytest.TempPathFactory,
    empty: Path,
    order: list[int],
    batch: int,
    cut: int,
) -> None:
    folder = tmp_path_factory.mktemp("idempotent")
    for name in ("a.sqlite", "b.sqlite"):
        shutil.copy(empty, folder / name)
    chosen = [RECORDS[number] for number in order]
    with Casebook.open(folder / "a.sqlite") as one, Casebook.open(folder / "b.sqlite") as two:
        one.add_records(chosen)
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(book_module, "_BATCH", batch)
            two.add_records(chosen[:cut])
            two.add_records(chosen)
        assert list(one.export("jsonl")) == list(two.export("jsonl"))
        assert one.count() == len({key_of(record) for record in chosen})
        assert two.add_records(chosen) == Counts(read=len(chosen))


def test_the_order_of_coming_changes_only_the_order(
    new_book: Callable[[], Casebook],
) -> None:
    one, two = new_book(), new_book()
    one.add_records(RECORDS)
    two.add_records(RECORDS[::-1])
    assert comparable(one.export("jsonl")) == comparable(two.export("jsonl"))


def test_the_way_in_of_a_mate_is_a_position_to_solve(book: Casebook) -> None:
    """Morphy's mate, Paris 1858, one move earlier; python-chess decides the keys."""
    mated = next(record for record in RECORDS if record["patterns"] == ["Mayet"])
    before = "1n2kb1r/p4ppp/4q3/4p1B1/4P3/8/PPP2PPP/2KR4 w k - 0 17"
    keys = [m.uci() for m in chess.Board(before).legal_moves if mates(before, m)]
    assert keys == ["d1d8"]
    record = {
        **mated,
        "way_in": {"fen": before, "ply": mated["ply"] - 1, "moves": 1, "keys": keys},
        "same_game": {"file": "x.pgn", "game": 3},
        "repeated": True,
    }
    assert book.add_records([record]) == Counts(1, 2, 2)
    assert book.add_records([record]) == Counts(read=1)
    (given,) = book.find(Filter(kind="given")).entries
    assert (given.fen, given.moves, given.keys) == (before, 1, ("d1d8",))
    assert (given.patterns, given.tandem, given.side) == (("Mayet",), "RB", "white")
    assert (given.proved, given.shortest) == (True, True)
    assert given.first is not None
    assert given.first.ply == mated["ply"] - 1
    (mate,) = book.find(Filter(kind="mated")).entries
    assert mate.first is not None
    assert dict(mate.first.facts) == {"found_by": "full width", "way_in": record["way_in"]}
    bad = {**record, "way_in": {**record["way_in"], "keys": ["a1a1"]}}
    counts = book.add_records([bad])
    assert (counts.read, counts.refusals, counts.refused[0].number) == (1, 1, 1)


def mates(fen: str, move: chess.Move) -> bool:
    board = chess.Board(fen)
    board.push(move)
    return board.is_checkmate()


def test_better_knowledge_replaces_and_worse_does_not(book: Casebook) -> None:
    record = next(r for r in RECORDS if r["moves"] == 2)
    by_checks = {
        **record,
        "moves": 3,
        "found_by": "checks only",
        "keys": [],
        "line": [],
        "patterns": ["corridor", "of the longer line"],
    }
    word = NewPosition(record["fen"], moves=1, patterns=("a guess",))
    book.add(word)
    assert not book.find().entries[0].proved
    assert book.add_records([by_checks]) == Counts(1, 0, 1, improved=1)
    assert book.find().entries[0].moves == 3
    assert book.add_records([record]) == Counts(1, 0, 0, improved=1)
    entry = book.find().entries[0]
    assert (entry.moves, entry.proved, entry.shortest) == (2, True, True)
    assert entry.patterns == tuple(record["patterns"])
    assert set(entry.keys) == set(record["keys"])
    before = list(book.export("jsonl"))
    book.add_records([by_checks, record])
    book.add(word)
    assert list(book.export("jsonl")) == before


def test_gaps_are_filled(book: Casebook) -> None:
    first = book.add(NewPosition(BACK_RANK, moves=1, keys=("e1e8",)))
    more = NewPosition(
        BACK_RANK,
        moves=1,
        line=("Re8#",),
        patterns=("back rank",),
        difficulty=1.5,
        geometry_key="key",
        note="the first of all",
    )
    second = book.add(more)
    assert (first.new, second.new, first.id) == (True, False, second.id)
    entry = book.get(first.id).entry
    assert (entry.keys, entry.line, entry.patterns) == (("e1e8",), ("Re8#",), ("back rank",))
    assert (entry.difficulty, entry.geometry_key, entry.note) == (1.5, "key", "the first of all")


def test_a_proof_says_length_keys_and_line(book: Casebook) -> None:
    proof = {
        "format": "flightless-proof",
        "version": 1,
        "fen": BACK_RANK,
        "verdict": "mate",
        "moves": 1,
        "shortest": True,
        "within": 5,
        "searched": 0,
        "keys": ["e1e8"],
        "line": ["Re8#"],
        "nodes": 10,
        "budget": 100,
        "stopped_by": None,
        "tree": {BACK_RANK.rsplit(" ", 2)[0]: [1, "e1e8"]},
        "threats": {},
        "delays": [],
    }
    case = {"fen": "4R1k1/5ppp/8/8/8/8/8/K7 b - - 1 1", "skeleton": "4R1k1/5ppp/8/8/8/8/8/K7 b - -"}
    id = book.add(NewPosition(BACK_RANK, proof=proof, case=case)).id
    details = book.get(id)
    entry = details.entry
    assert (entry.moves, entry.proved, entry.shortest) == (1, True, True)
    assert (entry.keys, entry.line, entry.tandem) == (("e1e8",), ("Re8#",), "R")
    assert details.proof == proof
    assert details.case == case
    with pytest.raises(PositionError, match="the proof is of another position"):
        book.add(NewPosition("7k/8/5K2/8/8/8/8/6R1 w - - 0 1", proof=proof))
    with pytest.raises(PositionError, match="the proof says 1 moves, and 2 were given"):
        book.add(NewPosition(BACK_RANK, moves=2, proof=proof))
    with pytest.raises(CertificateError):
        book.add(NewPosition(BACK_RANK, proof={"format": "something"}))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"fen": "8/8/8/8/8/8/8/8 w - - 0 1"}, "no king"),
        ({"fen": None}, "'fen' must be text"),
        ({"kind": "won"}, "'kind' must be one of"),
        ({"moves": 0}, "said to be mate and is not"),
        ({"moves": "2"}, "'moves' must be a whole number"),
        ({"moves": True}, "'moves' must be a whole number"),
        ({"keys": ["e1e9"]}, "is no move like e2e4"),
        ({"keys": ["a1h8"]}, "is not legal"),
        ({"keys": "e1e8"}, "'keys' must be a list of texts"),
        ({"line": ["Qh7#"]}, "cannot be played"),
        ({"ply": -1}, "'ply' must be a whole number"),
        ({"patterns": ["a\x00b"]}, "unprintable"),
        ({"patterns": [7]}, "must be text"),
        ({"tandem": ["dragon"]}, "no kind of man"),
        ({"natures": ["brilliant"]}, "no nature of a key"),
        ({"difficulty": float("inf")}, "'difficulty' must be a number"),
        ({"difficulty": 10**400}, "'difficulty' must be a number"),
        ({"skeleton": "rubbish"}, "the skeleton is no position"),
        ({"extra": float("nan")}, "cannot be written as JSON"),
    ],
)
def test_a_bad_record_costs_itself_alone(
    tmp_path: Path, change: dict[str, Any], words: str
) -> None:
    good = next(record for record in RECORDS if record["moves"] == 1)
    with Casebook.open(tmp_path / "casebook.sqlite") as book:
        counts = book.add_records([RECORDS[0], {**good, **change}, good])
        assert (counts.read, counts.positions, counts.refusals) == (3, 2, 1)
        assert counts.refused[0].number == 2
        assert words in counts.refused[0].reason
        assert "\n" not in counts.refused[0].reason


def test_things_that_are_no_records(book: Casebook) -> None:
    strange: list[Any] = [None, 3, "text", [], {}]
    counts = book.add_records(strange)
    assert (counts.read, counts.refusals, book.count()) == (5, 5, 0)


def test_marks(book: Casebook) -> None:
    book.add_records(RECORDS[:20])
    ids = [entry.id for entry in book.find().entries]
    assert book.tag(ids[:3], "club", "hard") == 6
    assert book.tag(ids[0], "hard") == 0
    assert book.untag(ids[:2], "hard", "never") == 2
    assert [e.id for e in book.find(Filter(tags=("hard",))).entries] == ids[2:3]
    assert book.mark_used(ids[1:4], "Lesson 1") == 3
    assert book.mark_used(ids[1:4], "Lesson 1") == 0
    assert [e.id for e in book.find(Filter(unused=True)).entries] == [ids[0], *ids[4:]]
    assert book.unmark_used(ids[1], "Lesson 1") == 1
    assert book.get(ids[1]).entry.used_in == ()
    book.note(ids[0], "first\nline")
    book.note(ids[0], "second")
    assert book.get(ids[0]).entry.note == "second"
    book.note(ids[0], "")
    assert book.get(ids[0]).entry.note == ""
    for name in ("", "  ", "a\nb", "x" * 201, "\ud800"):
        with pytest.raises(UsageError):
            book.tag(ids[0], name)
    with pytest.raises(UsageError, match="a difficulty must be a number"):
        book.grade({ids[0]: float("nan")})
    with pytest.raises(UsageError, match="the casebook has no position 4000"):
        book.tag([ids[0], 4000], "club")
    assert "club" not in book.get(ids[5]).entry.tags


def test_geometry_keys_come_later(book: Casebook) -> None:
    with_skeleton = {**RECORDS[3], "skeleton": RECORDS[3]["fen"]}
    book.add_records([*RECORDS[:3], with_skeleton])
    missing = book.without_geometry()
    assert [key_of({"fen": e.fen}) for e in missing.entries] == [key_of(with_skeleton)]
    (entry,) = missing.entries
    book.set_geometry({entry.id: "corner:R"})
    assert not book.without_geometry().entries
    found = book.find(Filter(geometry_key="corner:R"))
    assert [e.id for e in found.entries] == [entry.id]
    assert book.find(Filter(geometry_key="other")).total == 0
    assert list(book.geometry_keys()) == [("corner:R", 1, entry.id)]
    with pytest.raises(UsageError, match="is no geometry key"):
        book.set_geometry({entry.id: "a\x00"})


def test_removing_leaves_no_names_behind(book: Casebook) -> None:
    alone = {**RECORDS[0], "source": {**RECORDS[0]["source"], "white": "Erase, Me"}}
    book.add_records([alone, *RECORDS[1:10]])
    (entry,) = book.find(Filter(player="erase, me")).entries
    book.tag(entry.id, "only here")
    assert book.remove([entry.id, entry.id, 12345]) == 1
    assert book.remove(entry.id) == 0
    assert "Erase" not in "".join(book.export("jsonl"))
    with book._reading() as connection:
        for table in ("names", "sources", "tags"):
            text = str(connection.exec_driver_sql(f"SELECT * FROM {table}").all())
            assert "rase, " not in text
            assert "only here" not in text
    # A number is never given twice: what was noted under it elsewhere stays unmistakable.
    last = book.find(newest_first=True).entries[0].id
    book.remove(last)
    assert book.add(NewPosition(BACK_RANK)).id > last


def test_hand_added_positions_are_checked(book: Casebook) -> None:
    with pytest.raises(PositionError, match="no king"):
        book.add(NewPosition("8/8/8/8/8/8/8/8 w - - 0 1"))
    with pytest.raises(PositionError, match="it is mate already"):
        book.add(NewPosition("4R1k1/5ppp/8/8/8/8/5PPP/6K1 b - - 0 1", moves=2))
    mated = book.add(NewPosition("4R1k1/5ppp/8/8/8/8/5PPP/6K1 b - - 0 1"))
    entry = book.get(mated.id).entry
    assert (entry.moves, entry.proved, entry.side, entry.kinds) == (0, True, "white", ("kept",))
    same = book.add(NewPosition("4R1k1/5ppp/8/8/8/8/5PPP/6K1 b - - 9 44"))
    assert same.id == mated.id
    game = Game(
        {"White": "Ann", "Black": "Bo", "Date": "1999.01.02"}, "C:\\Users\\ann\\club.pgn", 4
    )
    book.add(NewPosition("4R1k1/5ppp/8/8/8/8/5PPP/6K1 b - - 0 1", game=game, ply=59))
    (occurrence,) = book.get(mated.id).occurrences
    assert (occurrence.game.file, occurrence.game.year, occurrence.ply) == ("club.pgn", 1999, 59)


def test_an_error_in_a_batch_undoes_that_batch(
    book: Casebook, monkeypatch: pytest.MonkeyPatch
) -> None:
    import flightless.casebook.store as store

    book.add_records(RECORDS[:10])
    before = list(book.export("jsonl"))

    def broken(*_: Any) -> int:
        raise RuntimeError("the power went")

    monkeypatch.setattr(store, "_store_places", broken)
    with pytest.raises(RuntimeError):
        book.add_records(RECORDS)
    monkeypatch.undo()
    assert list(book.export("jsonl")) == before
    book.add_records(RECORDS)
    assert book.count() == len({key_of(record) for record in RECORDS})


WRITER = """
import json, sys
import flightless.casebook.book as module
module._BATCH = int(sys.argv[3])
with module.Casebook.open(sys.argv[1]) as book:
    def told(counts):
        print(counts.read, flush=True)
    book.add_records(json.load(open(sys.argv[2])), progress=told)
"""


def _writer(target: str, file: Path, records: list[Any], batch: int) -> subprocess.Popen[str]:
    file.write_text(json.dumps(records))
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, target, str(file), str(batch)],
        env={**os.environ, "PYTHONPATH": str(SOURCE)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def test_two_programs_write_at_once(target: Callable[[], str], tmp_path: Path) -> None:
    """Both open the same casebook and add overlapping harvests in different orders."""
    where = target()
    shuffled = random.Random(3).sample(RECORDS, len(RECORDS))
    writers = [
        _writer(where, tmp_path / "a.json", RECORDS, 10),
        _writer(where, tmp_path / "b.json", shuffled, 7),
    ]
    for writer in writers:
        _, errors = writer.communicate(timeout=60)
        assert writer.returncode == 0, errors
    with Casebook.open(where) as book, Casebook.open(tmp_path / "alone.sqlite") as alone:
        alone.add_records(RECORDS)
        assert comparable(book.export("jsonl")) == comparable(alone.export("jsonl"))
        assert book.add_records(RECORDS) == Counts(read=len(RECORDS))


def test_a_killed_harvest_goes_on(target: Callable[[], str], tmp_path: Path) -> None:
    where = target()
    writer = _writer(where, tmp_path / "a.json", RECORDS, 2)
    assert writer.stdout is not None
    for _ in range(5):
        assert writer.stdout.readline()
    writer.send_signal(signal.SIGKILL)
    writer.communicate(timeout=60)
    with Casebook.open(where) as book, Casebook.open(tmp_path / "alone.sqlite") as alone:
        assert 5 <= book.count() < len(RECORDS)
        book.add_records(RECORDS)
        alone.add_records(RECORDS)
        assert list(book.export("jsonl")) == list(alone.export("jsonl"))


def test_a_source_that_breaks_off_keeps_what_came_before(
    book: Casebook, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(book_module, "_BATCH", 5)

    def broken() -> Any:
        yield from RECORDS[:12]
        raise FileError("games.pgn breaks off")

    with pytest.raises(FileError, match="breaks off"):
        book.add_records(broken())
    assert book.count() == len({key_of(record) for record in RECORDS[:10]})


def test_one_casebook_in_several_threads(book: Casebook) -> None:
    from concurrent.futures import ThreadPoolExecutor

    with ThreadPoolExecutor(4) as pool:
        counts = list(pool.map(book.add_records, [RECORDS[i::4] for i in range(4)]))
        totals = list(pool.map(lambda _: book.find(Filter(side="white")).total, range(8)))
    assert sum(c.positions for c in counts) == len({key_of(r) for r in RECORDS}) == book.count()
    assert len(set(totals)) == 1


def test_natures_of_keys_agree_with_python_chess(book: Casebook) -> None:
    """Discovered and double checks, captures and promotions, read off the board."""
    samples = {
        # Double check from knight and bishop, with a capture; positions ours.
        ("5r1k/p4p1p/6p1/4N3/8/8/1B3PPP/6K1 w - - 0 1", "e5f7"): {
            "check",
            "discovered check",
            "double check",
            "capture",
        },
        ("7k/1P6/6K1/8/8/8/8/8 w - - 0 1", "b7b8q"): {"check", "promotion"},
        ("7k/8/5K2/8/8/8/8/6R1 w - - 0 1", "f6f7"): {"quiet"},
        ("5k2/8/8/8/8/8/8/4K2R w K - 0 1", "e1g1"): {"check"},
    }
    for (fen, key), wanted in samples.items():
        board = chess.Board(fen)
        assert board.gives_check(chess.Move.from_uci(key)) == ("check" in wanted)
        id = book.add(NewPosition(fen, keys=(key,))).id
        assert set(book.get(id).entry.natures) == wanted
