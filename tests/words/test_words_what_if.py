"""Sentences on single changes: each is tried by making the change with python-chess."""

from __future__ import annotations

import re

import chess
import pytest

from flightless.cases.breaks import breaks_of
from flightless.cases.build import case_of
from flightless.cases.variations import variations_of
from flightless.patterns.recognise import catalogue
from flightless.words.what_if import (
    break_sentence,
    break_sentences,
    variation_sentences,
)

KIND = "(pawn|knight|bishop|rook|queen)"
SQ = "([a-h][1-8])"
MODELS = [chess.Board(p.model.fen) for p in catalogue().patterns]


def changed(board: chess.Board, sentence: str) -> chess.Board:
    """The board with the change that the sentence names."""
    after = board.copy(stack=False)
    match = re.match(rf"With(?:out)? the {KIND} on {SQ}(?: instead of {SQ})?", sentence)
    assert match, sentence
    kind, at, instead = match.groups()
    square = chess.parse_square(instead or at)
    piece = after.remove_piece_at(square)
    assert piece is not None
    assert chess.piece_name(piece.piece_type) == kind
    if instead:
        assert after.piece_at(chess.parse_square(at)) is None
        after.set_piece_at(chess.parse_square(at), piece)
    return after


@pytest.mark.parametrize("board", MODELS, ids=lambda b: b.board_fen())
def test_breaks_do_as_told(board: chess.Board) -> None:
    """After each change it is no mate, and what is said to happen then is legal."""
    case = case_of(board)
    for one in breaks_of(case):
        sentence = break_sentence(case, one)
        after = changed(board, sentence)
        assert not after.is_checkmate()
        if sentence.endswith("there is no check."):
            assert not after.is_check()
            continue
        king = re.search(rf"the king (?:goes to|takes on) {SQ}\.", sentence)
        other = re.search(
            rf"the {KIND}(?:, no longer pinned,)? (?:takes on|can stand on) {SQ}\.", sentence
        )
        assert king or other, sentence
        kind = chess.KING if king else chess.PIECE_NAMES.index(other[1])  # type: ignore[index]
        target = chess.parse_square(king[1] if king else other[2])  # type: ignore[index]
        assert any(
            m.to_square == target and after.piece_type_at(m.from_square) == kind
            for m in after.legal_moves
        ), sentence


@pytest.mark.parametrize("board", MODELS, ids=lambda b: b.board_fen())
def test_chosen_breaks_and_variations_are_not_repeated(board: chess.Board) -> None:
    case = case_of(board)
    for told in (
        break_sentences(case, breaks_of(case)),
        variation_sentences(case, variations_of(case)),
    ):
        assert len(set(told)) == len(told)
        assert all(len(sentence.split()) <= 35 for sentence in told)


def test_blocker_by_another_man() -> None:
    """A knight on g8 would do as well as the rook: the smothered king does not mind."""
    board = chess.Board("6rk/5Npp/8/8/8/8/6PP/6K1 b - - 0 1")
    case = case_of(board)
    assert "On g8 a knight of the king's own would do as well as the rook." in (
        variation_sentences(case, variations_of(case))
    )
    knight = board.copy()
    knight.set_piece_at(chess.G8, chess.Piece(chess.KNIGHT, chess.BLACK))
    assert knight.is_checkmate()
