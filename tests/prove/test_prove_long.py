"""Long mates: the search by proof numbers against the plain one, threads, memory, the suite.

The two searches share the move generator and the last three moves but neither their order nor
their stopping; each proof is replayed by the verifier with python-chess alone.
"""

from __future__ import annotations

import random
from pathlib import Path

import chess
import pytest

from flightless.certify import verify
from flightless.prove import Proof, distance_after, document, prove
from strategies import playout, scatter

SUITE = Path(__file__).parents[3] / "shared" / "mates" / "direct_mates.epd"

STEINITZ = (
    "e4 e5 Nf3 Nc6 Bc4 Bc5 c3 Nf6 d4 exd4 cxd4 Bb4+ Nc3 d5 exd5 Nxd5 O-O Be6 Bg5 Be7 Bxd5 Bxd5 "
    "Nxd5 Qxd5 Bxe7 Nxe7 Re1 f6 Qe2 Qd7 Rac1 c6 d5 cxd5 Nd4 Kf7 Ne6 Rhc8 Qg4 g6 Ng5+ Ke8 Rxe7+ "
    "Kf8 Rf7+ Kg8 Rg7+ Kh8 Rxh7+ Kg8 Rg7+ Kh8"
)
"""Steinitz - Von Bardeleben, Hastings 1895, from memory.  Von Bardeleben left after 25.Rxh7+, and
Steinitz showed the mate: 25...Kg8 26.Rg7+ Kh8 27.Qh4+ and so on to 35.Qd6."""


def _replayed(proof: Proof) -> Proof:
    checked = verify(document(proof))
    assert checked.ok, (proof.fen, checked.sentences)
    return proof


def _plain(board: chess.Board, within: int) -> int | None:
    """The length by the plain full-width search alone (negative where the mover is mated)."""
    from flightless.prove.engine import ATTACKS, DEFENDS, Engine, state_of

    engine = Engine(within, bits=16)
    state = state_of(board)
    for moves in range(1, within + 1):
        for side, sign in ((ATTACKS, 1), (DEFENDS, -1)):
            answer = engine.plain(state, moves, side)
            if bool(answer) == (sign > 0):
                return sign * moves
    return None


def test_both_searches_agree_on_positions_by_chance() -> None:
    chance = random.Random(11)
    lengths: list[int | None] = []
    while len(lengths) < 80:
        board = playout(chance) if len(lengths) % 4 == 3 else scatter(chance, 2, 6)
        if not any(board.legal_moves):
            continue
        expected = _plain(board, 4)
        proof = _replayed(prove(board, 4))
        assert proof.moves == expected, board.fen()
        assert proof.shortest == (expected is not None)
        lengths.append(expected)
    assert {3, 4} <= {abs(length or 0) for length in lengths}
    assert any(length is not None and length < -1 for length in lengths)


def test_a_stalemate_is_no_mate_however_far_one_looks() -> None:
    # FIDE Laws 5.2.1: 1.Qf7 stalemates at once, with five moves left over.
    board = chess.Board("7k/8/8/8/8/8/Q6K/8 w - - 0 1")
    stalemates = chess.Move.from_uci("a2f7")
    after = board.copy()
    after.push(stalemates)
    assert after.is_stalemate()
    assert distance_after(board, stalemates, 8) is None
    proof = _replayed(prove(board, 7))
    assert proof.keys_complete
    assert stalemates not in proof.keys


def test_king_and_queen_need_ten_moves_at_most() -> None:
    """The longest mate with king and queen is ten moves (endgame books; from memory)."""
    proof = _replayed(prove(chess.Board("7k/8/8/8/8/8/Q6K/8 w - - 0 1"), 10))
    assert proof.moves is not None
    assert proof.moves <= 10


def test_steinitz_announced_mate() -> None:
    """Hastings 1895, after 25...Kg8 26.Rg7+ Kh8: mate in nine, by the moves that he showed."""
    proof = _replayed(prove(_hastings(), within=10, budget=3_000_000))
    assert (proof.verdict, proof.moves) == ("mate", 9)
    assert " ".join(document(proof)["line"]) == (
        "Qh4+ Kxg7 Qh7+ Kf8 Qh8+ Ke7 Qg7+ Ke8 Qg8+ Ke7 Qf7+ Kd8 Qf8+ Qe8 Nf7+ Kd7 Qd6#"
    )


def _hastings() -> chess.Board:
    board = chess.Board()
    for san in STEINITZ.split():
        board.push_san(san)
    return board


def test_philidors_legacy() -> None:
    """The smothered mate of Lucena's book, Salamanca 1497 (position type from memory)."""
    proof = _replayed(prove(chess.Board("5r1k/6pp/7N/8/2Q5/8/8/6K1 w - - 0 1")))
    assert (proof.moves, document(proof)["line"]) == (2, ["Qg8+", "Rxg8", "Nf7#"])


def test_two_threads_give_the_same_verdict() -> None:
    for fen, within in (
        ("n1rb4/1p3p1p/1p6/1R5K/8/p3p1PN/1PP1R3/N6k w - - 0 1", 7),
        ("6k1/5ppp/8/8/8/8/8/4K3 w - - 0 1", 5),
        ("8/8/8/8/8/2k5/1q6/K7 w - - 0 1", 2),
    ):
        board = chess.Board(fen)
        if not any(board.legal_moves):
            continue
        one, two = prove(board, within), prove(board, within, threads=2)
        for field in ("verdict", "moves", "shortest", "keys"):
            assert getattr(one, field) == getattr(two, field)
        if two.moves:
            _replayed(two)


def test_one_thread_is_deterministic_for_long_mates() -> None:
    board = chess.Board("8/2B5/8/6r1/7p/3R4/4p1p1/4k1K1 w - - 0 1")
    proofs = [prove(board, 9, budget=400_000) for _ in range(2)]
    assert document(proofs[0]) == document(proofs[1])
    assert list(proofs[0].tree) == list(proofs[1].tree)


def test_a_mate_may_be_found_before_shorter_ones_are_refuted() -> None:
    proof = _replayed(prove(_hastings(), within=12, budget=2_500_000))
    assert proof.verdict == "mate"
    assert not proof.shortest
    assert proof.stopped_by == "nodes"
    assert "keys" in proof.left_open
    assert proof.searched < (proof.moves or 0) - 1


def test_little_memory_changes_no_verdict() -> None:
    board = chess.Board("n1rb4/1p3p1p/1p6/1R5K/8/p3p1PN/1PP1R3/N6k w - - 0 1")
    small = prove(board, 5, memory=1)
    assert (small.moves, small.keys) == (5, prove(board, 5).keys)


def test_an_interrupt_ends_the_search_at_once() -> None:
    def progress(_moves: int, _nodes: int) -> None:
        raise KeyboardInterrupt

    for threads in (1, 2):
        with pytest.raises(KeyboardInterrupt):
            prove(chess.Board(), 9, budget=10**12, progress=progress, threads=threads)


def test_lengths_from_six_to_ten_are_those_of_the_suite() -> None:
    """A sample that is found quickly; none may be shorter than the suite has it."""
    if not SUITE.is_file():
        pytest.skip("the suite of direct mates is not there (../shared/mates/direct_mates.epd)")
    lines = SUITE.read_text(encoding="utf-8").splitlines()
    positions = [line.rstrip(";").split(" dm ") for line in lines]
    sample = [(fen, int(dm)) for fen, dm in positions if 6 <= int(dm) <= 10][::220]
    found = 0
    for fen, moves in sample:
        proof = prove(chess.Board(f"{fen} 0 1"), 10, budget=2_000_000)
        if proof.moves is None:
            assert proof.searched < moves
            continue
        _replayed(proof)
        assert proof.moves >= moves, fen
        assert proof.moves == moves or not proof.shortest, fen
        # Threats and duals are no reason to go on for long when the budget is spent.
        assert proof.shortest or proof.nodes < 3_000_000, fen
        found += proof.moves == moves
    assert found >= len(sample) // 2
