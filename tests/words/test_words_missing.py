"""Positions that are not mate: each answer and each missing man is tried by python-chess."""

from __future__ import annotations

import re

import chess
import pytest
from approved_texts import Approved, account_of, all_texts

MISSING = [a for a in all_texts() if "missing" in a.fields]
KIND = "(pawn|knight|bishop|rook|queen)"
SQ = "([a-h][1-8])"


@pytest.mark.parametrize("approved", MISSING, ids=lambda a: a.path.stem)
def test_answers_are_legal(approved: Approved) -> None:
    """Where the king is said to go he can go, and so for takers and interposers."""
    board = approved.board
    king = board.king(board.turn)
    for sentence in account_of(approved).sentences:
        match = re.match(r"The king can go to (.*): nothing guards", sentence)
        if match:
            squares = {chess.parse_square(s) for s in re.findall(SQ, match[1])}
            legal = {m.to_square for m in board.legal_moves if m.from_square == king}
            assert squares <= legal, sentence
        for part in sentence.rstrip(".").split("; "):
            deed = re.match(rf"[Tt]he {KIND}(?: on {SQ})? can (take|stand)", part)
            if deed:
                targets = [chess.parse_square(s) for s in re.findall(SQ, part)]
                kind = chess.PIECE_NAMES.index(deed[1])
                assert any(
                    board.piece_type_at(m.from_square) == kind
                    and (deed[3] == "take" or m.to_square in targets)
                    for m in board.legal_moves
                ), sentence
        number = re.search(r"there (?:is|are) (\w+) answers?\.", sentence)
        if number:
            words = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight")
            assert words.index(number[1]) == board.legal_moves.count()


@pytest.mark.parametrize("approved", MISSING, ids=lambda a: a.path.stem)
def test_what_is_missing_would_mate(approved: Approved) -> None:
    """With each man who is named it is mate, and so without each who is said to be one too
    many."""
    board = approved.board
    for sentence in account_of(approved).sentences:
        added = re.match(r"(?:What is missing for mate|With an? (?!man))", sentence)
        if added and " would be mate" not in sentence.replace("it would be mate", ""):
            for kind, at in re.findall(rf"an? {KIND} on {SQ}", sentence):
                more = board.copy(stack=False)
                piece = chess.Piece(chess.PIECE_NAMES.index(kind), not board.turn)
                more.set_piece_at(chess.parse_square(at), piece)
                assert more.is_checkmate(), sentence
        blocked = re.match(rf"With a man of (?:his|the king's) own on {SQ} it would", sentence)
        if blocked:
            kinds = range(chess.PAWN, chess.KING)
            assert any(_mate_with(board, k, blocked[1], board.turn) for k in kinds), sentence
        moved = re.search(r", (1[.…]\S+) would be mate", sentence)
        if moved:
            assert _some_change_mates(board, sentence, moved[1]), sentence


def _mate_with(board: chess.Board, kind: int, at: str, colour: chess.Color) -> bool:
    more = board.copy(stack=False)
    more.set_piece_at(chess.parse_square(at), chess.Piece(kind, colour))
    return more.is_checkmate()


def _some_change_mates(board: chess.Board, sentence: str, move: str) -> bool:
    """The change before the comma, then the move."""
    san = re.sub(r"^1[.…]", "", move)
    tries = []
    on = re.match(rf"With a (?:black|white) man on {SQ}", sentence)
    off = re.match(rf"Without the {KIND}(?: on {SQ})?", sentence)
    for kind in range(chess.PAWN, chess.KING):
        after = board.copy(stack=False)
        if on:
            after.set_piece_at(chess.parse_square(on[1]), chess.Piece(kind, not board.turn))
        elif off and off[2]:
            after.remove_piece_at(chess.parse_square(off[2]))
        tries.append(after)
    for after in tries:
        if not after.is_valid() and after.was_into_check():
            continue
        try:
            after.push_san(san)
        except ValueError:
            continue
        if after.is_checkmate():
            return True
    return False
