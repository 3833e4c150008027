"""Simulated pupils of known strength who answer exercises of known difficulty.

Rasch's model makes the answers; each exercise is off its prior grade by a normal error.  The
figures tell how fast the calibration learns, not how real pupils behave.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

from flightless.exercises.grade import Answered, Calibration


@dataclass(frozen=True)
class Outcome:
    """Log loss and AUC of the chances told before each answer, of the priors, and of truth."""

    loss: float
    auc: float
    loss_of_priors: float
    auc_of_priors: float
    loss_of_truth: float
    auc_of_truth: float
    tied: float
    """Correlation of the learnt grades with the true difficulties."""


def simulate(seed: int, pupils: int = 20, exercises: int = 60, answers: int = 2000) -> Outcome:
    chance = random.Random(seed)
    strengths = [chance.gauss(0, 1.2) for _ in range(pupils)]
    priors = [chance.gauss(0, 1.0) for _ in range(exercises)]
    truths = [prior + chance.gauss(0, 0.7) for prior in priors]
    first = {str(i): prior for i, prior in enumerate(priors)}
    known, told, before, truth, right = Calibration(), [], [], [], []
    for number in range(answers):
        p, e = chance.randrange(pupils), chance.randrange(exercises)
        real = _logistic(strengths[p] - truths[e])
        won = chance.random() < real
        if number >= answers // 2:  # the second half: after some learning
            told.append(known.chance(str(p), str(e), priors[e]))
            before.append(_logistic(-priors[e]))
            truth.append(real)
            right.append(won)
        known = known.after([Answered(str(p), str(e), won)], first)
    learnt = [known.exercise(str(i), priors[i]).value for i in range(exercises)]
    return Outcome(
        log_loss(told, right),
        auc(told, right),
        log_loss(before, right),
        auc(before, right),
        log_loss(truth, right),
        auc(truth, right),
        _correlation(learnt, truths),
    )


def log_loss(chances: list[float], right: list[bool]) -> float:
    pairs = zip(chances, right, strict=True)
    return -sum(math.log(c if won else 1 - c) for c, won in pairs) / len(right)


def auc(chances: list[float], right: list[bool]) -> float:
    """The share of pairs of a right and a wrong answer whose chances are in order."""
    ups = [c for c, won in zip(chances, right, strict=True) if won]
    downs = [c for c, won in zip(chances, right, strict=True) if not won]
    score = sum((u > d) + 0.5 * (u == d) for u in ups for d in downs)
    return score / (len(ups) * len(downs))


def _logistic(x: float) -> float:
    return 1 / (1 + math.exp(-x))


def _correlation(xs: list[float], ys: list[float]) -> float:
    mx, my = sum(xs) / len(xs), sum(ys) / len(ys)
    top = sum((x - mx) * (y - my) for x, y in zip(xs, ys, strict=True))
    return top / math.sqrt(sum((x - mx) ** 2 for x in xs) * sum((y - my) ** 2 for y in ys))
