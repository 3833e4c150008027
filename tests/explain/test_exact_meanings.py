"""What `explain --json` says, checked claim by claim by plain loops over python-chess.

Nothing here uses the compiled core: each meaning is written out once more from its
definition in docs/cases.md.  The mates come from random games (seeded) that happen to end
in mate, and from the bundled classics.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import chess
import chess.pgn
import pytest

from flightless.explain import explain, explanation_document

CLASSICS = Path(__file__).parents[2] / "examples" / "harbour-street" / "classics.pgn"
KINDS = "QRBNP"


def random_mates(count: int, seed: int) -> Iterator[chess.Board]:
    """Mated positions from random playouts that take a mate in one when they see one."""
    chance = random.Random(seed)
    while count:
        board = chess.Board()
        for _ in range(chance.randint(20, 160)):
            moves = list(board.legal_moves)
            if not moves:
                break
            chance.shuffle(moves)
            mating = next((m for m in moves[:12] if gives_mate(board, m)), None)
            board.push(mating or moves[0])
        if board.is_checkmate():
            count -= 1
            yield board


def gives_mate(board: chess.Board, move: chess.Move) -> bool:
    if not board.gives_check(move):
        return False
    board.push(move)
    mate = board.is_checkmate()
    board.pop()
    return mate


def classics() -> Iterator[chess.Board]:
    with CLASSICS.open(encoding="utf-8") as stream:
        while game := chess.pgn.read_game(stream):
            board = game.end().board()
            if board.is_checkmate():
                yield board


def thinned(board: chess.Board, men: int, chance: random.Random) -> chess.Board:
    """The same mate with random men taken away, as long as it is mate, down to `men`."""
    board = board.copy(stack=False)
    while True:
        squares = list(chess.SquareSet(board.occupied & ~board.kings))
        chance.shuffle(squares)
        if len(squares) <= men:
            return board
        for square in squares:
            if is_mate(without(board, square)):
                board.remove_piece_at(square)
                break
        else:
            return board


def mates() -> list[chess.Board]:
    whole = [*random_mates(60, seed=20261125), *classics()]
    chance = random.Random(1910)
    return [*whole, *(thinned(board, chance.randint(5, 10), chance) for board in whole)]


def is_mate(board: chess.Board) -> bool:
    return board.is_checkmate() and not board.was_into_check()


def with_man(board: chess.Board, square: int, symbol: str, colour: bool) -> chess.Board:
    other = board.copy(stack=False)
    other.set_piece_at(
        square, chess.Piece.from_symbol(symbol.upper() if colour else symbol.lower())
    )
    return other


def without(board: chess.Board, square: int) -> chess.Board:
    other = board.copy(stack=False)
    other.remove_piece_at(square)
    return other


def placements(board: chess.Board, colour: bool) -> Iterator[tuple[str, int, chess.Board]]:
    for square in chess.SQUARES:
        if board.piece_at(square):
            continue
        for symbol in KINDS:
            if symbol == "P" and chess.square_rank(square) in (0, 7):
                continue
            yield symbol, square, with_man(board, square, symbol, colour)


@pytest.fixture(scope="module")
def explained() -> list[tuple[chess.Board, dict[str, Any]]]:
    return [(board, explanation_document(explain(board))) for board in mates()]


def test_the_field(explained: list[tuple[chess.Board, dict[str, Any]]]) -> None:
    for board, document in explained:
        mated = board.turn
        king = board.king(mated)
        assert king is not None
        lifted = without(board, king)
        on_board = {chess.square_name(s) for s in chess.SquareSet(chess.BB_KING_ATTACKS[king])}
        rows = document["field"]
        assert len(rows) == 8
        assert {row["square"] for row in rows if row["state"] != "off-board"} == on_board
        for row in rows:
            if row["state"] == "off-board":
                assert "square" not in row
                continue
            square = chess.parse_square(row["square"])
            guards = {chess.square_name(s) for s in lifted.attackers(not mated, square)}
            if board.color_at(square) == mated:
                assert row["state"] == "blocked"
                assert row["by"] == [row["square"]]
                assert set(row["also_guarded_by"]) == guards
            else:
                assert row["state"] == "guarded"
                assert set(row["by"]) == guards
                assert guards


def test_checkers_and_needed_men(explained: list[tuple[chess.Board, dict[str, Any]]]) -> None:
    for board, document in explained:
        assert set(document["checkers"]) == {chess.square_name(s) for s in board.checkers()}
        needed, not_needed, shields = set(), set(), set()
        for square in chess.SquareSet(board.occupied & ~board.kings):
            rest = without(board, square)
            name = chess.square_name(square)
            if not rest.is_checkmate():
                needed.add(name)
                continue
            not_needed.add(name)
            if rest.was_into_check():
                shields.add(name)
        assert set(document["needed"]) == needed
        assert set(document["not_needed"]) == not_needed
        assert set(document["shields_own_king"]) == shields


def test_substitutes(explained: list[tuple[chess.Board, dict[str, Any]]]) -> None:
    for board, document in explained:
        mating = not board.turn
        expected = set()
        for name in document["needed"]:
            square = chess.parse_square(name)
            man = board.piece_at(square)
            assert man is not None
            if man.color != mating:
                continue
            for symbol, place, other in placements(without(board, square), mating):
                itself = place == square and symbol == man.symbol().upper()
                if not itself and is_mate(other):
                    expected.add((name, symbol, chess.square_name(place)))
        got = [(s["instead_of"], s["man"], s["square"]) for s in document["substitutes"]]
        assert len(got) == len(set(got))
        assert set(got) == expected, board.fen()


def test_saviours(explained: list[tuple[chess.Board, dict[str, Any]]]) -> None:
    for board, document in explained:
        expected = {
            (symbol, chess.square_name(square))
            for symbol, square, other in placements(board, board.turn)
            if not other.is_checkmate() and not other.was_into_check()
        }
        got = [(s["man"], s["square"]) for s in document["saviours"]]
        assert len(got) == len(set(got))
        assert set(got) == expected, board.fen()


def reasons_of(board: chess.Board) -> list[tuple[bool, frozenset[int]]]:
    """For each field square whether the mating king guards it, and the men who answer for it."""
    mated = board.turn
    king = board.king(mated)
    assert king is not None
    lifted = without(board, king)
    rows = []
    for square in chess.SquareSet(chess.BB_KING_ATTACKS[king]):
        men = set(lifted.attackers(not mated, square))
        if board.color_at(square) == mated:
            men.add(square)
        mating_king = board.king(not mated)
        rows.append((mating_king in men, frozenset(men - {mating_king})))
    return rows


def holds(board: chess.Board, men: frozenset[int], rows: list[tuple[bool, frozenset[int]]]) -> bool:
    rest = board.copy(stack=False)
    for square in chess.SquareSet(board.occupied & ~board.kings):
        if square not in men:
            rest.remove_piece_at(square)
    return (
        is_mate(rest)
        and set(rest.checkers()) <= set(board.checkers())
        and all(by_king or reasons & men for by_king, reasons in rows)
    )


def test_skeletons_by_brute_force(explained: list[tuple[chess.Board, dict[str, Any]]]) -> None:
    tried = 0
    for board, document in explained:
        men = sorted(chess.SquareSet(board.occupied & ~board.kings))
        if len(men) > 11:
            continue
        tried += 1
        rows = reasons_of(board)
        good = {
            frozenset(subset)
            for size in range(len(men) + 1)
            for subset in itertools.combinations(men, size)
            if holds(board, frozenset(subset), rows)
        }
        skeletons = {s for s in good if not any(s - {man} in good for man in s)}
        given = chess.Board(document["skeleton"])
        placed = frozenset(chess.SquareSet(given.occupied & ~given.kings))
        assert placed in skeletons, board.fen()
        assert len(placed) == min(map(len, skeletons))
    assert tried >= 40


def test_the_skeleton_of_every_mate_is_mate_and_cannot_lose_a_man(
    explained: list[tuple[chess.Board, dict[str, Any]]],
) -> None:
    for board, document in explained:
        rows = reasons_of(board)
        given = chess.Board(document["skeleton"])
        men = frozenset(chess.SquareSet(given.occupied & ~given.kings))
        assert given.turn == board.turn
        assert all(given.piece_at(s) == board.piece_at(s) for s in chess.SquareSet(given.occupied))
        assert holds(board, men, rows)
        assert not any(holds(board, men - {man}, rows) for man in men)
