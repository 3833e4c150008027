"""Attack sets of the core against python-chess's, and the tables they look up."""

from __future__ import annotations

import random

import chess
import numba
import numpy as np
import pytest

from flightless.core import attacks, bits, tables
from flightless.core.state import State, encode
from strategies import scatter

U = np.uint64

# The functions under test are for compiled callers only: these make them callable here.


@numba.njit
def _sliders(square, occupied):  # type: ignore[no-untyped-def]
    return attacks.rook_attacks(square, occupied), attacks.bishop_attacks(square, occupied)


@numba.njit
def _attackers(state, square, white, occupied):  # type: ignore[no-untyped-def]
    return attacks.attackers(state, square, white, occupied)


@numba.njit
def _spans(state, white):  # type: ignore[no-untyped-def]
    own = attacks.men_of(state, white)
    pawns = state.p2 & ~(state.p0 | state.p1) & own
    return (
        attacks.pawn_span(pawns, white),
        attacks.knight_span(state.p2 & state.p0 & own),
        attacks.slider_danger(
            attacks.occupied(state), state.p1 & ~state.p2 & own, state.p0 & ~state.p2 & own
        ),
    )


@numba.njit
def _held(state):  # type: ignore[no-untyped-def]
    us = state.flags & bits.ONE
    own = attacks.men_of(state, us)
    them = attacks.men_of(state, us ^ bits.ONE)
    king = attacks.king_square(state, us)
    _, _, straight, diagonal = attacks.pins(
        king, attacks.occupied(state), state.p1 & ~state.p2 & them, state.p0 & ~state.p2 & them
    )
    return attacks.checkers(state), (straight | diagonal) & own


@numba.njit
def _bits(word):  # type: ignore[no-untyped-def]
    return bits.ctz(word), bits.clz(word), bits.popcount(word), bits.rotate(word, U(8))


def test_sliding_attacks() -> None:
    chance = random.Random(30)
    for square in chess.SQUARES:
        for _ in range(60):
            occupied = chance.getrandbits(64) & (chance.getrandbits(64) | chance.getrandbits(64))
            rook, bishop = _sliders(U(square), U(occupied))
            board = chess.Board(None)
            board.occupied = occupied
            board.rooks = board.bishops = chess.BB_SQUARES[square]
            assert rook | bishop == board.attacks_mask(square)
            board.bishops = 0
            board.rooks = chess.BB_SQUARES[square]
            assert rook == board.attacks_mask(square)


def test_attackers_of_every_square() -> None:
    chance = random.Random(31)
    for _ in range(150):
        board = scatter(chance, orderly=False)
        state = encode(board)
        for square in chess.SQUARES:
            for colour in (True, False):
                found = _attackers(state, U(square), U(colour), U(board.occupied))
                assert found == board.attackers_mask(colour, square)


def test_lines_are_blocked_by_the_given_men_alone() -> None:
    """With the king lifted off, a line piece guards through him."""
    board = chess.Board("8/8/8/8/r3K2q/8/8/7k w - - 0 1")
    lifted = board.occupied & ~board.kings
    found = _attackers(encode(board), U(chess.G4), U(0), U(lifted))
    assert found == chess.BB_A4 | chess.BB_H4


def test_spans_are_the_union_of_single_attacks() -> None:
    chance = random.Random(32)
    for _ in range(300):
        board = scatter(chance, orderly=False)
        for colour in (True, False):
            expected = [0, 0, 0]
            for square, piece in board.piece_map().items():
                if piece.color == colour and piece.piece_type != chess.KING:
                    group = {chess.PAWN: 0, chess.KNIGHT: 1}.get(piece.piece_type, 2)
                    expected[group] |= board.attacks_mask(square)
            assert [int(word) for word in _spans(encode(board), U(colour))] == expected


def test_checkers_and_pins() -> None:
    chance = random.Random(33)
    for _ in range(600):
        board = scatter(chance, orderly=False)
        checkers, pinned = _held(encode(board))
        assert checkers == board.checkers_mask()
        own = board.occupied_co[board.turn] & ~board.kings
        expected = {s for s in chess.scan_forward(own) if board.is_pinned(board.turn, s)}
        assert set(chess.scan_forward(int(pinned))) == expected


@pytest.mark.parametrize("word", [1, 1 << 63, 0x8100000000000081, 12345678901234567890, 0])
def test_single_instructions(word: int) -> None:
    lowest = (word & -word).bit_length() - 1 if word else 64
    rotated = (word << 8 | word >> 56) & (1 << 64) - 1
    expected = (lowest, 64 - word.bit_length(), word.bit_count(), rotated)
    assert tuple(int(part) for part in _bits(U(word))) == expected


def test_tables() -> None:
    for a in chess.SQUARES:
        assert tables.KNIGHT[a] == chess.BB_KNIGHT_ATTACKS[a]
        assert tables.KING[a] == chess.BB_KING_ATTACKS[a]
        assert tables.PAWN[a] == chess.BB_PAWN_ATTACKS[chess.BLACK][a]
        assert tables.PAWN[64 + a] == chess.BB_PAWN_ATTACKS[chess.WHITE][a]
        for b in chess.SQUARES:
            assert tables.BETWEEN[a << 6 | b] == chess.between(a, b)
            assert tables.THROUGH[a << 6 | b] == chess.ray(a, b)


def test_zobrist_keys_differ() -> None:
    keys = [*tables.PIECE_KEYS[tables.PIECE_KEYS != 0], *tables.CASTLING_KEYS[1:]]
    keys += [*tables.EN_PASSANT_KEYS, tables.TURN_KEY]
    assert len(keys) == len(set(keys)) == 2 * 7 * 64 + 15 + 8 + 1


def test_state_has_six_words() -> None:
    assert State._fields == ("p0", "p1", "p2", "white", "flags", "key")
    assert all(isinstance(word, np.uint64) for word in encode(chess.Board()))
