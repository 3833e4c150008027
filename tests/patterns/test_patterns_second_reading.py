"""The recogniser against a second, naive reading of the definitions, on thousands of mates."""

from __future__ import annotations

import random
from pathlib import Path

import chess
from second_reading import SENTENCES, second_names

from flightless.cases.build import case_of
from flightless.patterns.recognise import catalogue, names

KINDS = (chess.PAWN, chess.KNIGHT, chess.BISHOP, chess.ROOK, chess.QUEEN)
TURNS = (
    chess.flip_vertical,
    chess.flip_horizontal,
    chess.flip_diagonal,
    chess.flip_anti_diagonal,
)


def known_mates() -> list[chess.Board]:
    """Mates of the catalogue and of literature.txt."""
    fens = [
        e.fen
        for p in catalogue().patterns
        for e in (p.model, *p.variations, *p.near_misses)
        if chess.Board(e.fen).is_checkmate()
    ]
    text = Path(__file__).with_name("literature.txt").read_text(encoding="utf-8")
    fens += [
        line.split("|")[1].strip()
        for line in text.splitlines()
        if not line.startswith("#") and line.count("/") >= 7
    ]
    return [chess.Board(fen) for fen in fens]


def disturbed(board: chess.Board, chance: random.Random) -> chess.Board:
    """The position turned and with a few men added, taken away or changed near the king."""
    board = board.copy(stack=False)
    board.castling_rights, board.ep_square = 0, None
    if chance.random() < 0.5:
        board = board.transform(chance.choice(TURNS))
    king = board.king(board.turn)
    assert king is not None
    near = [s for s in chess.SQUARES if 1 <= chess.square_distance(s, king) <= 2]
    for _ in range(chance.randint(0, 4)):
        square = chance.choice(near) if chance.random() < 0.6 else chance.choice(chess.SQUARES)
        if board.piece_type_at(square) == chess.KING:
            continue
        if chance.random() < 0.3:
            board.remove_piece_at(square)
        else:
            board.set_piece_at(square, chess.Piece(chance.choice(KINDS), chance.random() < 0.5))
    return board


def test_both_readings_know_the_same_names() -> None:
    assert set(SENTENCES) == {pattern.name for pattern in catalogue().patterns}


def test_both_readings_agree_on_known_and_disturbed_mates() -> None:
    chance = random.Random(20)
    boards = known_mates()
    tried = 0
    given: dict[str, int] = {}
    while tried < 1000:
        board = boards[tried] if tried < len(boards) else disturbed(chance.choice(boards), chance)
        if not (board.is_check() and board.is_checkmate() and board.is_valid()):
            continue
        tried += 1
        case = case_of(board)
        found = {name.name for name in names(case)}
        assert found == second_names(case), board.fen()
        for name in found:
            given[name] = given.get(name, 0) + 1
    assert set(given) == set(SENTENCES), "every name was put to the test"
