"""What-if pairs, mates side by side and the atlas picture, against python-chess."""

from __future__ import annotations

from xml.etree import ElementTree

import chess
import pytest

from flightless.cases.build import case_of
from flightless.cases.case import Case
from flightless.draw.atlas import AtlasEntry, atlas_svg, count_in_words
from flightless.draw.side_by_side import alike_svg, pair_svg, wrapped
from flightless.draw.whatif import Pair, luft_pair, removal_pair, saviour_pair, substitute_pair
from flightless.errors import UsageError

SVG = "{http://www.w3.org/2000/svg}"
LOLLI = "r4rk1/pb3pQp/1p3Pp1/8/8/8/2q2PPP/4R1K1 b - - 0 1"
FOOLS = "rnb1kbnr/pppp1ppp/8/4p3/6Pq/5P2/PPPPP2P/RNBQKBNR w KQkq - 1 3"


@pytest.fixture(scope="module")
def back_rank() -> Case:
    board = chess.Board("3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1")
    for san in ("Re8+", "Rxe8", "Rxe8#"):
        board.push_san(san)
    return case_of(board)


@pytest.fixture(scope="module", params=[LOLLI, FOOLS])
def case(request: pytest.FixtureRequest) -> Case:
    return case_of(chess.Board(request.param))


def _answers(pair: Pair) -> tuple[set[chess.Square], set[chess.Square]]:
    """Where the king and where others can go in the second diagram, by python-chess."""
    king = pair.after.king(pair.after.turn)
    moves = list(pair.after.legal_moves) if pair.after.is_check() else []
    return (
        {m.to_square for m in moves if m.from_square == king},
        {m.to_square for m in moves if m.from_square != king},
    )


def _differ(pair: Pair) -> set[chess.Square]:
    return {s for s in chess.SQUARES if pair.before.piece_at(s) != pair.after.piece_at(s)}


def test_removals(case: Case) -> None:
    for removal in case.removals:
        pair = removal_pair(case, removal)
        assert _differ(pair) == {removal.square} == set(pair.after_marks.changed)
        assert pair.after.is_checkmate() == removal.still_mate
        if pair.after.is_check() and not removal.exposes:
            assert _answers(pair) == (
                set(pair.after_marks.free),
                set(pair.after_marks.defended),
            )
        (gone,) = pair.after_marks.gone
        assert gone.piece == case.board.piece_at(gone.square)


def test_saviours(case: Case) -> None:
    for saviour in case.saviours[::7]:
        pair = saviour_pair(case, saviour)
        assert _differ(pair) == {saviour.square}
        assert not pair.after.is_checkmate()
        if pair.after.is_check():
            assert _answers(pair) == (
                set(pair.after_marks.free),
                set(pair.after_marks.defended),
            )


def test_substitutes_are_still_mate(case: Case) -> None:
    assert case.substitutes
    for substitute in case.substitutes:
        pair = substitute_pair(case, substitute)
        assert pair.after.is_checkmate()
        assert _differ(pair) <= {substitute.instead_of, substitute.square}
        assert not pair.after_marks.free


def test_luft(back_rank: Case) -> None:
    assert back_rank.luft
    for luft in back_rank.luft:
        pair = luft_pair(back_rank, luft)
        assert not pair.after.is_checkmate()
        assert _answers(pair)[0] == set(pair.after_marks.free)
        assert set(pair.after_marks.changed) == {luft.move.from_square, luft.move.to_square}
        assert pair.before_marks.changed == (luft.move.from_square,)


def test_a_pair_is_one_picture_with_both_captions(case: Case) -> None:
    pair = removal_pair(case, case.removals[0])
    svg = pair_svg(pair, ("Mate.", "Not <mate> any & more."), title="What if")
    root = ElementTree.fromstring(svg)
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    texts = [t.text for t in root.iter(f"{SVG}text")]
    assert "Mate." in texts
    assert "Not <mate> any & more." in texts
    men = [u for u in root.iter(f"{SVG}use") if u.get("data-man")]
    assert len(men) == len(pair.before.piece_map()) + len(pair.after.piece_map())
    said = str(root.find(f"{SVG}desc").text)  # type: ignore[union-attr]
    assert said.count("White: ") == 2


def test_alike_mates_stand_with_their_ledgers(case: Case, back_rank: Case) -> None:
    root = ElementTree.fromstring(alike_svg((case, back_rank), ("One.", "Two."), title="Alike"))
    texts = [t.text for t in root.iter(f"{SVG}text")]
    assert texts.count("guarded by") == 2
    said = str(root.find(f"{SVG}desc").text)  # type: ignore[union-attr]
    assert said.count("Ledger of the king on ") == 2


def test_atlas_picture() -> None:
    entries = [
        AtlasEntry(case_of(chess.Board(fen)).skeleton.fen, count, name)
        for fen, count, name in ((LOLLI, 1214, "Lolli"), (FOOLS, 3, ""))
    ]
    svg = atlas_svg(entries, title="Atlas", total=2500)
    texts = [t.text for t in ElementTree.fromstring(svg).iter(f"{SVG}text")]
    assert texts == ["1. Lolli", "1,214 of 2,500", "2.", "3 of 2,500"]
    assert count_in_words(1, None) == "once"
    assert count_in_words(12, None) == "12 times"
    with pytest.raises(UsageError, match="no skeletons"):
        atlas_svg([], title="Atlas")


def test_captions_are_broken_between_words() -> None:
    lines = wrapped("the queen stands before the king\nand mates", 200, 20)
    assert " ".join(lines) == "the queen stands before the king and mates"
    assert lines[-1] == "and mates"
    assert max(map(len, lines)) <= 200 / (20 * 0.46)
    assert wrapped("", 100, 20) == []
