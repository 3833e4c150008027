"""The general description and the JSON documents, on positions whose facts are read by eye."""

from __future__ import annotations

import io
import json
from pathlib import Path

import chess
import chess.pgn
import pytest

from flightless.cases.build import case_of
from flightless.patterns.describe import describe
from flightless.patterns.documents import pattern_documents
from flightless.patterns.recognise import names

SUPPORTED = "next to the king and supported"


@pytest.mark.parametrize(
    ("fen", "tandem", "check", "place", "files_in_the_way", "purity"),
    [
        # one rook, three pawns in the way; the white pawns and king idle
        (
            "3R2k1/5ppp/8/8/8/8/5PPP/6K1 b - - 0 1",
            "rook",
            "far along the rank",
            "back rank",
            "fgh",
            "model",
        ),
        # the knight supports and guards: h7, g7 and g8 have one reason each
        (
            "7k/7R/5N2/8/8/8/6PP/6K1 b - - 0 1",
            "rook knight",
            SUPPORTED,
            "corner",
            "",
            "model",
        ),
        ("6rk/5Npp/8/8/8/8/6PP/6K1 b - - 0 1", "knight", "knight", "corner", "ggh", "model"),
        # a bishop takes no part: pure, not model
        ("6rk/5Npp/8/8/8/8/6PP/2B3K1 b - - 0 1", "knight", "knight", "corner", "ggh", "pure"),
        # d7 is guarded by queen and king: neither
        ("4k3/4Q3/4K3/8/8/8/8/8 b - - 0 1", "queen king", SUPPORTED, "back rank", "", "neither"),
        ("r7/1r6/8/8/K7/8/8/6k1 w - - 0 1", "rook", "far along the file", "edge", "", "model"),
        (
            "8/4p3/4kp2/3Q4/2P5/8/8/4K3 b - - 0 1",
            "queen pawn",
            SUPPORTED,
            "centre",
            "ef",
            "model",
        ),
    ],
)
def test_description(
    fen: str, tandem: str, check: str, place: str, files_in_the_way: str, purity: str
) -> None:
    found = describe(case_of(chess.Board(fen)))
    assert " ".join(found.tandem_words) == tandem
    assert " ".join(found.check) == check
    assert found.place == place
    files = [chess.square_name(man.square)[0] for man in found.in_the_way]
    assert sorted(files) == list(files_in_the_way)
    assert found.purity == purity


def test_discovered_and_double_checks_are_said() -> None:
    board = chess.Board("6rk/6p1/8/8/7N/8/8/K6R w - - 0 1")
    board.push_san("Ng6#")
    found = describe(case_of(board))
    assert found.check == ("far along the file", "knight", "discovered", "double")
    board = chess.Board("6rk/6p1/8/8/8/8/8/K5NR w - - 0 1")
    board.push_san("Nf3#")
    assert describe(case_of(board)).check == ("far along the file", "discovered")


def test_documents_are_json_and_word_for_word() -> None:
    board = chess.Board("5Rk1/5ppp/8/8/8/B7/6PP/6K1 b - - 0 1")
    document = pattern_documents(case_of(board))
    assert json.loads(json.dumps(document)) == document
    first = document["patterns"][0]
    assert first["name"] == "Mayet"
    assert first["shown"] == (
        "rook next to the king on his edge, held by a distant bishop, known as Mayet's mate"
    )
    assert first["men"] == {"checker": ["f8"], "supporter": ["a3"]}
    assert document["tandem"] == ["rook", "bishop"]
    assert document["description"]["own_men_in_the_way"]["squares"] == 2


def test_figures_on_classical_games() -> None:
    """Sanity on real mates: common names are common, and no mate breaks anything."""
    path = Path(__file__).parents[3] / "shared" / "games" / "classical.pgn"
    if not path.exists():
        pytest.skip(f"{path} is not on this machine")
    counts: dict[str, int] = {}
    mates = 0
    with path.open(encoding="utf-8", errors="replace") as text:
        block: list[str] = []
        for line in text:
            block.append(line)
            if "#" in line and not line.startswith("["):
                game = chess.pgn.read_game(io.StringIO("".join(block)))
                assert game is not None
                board = game.end().board()
                if board.is_checkmate():
                    mates += 1
                    for name in names(case_of(board)):
                        counts[name.name] = counts.get(name.name, 0) + 1
            if line.startswith("[Event "):
                block = [line]
    assert mates == 262
    assert counts["supported queen beside the king"] >= 40
    assert counts["corridor"] >= counts["back rank"] >= 20
    assert len(counts) >= 28
