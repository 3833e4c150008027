"""From results to grades: every answer foretold before it is learnt from, what is learnt, and
the file that keeps it.

The file of a calibration has no pupils in it.  It is made anew from all results each time, so
that a pupil who is erased there is gone here too.
"""

from __future__ import annotations

import datetime
import itertools
import json
import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from flightless.errors import FileError
from flightless.exercises.exercise import Exercise
from flightless.exercises.grade import Answered, Calibration, Strength, group_of, name_of
from flightless.exercises.rarity import historical_shares
from flightless.exercises.results import Outcome, Result
from flightless.folders import data_folder

__all__ = [
    "Foretold",
    "Learnt",
    "auc",
    "learn",
    "log_loss",
    "own_calibration",
    "read_calibration",
    "result_of",
    "write_calibration",
]

FORMAT = "flightless calibration"
VERSION = 1

_ANSWERS, _DRAWN = 5.0, 2.0


@dataclass(frozen=True, slots=True)
class Foretold:
    """How well the answers were foretold, each before it was learnt from.

    `log_loss` is the mean of -ln of the chance given to what happened (a late answer is half
    right), `auc` the share of pairs of a right and a wrong answer whose chances are in order
    (late ones apart; None without both).  `..._of_first`: from the first grades alone, for a
    pupil of whom nothing is known.  `base`: the log loss of always telling the share of right
    answers.
    """

    answers: int
    log_loss: float
    auc: float | None
    log_loss_of_first: float
    auc_of_first: float | None
    base: float


@dataclass(frozen=True, slots=True)
class Learnt:
    """A calibration without pupils, how many answers each exercise had, and what it was worth.

    `first` are the grades before any results, `kinds` the group of each exercise.  `told` and
    `told_first` are the chances of a right answer told before each answer, with what had been
    learnt and from the first grades alone.
    """

    calibration: Calibration
    answers: Mapping[str, int]
    first: Mapping[str, float]
    kinds: Mapping[str, str]
    told: tuple[float, ...] = ()
    told_first: tuple[float, ...] = ()
    foretold: Foretold | None = None


def result_of(
    exercise: Exercise,
    outcome: Outcome,
    nickname: str = "",
    date: datetime.date | None = None,
    seconds: float | None = None,
) -> Result:
    """An answer as it is recorded, with the grade that the exercise had before any results."""
    first = Calibration(shares=historical_shares()).first(exercise)
    return Result(name_of(exercise), outcome, nickname, group_of(exercise), first, seconds, date)


@dataclass(slots=True)
class _Groups:
    """How exercises of a group lie beside their first grade, taken together.

    The mean of what was learnt of each, an exercise with n answers weighing n / (n + 5), drawn
    to nothing as if two more exercises lay where they were guessed (common practice, no
    source; the simulation says whether it helps).
    """

    start: dict[str, float] = field(default_factory=dict)
    first: dict[str, float] = field(default_factory=dict)
    members: dict[str, list[str]] = field(default_factory=dict)

    def shift(
        self, group: str, exercises: Mapping[str, Strength], answers: Mapping[str, int]
    ) -> float:
        top, bottom = 0.0, _DRAWN
        for name in self.members.get(group, ()):
            weight = answers[name] / (answers[name] + _ANSWERS)
            top += weight * (exercises[name].value - self.first[name])
            bottom += weight
        return top / bottom


def learn(results: Sequence[Result]) -> Learnt:
    """What the results teach, in their order.

    An exercise that is met for the first time begins at its first grade moved by what its group
    has shown so far; a pupil without a nickname is a new one each time.
    """
    known, groups = Calibration(), _Groups()
    told: list[float] = []
    before: list[float] = []
    counts: Counter[str] = Counter()
    kinds: dict[str, str] = {}
    for number, result in enumerate(results):
        name, pupil = result.exercise, result.nickname.casefold() or f"\x00{number}"
        if name not in groups.start:
            groups.first[name] = result.grade
            shift = groups.shift(result.kind, known.exercises, counts)
            groups.start[name] = result.grade + shift
            groups.members.setdefault(result.kind, []).append(name)
            kinds[name] = result.kind
        told.append(known.chance(pupil, name, groups.start[name]))
        before.append(Calibration().chance("", name, groups.first[name]))
        counts[name] += 1
        answer = Answered(pupil, name, result.outcome != "wrong", too_late=result.outcome == "late")
        known = known.after([answer], groups.start)
    shifts = {
        group: round(groups.shift(group, known.exercises, counts), 3)
        for group in sorted(groups.members)
    }
    return Learnt(
        replace(known, pupils=MappingProxyType({}), shifts=MappingProxyType(shifts)),
        MappingProxyType(dict(counts)),
        MappingProxyType(groups.first),
        MappingProxyType(kinds),
        tuple(told),
        tuple(before),
        _foretold(told, before, results),
    )


def _foretold(
    told: Sequence[float], before: Sequence[float], results: Sequence[Result]
) -> Foretold | None:
    if not results:
        return None
    points = [{"right": 1.0, "late": 0.5, "wrong": 0.0}[r.outcome] for r in results]
    mean = sum(points) / len(points)
    return Foretold(
        len(points),
        log_loss(told, points),
        auc(told, points),
        log_loss(before, points),
        auc(before, points),
        log_loss([mean] * len(points), points),
    )


def log_loss(chances: Sequence[float], points: Sequence[float]) -> float:
    """The mean of -ln of the chance given to what happened; points are 1 for a right answer, 0
    for a wrong one, and what lies between for one that is partly both."""
    least = 1e-12
    return -sum(
        p * math.log(max(c, least)) + (1 - p) * math.log(max(1 - c, least))
        for c, p in zip(chances, points, strict=True)
    ) / len(points)


def auc(chances: Sequence[float], points: Sequence[float]) -> float | None:
    """The share of pairs of a right (1) and a wrong answer (0) whose chances are in order, equal
    chances half; None without both.  From ranks (Mann and Whitney 1947)."""
    pairs = sorted((c, p) for c, p in zip(chances, points, strict=True) if p in (0.0, 1.0))
    ups = sum(p == 1.0 for _, p in pairs)
    downs = len(pairs) - ups
    if not ups or not downs:
        return None
    below = score = 0.0
    for _, tied in itertools.groupby(pairs, key=lambda pair: pair[0]):
        same = [p for _, p in tied]
        up = sum(same)
        score += up * (below + (len(same) - up) / 2)
        below += len(same) - up
    return score / (ups * downs)


# --- the file --------------------------------------------------------------------------------


def own_calibration() -> Path:
    """`calibration.json` in the data folder.  It need not exist."""
    return data_folder() / "calibration.json"


def write_calibration(path: Path, learnt: Learnt) -> None:
    """Write the calibration as JSON; docs/exercises.md names the fields."""
    exercises = {
        name: {
            "kind": learnt.kinds[name],
            "first": round(learnt.first[name], 3),
            "grade": round(strength.value, 3),
            "unsure": round(strength.unsure, 3),
            "answers": learnt.answers[name],
        }
        for name, strength in sorted(learnt.calibration.exercises.items())
    }
    document = {
        "format": FORMAT,
        "version": VERSION,
        "answers": sum(learnt.answers.values()),
        "kinds": dict(learnt.calibration.shifts),
        "exercises": exercises,
    }
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(document, indent=1) + "\n", encoding="utf-8")


def read_calibration(path: Path) -> Calibration:
    """A calibration that was written.  Raises `FileError` with the field that is wrong."""
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise FileError(f"there is no file {str(path)!r}") from None
    except OSError as error:
        raise FileError(f"{str(path)!r} cannot be read: {error.strerror or error}") from None
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError) as error:
        raise FileError(f"{path}: not readable as JSON: {error}") from None
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise FileError(f"{path}: this is no calibration: 'format' is not {FORMAT!r}")
    if document.get("version") != VERSION:
        raise FileError(
            f"{path}: this program reads version {VERSION}, not {document.get('version')!r}"
        )
    exercises = {
        name: Strength(
            _number(path, entry, "grade", f"exercises.{name}"),
            _number(path, entry, "unsure", f"exercises.{name}"),
        )
        for name, entry in _pairs(path, document, "exercises")
    }
    kinds = _pairs(path, document, "kinds")
    shifts = {name: _number(path, dict(kinds), name, "kinds") for name, _ in kinds}
    return Calibration(exercises=MappingProxyType(exercises), shifts=MappingProxyType(shifts))


def _pairs(path: Path, document: Mapping[str, Any], name: str) -> list[tuple[str, Any]]:
    value = document.get(name)
    if not isinstance(value, dict):
        raise FileError(f"{path}, {name}: expected an object, found {value!r}")
    return list(value.items())


def _number(path: Path, entry: object, name: str, where: str) -> float:
    value = entry.get(name) if isinstance(entry, dict) else None
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < 100:
        raise FileError(f"{path}, {where}.{name}: expected a number, found {value!r}")
    if name == "unsure" and value <= 0:
        raise FileError(f"{path}, {where}.{name}: expected more than 0, found {value!r}")
    return float(value)
