"""The atlas: every count taken a second time, by hand or with python-chess."""

from __future__ import annotations

import json

import chess
import pytest

from flightless.cases.build import case_of
from flightless.errors import PositionError
from flightless.patterns.atlas import atlas_document, atlas_of, item_of, mated_board

LADDER = "R5k1/1R6/8/8/8/8/8/6K1 b - - 0 1"
LADDER_SLID = "3R2k1/R7/8/8/8/8/8/6K1 b - - 0 1"
LADDER_BLACK = "r7/1r6/8/8/K7/8/8/6k1 w - - 0 1"
SMOTHERED = "6rk/5Npp/8/8/8/8/6PP/6K1 b - - 0 1"


def test_entries_by_frequency_with_names_and_examples() -> None:
    fens = [SMOTHERED, LADDER_BLACK, LADDER, LADDER_SLID, LADDER]
    items = [item_of(case_of(chess.Board(f)), label=str(i)) for i, f in enumerate(fens)]
    atlas = atlas_of(items)
    assert atlas.total == 5
    first, second = atlas.entries
    assert first.count == 4
    assert first.name == "two-rook ladder"
    assert first.skeleton == first.example == LADDER
    assert first.labels == ("1", "2", "3", "4")
    assert second.names == (("smothered", 1),)
    assert {share.what: share.count for share in atlas.names} == {
        "two-rook ladder": 4,
        "smothered": 1,
    }
    assert atlas.unnamed.count == 0


def test_shares() -> None:
    items = [item_of(case_of(chess.Board(f))) for f in (LADDER, LADDER_BLACK, SMOTHERED)]
    atlas = atlas_of(items)

    def counts(group: str) -> dict[str, int]:
        return {share.what: share.count for share in getattr(atlas, group)}

    assert counts("checks") == {
        "far along the rank": 1,
        "far along the file": 1,
        "knight": 1,
    }
    assert counts("places") == {"back rank": 1, "edge": 1, "corner": 1}
    assert counts("tandems") == {"rook": 2, "knight": 1}
    assert counts("own_men") == {"0": 2, "3": 1}
    assert counts("own_kinds") == {"pawn": 1, "rook": 1}
    assert counts("purity") == {"model": 3}
    assert atlas.double.count == 0
    assert atlas.discovered.of == 0, "no last move is known"
    assert [share.what for share in atlas.in_common] == ["model"]
    assert atlas.natures == ()


def test_last_moves_and_natures_where_they_are_known() -> None:
    board = chess.Board("6rk/6p1/8/8/8/8/8/K5NR w - - 0 1")
    board.push_san("Nf3#")
    items = [
        item_of(case_of(board), natures=["discovered check", "mate"]),
        item_of(case_of(chess.Board(LADDER)), natures=["sacrifice", "mate"]),
        item_of(case_of(chess.Board(SMOTHERED))),
    ]
    atlas = atlas_of(items)
    assert (atlas.discovered.count, atlas.discovered.of) == (1, 1)
    assert {s.what: (s.count, s.of) for s in atlas.natures} == {
        "mate": (2, 2),
        "sacrifice": (1, 2),
        "discovered check": (1, 2),
    }


def test_a_record_leads_to_its_mate() -> None:
    record = {
        "fen": "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1",
        "line": ["Re8+", "Rxe8", "Rxe8#"],
    }
    board = mated_board(record)
    assert board.is_checkmate()
    assert len(board.move_stack) == 3
    assert mated_board({"fen": LADDER}).fen() == LADDER


@pytest.mark.parametrize(
    "record",
    [
        {},
        {"fen": 3},
        {"fen": LADDER, "line": "Rxe8"},
        {"fen": LADDER, "line": ["Qh8"]},
        {"fen": "nonsense"},
        {"fen": chess.STARTING_FEN, "line": ["e4"]},
    ],
)
def test_records_without_a_mate_are_refused(record: dict[str, object]) -> None:
    with pytest.raises(PositionError):
        mated_board(record)


def test_the_document_is_json() -> None:
    items = [item_of(case_of(chess.Board(f))) for f in (LADDER, SMOTHERED)]
    document = atlas_document(atlas_of(items), most=1)
    assert json.loads(json.dumps(document)) == document
    assert document["skeletons"] == 2
    assert len(document["entries"]) == 1
    assert len(document["entries"][0]["hash"]) == 16


def test_an_empty_atlas() -> None:
    atlas = atlas_of([])
    assert atlas.total == 0
    assert atlas.entries == atlas.in_common == ()
    assert atlas.unnamed.part == 0
