"""The accounts that were read by eye come out word for word, and there are enough of them."""

from __future__ import annotations

import chess
import pytest
from approved_texts import Approved, account_of, all_texts

TEXTS = all_texts()


@pytest.mark.parametrize("approved", all_texts(None), ids=lambda a: a.path.stem)
def test_account_is_as_approved(approved: Approved) -> None:
    """A difference is to be read, and the file written anew if the new text is better."""
    assert account_of(approved).text == approved.text


def test_enough_and_varied() -> None:
    """At least forty, of both colours, on every edge, in the centre, and of every way to check."""
    assert len(TEXTS) >= 40
    mates = [a.board for a in TEXTS if a.is_mate]
    assert {b.turn for b in mates} == {chess.WHITE, chess.BLACK}
    kings = [king for b in mates if (king := b.king(b.turn)) is not None]
    assert {chess.square_file(k) for k in kings} >= {0, 1, 2, 4, 5, 6, 7}
    assert any(k in chess.SquareSet(chess.BB_CENTER) for k in kings)
    checking = {b.piece_type_at(c) for b in mates for c in b.checkers()}
    assert checking == {chess.PAWN, chess.KNIGHT, chess.BISHOP, chess.ROOK, chess.QUEEN}
    assert any(len(b.checkers()) == 2 for b in mates)


def test_every_text_has_a_source() -> None:
    """Historical positions name their source; the others say that they are ours."""
    assert all(a.fields.get("source") for a in TEXTS)
