"""Simulated pupils of known strength who answer exercises of known difficulty.

Rasch's model makes the answers; each exercise is off its first grade by a normal error, and so
is each group of exercises.  The figures show how fast the calibration learns and how near it
comes to the truth, not how real pupils behave.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

from flightless.exercises.calibrating import auc, learn, log_loss
from flightless.exercises.results import Result

__all__ = ["Simulated", "simulate"]

_STRENGTHS, _PRIORS, _ERROR, _GROUP_ERROR = 1.2, 1.0, 0.7, 0.5
_GROUPS = 6


@dataclass(frozen=True, slots=True)
class Simulated:
    """What was foretold of the second half of the answers, and what could have been.

    `..._of_first` are those of the first grades, `..._of_truth` those of the true chances.
    `correlation` is that of the learnt grades with the true difficulties, `new_error` and
    `new_error_of_first` how far grades of exercises that nobody has answered lie from the truth
    (root mean square, in logits), with what their groups have shown and without.
    """

    answers: int
    log_loss: float
    auc: float
    log_loss_of_first: float
    auc_of_first: float
    log_loss_of_truth: float
    auc_of_truth: float
    correlation: float
    new_error: float
    new_error_of_first: float


def simulate(seed: int, pupils: int = 20, exercises: int = 60, answers: int = 2000) -> Simulated:
    """Let `pupils` answer `exercises` drawn by chance, and compare; the same seed, the same
    figures."""
    chance = random.Random(seed)
    strengths = [chance.gauss(0, _STRENGTHS) for _ in range(pupils)]
    shifts = [chance.gauss(0, _GROUP_ERROR) for _ in range(_GROUPS)]
    firsts = [chance.gauss(0, _PRIORS) for _ in range(2 * exercises)]
    truths = [f + shifts[n % _GROUPS] + chance.gauss(0, _ERROR) for n, f in enumerate(firsts)]
    results, true = [], []
    for _ in range(answers):
        p, e = chance.randrange(pupils), chance.randrange(exercises)
        real = _logistic(strengths[p] - truths[e])
        won = chance.random() < real
        true.append(real)
        results.append(
            Result(
                f"{e:012x}",
                "right" if won else "wrong",
                f"pupil {p}",
                f"kind-{'abcdef'[e % _GROUPS]}",
                firsts[e],
            )
        )
    return _compared(results, true, truths, firsts, exercises)


def _compared(
    results: list[Result],
    true: list[float],
    truths: list[float],
    firsts: list[float],
    exercises: int,
) -> Simulated:
    half = len(results) // 2
    learnt = learn(results)
    told, first = learnt.told[half:], learnt.told_first[half:]
    points = [float(r.outcome == "right") for r in results[half:]]
    grades = learnt.calibration.exercises
    met = [n for n in range(exercises) if f"{n:012x}" in grades]
    new = range(exercises, 2 * exercises)
    moved = [
        firsts[n] + learnt.calibration.shifts.get(f"kind-{'abcdef'[n % _GROUPS]}", 0.0) for n in new
    ]
    return Simulated(
        len(points),
        log_loss(told, points),
        auc(told, points) or 0.0,
        log_loss(first, points),
        auc(first, points) or 0.0,
        log_loss(true[half:], points),
        auc(true[half:], points) or 0.0,
        _correlation([grades[f"{n:012x}"].value for n in met], [truths[n] for n in met]),
        _error(moved, [truths[n] for n in new]),
        _error([firsts[n] for n in new], [truths[n] for n in new]),
    )


def _logistic(x: float) -> float:
    return 1 / (1 + math.exp(-x))


def _error(xs: list[float], ys: list[float]) -> float:
    """Root mean square, the mean apart: where the scale has its nought is a convention."""
    off = [x - y for x, y in zip(xs, ys, strict=True)]
    mean = sum(off) / len(off)
    return math.sqrt(sum((x - mean) ** 2 for x in off) / len(off))


def _correlation(xs: list[float], ys: list[float]) -> float:
    mx, my = sum(xs) / len(xs), sum(ys) / len(ys)
    top = sum((x - mx) * (y - my) for x, y in zip(xs, ys, strict=True))
    return top / math.sqrt(sum((x - mx) ** 2 for x in xs) * sum((y - my) ** 2 for y in ys))
