"""Names against mates that were played: the recogniser gives all names that fit, and no other.

The positions and their sources are in literature.txt; python-chess replays and referees.
"""

from __future__ import annotations

import io
from pathlib import Path

import chess
import chess.pgn
import pytest

from flightless.cases.build import case_of
from flightless.patterns.recognise import catalogue, names

LINES = [
    tuple(part.strip() for part in line.split("|"))
    for line in Path(__file__).with_name("literature.txt").read_text(encoding="utf-8").splitlines()
    if line and not line.startswith("#")
]


def board_of(text: str) -> chess.Board:
    """A FEN, or the end of a game given by its moves."""
    if text.count("/") == 7:
        return chess.Board(text)
    game = chess.pgn.read_game(io.StringIO(text))
    assert game is not None
    assert not game.errors
    return game.end().board()


@pytest.mark.parametrize(("wanted", "text", "source"), LINES, ids=[line[2] for line in LINES])
def test_played_mates_have_exactly_their_names(wanted: str, text: str, source: str) -> None:
    board = board_of(text)
    assert board.is_valid(), source
    assert board.is_checkmate(), source
    found = [name.name for name in names(case_of(board))]
    assert sorted(found) == sorted(n.strip() for n in wanted.split(";") if n.strip())


@pytest.mark.parametrize(
    ("text", "source"), [line[1:] for line in LINES], ids=[line[2] for line in LINES]
)
def test_the_skeleton_alone_keeps_the_name(text: str, source: str) -> None:
    """A name rests on one skeleton: with the other men gone it is still that mate."""
    for name in names(case_of(board_of(text))):
        alone = chess.Board(name.skeleton.fen)
        assert alone.is_checkmate(), source
        if name.name == "smothered":
            continue  # the one name whose men in the way need not all take part
        assert name.name in {n.name for n in names(case_of(alone))}
        taking = {*name.skeleton.men, alone.king(not alone.turn)}
        for squares in name.men.values():
            assert squares
            assert set(squares) <= taking


def test_most_names_have_four_mates_from_play_or_books() -> None:
    counts = dict.fromkeys((p.name for p in catalogue().patterns), 0)
    for wanted, _, _ in LINES:
        for name in filter(None, (n.strip() for n in wanted.split(";"))):
            counts[name] += 1
    assert sum(count >= 4 for count in counts.values()) >= 15, counts
