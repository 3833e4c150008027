"""All skeletons against a brute force over every set of men, and what follows from them."""

from __future__ import annotations

import random

import cases_referee as referee
import chess
import pytest

from flightless.cases.build import case_of
from flightless.cases.case import Case


def check(board: chess.Board) -> Case:
    case = case_of(board)
    assert sorted(s.men for s in case.skeletons) == referee.skeletons(board), board.fen()
    assert case.complete
    for skeleton in case.skeletons:
        alone = chess.Board(skeleton.fen)
        assert referee.is_mate(alone)
        assert sorted(skeleton.men) == referee.men(alone)
    return case


def test_strewn_positions() -> None:
    rng = random.Random(4)
    several = 0
    for _ in range(250):
        several += len(check(referee.strewn_mate(rng, rng.randint(4, 9))).skeletons) > 1
    assert several > 40


def test_mates_of_random_games_with_few_men() -> None:
    boards = [b for b in referee.random_mates() if len(referee.men(b)) <= 11]
    assert len(boards) >= 20
    for board in boards[:40]:
        check(board)


def test_en_passant_mates() -> None:
    for fen in referee.EN_PASSANT_MATES:
        check(chess.Board(fen))


NASTY = {
    # The bishop a1 pins the rook d4, and the rook shuts the bishop's own check: neither may be
    # taken away alone, though both may go together.
    "mutual hold": ("R6k/7p/7P/8/3r4/8/8/B5K1 b - - 0 1", ["a8 h6 h7", "a1 a8 d4 h6 h7"]),
    # The rook f8 must stay in his king's way, so the pawn must stay before the mating king.
    "shield": ("5rkr/4N1pp/8/6N1/8/8/5P2/5K2 b - - 0 1", ["e7 f2 f8 g5 g7 h8"]),
    # Either checker alone could be answered: g8-g7 or, with the queen there, e8xf7.
    "double check": ("4q1rk/5N1p/8/8/8/8/1B6/5K2 b - - 0 1", ["b2 f7 g8 h7"]),
    # The pawn e7 shuts the rook's way to e8 and is needed; no skeleton has the rook, so none
    # has the pawn.
    "shut line": ("R5k1/4pppp/8/4r3/8/8/8/6K1 b - - 0 1", ["a8 f7 g7 h7"]),
}


@pytest.mark.parametrize("name", NASTY)
def test_nasty(name: str) -> None:
    fen, wanted = NASTY[name]
    case = check(chess.Board(fen))
    assert [" ".join(sorted(map(chess.square_name, s.men))) for s in case.skeletons] == wanted


def test_the_man_who_shields_the_mating_king() -> None:
    case = case_of(chess.Board(NASTY["shield"][0]))
    assert case.shields_own_king == (chess.F2,)
    assert chess.F2 not in case.needed
    assert case.takes_part[chess.F2] == "all"


def test_a_search_that_gives_up_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    board = chess.Board(NASTY["mutual hold"][0])
    monkeypatch.setattr("flightless.cases.skeletons.STEPS", 3)
    case = case_of(board)
    assert not case.complete
    assert set(case.skeleton.men) in [set(s) for s in referee.skeletons(board)]


def test_order_and_parts() -> None:
    for board in referee.random_mates()[:150]:
        case = case_of(board)
        needed = set(case.needed)
        keys = [(len(s.men), -len(needed & set(s.men)), s.men) for s in case.skeletons]
        assert keys == sorted(keys)
        assert len(set(keys)) == len(keys)
        for man, part in case.takes_part.items():
            count = sum(man in s.men for s in case.skeletons)
            assert part == ("all" if count == len(keys) else "some" if count else "none")
        why = referee.reasons(board)
        alone = any(
            case.mating_king in men and not men & set(s.men)
            for s in case.skeletons
            for men in why.values()
        )
        assert case.king_takes_part == alone
