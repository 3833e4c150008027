"""Games read from bytes by the core, with python-chess's PGN reader as referee.

Borders and words follow the PGN Standard (S. Edwards, 1994), sections 7 and 8.
"""

from __future__ import annotations

import io
import itertools
import random
from pathlib import Path

import chess
import chess.pgn
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flightless.core import games, pgnscan
from flightless.core.games import REASONS, Scanned, borders, scan_blocks, scan_text
from flightless.core.state import encode
from strategies import playout

CLASSICAL = Path(__file__).resolve().parents[3] / "shared" / "games" / "classical.pgn"

careful = settings(deadline=None, derandomize=True, max_examples=60)

MATE = "1. f3 e5 2. g4 Qh4# 0-1\n\n"


def everything(parts: list[Scanned]) -> list[tuple[object, ...]]:
    """What was read of each game, with places in the whole text."""
    found: list[tuple[object, ...]] = []
    for part in parts:
        for game in range(len(part)):
            error, at = part.error(game)
            found.append(
                (
                    *(place + part.base for place in part.span(game)),
                    part.tags(game),
                    part.chess_moves(game),
                    part.results(game),
                    part.is_mate(game),
                    part.state(game),
                    REASONS[error],
                    at + part.base if error else 0,
                )
            )
    return found


def scan(text: str | bytes) -> Scanned:
    """The games of a short text."""
    data = text.encode("latin-1") if isinstance(text, str) else text
    parts = list(scan_text(data))
    assert len(parts) == 1
    return parts[0]


def moves(text: str) -> list[str]:
    """The moves of the only game of a text, which must be right."""
    scanned = scan(text)
    assert len(scanned) == 1
    assert scanned.error(0) == (0, 0), REASONS[scanned.error(0)[0]]
    return [move.uci() for move in scanned.chess_moves(0)]


def reason(text: str | bytes) -> str | None:
    """The error of the first game of a text."""
    return REASONS[scan(text).error(0)[0]]


def referee(scanned: Scanned, game: int, text: str) -> None:
    """Compare a game that was read without error with python-chess's reading."""
    read = chess.pgn.read_game(io.StringIO(text))
    assert read is not None
    assert not read.errors
    assert list(read.mainline_moves()) == scanned.chess_moves(game)
    final = read.end().board()
    assert encode(final) == scanned.state(game)
    assert final.is_checkmate() == scanned.is_mate(game)
    movetext, tag = scanned.results(game)
    assert read.headers["Result"] == (tag if tag and tag != "*" else movetext or "*")


# --- words ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "1. e4 e5 2. Nf3 Nc6 *",
        "1.e4 e5 2.Nf3 Nc6 *",
        "1. e4 1... e5 2. Nf3 2... Nc6 *",
        "e4 e5 Nf3 Nc6",
        "1. e4! e5?! 2. Nf3 $1 Nc6 $14 $255 *",
        "1. e4 {the king's pawn} e5 {(not 1...c5)} 2. Nf3{!}Nc6*",
        "1. e4 ; a comment } ) to the end of the line\n1... e5 2. Nf3 Nc6 *",
        "1. e4 e5 (1... c5 2. Nf3 (2. c3 d5) 2... d6 {) still inside (}) 2. Nf3 Nc6 *",
        "1. e4 e5 (1... c5 ; ) not here\n 2. Nf3) 2. Nf3 Nc6 *",
        "1. e4\n% an escaped line (section 6 of the standard)\ne5 2. Nf3 Nc6 *",
        "1. e4\r\ne5\r\n2. Nf3\tNc6 *\r\n",
        "1. e4 e5\n\n2. Nf3 Nc6 *\n",
        "1. e4 e5 2. Nf3+ Nc6# *",
        "1. e4 ! e5 ?? 2. Nf3 !? Nc6 *",
        "{before the first move}\n1. e4 e5 2. Nf3 Nc6",
    ],
)
def test_ways_to_write_a_game(text: str) -> None:
    assert moves(text) == ["e2e4", "e7e5", "g1f3", "b8c6"]


@pytest.mark.parametrize("castle", ["O-O", "0-0", "O-O+", "0-0!"])
def test_castling(castle: str) -> None:
    assert moves(f"1. e4 e5 2. Nf3 Nf6 3. Bc4 Bc5 4. {castle} {castle} *")[-2:] == ["e1g1", "e8g8"]
    long = castle.replace("O-O", "O-O-O").replace("0-0", "0-0-0")
    text = f"1. d4 d5 2. Nc3 Nc6 3. Bf4 Bf5 4. Qd2 Qd7 5. {long} {long} *"
    assert moves(text)[-2:] == ["e1c1", "e8c8"]


@pytest.mark.parametrize(
    "last", ["bxa8=Q", "bxa8Q", "bxa8=Q+", "bxa8=N", "bxa8N!", "bxa8=R", "bxa8B"]
)
def test_promotion(last: str) -> None:
    text = f"1. a4 b5 2. axb5 a6 3. bxa6 Bb7 4. axb7 h6 5. {last} *"
    assert moves(text)[-1] == "b7a8" + next(c for c in "qrbn" if c.upper() in last)


def test_promotion_straight_on() -> None:
    text = "1. a4 b5 2. axb5 a6 3. bxa6 Nc6 4. a7 Nb8 5. axb8=Q Rxb8 1/2-1/2"
    assert moves(text)[-2:] == ["a7b8q", "a8b8"]
    text = "1. h4 g5 2. hxg5 h6 3. gxh6 Rh7 4. g4 Rg7 5. h7 Rg6 6. h8=N *"
    assert moves(text)[-1] == "h7h8n"


def test_en_passant() -> None:
    assert moves("1. e4 a6 2. e5 d5 3. exd6 *")[-1] == "e5d6"
    assert reason("1. e4 a6 2. e5 d5 3. a3 a5 4. exd6 *") == "illegal move"


@pytest.mark.parametrize(
    ("text", "last"),
    [
        ("1. Nf3 a6 2. Nc3 a5 3. Nd4 a4 4. Ncb5 *", "c3b5"),
        ("1. Nf3 a6 2. Nc3 a5 3. Nd4 a4 4. Ndb5 *", "d4b5"),
        ("1. a4 a5 2. Ra3 h6 3. h4 h5 4. Rhh3 *", "h1h3"),
        ("1. a4 a5 2. Ra3 h6 3. h4 h5 4. Rh1h3 *", "h1h3"),
        ("1. a4 a5 2. Ra3 h6 3. h4 h5 4. R1h3 *", "h1h3"),
        ("1. a4 a5 2. h4 h5 3. Ra3 g6 4. Rah3 *", "a3h3"),
        ("1. Nc3 a6 2. a3 a5 3. Nb1a3 *", None),
        ("1. e4 e5 2. Nc3 Bb4 3. Nge2 *", "g1e2"),
        ("1. d4 e6 2. Nc3 Bb4 3. Nf3 a6 4. Nd2 *", "f3d2"),  # one knight is pinned
    ],
)
def test_disambiguation(text: str, last: str | None) -> None:
    if last is None:
        assert reason(text) == "illegal move"
    else:
        assert moves(text)[-1] == last
        board = chess.pgn.read_game(io.StringIO(text))
        assert board is not None
        assert [move.uci() for move in board.mainline_moves()] == moves(text)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("1. e4 e5 2. Ke3 *", "illegal move"),
        ("1. e5 *", "illegal move"),
        ("1. exd5 *", "illegal move"),
        ("1. O-O *", "illegal move"),
        ("1. e4 e5 2. Qh5 Nc6 3. Qxf7+ a6 *", "illegal move"),  # the check is not answered
        ("1. e4 e6 2. d4 Bb4+ 3. Nc3 a6 4. Nd5 *", "illegal move"),  # pinned
        ("1. Nf3 a6 2. Nc3 a5 3. Nd4 a4 4. Nb5 *", "ambiguous move"),
        ("1. e4 -- 2. d4 *", "no move that the scanner knows"),
        ("1. e2e4 *", "no move that the scanner knows"),
        ("1. e2-e4 *", "no move that the scanner knows"),
        ("1. e4 e5 2. o-o *", "no move that the scanner knows"),
        ("1. e4 a6 2. e5 d5 3. exd6e.p. *", "no move that the scanner knows"),
        ("1. e4 e5 2. Nf3 N *", "no move that the scanner knows"),
        ("1. e4 e5] 2. Nf3 *", "no move that the scanner knows"),
        ("1. e4e5 *", "no move that the scanner knows"),
        ("1. e9 *", "no move that the scanner knows"),
        ("1. i4 *", "no move that the scanner knows"),
        ("1. a4 b5 2. axb5 a6 3. bxa6 Bb7 4. axb7 h6 5. bxa8 *", "no move that the scanner knows"),
        ("1. e4 e5) 2. Nf3 *", "no move that the scanner knows"),
        ("1. e4 e5 } 2. Nf3 *", "no move that the scanner knows"),
        ("(1. d4) 1. e4 *", "no move that the scanner knows"),
        ("1. e4 e5 1-0 2. Nf3 *", "moves after the result"),
        ("1. e4 e5 {left open 2. Nf3 *", "a comment is still open"),
        ("1. e4 e5 (1... c5 2. Nf3 *", "a variation is still open"),
        ("1. e4 e5 (1... c5 {) 2. Nf3 *", "a comment is still open"),
        ('[FEN "8/8/8/8/8/k7/8/K6R w - - 0 1"]\n\n1. Rb1 *', "a FEN tag"),
        ('[Variant "Atomic"]\n\n1. e4 *', "a Variant tag"),
        ('[White "A"] [Black "B"]\n\n1. e4 *', "tags that share a line"),
        ("1. e4 e5\x00 *", "no move that the scanner knows"),
        ("1. e4 \xbd e5 *", "no move that the scanner knows"),
    ],
)
def test_doubtful_games_are_marked(text: str, expected: str) -> None:
    assert reason(text) == expected


def test_place_and_moves_up_to_an_error() -> None:
    text = "1. e4 e5 2. Nf3 Nc6 3. Bb9 a6 *"
    scanned = scan(text)
    assert scanned.error(0)[1] == text.index("Bb9")
    assert scanned.plies(0) == 4
    assert not scanned.is_mate(0)


def test_mate_and_results() -> None:
    scanned = scan('[Result "0-1"]\n\n' + MATE + '[Result "*"]\n\n1. e4 1/2-1/2\n')
    assert [scanned.is_mate(game) for game in (0, 1)] == [True, False]
    assert [scanned.results(game) for game in (0, 1)] == [("0-1", "0-1"), ("1/2-1/2", "*")]
    assert scan("1. e4 e5\n").results(0) == (None, None)
    assert scan("*").results(0) == ("*", None)


# --- borders --------------------------------------------------------------------------------

TAGS = '[Event "Club evening"]\n[Site "Harbour Street"]\n[Result "0-1"]\n\n'

BORDERS = {
    "nothing": ("", 0),
    "blank lines": ("\n \n\r\n", 0),
    "only a comment": ("{nothing else}\n", 0),
    "a game and a half": (TAGS + MATE + TAGS, 2),
    "no blank line between": (TAGS + MATE.rstrip() + "\n" + TAGS + MATE, 2),
    "blank line within moves": (TAGS + "1. e4\n\n\ne5 2. Nf3 *\n\n" + TAGS + MATE, 2),
    "no tags, results": ("1. e4 *\n\n1. d4 *\n\n1. c4 *\n", 3),
    "no tags, no results": ("1. e4 e5\n\n1. d4 d5\n", 2),
    "no tags, no blank line": ("1. e4 *\n1. d4 *\n", 1),
    "black's first move after a blank line": ("1. e4\n\n1... e5 *\n", 1),
    "tags without moves": (TAGS + TAGS + TAGS + MATE, 3),
    "blank line between tags": ('[Event "A"]\n\n[Site "B"]\n\n' + MATE, 1),
    "tags in a comment": (TAGS + '1. e4 {so\n[Site "x"]\n\n[Site "y"]\n} e5 *\n\n' + MATE, 2),
    "event in a comment, no blank line": (TAGS + '1. e4 {so\n[Event "x"]\n} e5 *\n\n', 1),
    "comment before tags": ("{our games}\n\n" + TAGS + MATE, 1),
    "semicolon and escape before tags": ("; our games\n% more\n" + TAGS + MATE, 1),
    "comment between games": (TAGS + MATE + "{a pause}\n\n" + TAGS + MATE, 2),
    "byte order mark": ("\xef\xbb\xbf" + TAGS + MATE, 1),
    "carriage returns alone": ((TAGS + MATE + TAGS + MATE).replace("\n", "\r"), 2),
    "carriage return and newline": ((TAGS + MATE + TAGS + MATE).replace("\n", "\r\n"), 2),
    "no newline at the end": (TAGS + MATE.rstrip(), 1),
}


@pytest.mark.parametrize("name", BORDERS)
def test_borders(name: str) -> None:
    text, expected = BORDERS[name]
    found = everything(list(scan_text(text.encode("latin-1"))))
    assert len(found) == expected
    if not name.startswith("only") and found:
        assert found[-1][1] == len(text)


@pytest.mark.parametrize("opening", ["{never closed", "(2. d4", "(2. d4 {never closed", "( ( ("])
def test_open_comment_or_variation_ends_at_the_next_event(opening: str) -> None:
    text = TAGS + f"1. e4 e5 {opening} 2. Nf3 *\n\n" + TAGS + MATE
    scanned = scan(text)
    assert len(scanned) == 2
    error, at = scanned.error(0)
    assert REASONS[error] == f"a {'comment' if '{' in opening else 'variation'} is still open"
    assert text[at] == opening[0]
    assert scanned.is_mate(1)
    assert scanned.whole(1).decode() == TAGS + MATE


def test_open_comment_does_not_end_at_other_tags() -> None:
    text = TAGS + '1. e4 {never closed\n\n[Site "x"]\n\n1. d4 *\n\n' + TAGS + MATE
    scanned = scan(text)
    assert len(scanned) == 2
    assert scanned.is_mate(1)


def test_deep_nesting_and_long_lines() -> None:
    deep = "(1. d4 " * 5000 + ")" * 5000
    assert moves(f"1. e4 {deep} e5 *") == ["e2e4", "e7e5"]
    wide = "{" + "x " * 3_000_000 + "}"
    assert moves(f"1. e4 {wide} e5 *") == ["e2e4", "e7e5"]


def test_very_long_game() -> None:
    shuffle = "Nf3 Nf6 Ng1 Ng8 " * 5000
    assert len(moves(shuffle + "*")) == 20000


def test_more_games_than_a_table_holds() -> None:
    parts = list(scan_text(b"1. e4 *\n\n" * 20000))
    assert len(parts) == 2
    assert sum(map(len, parts)) == 20000
    assert all(part.plies(game) == 1 for part in parts for game in range(len(part)))


def test_moves_that_do_not_fit_are_read_in_the_next_call() -> None:
    """The scanner itself, with room for three moves at a time."""
    data = np.frombuffer(b"1. e4 e5 *\n\n1. d4 d5 *\n\n1. c4 *\n", np.uint8)
    at, end = np.uint64(0), np.uint64(len(data))
    seen = np.empty(4, np.uint64)
    read = []
    while at < end:
        table = np.empty((8, pgnscan.COLUMNS), np.uint64)
        finals = np.empty((8, 6), np.uint64)
        room = np.empty(3, np.uint16)
        count, used, after = pgnscan.scan(data, at, end, np.uint64(1), table, finals, room, seen)
        assert used <= 3
        assert not table[:count, int(pgnscan.ERROR)].any()
        read += table[:count, int(pgnscan.PLIES)].tolist()
        at = np.uint64(after)
    assert read == [2, 2, 1]


# --- against python-chess -------------------------------------------------------------------


def written(chance: random.Random, plies: int) -> str:
    """A random game as python-chess writes it, with remarks of all sorts."""
    game = chess.pgn.Game.from_board(playout(chance, plies // 2, plies))
    game.headers["Event"] = 'Club "evening"'
    for node in list(game.mainline()):
        if chance.random() < 0.1:
            node.comment = chance.choice(["good", "1. e4 (", "a\nlong ) one [x]", "1-0", "; $ %"])
        if chance.random() < 0.1:
            node.nags.add(chance.randint(1, 139))
        if chance.random() < 0.1 and node.parent is not None:
            others = [m for m in node.parent.board().legal_moves if m != node.move]
            if others:
                side = node.parent.add_variation(chance.choice(others), comment="or (")
                replies = list(side.board().legal_moves)
                if replies:
                    side.add_variation(chance.choice(replies))
    exporter = chess.pgn.StringExporter(columns=chance.choice([None, 40, 80]))
    return game.accept(exporter) + "\n\n"


def test_random_games() -> None:
    chance = random.Random(40)
    texts = [written(chance, 300) for _ in range(120)]
    scanned = scan("".join(texts))
    assert len(scanned) == len(texts)
    for game, text in enumerate(texts):
        assert scanned.error(game)[0] == 0, text
        assert scanned.whole(game).decode() == text
        referee(scanned, game, text)


def test_spoilt_games_are_read_alike_or_marked() -> None:
    """Bytes changed by chance: what is read without an error is what python-chess reads.

    It reads variations too and stops at an illegal move in one; the core passes them over.
    """
    chance = random.Random(41)
    marked = 0
    for _ in range(600):
        text = bytearray(written(chance, 40).encode())
        start = text.index(b"\n\n") + 2
        for _ in range(chance.randint(1, 3)):
            text[chance.randrange(start, len(text) - 2)] = chance.choice(
                b"abcdefgh12345678NBRQKOx=+#!?-0./*() {};$ \t@%[]<>\"'Zpnq"
            )
        parts = list(scan_text(bytes(text)))
        if not parts or parts[0].error(0)[0]:
            marked += 1
            continue
        read = chess.pgn.read_game(io.StringIO(parts[0].whole(0).decode()))
        assert read is not None
        if read.errors:
            assert "(" in parts[0].whole(0).decode()
        else:
            assert list(read.mainline_moves()) == parts[0].chess_moves(0)
    assert 100 < marked < 590


GNARLY = "".join(text for name, (text, _) in BORDERS.items() if "alone" not in name) + "".join(
    TAGS + f"1. e4 e5 {opening} 2. Nf3 *\n\n" for opening in ("{open", "(2. d4", "", "-- ({")
)


@careful
@given(st.lists(st.integers(1, 400), min_size=1, max_size=40))
def test_blocks_of_any_size(sizes: list[int]) -> None:
    data = GNARLY.encode("latin-1")
    blocks, at = [], 0
    while at < len(data):
        size = sizes[len(blocks) % len(sizes)]
        blocks.append(data[at : at + size])
        at += size
    assert everything(list(scan_blocks(blocks))) == everything(list(scan_text(data)))


@pytest.mark.parametrize("parts", [1, 2, 3, 7, 50])
def test_parts_add_up(parts: int) -> None:
    data = GNARLY.encode("latin-1") * 3
    cuts = borders(data, parts)
    assert cuts[0] == 0
    assert cuts[-1] == len(data)
    pieces: list[Scanned] = []
    for start, end in itertools.pairwise(cuts):
        pieces += scan_text(data[start:end], start)
    assert everything(pieces) == everything(list(scan_text(data)))


def test_file_of_historical_games() -> None:
    if not CLASSICAL.is_file():
        pytest.skip("the file of historical games is not on this machine")
    data = CLASSICAL.read_bytes()
    parts = list(scan_text(data))
    assert sum(map(len, parts)) == data.count(b'[Event "')
    handle = io.StringIO(data.decode("latin-1"))
    for part in parts:
        for game in range(len(part)):
            assert part.error(game)[0] == 0
            if game < 700:
                read = chess.pgn.read_game(handle)
                assert read is not None
                assert list(read.mainline_moves()) == part.chess_moves(game)
                assert encode(read.end().board()) == part.state(game)
                assert read.end().board().is_checkmate() == part.is_mate(game)


def test_reasons_cover_all_errors() -> None:
    assert len(REASONS) == int(pgnscan.NO_ROOM) + 1
    assert games.RESULTS.index("1/2-1/2") == 3
