"""What the sentences claim is so: each is parsed and tried with python-chess alone."""

from __future__ import annotations

from pathlib import Path

import chess
import chess.pgn
import pytest
from approved_texts import all_texts
from sentence_referee import Referee

from flightless.cases.build import case_of
from flightless.patterns.recognise import catalogue, names
from flightless.words.explain import sentences
from flightless.words.extras import gather

SHARED = Path(__file__).parents[3] / "shared" / "games" / "classical.pgn"


def judged(board: chess.Board) -> Referee:
    """The referee's findings on the whole account of a mated position."""
    case = case_of(board)
    referee = Referee(board.copy(stack=False))
    for sentence in sentences(None, case, names(case), extras=gather(None, case)):
        referee.judge(sentence)
    return referee


def boards() -> list[chess.Board]:
    """The approved mates and every example of the catalogue."""
    found = [a.board for a in all_texts() if a.is_mate]
    for pattern in catalogue().patterns:
        found += [chess.Board(e.fen) for e in (pattern.model, *pattern.variations)]
    return found


def test_claims_hold() -> None:
    """No claim is wrong and none is of a form that the referee does not know."""
    for board in boards():
        referee = judged(board)
        assert referee.wrong == []
        assert referee.not_understood == []


def test_claims_hold_for_games() -> None:
    """The same for the mates of a file of historical games, where it is at hand."""
    if not SHARED.exists():
        pytest.skip("the file of classical games is not here: ../shared/games/classical.pgn")
    seen = 0
    with SHARED.open(encoding="utf-8", errors="replace") as file:
        text = file.read()
    for movetext in text.split("\n\n")[1::2]:
        if "#" not in movetext:
            continue
        game = chess.pgn.read_game(_lines(movetext))
        assert game is not None
        board = game.end().board()
        if board.is_checkmate():
            seen += 1
            referee = judged(board)
            assert referee.wrong == []
            assert referee.not_understood == []
    assert seen > 100


def _lines(text: str):  # type: ignore[no-untyped-def]
    import io

    return io.StringIO(text + "\n")


@pytest.mark.parametrize(
    "claim",
    [
        "The rook on e8 guards f8 and g7.",
        "f7, g7 and h6 are held by the king's own pawns; the rook guards f8 and h8.",
        "f7, g7 and h7 are held by the king's own knights.",
        "The bishop on e8 checks along the back rank.",
        "The pawns on f7 and h7 are not needed: the rook guards those squares too.",
        "A queen would do as well as the rook, and so would any square from a7 to d8.",
        "A bishop would do as well as the rook.",
        "With a pawn on h6 instead of h5 the king goes to h7.",
        "What would have saved him: a man who could take the rook, such as a knight on a1.",
        "f8 hangs on one guard only, the pawn on f7.",
    ],
)
def test_referee_finds_what_is_wrong(claim: str) -> None:
    """The referee is of use only if it can say no."""
    referee = Referee(chess.Board("4R1k1/5ppp/8/8/8/7P/5PP1/6K1 b - - 0 1"))
    referee.judge(claim)
    assert referee.wrong
