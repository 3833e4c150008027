"""The prover against exhaustive search with python-chess, on thousands of positions by chance.

The search here is the plainest there is: every move, every reply, `is_checkmate()`.  Every
proof is also replayed by the verifier, which shares no code with the prover.
"""

from __future__ import annotations

import random

import chess

from flightless.certify import verify
from flightless.prove import document, mate_in_one_keys, prove, shortest_mate
from strategies import playout, scatter


def _mates(board: chess.Board) -> set[chess.Move]:
    found = set()
    for move in list(board.legal_moves):
        board.push(move)
        if board.is_checkmate():
            found.add(move)
        board.pop()
    return found


def _keys(board: chess.Board, moves: int) -> set[chess.Move]:
    """Every first move that mates within `moves`, 1 or 2."""
    if moves == 1:
        return _mates(board)
    found = set()
    for move in list(board.legal_moves):
        board.push(move)
        if board.is_checkmate() or _mated(board, moves - 1):
            found.add(move)
        board.pop()
    return found


def _mated(board: chess.Board, moves: int) -> bool:
    """Whether there are replies, and mate within `moves` after each."""
    replies = list(board.legal_moves)
    for reply in replies:
        board.push(reply)
        caught = bool(_keys(board, moves))
        board.pop()
        if not caught:
            return False
    return bool(replies)


def _expected(board: chess.Board, within: int) -> tuple[str, int | None, set[chess.Move]]:
    for moves in range(1, within + 1):
        keys = _keys(board, moves)
        if keys:
            return "mate", moves, keys
        if _mated(board, moves):
            return "mated", -moves, set()
    return "no mate", None, set()


def _same(board: chess.Board, within: int) -> str:
    expected = _expected(board, within)
    proof = prove(board, within)
    assert (proof.verdict, proof.moves, set(proof.keys)) == expected, board.fen()
    assert len(proof.keys) == len(set(proof.keys))
    checked = verify(document(proof))
    assert checked.ok, (board.fen(), checked.sentences)
    assert not checked.unchecked
    return proof.verdict


def _positions(seed: int, number: int, most_men: int) -> list[chess.Board]:
    """Positions in which a game can go on, sparse ones and some from random games."""
    chance = random.Random(seed)
    found: list[chess.Board] = []
    while len(found) < number:
        board = playout(chance) if len(found) % 8 == 7 else scatter(chance, 2, most_men)
        if any(board.legal_moves):
            found.append(board)
    return found


def test_one_move_against_exhaustive_search() -> None:
    verdicts = [_same(board, 1) for board in _positions(1, 2500, 14)]
    assert min(map(verdicts.count, ("mate", "mated", "no mate"))) >= 5


def test_two_moves_against_exhaustive_search() -> None:
    verdicts = [_same(board, 2) for board in _positions(2, 300, 6)]
    assert min(map(verdicts.count, ("mate", "mated", "no mate"))) >= 3


def test_the_quick_look_agrees_with_exhaustive_search() -> None:
    for board in _positions(3, 200, 6):
        expected = next((n for n in (1, 2) if _keys(board, n)), None)
        find = shortest_mate(board, 2, 2)
        assert find.moves == expected
        assert set(find.keys) == (_keys(board, expected) if expected else set())


def test_mate_in_one_keys_are_all_mating_moves() -> None:
    for board in _positions(4, 500, 14):
        assert set(mate_in_one_keys(board)) == _mates(board)
