"""Legal moves, made moves, checks and mates of the core, with python-chess as referee.

The referee is python-chess's `legal_moves`, `push`, `is_check`, `is_checkmate` and
`is_stalemate` on thousands of positions, most of them by chance.
"""

from __future__ import annotations

import random

import chess
import pytest
from hypothesis import given, settings

from flightless.core import boards
from flightless.core.state import decode, encode, fresh_key, move_from_chess, move_to_chess
from strategies import mated, mateds, playout, playouts, scatter, scatters

careful = settings(deadline=None, derandomize=True, max_examples=150)


def standing(board: chess.Board) -> str:
    if board.is_checkmate():
        return "mated"
    if board.is_stalemate():
        return "stalemated"
    return "in check" if board.is_check() else "free"


def unique(moves: list[chess.Move]) -> set[chess.Move]:
    assert len(moves) == len(set(moves)), "a move was generated twice"
    return set(moves)


def referee(board: chess.Board) -> None:
    """Compare everything that the core says of a position with python-chess."""
    legal = list(board.legal_moves)
    where = board.fen()
    assert unique(boards.legal_moves(board)) == set(legal), where
    assert boards.standing(board) == standing(board), where
    state = encode(board)
    checks, mates = set(), set()
    for move in legal:
        board.push(move)
        if board.is_check():
            checks.add(move)
        if board.is_checkmate():
            mates.add(move)
        if board.king(chess.WHITE) is not None and board.king(chess.BLACK) is not None:
            made = boards.play(state, move_from_chess(move))
            assert made == encode(board), (where, move)
            assert made.key == fresh_key(made), (where, move)
        board.pop()
    if not board.was_into_check():
        assert unique(boards.checking_moves(board)) == checks, where
        assert unique(boards.mating_moves(board)) == mates, where


def test_random_playouts() -> None:
    chance = random.Random(20)
    for _ in range(1200):
        referee(playout(chance, 1, 140))


def test_random_scatters() -> None:
    chance = random.Random(21)
    for _ in range(3500):
        referee(scatter(chance))


def test_positions_as_what_if_leaves_them() -> None:
    """Also those where the side not to move is in check or the kings touch."""
    chance = random.Random(22)
    for _ in range(2500):
        referee(scatter(chance, orderly=False))


def test_random_mates() -> None:
    chance = random.Random(23)
    for _ in range(400):
        board = mated(chance)
        assert boards.standing(board) == "mated"
        assert boards.legal_moves(board) == []


@careful
@given(playouts())
def test_playouts(board: chess.Board) -> None:
    referee(board)


@careful
@given(scatters(0, 12))
def test_sparse_positions(board: chess.Board) -> None:
    referee(board)


@careful
@given(mateds())
def test_a_mate_is_a_mate_in_a_mirror(board: chess.Board) -> None:
    assert boards.standing(board) == boards.standing(board.mirror()) == "mated"


@careful
@given(scatters(orderly=False))
def test_state_and_board_agree(board: chess.Board) -> None:
    state = encode(board)
    again = decode(state)
    assert encode(again) == state
    assert again.piece_map() == board.piece_map()
    assert again.turn == board.turn
    assert again.clean_castling_rights() == board.clean_castling_rights()
    if board.has_pseudo_legal_en_passant():
        assert again.ep_square == board.ep_square
    else:
        assert again.ep_square is None


@careful
@given(playouts(2, 60))
def test_transpositions_have_one_key(board: chess.Board) -> None:
    """Equal states have equal keys whatever the way: the key is the one from scratch."""
    state = encode(chess.Board())
    for move in board.move_stack:
        state = boards.play(state, move_from_chess(move))
    assert state == encode(board)
    assert decode(state).epd(en_passant="legal") == board.epd(en_passant="legal")


def test_keys_tell_positions_apart() -> None:
    chance = random.Random(24)
    seen: dict[int, str] = {}
    for _ in range(3000):
        board = scatter(chance)
        for position in (board, board.mirror()):
            key = int(encode(position).key)
            name = decode(encode(position)).epd(en_passant="fen")
            assert seen.setdefault(key, name) == name


# Each line: a move of our own making and what kind of check it gives, if any.
CHECKS = {
    "direct": ("7k/8/8/8/8/8/8/R6K w - - 0 1", "a1a8", True),
    "discovered": ("7k/8/8/8/7N/8/8/K6R w - - 0 1", "h4f5", True),
    "discovered by the king": ("7k/8/8/8/7K/8/8/7R w - - 0 1", "h4g4", True),
    "king steps along the line": ("7k/8/8/8/7K/8/8/7R w - - 0 1", "h4h5", False),
    "double": ("4k3/8/8/8/4N3/8/8/K3R3 w - - 0 1", "e4f6", True),
    "by castling": ("5k2/8/8/8/8/8/8/4K2R w K - 0 1", "e1g1", True),
    "by long castling": ("3k4/8/8/8/8/8/8/R3K3 w Q - 0 1", "e1c1", True),
    "by castling, shut off": ("5k2/5p2/8/8/8/8/8/4K2R w K - 0 1", "e1g1", False),
    "by en passant, directly": ("8/2k5/8/3pP3/8/8/8/7K w - d6 0 1", "e5d6", True),
    "by en passant, through both files": ("8/8/8/k2pP2Q/8/8/8/K7 w - d6 0 1", "e5d6", True),
    "by en passant, through the taken pawn": ("6k1/8/8/3pP3/2B5/8/8/7K w - d6 0 1", "e5d6", True),
    "by a promoted queen back down its file": ("8/4P3/8/4k3/8/8/8/7K w - - 0 1", "e7e8q", True),
    "by a promoted knight": ("8/5P1k/8/8/8/8/8/7K w - - 0 1", "f7f8n", True),
    "not by a promoted queen": ("8/5P1k/8/8/8/8/8/7K w - - 0 1", "f7f8q", False),
    "by a capturing promotion": ("3n3k/4P3/8/8/8/8/8/7K w - - 0 1", "e7d8r", True),
    "not by a man who is pinned": ("8/8/8/r2N3K/8/4k3/8/8 w - - 0 1", "d5f4", False),
    "by a pinned man who takes the pinning man": ("8/k7/8/r2R3K/8/8/8/8 w - - 0 1", "d5a5", True),
}


@pytest.mark.parametrize("name", CHECKS)
def test_kinds_of_check(name: str) -> None:
    fen, uci, gives = CHECKS[name]
    board = chess.Board(fen)
    move = chess.Move.from_uci(uci)
    assert (move in board.legal_moves and board.gives_check(move)) == gives
    assert (move in boards.checking_moves(board)) == gives
    referee(board)
    referee(board.mirror())


# Mates and near mates in which one detail decides.
DETAILS = {
    "back rank": ("R5k1/5ppp/8/8/8/8/8/6K1 b - - 0 1", "mated"),
    "back rank with luft": ("R5k1/5pp1/7p/8/8/8/8/6K1 b - - 0 1", "in check"),
    "interposition by a double step": ("8/3p4/8/8/R6k/8/6PP/6KR b - - 0 1", None),
    "the only defender is pinned": ("k7/pQ6/8/8/8/8/8/1R5K b - - 0 1", None),
    "en passant is the only answer": ("8/8/8/1k6/1pP5/8/8/K7 b - c3 0 1", None),
    "smothered": ("6rk/5Npp/8/8/8/8/8/6K1 b - - 0 1", "mated"),
    "smothered, knight can be taken": ("6rk/4rNpp/8/8/8/8/8/6K1 b - - 0 1", "in check"),
    "stalemate in the corner": ("7k/5Q2/6K1/8/8/8/8/8 b - - 0 1", "stalemated"),
    "double check, both checkers can be taken": (
        ("3rk1r1/3p1p2/5N2/8/8/8/8/4R1K1 b - - 0 1"),
        None,
    ),
}


@pytest.mark.parametrize("name", DETAILS)
def test_details_decide(name: str) -> None:
    fen, expected = DETAILS[name]
    board = chess.Board(fen)
    assert boards.standing(board) == standing(board)
    if expected is not None:
        assert standing(board) == expected
    referee(board)


def test_most_moves_fit() -> None:
    """The position with the most known legal moves, 218 (from memory: R. Petrovic, 1964)."""
    board = chess.Board("R6R/3Q4/1Q4Q1/4Q3/2Q4Q/Q4Q2/pp1Q4/kBNN1KB1 w - - 0 1")
    assert len(boards.legal_moves(board)) == board.legal_moves.count() == 218


def test_moves_there_and_back() -> None:
    for uci in ("a1h8", "h7h8q", "a2a1n", "e1g1"):
        move = chess.Move.from_uci(uci)
        assert move_to_chess(move_from_chess(move)) == move


def test_unusable_en_passant_square_makes_no_difference() -> None:
    """FEN names the square behind every pawn that moved two; the state keeps usable ones."""
    after_e4 = chess.Board("rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq e3 0 1")
    without = chess.Board("rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq - 0 1")
    assert encode(after_e4) == encode(without)
    usable = chess.Board("4k3/8/8/8/4Pp2/8/8/4K3 b - e3 0 1")
    unusable = chess.Board("4k3/8/8/8/4Pp2/8/8/4K3 b - - 0 1")
    assert encode(usable).key != encode(unusable).key


def test_castling_rights_without_king_or_rook_at_home_are_dropped() -> None:
    stale = chess.Board("4k3/8/8/8/8/8/8/4K2R w KQkq - 0 1")
    clean = chess.Board("4k3/8/8/8/8/8/8/4K2R w K - 0 1")
    assert encode(stale) == encode(clean)
