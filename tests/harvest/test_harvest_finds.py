"""Finds: mates given, missed and spared, each checked by exhaustive search with python-chess."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path

import chess
import chess.pgn
import pytest
from harvest_referee import is_mated_in, keys_in, mates_in, positions, read_all

from flightless.cases.build import case_of
from flightless.errors import FileError, UsageError
from flightless.harvest.records import (
    BadFile,
    BadGame,
    Limits,
    Progress,
    Record,
    record_document,
)
from flightless.harvest.run import harvest
from flightless.patterns.recognise import names

EXAMPLES = Path(__file__).parents[2] / "examples" / "harbour-street"
CLASSICAL = Path(__file__).parents[3] / "shared" / "games" / "classical.pgn"


def finds_of(path: Path, limits: Limits | None = None) -> list[Record]:
    return [item for item in harvest([str(path)], limits) if isinstance(item, Record)]


def write(folder: Path, *games: str) -> Path:
    path = folder / "games.pgn"
    path.write_text("\n\n".join(games) + "\n", encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def club() -> list[Record]:
    return finds_of(EXAMPLES / "club-2026.pgn")


@pytest.fixture(scope="module")
def classics() -> list[Record]:
    return finds_of(EXAMPLES / "classics.pgn")


def check_record(record: Record) -> None:
    """Everything in a record that python-chess can judge by itself."""
    board = chess.Board(record.fen)
    assert board.is_valid()
    if record.kind == "mated":
        assert record.moves == 0
        assert board.is_checkmate()
        assert (record.keys, record.line, record.found_by) == ((), (), None)
    else:
        by_checks = record.found_by == "checks only"
        if record.moves > 0:
            if not by_checks or record.moves <= 4:
                found = keys_in(board, record.moves, checks_only=by_checks)
                assert sorted(m.uci() for m in found) == [m.uci() for m in record.keys]
            assert not mates_in(board, record.moves - 1, checks_only=by_checks)
        elif not by_checks:
            assert is_mated_in(board, -record.moves)
            assert not is_mated_in(board, -record.moves - 1)
    # The line is legal and as long as it says.
    for move in record.line:
        assert board.is_legal(move)
        board.push(move)
    assert board.is_checkmate()
    assert len(record.line) == (2 * record.moves - 1 if record.moves > 0 else -2 * record.moves)
    if record.moves > 0:
        assert record.line[0] in record.keys
    # Skeleton and names are those of the mate at the end of the line.
    case = case_of(board.copy(stack=1))
    assert record.skeleton == case.skeleton.fen
    assert record.patterns == tuple(name.name for name in names(case))
    skeleton = chess.Board(record.skeleton)
    assert skeleton.is_checkmate()
    assert not skeleton.was_into_check()


def test_club_games(club: list[Record]) -> None:
    assert Counter(record.kind for record in club) == {"mated": 19, "missed": 13, "resigned": 2}
    for record in club:
        check_record(record)


def test_historical_games(classics: list[Record]) -> None:
    assert Counter(record.kind for record in classics) == {
        "mated": 29,
        "missed": 5,
        "resigned": 2,
    }
    for record in classics:
        check_record(record)


def test_names_of_famous_mates(classics: list[Record]) -> None:
    """The names that the literature gives these very games (from memory)."""
    named = {(r.source.white, r.source.date[:4]): r.patterns for r in classics if not r.moves}
    assert "Légal" in named["De Legal, Sire", "1750"]
    assert "Boden" in named["Schulder, R.", "1853"]
    assert "rook and bishop at the home square" in named["Morphy, Paul", "1858"]
    assert "Réti" in named["Reti, Richard", "1910"]
    assert "smothered" in named["Alekhine, Alexander", "1935"]


@pytest.mark.parametrize("name", ["club-2026.pgn", "classics.pgn"])
def test_every_ply_agrees_with_python_chess(
    name: str, club: list[Record], classics: list[Record]
) -> None:
    """Every mate in one of every game, missed or played, and every final position."""
    records = club if name.startswith("club") else classics
    text = (EXAMPLES / name).read_text("utf-8")
    for number, game in enumerate(read_all(text), 1):
        mine = [record for record in records if record.game == number]
        missed = {
            miss.ply: miss for record in mine if record.kind == "missed" for miss in record.run
        }
        plies = positions(game)
        for ply, (board, played) in enumerate(plies[:-1]):
            keys = keys_in(board, 1)
            if keys and played not in keys:
                assert missed[ply].moves == 1
                assert missed[ply].played == played
            elif ply in missed:
                assert missed[ply].moves > 1
        last = plies[-1][0]
        assert any(record.kind == "mated" for record in mine) == last.is_checkmate()


def test_mates_in_two_agree_with_python_chess(club: list[Record]) -> None:
    """Full width in two: the last twenty positions of every game."""
    text = (EXAMPLES / "club-2026.pgn").read_text("utf-8")
    seen = 0
    for number, game in enumerate(read_all(text), 1):
        runs = [r.run for r in club if r.game == number and r.kind == "missed"]
        missed = {miss.ply: miss for run in runs for miss in run}
        plies = positions(game)
        for ply in range(max(len(plies) - 21, 0), len(plies) - 1):
            board, played = plies[ply]
            if keys_in(board, 1):
                continue
            keys = keys_in(board, 2)
            seen += bool(keys)
            if keys and played not in keys:
                assert missed[ply].moves == 2
            elif ply in missed:
                assert missed[ply].moves > 2
    assert seen > 8


def test_all_mates_of_a_collection(tmp_path: Path) -> None:
    """262 games of the collection end in mate on the board, as stated beside it."""
    if not CLASSICAL.exists():
        pytest.skip(f"{CLASSICAL.name} is not on this machine")
    games = CLASSICAL.read_text("latin-1").split("\n\n[Event ")
    mates = ["[Event " + game.removeprefix("[Event ") for game in games if "#" in game]
    records = finds_of(write(tmp_path, *mates))
    assert sum(record.kind == "mated" for record in records) == 262
    for record in records:
        if record.kind == "mated" or record.found_by == "full width":
            check_record(record)


# --- exact meanings ---------------------------------------------------------------------------


def test_run_of_misses_is_one_record(tmp_path: Path) -> None:
    game = "1. e4 e5 2. Bc4 Nc6 3. Qh5 Nd4 4. Nc3 Nc6 5. a3 a6 6. Qxf7# 1-0"
    missed, mated = finds_of(write(tmp_path, game))
    assert (missed.kind, missed.ply, missed.moves) == ("missed", 6, 1)
    assert missed.keys == (chess.Move.from_uci("h5f7"),)
    assert missed.played == chess.Move.from_uci("b1c3")
    assert [(miss.ply, miss.moves, miss.played.uci()) for miss in missed.run] == [
        (6, 1, "b1c3"),
        (8, 1, "a2a3"),
    ]
    assert (mated.kind, mated.ply) == ("mated", 11)
    assert (missed.source.white, missed.source.event, missed.source.result) == ("", "", "1-0")


def test_played_key_parts_two_runs(tmp_path: Path) -> None:
    """Mate in two missed, then its key played, then mate in one missed: no single run."""
    fen = "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1"
    game = f'[FEN "{fen}"]\n\n1. Kh2 Ra8 2. Re8+ Rxe8 3. Kg1 Rxe1+ 1/2-1/2'
    records = finds_of(write(tmp_path, game))
    assert [(r.ply, r.moves, [m.ply for m in r.run]) for r in records] == [
        (0, 2, [0]),
        (4, 1, [4]),
    ]
    for record in records:
        check_record(record)


def test_both_sides_can_miss(tmp_path: Path) -> None:
    fen = "6k1/3r1ppp/8/8/8/8/3R1PPP/6K1 w - - 0 1"
    game = f'[FEN "{fen}"]\n\n1. Rd5 Rd6 2. Rc5 Rd5 3. h3 h6 1/2-1/2'
    records = finds_of(write(tmp_path, game))
    assert [(r.kind, r.ply, r.moves, [m.ply for m in r.run]) for r in records] == [
        ("missed", 3, 1, [3]),
        ("missed", 4, 2, [4]),  # 1.Rc8+ Rd8 2.Rxd8 mate
    ]
    assert records[0].keys == (chess.Move.from_uci("d6d1"),)
    assert records[1].keys == (chess.Move.from_uci("c5c8"),)


def test_slower_mate(tmp_path: Path) -> None:
    """A longer forced mate is a miss too, and `slower` says that mate still followed."""
    fen = "6k1/5ppp/8/8/8/8/5PPP/3RR1K1 w - - 0 1"
    quick, slow = f'[FEN "{fen}"]\n\n1. Kf1 h6 *', f'[FEN "{fen}"]\n\n1. Re7 h6 *'
    lost, kept = finds_of(write(tmp_path, quick, slow))
    assert (lost.moves, lost.slower) == (1, False)
    board = chess.Board(fen)
    board.push_uci("e1e7")
    assert kept.slower == is_mated_in(board, 3)


def test_move_that_mates_as_fast_is_no_miss(tmp_path: Path) -> None:
    fen = "6k1/5ppp/8/8/8/8/5PPP/3RR1K1 w - - 0 1"
    records = finds_of(write(tmp_path, f'[FEN "{fen}"]\n\n1. Re8# 1-0'))
    assert [record.kind for record in records] == ["mated"]


@pytest.mark.parametrize(
    ("fen", "result", "moves"),
    [
        ("6k1/5ppp/8/8/8/8/5PPP/3R2K1 w - - 0 1", "1-0", 1),  # the winner is to move
        ("6k1/5ppp/8/8/8/8/5PPP/3R2K1 w - - 0 1", "0-1", None),  # the loser mates: none of ours
        ("6k1/5ppp/8/8/8/8/5PPP/3R2K1 w - - 0 1", "1/2-1/2", None),
        ("6k1/5ppp/8/8/8/8/5PPP/3R2K1 w - - 0 1", "*", None),
        ("3rR1k1/5ppp/8/8/8/8/5PPP/4R1K1 b - - 0 1", "1-0", -1),  # the loser is to move
        ("3rR1k1/5ppp/8/8/8/8/5PPP/4R1K1 b - - 0 1", "0-1", None),
        ("7k/8/6K1/8/8/8/8/R7 b - - 0 1", "1-0", -1),
        ("8/k7/2K5/8/8/8/8/1R6 b - - 0 1", "1-0", -2),
        ("4k3/8/8/8/8/8/4P3/4K3 w - - 0 1", "1-0", None),
    ],
)
def test_resignations(tmp_path: Path, fen: str, result: str, moves: int | None) -> None:
    records = finds_of(write(tmp_path, f'[Result "{result}"]\n[FEN "{fen}"]\n\n{result}'))
    assert [(r.kind, r.moves) for r in records] == ([("resigned", moves)] if moves else [])
    for record in records:
        check_record(record)


def test_checks_only_and_full_width(tmp_path: Path) -> None:
    """A mate in four by checks, found as such; with three full width and no checks, not."""
    fen = "5r1k/6pp/8/6N1/8/1Q6/6PP/6K1 w - - 0 1"
    game = f'[Result "1-0"]\n[FEN "{fen}"]\n\n1-0'
    path = write(tmp_path, game)
    (record,) = finds_of(path)
    assert (record.moves, record.found_by) == (4, "checks only")
    check_record(record)
    assert finds_of(path, Limits(full=3, checks=3)) == []
    assert finds_of(path, Limits(full=2, checks=3)) == []
    (record,) = finds_of(path, Limits(full=4, checks=5))
    assert (record.moves, record.found_by) == (4, "full width")


def test_quiet_mate_in_three_needs_full_width(tmp_path: Path) -> None:
    fen = "r4rk1/pb3p1p/1p3Pp1/8/7Q/8/2q2PPP/4R1K1 w - - 0 1"
    path = write(tmp_path, f'[Result "1-0"]\n[FEN "{fen}"]\n\n1-0')
    assert finds_of(path) == []
    (record,) = finds_of(path, Limits(full=3))
    assert (record.moves, record.found_by) == (3, "full width")
    assert record.keys == (chess.Move.from_uci("h4h6"),)
    check_record(record)


def test_nodes_run_out(tmp_path: Path) -> None:
    """With next to no budget nothing is claimed that was not searched, and it is said."""
    fen = "r4rk1/pb3p1p/1p3Pp1/8/7Q/8/2q2PPP/4R1K1 w - - 0 1"
    path = write(tmp_path, f'[Result "1-0"]\n[FEN "{fen}"]\n\n1-0')
    seen: list[Progress] = []
    found = list(harvest([str(path)], Limits(full=3, nodes=10), seen.append))
    assert found == []
    assert seen[-1].cut_short == 1


def test_same_limits_same_finds() -> None:
    path = EXAMPLES / "club-2026.pgn"
    first = [record_document(record) for record in finds_of(path)]
    assert first == [record_document(record) for record in finds_of(path)]
    both = [*harvest([str(EXAMPLES / "classics.pgn"), str(path)])]
    second = [i for i in both if isinstance(i, Record) and i.source.file == str(path)]
    assert [record_document(record) for record in second] == first


# --- files and bad games ----------------------------------------------------------------------


def test_bad_games_cost_themselves_alone() -> None:
    path = str(EXAMPLES / "drawer-1.pgn")
    seen: list[Progress] = []
    items = list(harvest([path], on_progress=seen.append))
    assert [type(item).__name__ for item in items] == [
        "Record",
        "BadGame",
        "BadGame",
        "Record",
        "BadGame",
    ]
    bad = [item for item in items if isinstance(item, BadGame)]
    assert [(b.file, b.game, b.line) for b in bad] == [(path, 2, 20), (path, 3, 31), (path, 5, 51)]
    assert "7.Bxf7+ is not legal" in str(bad[0])
    last = seen[-1]
    assert (last.games, last.bad, last.finds) == (2, 3, 2)
    assert last.bytes_done == last.bytes_total == Path(path).stat().st_size


def test_bad_files_do_not_stop_the_others(tmp_path: Path) -> None:
    empty = tmp_path / "empty.pgn"
    empty.touch()
    items = list(harvest([str(empty), str(EXAMPLES / "drawer-1.pgn")]))
    assert items[0] == BadFile(str(empty), f"{empty} is empty")
    assert len(items) == 6


def test_no_game_at_all(tmp_path: Path) -> None:
    empty = tmp_path / "empty.pgn"
    empty.touch()
    items = harvest([str(empty)])
    assert isinstance(next(items), BadFile)
    with pytest.raises(FileError, match="is empty"):
        next(items)
    remarks = write(tmp_path, "; only a remark", "{and a comment}")
    with pytest.raises(FileError, match="there is no game in"):
        list(harvest([str(remarks)]))


def test_missing_file_is_refused_at_once() -> None:
    with pytest.raises(FileError, match="there is no file"):
        harvest([str(EXAMPLES / "classics.pgn"), "nowhere.pgn"])


@pytest.mark.parametrize("limits", [Limits(full=-1), Limits(checks=99), Limits(nodes=0)])
def test_limits_that_make_no_sense(limits: Limits) -> None:
    with pytest.raises(UsageError):
        harvest([str(EXAMPLES / "classics.pgn")], limits)


def test_document(club: list[Record]) -> None:
    document = record_document(next(r for r in club if r.kind == "missed" and r.moves == 2))
    assert json.loads(json.dumps(document)) == document
    assert document["source"]["white"] == "Thorsen, Mikkel"
    assert document["game"] == 4
    assert document["keys"] == ["h5h7"]
    assert document["line"] == ["Qh7+", "Kf8", "Qh8#"]
    assert (document["played"], document["slower"]) == ("h5f7", True)
    assert document["found_by"] == "full width"
    assert document["patterns"] == ["back rank", "corridor"]
    mated = record_document(next(r for r in club if r.kind == "mated"))
    assert mated["moves"] == 0
    assert mated["keys"] == []
    assert "played" not in mated


def test_our_positions_have_the_lengths_they_state(tmp_path: Path) -> None:
    """`dm` and `bm` of coach-positions.epd, by exhaustive search up to two moves and by the
    harvest's own search, at full width, beyond."""
    lines = (EXAMPLES / "coach-positions.epd").read_text("utf-8").splitlines()
    assert len(lines) >= 12
    for line in lines:
        board, operations = chess.Board.from_epd(line)
        length, keys = operations["dm"], operations["bm"]
        assert isinstance(length, int)
        assert isinstance(keys, list)
        if length <= 2:
            assert sorted(map(str, keys)) == sorted(map(str, keys_in(board, length)))
            assert length == 1 or not keys_in(board, 1)
        result = "1-0" if board.turn else "0-1"
        path = write(tmp_path, f'[Result "{result}"]\n[FEN "{board.fen()}"]\n\n{result}')
        (record,) = finds_of(path, Limits(full=5, checks=5))
        assert (record.kind, record.moves, record.found_by) == ("resigned", length, "full width")
        assert sorted(map(str, record.keys)) == sorted(map(str, keys))
