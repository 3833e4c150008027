"""Grades: the library's worked example, the formula in the paper, simulated pupils."""

from __future__ import annotations

import math
import random

import chess
import pytest

from flightless.exercises.calibrating import auc
from flightless.exercises.difficulty import LEVELS
from flightless.exercises.grade import (
    Answered,
    Calibration,
    Features,
    features_of,
    name_of,
    prior_grade,
)
from flightless.exercises.kinds.find_mate import FindMate
from flightless.exercises.material import Material, material_of
from flightless.exercises.rarity import historical_shares, shares_of
from flightless.exercises.simulated import simulate


def _find(fen: str) -> FindMate:
    material = material_of(chess.Board(fen))
    assert isinstance(material, Material)
    made = FindMate.generate(material, random.Random(1))
    assert isinstance(made, FindMate)
    return made


def test_the_library_gives_its_published_example() -> None:
    # README of the openskill project, "Ratings" (two against two, no drift: tau 0).
    from openskill.models import BradleyTerryFull, PlackettLuce

    for model in (PlackettLuce(tau=0.0), BradleyTerryFull(tau=0.0)):
        first = [model.rating(mu=25, sigma=25 / 3), model.rating(mu=32.444, sigma=5.123)]
        second = [model.rating(mu=43.381, sigma=2.421), model.rating(mu=25.188, sigma=6.211)]
        [[x1, x2], [y1, y2]] = model.rate([first, second])
        got = [(r.mu, r.sigma) for r in (x1, x2, y1, y2)]
        assert got == [
            pytest.approx((28.669648436582808, 8.071520788025197)),
            pytest.approx((33.83086971107981, 5.062772998705765)),
            pytest.approx((43.071274808241974, 2.4166900452721256)),
            pytest.approx((23.149503312339064, 6.1378606973362135)),
        ]


def test_one_answer_moves_both_as_the_paper_says() -> None:
    # Weng and Lin, JMLR 12 (2011), algorithm 1 (from memory): mu += sigma^2/c * (s - p), no drift
    # but for tau, which is added to the variance beforehand.
    known = Calibration().after([Answered("Ines", "x", True)], {"x": 1.0})
    vp, ve = 1.2**2 + 0.02**2, 0.7**2 + 0.02**2
    c = math.sqrt(vp + ve + 1.0)
    p = 1 / (1 + math.exp((1.0 - 0.0) / c))
    assert known.pupil("Ines").value == pytest.approx(vp / c * (1 - p), rel=1e-6)
    assert known.exercise("x").value == pytest.approx(1.0 - ve / c * (1 - p), rel=1e-6)


def test_wrong_late_and_in_time() -> None:
    def value(answer: Answered) -> float:
        return Calibration().after([answer]).pupil("Ines").value

    wrong = value(Answered("Ines", "x", False, 5, 60))
    late = value(Answered("Ines", "x", True, 90, 60))
    in_time = value(Answered("Ines", "x", True, 5, 60))
    assert wrong < late < in_time


def test_grades_are_words_and_grow_with_length() -> None:
    one = _find("6k1/5ppp/8/8/8/8/5PPP/4R1K1 w - - 0 1")
    two = _find("5r1k/6pp/7N/8/8/1Q6/6PP/6K1 w - - 0 1")
    nothing = Calibration()
    assert nothing(one) < nothing(two)
    assert {nothing.word_for(one), nothing.word_for(two)} <= set(LEVELS)
    solved = [Answered(f"pupil {n}", name_of(two), True) for n in range(20)]
    learnt = nothing.after(solved, {name_of(two): nothing(two)})
    assert learnt(two) < nothing(two)


def test_features_of_the_back_rank() -> None:
    f = features_of(_find("6k1/5ppp/8/8/8/8/5PPP/4R1K1 w - - 0 1"))
    assert (f.moves, f.quiet, f.replies, f.failing_checks, f.men) == (1, False, 0, 0, 9)
    assert (f.distance, f.cooperating, f.backward, f.pins) == (7, 1, 0, 0)


def test_each_feature_adds() -> None:
    plain = Features(2, False, 1, 0, 3, 2, 0, 0, 12)
    harder = [
        Features(3, False, 1, 0, 3, 2, 0, 0, 12),
        Features(2, True, 1, 0, 3, 2, 0, 0, 12),
        Features(2, False, 2, 0, 3, 2, 0, 0, 12),
        Features(2, False, 1, 1, 3, 2, 0, 0, 12),
        Features(2, False, 1, 0, 4, 2, 0, 0, 12),
        Features(2, False, 1, 0, 3, 3, 0, 0, 12),
        Features(2, False, 1, 0, 3, 2, 1, 0, 12),
        Features(2, False, 1, 0, 3, 2, 0, 1, 12),
        Features(2, False, 1, 0, 3, 2, 0, 0, 13),
        Features(2, False, 1, 0, 3, 2, 0, 0, 12, 1.0),
    ]
    assert all(prior_grade(f) > prior_grade(plain) for f in harder)


def test_auc_by_hand() -> None:
    assert auc([0.9, 0.4, 0.6, 0.1], [1, 1, 0, 0]) == 0.75
    assert auc([0.5, 0.5], [1, 0]) == 0.5
    assert auc([0.5, 0.9], [1, 0.5]) is None


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_simulated_pupils_are_foretold_better_than_by_the_first_grades(seed: int) -> None:
    told = simulate(seed)
    assert told.log_loss < told.log_loss_of_first
    assert told.auc > told.auc_of_first
    assert told.log_loss_of_truth < told.log_loss < told.log_loss_of_truth + 0.05
    assert told.correlation > 0.9


def test_groups_help_with_exercises_that_nobody_has_answered() -> None:
    # In the mean of twelve lots of pupils; a single lot may be unlucky.
    told = [simulate(seed, answers=1200) for seed in range(12)]
    assert sum(t.new_error for t in told) < sum(t.new_error_of_first for t in told) - 0.3


def test_a_rare_pattern_makes_a_mate_harder() -> None:
    arabian = _find("7k/R6p/5N2/8/8/8/5PPP/6K1 w - - 0 1")
    shares = historical_shares()
    assert shares["back rank"] > shares[arabian.about.pattern]
    plain, rare = features_of(arabian), features_of(arabian, shares)
    assert plain.rarity == 0
    assert rare.rarity > 0.9
    assert Calibration(shares=shares)(arabian) > Calibration()(arabian)


def test_shares_of_counts() -> None:
    shares = shares_of({"Lolli": 5, "my own": 2}, 10)
    assert (shares["Lolli"], shares["my own"], shares["Boden"]) == (0.5, 0.2, 0.0)
    assert not shares_of({}, 0)
