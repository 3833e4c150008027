"""Reading game files: borders of games, tags, moves, encodings, and whatever comes in."""

from __future__ import annotations

import gzip
import random
from contextlib import closing, suppress
from pathlib import Path

import chess
import pytest
from harvest_referee import read_all

from flightless.errors import FileError
from flightless.harvest.files import GameFile, file_size
from flightless.harvest.movetext import Game, GameError, read_game
from flightless.harvest.splitter import RawGame, split_games

EXAMPLES = Path(__file__).parents[2] / "examples" / "harbour-street"
CLASSICAL = Path(__file__).parents[3] / "shared" / "games" / "classical.pgn"
GOOD = '[Event "A"]\n[White "X"]\n[Black "Y"]\n[Result "1-0"]\n\n1. e4 e5 1-0\n\n'


def raws(data: bytes | str, block: int | None = None) -> list[RawGame]:
    data = data.encode() if isinstance(data, str) else data
    if block is None:
        return list(split_games([data]))
    # The splitter is promised blocks of whole lines.
    lines = data.splitlines(keepends=True)
    return list(split_games(b"".join(lines[i : i + block]) for i in range(0, len(lines), block)))


def only(text: str | bytes) -> Game:
    (raw,) = raws(text)
    return read_game(raw)


def fault(text: str | bytes) -> tuple[int, str]:
    (raw,) = raws(text)
    with pytest.raises(GameError) as caught:
        read_game(raw)
    return caught.value.line, str(caught.value)


def uci(game: Game) -> str:
    return " ".join(move.uci() for move in game.moves)


def write(folder: Path, name: str, data: bytes) -> str:
    path = folder / name
    path.write_bytes(data)
    return str(path)


def from_file(path: str) -> list[RawGame]:
    with closing(GameFile(path)) as file:
        return list(split_games(file.blocks()))


# --- against python-chess's reader ------------------------------------------------------------


def assert_same(text: str) -> int:
    """Same games, tags, moves and final positions as python-chess reads."""
    ours = [read_game(raw) for raw in raws(text)]
    theirs = read_all(text)
    assert len(ours) == len(theirs)
    for mine, other in zip(ours, theirs, strict=True):
        assert list(mine.moves) == list(other.mainline_moves())
        assert mine.start.fen() == other.board().fen()
        assert mine.final.fen() == other.end().board().fen()
        tags = {name: value.strip() for name, value in other.headers.items()}
        assert dict(mine.tags) == tags
        assert mine.result == other.headers["Result"]
    return len(ours)


@pytest.mark.parametrize(("name", "count"), [("classics.pgn", 31), ("club-2026.pgn", 24)])
def test_examples_are_read_as_python_chess_reads_them(name: str, count: int) -> None:
    assert assert_same((EXAMPLES / name).read_text("utf-8")) == count


def test_master_games_are_read_as_python_chess_reads_them() -> None:
    if not CLASSICAL.exists():
        pytest.skip(f"{CLASSICAL.name} is not on this machine")
    found = raws(CLASSICAL.read_bytes())
    assert len(found) == 6730  # as stated beside the file
    chosen = random.Random(1).sample(found, 300)
    assert assert_same("".join(raw.text.decode("latin-1").rstrip() + "\n\n" for raw in chosen))


def test_blocks_make_no_difference() -> None:
    text = (EXAMPLES / "club-2026.pgn").read_text("utf-8")
    whole = raws(text)
    for block in (1, 2, 7):
        assert raws(text, block) == whole


# --- borders of games -------------------------------------------------------------------------


def test_numbers_and_lines() -> None:
    found = raws("\n; a note\n" + GOOD + GOOD)
    assert [(raw.number, raw.line) for raw in found] == [(1, 3), (2, 10)]
    assert all(len(read_game(raw).moves) == 2 for raw in found)


def test_games_without_tags() -> None:
    found = raws("1. e4 e5 1-0\n\n1. d4 d5\n2. c4 *\n\n1. c4\n\n1. Nf3 Nf6\n")
    assert [uci(read_game(raw)) for raw in found] == [
        "e2e4 e7e5",
        "d2d4 d7d5 c2c4",
        "c2c4",
        "g1f3 g8f6",
    ]


def test_games_without_moves() -> None:
    tags = '[Event "A"]\n[Result "*"]\n\n'
    found = raws(tags + tags + tags + "*\n\n" + GOOD)
    assert [len(read_game(raw).moves) for raw in found] == [0, 0, 0, 2]


def test_empty_lines_in_tags_and_moves() -> None:
    game = only('[Event "A"]\n\n[White "X"]\n\n\n1. e4 e5\n\n2. Nf3 Nc6\n\n3. Bb5 *\n')
    assert game.tags["White"] == "X"
    assert len(game.moves) == 5


def test_no_empty_line_between_games() -> None:
    close = GOOD.rstrip() + "\n"
    assert [len(read_game(raw).moves) for raw in raws(close + close)] == [2, 2]


@pytest.mark.parametrize("opened", ["{never closed", "( 1. d4", "( 1. d4 {never closed", "{ [%x"])
def test_what_is_open_ends_at_an_empty_line_and_an_event_tag(opened: str) -> None:
    text = f'[Event "A"]\n\n1. e4 {opened}\nmore text\n\n' + GOOD
    bad, good = raws(text)
    with pytest.raises(GameError, match="still open where the next game begins") as caught:
        read_game(bad)
    assert caught.value.line == 3
    assert len(read_game(good).moves) == 2
    assert good.line == 6


def test_what_is_open_does_not_end_elsewhere() -> None:
    inside = '\n\n[White\n[Event without quotes\n\n1. d4 1-0\n\n 1. c4 [Event "B"]\n\n'
    game = only(f'[Event "A"]\n\n1. e4 {{{inside}[Site "B"]\n[Event "A"]\n}} e5 1-0\n')
    assert len(game.moves) == 2


def test_open_at_the_end_of_the_file() -> None:
    assert fault('[Event "A"]\n\n1. e4 {x\n\ny\n') == (
        3,
        "a comment is still open at the end of the file",
    )
    assert fault('[Event "A"]\n\n1. e4\n(1. d4\n')[0] == 4


# --- tags -------------------------------------------------------------------------------------


def test_tag_values() -> None:
    game = only(
        '[Event "The \\"Old\\" Hall"]\n[White "O"Neill, "Bob""] \n[Black  "A \\\\ B"]'
        '[Round "3"]\n[Site "]["]\n[broken\n\n1. e4 *\n'
    )
    assert game.tags["Event"] == 'The "Old" Hall'
    assert game.tags["White"] == 'O"Neill, "Bob"'
    assert game.tags["Black"] == "A \\ B"
    assert game.tags["Round"] == "3"
    assert game.tags["Site"] == "]["


def test_result_tag_goes_before_the_one_at_the_end() -> None:
    assert only('[Result "0-1"]\n\n1. e4 1-0\n').result == "0-1"
    assert only('[Result "*"]\n\n1. e4 1-0\n').result == "1-0"
    assert only('[Result "?"]\n\n1. e4 1/2-1/2\n').result == "1/2-1/2"
    assert only("1. e4\n").result == "*"


def test_fen_tag() -> None:
    fen = "6k1/5ppp/8/8/8/8/5PPP/3R2K1 w - - 0 1"
    game = only(f'[SetUp "1"]\n[FEN "{fen}"]\n\n1. Rd8# 1-0\n')
    assert game.start.fen() == fen
    assert game.final.is_checkmate()


@pytest.mark.parametrize(
    ("fen", "reason"),
    [
        ("6k1/8/8/8/8/8/8/7 w - - 0 1", "rank 1 has 7 squares"),
        ("6k1/8/8/8/8/8/8/8 w - - 0 1", "White has no king"),
        ("rubbish", "expected a FEN"),
        ("4k3/8/8/8/8/8/4R3/4K3 w - - 0 1", "Black is in check and it is White's move"),
    ],
)
def test_unreadable_fen_tag(fen: str, reason: str) -> None:
    line, text = fault(f'[Event "A"]\n[SetUp "1"]\n[FEN "{fen}"]\n\n1. Kf1 *\n')
    assert line == 3
    assert text.startswith("the FEN tag cannot be read: ")
    assert reason in text


def test_other_kinds_of_chess() -> None:
    assert "another kind of chess: 'Atomic'" in fault('[Variant "Atomic"]\n\n1. e4 *\n')[1]
    assert len(only('[Variant "Standard"]\n\n1. e4 *\n').moves) == 1


# --- movetext ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5 4. O-O Nf6",
        "1.e4 e5 2.Nf3 Nc6 3.Bc4 Bc5 4.0-0 Nf6 1/2-1/2",
        "1 e4 e5 2 Nf3 Nc6 3 Bc4 Bc5 4 o-o Nf6 *",
        "1.e4! e5?! 2.Nf3!! $14 2...Nc6 {a (comment} 3.Bc4 ; rest of (line {\n3...Bc5 4.O-O Nf6",
        "1. e4 (1. d4 d5 (1... Nf6 {)} 2. c4 ) 2. c4) 1... e5 2. Nf3 Nc6 3. Bc4 Bc5 4. O-O Nf6",
        "%escaped 1. d4\n1. e4 e5 2. Nf3 Nc6\n% { [Event \n3. Bc4 Bc5 4. O-O Nf6",
        "1. e2e4 e7-e5 2. Ng1f3 Nb8-c6 3. Bf1-c4 Bc5 4. O-O Ng8f6",
        "1. e4 e5 2. Nf3 Nc6 += 3. Bc4 N Bc5 = 4. O-O +/- Nf6 -+ D",
        "1. e4 e5 2.Nf3 …Nc6 3.Bc4 3…Bc5 4.O-O <reserved> Nf6",
        "1. e4 {[%clk 0:10:00] [%eval 0.2]} 1... e5 2. Nf3 Nc6 $$ } 3. Bc4 Bc5 4. O-O Nf6",
    ],
)
def test_ways_to_write_a_game(text: str) -> None:
    if "reserved" in text:
        text = text.replace("<reserved>", "<>")
    assert uci(only(text)) == "e2e4 e7e5 g1f3 b8c6 f1c4 f8c5 e1g1 g8f6"


def test_promotions_captures_and_en_passant() -> None:
    text = "1. e4 d5 2. e5 f5 3. exf6 e.p. h5 4. fxg7 h4 5. g4 hxg3ep 6. gxh8Q gxh2 7. e3 hxg1=N"
    assert fault(text)[1] == "7.e3 is not legal"
    game = only(text.replace("7. e3", "7. d3"))
    assert game.moves[4] == chess.Move.from_uci("e5f6")
    assert game.moves[-1] == chess.Move.from_uci("h2g1n")


@pytest.mark.parametrize(
    ("moves", "line", "reason"),
    [
        ("1. e4 e5\n2. Ke3 *", 4, "2.Ke3 is not legal"),
        ("1. e4 e5\n2. Nf3 Nc6\n3. Nc3 Nd9 *", 5, "at move 3 stands 'Nd9', which is no move"),
        ("1. Nf3 a6 2. Na3 a5 3. Nb5 a4 4.\nNd4 *", 4, "4.Nd4 is ambiguous: more than one man"),
        ("1. e4 -- 2. d4", 3, "at move 1 stands '--', which is no move"),
        ("1. e4 e5 2. Qh5 and White is better *", 3, "stands 'and', which is no move"),
        ("1. f3 e5 2. g4 Qh4# 3. Kf2", 3, "3.Kf2 is not legal"),
        ("1. e4 e5 2. Sf3", 3, "'Sf3', which is no move"),
    ],
)
def test_faults_name_move_and_line(moves: str, line: int, reason: str) -> None:
    where, text = fault(f'[Event "A"]\n\n{moves}\n')
    assert where == line
    assert reason in text


# --- files ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "data",
    [
        GOOD.encode() * 3,
        b"\xef\xbb\xbf" + GOOD.encode() * 3,
        GOOD.replace("\n", "\r\n").encode() * 3,
        GOOD.replace("\n", "\r").encode() * 3,
        (GOOD * 3).rstrip().encode(),
        (GOOD * 3).encode() + b"\x1a",
    ],
)
def test_line_ends_marks_and_packing(tmp_path: Path, data: bytes) -> None:
    plain = from_file(write(tmp_path, "a.pgn", data))
    packed = from_file(write(tmp_path, "a.pgn.gz", gzip.compress(data)))
    assert plain == packed
    assert [(raw.number, raw.line) for raw in plain] == [(1, 1), (2, 8), (3, 15)]
    for raw in plain:
        assert len(read_game(raw).moves) == 2


def test_line_ends_across_blocks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    data = GOOD.replace("\n", "\r\n").encode() * 3
    whole = from_file(write(tmp_path, "a.pgn", data))
    for size in (1, 2, 3, 5, 17):
        monkeypatch.setattr("flightless.harvest.files.BLOCK", size)
        assert from_file(write(tmp_path, "a.pgn", data)) == whole


def test_latin_1_and_utf_8_in_one_file(tmp_path: Path) -> None:
    text = GOOD.replace("X", "Tröger")
    path = write(tmp_path, "a.pgn", text.encode("latin-1") + text.encode("utf-8"))
    assert [read_game(raw).tags["White"] for raw in from_file(path)] == ["Tröger", "Tröger"]


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"", "is empty"),
        (b"\n \n", "is empty"),
        (b"\x00\x01\x02" * 100, "is a binary file"),
        (bytes(random.Random(5).randbytes(5000)), "is a binary file"),
        (GOOD.encode("utf-16"), "is text in UTF-16"),
        (b"PK\x03\x04rest", "is a zip archive"),
    ],
)
def test_no_file_of_games(tmp_path: Path, data: bytes, reason: str) -> None:
    path = write(tmp_path, "a.pgn", data)
    with pytest.raises(FileError, match=reason):
        from_file(path)


def test_files_that_cannot_be_opened(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="there is no file"):
        file_size(str(tmp_path / "none.pgn"))
    with pytest.raises(FileError, match="is a folder"):
        GameFile(str(tmp_path))
    with pytest.raises(FileError, match="cannot be opened"):
        GameFile("a\x00b")


def test_broken_archives(tmp_path: Path) -> None:
    noise = random.Random(2)
    many = "".join(GOOD.replace("X", str(noise.random())) for _ in range(5000)).encode()
    packed = gzip.compress(many)
    path = write(tmp_path, "cut.pgn.gz", packed[: len(packed) * 3 // 4])
    seen = 0
    with closing(GameFile(path)) as file:
        games = split_games(file.blocks())
        while seen < 1000:
            seen = next(games).number  # what came before the break is there
        with pytest.raises(FileError, match="breaks off before its end"):
            list(games)
    damaged = bytearray(packed)
    damaged[len(damaged) // 2] ^= 0xFF
    path = write(tmp_path, "bad.pgn.gz", bytes(damaged))
    with pytest.raises(FileError, match="damaged"):
        from_file(path)
    with pytest.raises(FileError, match="breaks off"):
        from_file(write(tmp_path, "head.pgn.gz", b"\x1f\x8b\x08"))


# --- hostile games ----------------------------------------------------------------------------


def test_binary_data_in_one_game_costs_that_game(tmp_path: Path) -> None:
    data = GOOD.encode() * 100 + GOOD.encode().replace(b"e4", b"e\x004") + GOOD.encode()
    found = from_file(write(tmp_path, "a.pgn", data))
    assert len(found) == 102
    with pytest.raises(GameError, match="binary data") as caught:
        read_game(found[100])
    assert caught.value.line == 706
    assert len(read_game(found[101]).moves) == 2


def test_long_games_lines_and_nesting(tmp_path: Path) -> None:
    shuffle = "Nf3 Nf6 Ng1 Ng8 " * 500  # 2,000 plies
    deep = "1. e4 " + "(1. d4 " * 20_000 + ")" * 20_000 + " e5 *"
    wide = "1. e4 {" + "x" * 10_000_000 + "} e5 *"
    many = "1. e4 " + "{a} (1. d4) $1 " * 200_000 + "e5 *"
    word = "1. e4 " + "1" * 100_000 + "a"
    text = "\n\n".join(['[Event "A"]\n\n' + body for body in (shuffle, deep, wide, many, word)])
    found = from_file(write(tmp_path, "a.pgn", text.encode()))
    assert len(found) == 5
    assert [len(read_game(raw).moves) for raw in found[:4]] == [2000, 2, 2, 2]
    with pytest.raises(GameError, match="no move"):
        read_game(found[4])


def test_game_beyond_any_size(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("flightless.harvest.splitter.MOST_OF_A_GAME", 1000)
    text = '[Event "A"]\n\n1. e4 {' + "long\n" * 1000 + "} e5 *\n\n" + GOOD
    big, good = raws(text)
    assert len(big.text) <= 1000
    with pytest.raises(GameError, match="of text"):
        read_game(big)
    assert len(read_game(good).moves) == 2


def test_noise_never_crashes() -> None:
    rnd = random.Random(7)
    seeds = [
        (EXAMPLES / "drawer-1.pgn").read_bytes(),
        (EXAMPLES / "club-2026.pgn").read_bytes()[:3000],
    ]
    for _ in range(300):
        data = bytearray(rnd.choice(seeds))
        for _ in range(rnd.randrange(1, 30)):
            at = rnd.randrange(len(data))
            if rnd.random() < 0.5:
                data[at] = rnd.choice(b'{}();[]"\\%$*\n\r 01aZ\xff')
            else:
                del data[at : at + rnd.randrange(1, 40)]
        for raw in raws(bytes(data)):
            with suppress(GameError):
                read_game(raw)
