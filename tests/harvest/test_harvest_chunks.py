"""Files cut into chunks, archives, and the two readers of games against each other."""

from __future__ import annotations

import random
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path

import numpy as np
import pytest

from flightless.core.games import scan_text
from flightless.errors import FileError
from flightless.harvest.chunks import Chunk, cut
from flightless.harvest.files import GameFile, with_line_feeds
from flightless.harvest.known import Known, game_key
from flightless.harvest.movetext import GameError, read_game
from flightless.harvest.records import Limits, Record
from flightless.harvest.splitter import RawGame, split_games
from flightless.harvest.work import harvest_chunk

EXAMPLES = Path(__file__).parents[2] / "examples" / "harbour-street"
CLUB = (EXAMPLES / "club-2026.pgn").read_bytes()
DRAWER = (EXAMPLES / "drawer-1.pgn").read_bytes()
UNTAGGED = b"1. e4 e5 1-0\n\n1. d4 d5\n2. c4 *\n\n1. c4 {\n\n1. e4\n} c5\n\n1. Nf3 Nf6\n\n" * 20
GIANT = b'[Event "A"]\n\n1. e4 {' + b"long\n\n[White\n" * 3000 + b"} e5 *\n\n"


def blocks(data: bytes, size: int) -> Iterator[bytes]:
    for at in range(0, len(data), size):
        yield data[at : at + size]


def games_in(chunks: list[Chunk]) -> list[RawGame]:
    """The games of all chunks with numbers and lines as in the whole text."""
    found: list[RawGame] = []
    number = line = 0
    for chunk in chunks:
        if chunk.text is None:
            games, lines = list(chunk.games), chunk.lines
        else:
            text = with_line_feeds(chunk.text)
            games, lines = list(split_games([text])), text.count(b"\n")
        found += [
            RawGame(
                game.number + number,
                game.line + line,
                game.text,
                game.problem if chunk.is_last else _not_the_end(game.problem),
                game.problem_line + line,
            )
            for game in games
        ]
        number += len(games)
        line += lines
    return found


def _not_the_end(problem: str | None) -> str | None:
    return problem and problem.replace("at the end of the file", "where the next game begins")


@pytest.mark.parametrize("size", [64, 500, 3000, 1 << 20])
@pytest.mark.parametrize(
    "text",
    [
        CLUB,
        CLUB.replace(b"\n", b"\r\n"),
        DRAWER * 5,
        UNTAGGED,
        UNTAGGED + CLUB + UNTAGGED + DRAWER,
        CLUB + GIANT + CLUB,
        CLUB + b"{never closed\n\n" + CLUB + b"\n\n(",
        b"\n" * 200 + CLUB,
        b"",
    ],
)
def test_chunks_hold_the_same_games_as_the_whole(text: bytes, size: int) -> None:
    chunks = list(cut(blocks(text, 777), size=size))
    at = 0
    for chunk in chunks:
        assert chunk.start == at
        if chunk.text is not None:
            assert chunk.text == text[at : chunk.end]
        at = chunk.end
    assert at == len(text)
    assert games_in(chunks) == games_in([Chunk(0, len(text), text, is_last=True)])
    # Going on at the end of any chunk gives the chunks that followed it.
    for i in range(0, len(chunks), max(len(chunks) // 4, 1)):
        rest = list(cut(blocks(text[chunks[i].end :], 777), chunks[i].end, size))
        assert rest == chunks[i + 1 :] or games_in(rest) == games_in(chunks[i + 1 :])


def test_a_chunk_is_never_much_larger_than_asked() -> None:
    text = CLUB * 50
    chunks = list(cut(blocks(text, 4096), size=10_000))
    assert max(chunk.end - chunk.start for chunk in chunks) <= 10_000


# --- archives ---------------------------------------------------------------------------------


def text_of(path: Path, start: int = 0) -> bytes:
    with closing(GameFile(str(path))) as file:
        return b"".join(file.text(start))


def test_zstandard(tmp_path: Path) -> None:
    zstandard = pytest.importorskip("zstandard")
    pack = zstandard.ZstdCompressor().compress
    skip = b"\x50\x2a\x4d\x18" + (5).to_bytes(4, "little") + b"01234"
    path = tmp_path / "games.pgn.zst"
    for data in (
        pack(CLUB),
        pack(CLUB[:100]) + pack(CLUB[100:]),
        skip + pack(CLUB),
        pack(CLUB[:100]) + skip + pack(CLUB[100:]) + skip,
    ):
        path.write_bytes(data)
        assert text_of(path) == CLUB
        assert text_of(path, 1234) == CLUB[1234:]


@pytest.mark.parametrize("keep", [5, 300, -1])
def test_zstandard_cut_short(tmp_path: Path, keep: int) -> None:
    zstandard = pytest.importorskip("zstandard")
    path = tmp_path / "games.pgn.zst"
    path.write_bytes(zstandard.ZstdCompressor().compress(CLUB)[:keep])
    with pytest.raises(FileError, match=r"games\.pgn\.zst: the archive breaks off"):
        text_of(path)


def test_zstandard_damaged(tmp_path: Path) -> None:
    zstandard = pytest.importorskip("zstandard")
    data = bytearray(zstandard.ZstdCompressor(write_checksum=True).compress(CLUB))
    data[len(data) // 2] ^= 0x55
    path = tmp_path / "games.pgn.zst"
    path.write_bytes(data)
    with pytest.raises(FileError, match="the archive is damaged"):
        text_of(path)


def test_archive_that_swells(tmp_path: Path) -> None:
    """A gigabyte of nothing in a few kilobytes comes in pieces, none of them large."""
    zstandard = pytest.importorskip("zstandard")
    import zlib

    path = tmp_path / "bomb"
    squeeze = zlib.compressobj(9, wbits=31)
    gzip = b"".join(squeeze.compress(b" " * (1 << 20)) for _ in range(200)) + squeeze.flush()
    stream = zstandard.ZstdCompressor().compressobj()
    zst = b"".join(stream.compress(b" " * (1 << 20)) for _ in range(200)) + stream.flush()
    for data in (gzip, zst):
        path.write_bytes(data)
        with closing(GameFile(str(path))) as file:
            text = file.text()
            assert all(0 < len(next(text)) <= 66 << 20 for _ in range(3))
            with pytest.raises(FileError, match="is empty"):
                all(text)


# --- the two readers --------------------------------------------------------------------------


def by_python(text: bytes) -> list[tuple[object, ...]]:
    found: list[tuple[object, ...]] = []
    for raw in split_games([text]):
        try:
            game = read_game(raw)
            found.append((raw.number, raw.line, game.moves, game.result, dict(game.tags)))
        except GameError as error:
            found.append((raw.number, error.line, str(error)))
    return found


def by_scanner(text: bytes, monkeypatch: pytest.MonkeyPatch) -> list[tuple[object, ...]]:
    """The same through the compiled scanner, which leaves doubtful games to python-chess."""
    from flightless.harvest import work

    found: list[tuple[object, ...]] = []
    monkeypatch.setattr(
        work._Work, "_verdicts", lambda _, __, sound: iter([({0: None}, False)] * sum(sound))
    )

    class Seeker:
        def describe(self, game: object, *_: object) -> list[Record]:
            found.append((game.number, game.line, game.moves, game.result, dict(game.tags)))  # type: ignore[attr-defined]
            return []

        def finds(self, game: object, file: str) -> tuple[list[Record], bool]:
            return self.describe(game, file), False

    it = work._Work("", Seeker())  # type: ignore[arg-type]
    for scanned in scan_text(text):
        before = len(it._items)
        it.scanned(scanned, is_last=True)
        found += [(i.game, i.line, i.reason) for i in it._items[before:]]  # type: ignore[union-attr]
    return sorted(found, key=lambda item: item[0])  # type: ignore[arg-type, return-value]


@pytest.mark.parametrize("name", ["classics.pgn", "club-2026.pgn", "drawer-1.pgn"])
def test_scanner_reads_the_examples_like_python_chess(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = (EXAMPLES / name).read_bytes()
    assert by_scanner(text, monkeypatch) == by_python(text)


def test_scanner_and_python_agree_on_spoilt_files(monkeypatch: pytest.MonkeyPatch) -> None:
    pieces = [
        b'\n\n[Event "X"]\n',
        b"{",
        b"}",
        b"(",
        b" ) ",
        b"\n\n",
        b"\n%x\n",
        b" ; x",
        b" 1-0 ",
        b" * ",
        b" $3 ",
        b"!?",
        b'\n\n[White "Z"]\n',
        b"\n\n1. e4 e5",
        b" -- ",
        b" e.p. ",
        b" 1... ",
        b" 0-0 ",
        b" e8=Q ",
        b'\n[Result "1-0"]\n',
        b'\n[Variant "Atomic"]\n',
        b"\t",
        b" Qh9 ",
    ]
    chance = random.Random(11)
    agreed = 0
    for _ in range(400):
        data = bytearray(chance.choice([CLUB[:3000], DRAWER, UNTAGGED[:600]]))
        for _ in range(chance.randrange(1, 6)):
            # At the end of a word: splitting words is another matter than splitting games.
            at = data.find(b" ", chance.randrange(len(data)))
            at = len(data) if at < 0 else at
            data[at:at] = chance.choice(pieces)
        text = bytes(data)
        assert by_scanner(text, monkeypatch) == by_python(text), text
        agreed += 1
    assert agreed == 400


def test_chunk_size_makes_no_difference() -> None:
    text = CLUB + UNTAGGED + DRAWER
    whole = harvest_chunk(Chunk(0, len(text), text, is_last=True), "f", Limits())
    parts = [harvest_chunk(c, "f", Limits()) for c in cut([text], size=1000)]
    assert len(parts) > 5
    assert sum(part.games for part in parts) == whole.games
    assert sum(part.bad for part in parts) == whole.bad
    assert np.array_equal(np.concatenate([part.keys for part in parts]), whole.keys)
    assert np.array_equal(np.concatenate([part.finds for part in parts]), whole.finds)


# --- what was met before ----------------------------------------------------------------------


def test_known_keys_against_a_dictionary() -> None:
    chance = random.Random(3)
    known, told = Known(), {}
    for batch in range(60):
        keys = [chance.randrange(500) * 2**55 for _ in range(chance.randrange(30))]
        numbers = [batch * 100 + i for i in range(len(keys))]
        found = known.first_seen(np.array(keys, np.uint64), np.array(numbers, np.uint64))
        for key, number, first in zip(keys, numbers, found.tolist(), strict=True):
            assert first == told.setdefault(key, number)
    assert len(known) == len(told)


def test_which_games_are_the_same() -> None:
    tags = {"White": "Rahimi, Leila", "Black": "Moth", "Date": "2026.01.02", "Event": "A"}
    key = game_key("", b"moves", tags)
    assert key == game_key("", b"moves", {**tags, "White": "RAHIMI,  L.", "Event": "B"})
    assert key == game_key("", b"moves", {**tags, "Date": "2026.??.??"})
    assert key != game_key("", b"moves", {**tags, "Date": "2025.01.02"})
    assert key != game_key("", b"moves", {**tags, "Black": "Owl"})
    assert key != game_key("", b"others", tags)
    assert key != game_key("4k3/8/8/8/8/8/8/4K2R w - - 0 1", b"moves", tags)


def test_raw_games_of_the_line_by_line_way_are_sound() -> None:
    text = CLUB + GIANT + CLUB
    chunks = [chunk for chunk in cut(blocks(text, 500), size=500) if chunk.text is None]
    assert chunks
    for chunk in chunks:
        for raw in chunk.games:
            with suppress(GameError):
                assert read_game(raw).moves
