"""The open suite of direct mates in ../shared/mates, where it is present: lengths to 5.

All of up to three moves, and every so many of four and five, at their known length; each
proof is replayed by the verifier.
"""

from __future__ import annotations

from pathlib import Path

import chess
import pytest

from flightless.certify import verify
from flightless.prove import document, prove

SUITE = Path(__file__).parents[3] / "shared" / "mates" / "direct_mates.epd"


def _suite() -> dict[int, list[str]]:
    if not SUITE.is_file():
        pytest.skip("the suite of direct mates is not there (../shared/mates/direct_mates.epd)")
    found: dict[int, list[str]] = {}
    for line in SUITE.read_text(encoding="utf-8").splitlines():
        position, _, operations = line.partition(" dm ")
        found.setdefault(int(operations.rstrip(";")), []).append(position)
    return found


@pytest.mark.parametrize(("moves", "step"), [(1, 1), (2, 1), (3, 1), (4, 2), (5, 9), (-5, 1)])
def test_lengths_are_those_of_the_suite(moves: int, step: int) -> None:
    for position in _suite()[moves][::step]:
        board = chess.Board(f"{position} 0 1")
        proof = prove(board, within=abs(moves))
        assert proof.moves == moves, position
        assert proof.shortest
        checked = verify(document(proof))
        assert checked.ok, (position, checked.sentences)


def test_no_mate_is_proved_one_move_short_of_it() -> None:
    for moves in (2, 3, 4):
        for position in _suite()[moves][::4]:
            proof = prove(chess.Board(f"{position} 0 1"), within=moves - 1)
            assert proof.verdict == "no mate"
            assert proof.searched == moves - 1
