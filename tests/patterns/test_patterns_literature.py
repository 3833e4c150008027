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


FEWER_THAN_FOUR = {
    "Arabian": 3,
    "bishop and knight at the castled king": 1,
    "Blackburne": 0,
    "epaulette": 2,
    "knight mate in the corner": 1,
    "Morphy": 0,
    "Pillsbury": 3,
    "queen and bishop at the castled king": 3,
    "Réti": 3,
    "two bishops side by side": 2,
}
"""Names for which fewer mates from play or books have been found so far: to be lowered as more
are found.  Their catalogue files have three positions of our own each, and more near misses."""


def test_every_other_name_has_four_mates_from_play_or_books() -> None:
    counts = dict.fromkeys((p.name for p in catalogue().patterns), 0)
    for wanted, _, _ in LINES:
        for name in filter(None, (n.strip() for n in wanted.split(";"))):
            counts[name] += 1
    assert {n: c for n, c in counts.items() if c < 4} == FEWER_THAN_FOUR
