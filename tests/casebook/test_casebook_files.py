"""Files out and in: round trips, other software's view of them, and text that means mischief."""

from __future__ import annotations

import io
import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import chess
import chess.pgn
import pytest
from casebook_samples import key_of, records
from hypothesis import given, settings
from hypothesis import strategies as st

from flightless.casebook import Casebook, Counts, Filter, Game, NewPosition
from flightless.errors import FileError, UsageError

RECORDS = records()
BACK_RANK = "6k1/5ppp/8/8/8/8/8/K3R3 w - - 0 1"
HOSTILE = [
    "'; DROP TABLE positions; --",
    '"} ] [Event "x"]',
    "100% _ \\ %s {0}",
    "50_",
    "tab\tline\nnext\r\x00\x1b[31m",
    "‮ right to left",
    "\ud800 half a pair",
    "x" * 3000,
]


def test_json_lines_come_back_as_they_were(new_book: Callable[[], Casebook]) -> None:
    one, two = new_book(), new_book()
    one.add_records(RECORDS)
    one.tag(range(2, 9), "club", "ä ö")
    one.mark_used([3, 4], "Lesson")
    one.grade({2: 2.25, 3: None})
    one.note(5, "a note\nof two lines")
    one.set_geometry({7: "k1", 8: "k1"})
    lines = list(one.export("jsonl"))
    counts = two.import_(io.StringIO("".join(lines)), "jsonl")
    assert counts.positions == one.count()
    assert list(two.export("jsonl")) == lines
    assert two.import_(io.StringIO("".join(lines)), "jsonl") == Counts(read=len(lines))


TEXT = st.text(st.characters(exclude_categories=()), max_size=30)
NAME = st.text(st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp")), min_size=1, max_size=20)


@settings(max_examples=30, deadline=None)
@given(
    tags=st.dictionaries(st.sampled_from(["White", "Black", "Event", "Site", "X", "Date"]), TEXT),
    note=TEXT,
    names=st.lists(NAME.filter(str.strip), max_size=3),
    file=TEXT,
    difficulty=st.one_of(st.none(), st.floats(allow_nan=False, allow_infinity=False)),
)
def test_any_text_survives(
    tmp_path_factory: pytest.TempPathFactory,
    empty: Path,
    tags: dict[str, str],
    note: str,
    names: list[str],
    file: str,
    difficulty: float | None,
) -> None:
    folder = tmp_path_factory.mktemp("text")
    for name in ("a.sqlite", "b.sqlite"):
        shutil.copy(empty, folder / name)
    with Casebook.open(folder / "a.sqlite") as one, Casebook.open(folder / "b.sqlite") as two:
        one.add(
            NewPosition(
                BACK_RANK,
                tags=tuple(names),
                used_in=tuple(names),
                patterns=tuple(names),
                note=note,
                difficulty=difficulty,
                game=Game(tags, file, 3),
            )
        )
        details = one.get(1)
        assert details.occurrences[0].game.tags == tags
        assert details.entry.note == note
        assert details.entry.difficulty == difficulty
        lines = list(one.export("jsonl"))
        assert len(lines) == 1
        assert lines[0].isascii()
        two.import_(io.StringIO(lines[0]), "jsonl")
        assert list(two.export("jsonl")) == lines
        for format in ("pgn", "epd"):
            text = "".join(one.export(format))
            assert two.import_(io.StringIO(text), format).refusals == 0
            assert two.count() == 1


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_stays_text(book: Casebook, text: str) -> None:
    book.add_records(RECORDS)
    before = book.count()
    sneaky = {**RECORDS[0], "source": {**RECORDS[0]["source"], "white": text, "event": text}}
    book.add_records([sneaky])
    assert book.count() == before
    (found,) = book.find(Filter(player=text[:300])).entries
    told = [occurrence.game.white for occurrence in book.get(found.id).occurrences]
    assert text in told
    assert book.find(Filter(text=text[:300])).total == 1
    # Marks of SQL's LIKE are plain characters: only names that have them are found.
    for sign in ("%", "_", "\\"):
        wanted = {
            key_of(record)
            for record in [*RECORDS, sneaky]
            if any(sign in record["source"][colour] for colour in ("white", "black"))
        }
        assert book.find(Filter(player=sign)).total == len(wanted)
    assert book.find(Filter(player="s_nd")).total == 0


@pytest.mark.parametrize("text", HOSTILE)
def test_other_software_reads_the_pgn(tmp_path: Path, text: str) -> None:
    """python-chess reads one game with the tag as it was, but for what a line cannot hold.

    It leaves the standard's escapes (PGN standard, section 7) in place: they are undone here.
    """
    with Casebook.open(tmp_path / "casebook.sqlite") as book:
        game = Game({"White": text, "Event": "Ev", "Odd tag": "x", "Custom": text}, "f.pgn", 1)
        position = NewPosition(
            BACK_RANK, moves=1, keys=("e1e8",), line=("Re8#",), note=text, game=game
        )
        book.add(position)
        out = "".join(book.export("pgn"))
    stream = io.StringIO(out.encode("utf-8", "replace").decode())
    read = chess.pgn.read_game(stream)
    assert read is not None
    assert not read.errors
    assert read.board().fen() == BACK_RANK
    assert [move.uci() for move in read.mainline_moves()] == ["e1e8"]
    shown = "".join(c if c.isprintable() else " " for c in text)
    for name in ("White", "Custom"):
        assert re.sub(r"\\(.)", r"\1", read.headers[name]) == shown
    assert read.headers["Result"] == "1-0"
    assert chess.pgn.read_game(stream) is None


def test_pgn_and_epd_as_python_chess_reads_them(book: Casebook) -> None:
    book.add_records(RECORDS)
    entries = {entry.fen: entry for entry in book.find(size=1000).entries}
    stream = io.StringIO("".join(book.export("pgn")))
    seen = 0
    while (game := chess.pgn.read_game(stream)) is not None:
        seen += 1
        assert not game.errors
        entry = entries[game.board().fen()]
        assert {v.move.uci() for v in game.variations} == set(entry.keys)
        if entry.line:
            board = game.board()
            assert [board.san_and_push(m) for m in game.mainline_moves()] == list(entry.line)
    assert seen == len(entries)
    for line, entry in zip(book.export("epd"), entries.values(), strict=True):
        board = chess.Board()
        operations = board.set_epd(line)
        assert board.epd() == chess.Board(entry.fen).epd()
        assert board.fullmove_number == entry.board.fullmove_number
        assert {m.uci() for m in operations.get("bm", [])} == set(entry.keys)
        assert operations.get("dm") == (entry.moves or None)


@pytest.mark.parametrize("format", ["pgn", "epd"])
def test_pgn_and_epd_come_back(new_book: Callable[[], Casebook], format: Any) -> None:
    """The positions, keys, names and tags do; a length comes back as somebody's word."""
    one, two = new_book(), new_book()
    one.add_records(RECORDS)
    one.tag(range(1, 20), "club")
    counts = two.import_(io.StringIO("".join(one.export(format))), format)
    assert (counts.refusals, counts.positions) == (0, one.count())
    for was, now in zip(one.find(size=999).entries, two.find(size=999).entries, strict=True):
        assert (was.fen, set(was.keys)) == (now.fen, set(now.keys))
        assert (was.patterns, was.tags) == (now.patterns, now.tags)
        if format == "epd":
            assert was.moves == now.moves
        assert now.proved == (now.moves == 0)


def test_exports_can_be_filtered(book: Casebook) -> None:
    book.add_records(RECORDS)
    lines = list(book.export("jsonl", Filter(kind="missed", moves=2)))
    assert len(lines) == book.count(Filter(kind="missed", moves=2)) > 0
    assert all(json.loads(line)["moves"] == 2 for line in lines)


def test_an_export_is_of_one_moment(book: Casebook) -> None:
    book.add_records(RECORDS[:30])
    before = list(book.export("jsonl"))
    running = book.export("jsonl")
    first = next(running)
    book.remove(book.find(newest_first=True).entries[0].id)
    book.add_records(RECORDS[30:])
    assert [first, *running] == before


PROBLEMS = """\
# a drawer of cuttings
6k1/5ppp/8/8/8/8/8/K3R3 w - - bm Re8#; dm 1; id "Lamp 1"; c3 "seen 1931";

8/8/8/8/8/8/8/8 w - - dm 3;
7k/8/5K2/8/8/8/8/6R1 w - - bm Kf7; dm 2;
7k/8/5K2/8/8/8/8/6R1 w - - bm Qh7; dm 2;
7k/8/5K2/8/8/8/8/6R1 w - - dm two;
"""


def test_a_bad_epd_line_costs_itself_alone(book: Casebook, tmp_path: Path) -> None:
    file = tmp_path / "cuttings.epd"
    file.write_text(PROBLEMS)
    counts = book.import_(file)
    assert (counts.read, counts.positions, counts.refusals) == (5, 2, 3)
    assert [refusal.number for refusal in counts.refused] == [4, 6, 7]
    first, second = book.find().entries
    assert (first.moves, first.keys, first.proved) == (1, ("e1e8",), False)
    assert first.note == "seen 1931"
    assert first.first is not None
    assert (first.first.game.file, first.first.game.number) == ("cuttings.epd", 2)
    assert book.find(Filter(text="LAMP 1")).total == 1
    assert second.natures == ("quiet",)


GAMES = """\
[Event "Club evening"]
[White "Ann"]
[SetUp "1"]
[FEN "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1"]

{the example} 1. Re8+ $1 (1. g3 h6 (1... g6 ((2. h4)))) 1... Rxe8 2. Rxe8# 1-0

[Event "No position"]

1. e4 e5 *

[Event "Not legal"]
[FEN "6k1/5ppp/8/8/8/8/8/K3R3 w - - 0 1"]

1. Qh7 *

[Event "Another chess"]
[FEN "6k1/5ppp/8/8/8/8/8/K3R3 w - - 0 1"]
[Variant "Crazyhouse"]

1. Re8# *

[Event "No solution"]
[FEN "7k/8/5K2/8/8/8/8/6R1 w - - 0 1"]

*
"""


def test_a_bad_game_costs_itself_alone(book: Casebook, tmp_path: Path) -> None:
    file = tmp_path / "examples.pgn"
    file.write_bytes(GAMES.replace("Ann", "Ren\xe9").encode("latin-1"))
    counts = book.import_(file)
    assert (counts.read, counts.positions, counts.refusals) == (5, 2, 3)
    assert [refusal.number for refusal in counts.refused] == [2, 3, 4]
    first, second = book.find().entries
    assert (first.moves, first.keys, first.line) == (2, ("e2e8",), ("Re8+", "Rxe8", "Rxe8#"))
    assert first.first is not None
    assert first.first.game.white == "Ren\xe9"
    assert (second.moves, second.keys) == (None, ())


def test_variations_nested_a_thousand_deep(book: Casebook) -> None:
    deep = "".join(f"(1. Re{n % 5 + 2} " for n in range(3000)) + ")" * 3000
    game = f'[FEN "{BACK_RANK}"]\n\n1. Re8# {deep} 1-0\n'
    assert book.import_(io.StringIO(game), "pgn").positions == 1


def test_lines_that_are_no_json(book: Casebook) -> None:
    lines = [
        "{",
        "[]",
        "null",
        '{"casebook": 2, "fen": "x"}',
        '{"casebook": 1, "fen": 3}',
        '{"casebook": 1, "fen": "8/8/8/8/8/8/8/8 w - -"}',
        f'{{"casebook": 1, "fen": "{BACK_RANK}", "difficulty": NaN}}',
        f'{{"casebook": 1, "fen": "{BACK_RANK}", "occurrences": [{{"kind": "seen"}}]}}',
        f'{{"casebook": 1, "fen": "{BACK_RANK}", "tags": ["\\u0000"]}}',
        f'{{"casebook": 1, "fen": "{BACK_RANK}", "occurrences": [{{"kind": "kept", "ply": 1, '
        '"year": 40000}]}',
        "[" * 100_000,
        json.dumps(RECORDS[0]),
    ]
    counts = book.import_(io.StringIO("\n".join(lines)), "jsonl")
    assert (counts.read, counts.positions, counts.refusals) == (12, 1, 11)
    assert all("\n" not in refusal.reason for refusal in counts.refused)


def test_files_that_cannot_be_imported(book: Casebook, tmp_path: Path) -> None:
    (tmp_path / "empty.pgn").write_text("\n\n")
    (tmp_path / "binary.pgn").write_bytes(b"\x00\x01\x02")
    (tmp_path / "wide.epd").write_text("8/8/8/8/8/4k3/8/4K2R w - -\n", encoding="utf-16")
    (tmp_path / "folder.pgn").mkdir()
    (tmp_path / "file.doc").write_text("x")
    for name, error, words in [
        ("empty.pgn", FileError, "is empty"),
        ("binary.pgn", FileError, "is a binary file"),
        ("wide.epd", FileError, "is text in UTF-16; save it as UTF-8"),
        ("folder.pgn", FileError, "is a folder"),
        ("missing.pgn", FileError, "there is no file"),
        ("file.doc", UsageError, "does not say whether it is pgn, epd or jsonl"),
    ]:
        with pytest.raises(error, match=words):
            book.import_(tmp_path / name)
    wrong: Any = "pdf"
    with pytest.raises(UsageError, match="not as 'pdf'"):
        book.export(wrong)
    with pytest.raises(UsageError, match="not 'pdf'"):
        book.import_(tmp_path / "file.doc", wrong)
