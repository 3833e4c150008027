"""`flightless exercises record` and `calibrate`: results kept on this machine, grades from them."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from flightless.cli.console import note, say, say_json
from flightless.cli.exits import Exit
from flightless.errors import FileError, UsageError
from flightless.exercises.file import read_set
from flightless.exercises.levels import level_of
from flightless.exercises.results import (
    Outcome,
    append_results,
    forget,
    own_results,
    read_results,
)

if TYPE_CHECKING:
    from flightless.exercises.calibrating import Foretold, Learnt
    from flightless.exercises.exercise import Exercise
    from flightless.exercises.grade import Calibration
    from flightless.exercises.mark import Mark

__all__ = [
    "Keeping",
    "Who",
    "calibration_from",
    "run_calibrate",
    "run_forget",
    "run_record",
    "run_simulated",
]

_FEW = 100


@dataclass(frozen=True, slots=True)
class Who:
    """Whose answer it is, and when: a nickname or nothing, a day or nothing."""

    nickname: str = ""
    date: datetime.date | None = None

    @classmethod
    def said(cls, nickname: str, date: str | None) -> Who:
        """From options; the day is today if it is not given, none if it is 'none'."""
        if date is None:
            return cls(nickname, datetime.date.today())
        if date == "none":
            return cls(nickname)
        try:
            return cls(nickname, datetime.date.fromisoformat(date))
        except ValueError:
            raise UsageError(f"the date is a day like 2026-03-31, or none, not {date!r}") from None


@dataclass(frozen=True, slots=True)
class Keeping:
    """How one answer is to be kept: whose, in which file (None: one's own), and its times."""

    who: Who
    file: Path | None
    seconds: float | None = None
    allowed: float | None = None

    def keep(self, exercise: Exercise, mark: Mark) -> None:
        """Record a mark.  What mates later than asked, or is partly right, counts as wrong."""
        outcome: Outcome = "right" if mark.right else "wrong"
        timed = self.seconds is not None and self.allowed is not None
        if mark.right and timed and (self.seconds or 0.0) > (self.allowed or 0.0):
            outcome = "late"
        from flightless.exercises.calibrating import result_of

        result = result_of(exercise, outcome, self.who.nickname, self.who.date, self.seconds)
        append_results(self.file or own_results(), [result])


def run_record(file: Path, numbers: dict[Outcome, str], who: Who, out: Path | None) -> Exit:
    """Record the outcomes of a pupil's sheet that was marked by hand."""
    from flightless.exercises.calibrating import result_of

    exercises = read_set(file)
    chosen: dict[int, Outcome] = {}
    for outcome, text in numbers.items():
        for number in _numbers(text, outcome):
            if chosen.setdefault(number, outcome) != outcome:
                raise UsageError(f"exercise {number} is said to be {chosen[number]} and {outcome}")
    if not chosen:
        raise UsageError("say which exercises were right, late or wrong: --right 1-4,6 --wrong 5")
    results = [
        result_of(exercises.exercise(number), outcome, who.nickname, who.date)
        for number, outcome in sorted(chosen.items())
    ]
    path = out or own_results()
    append_results(path, results)
    say(f"{_count(len(results), 'answer')} recorded: {path}")
    return Exit.DONE


def _numbers(text: str, outcome: str) -> Iterable[int]:
    for part in (p.strip() for p in text.split(",")):
        if not part:
            continue
        match = re.fullmatch(r"(\d{1,4})(?:\s*-\s*(\d{1,4}))?", part)
        if match is None or int(match[2] or match[1]) < int(match[1]):
            raise UsageError(f"--{outcome} takes numbers like 1-4,6, not {part!r}")
        yield from range(int(match[1]), int(match[2] or match[1]) + 1)


def run_calibrate(files: Sequence[Path], out: Path | None, *, as_json: bool) -> Exit:
    """Learn from results, write the calibration, and say how well the answers were foretold."""
    from flightless.exercises.calibrating import learn, own_calibration, write_calibration

    results = read_results(_files(files))
    learnt = learn(results)
    path = out or own_calibration()
    write_calibration(path, learnt)
    if as_json:
        say_json(_document(learnt, path))
        return Exit.DONE
    for name, strength in learnt.calibration.exercises.items():
        before, now = level_of(learnt.first[name]), level_of(strength.value)
        change = now if before == now else f"{before}, now {now}"
        answers = _count(learnt.answers[name], "answer")
        say(f"{name}  {learnt.kinds[name] or 'kind not said'}: {change} ({answers})")
    for text in _worth(learnt.foretold):
        say(text)
    say(
        f"{_count(len(results), 'answer')} to {_count(len(learnt.answers), 'exercise')}; "
        f"the calibration: {path}"
    )
    return Exit.DONE


def _worth(foretold: Foretold | None) -> Iterable[str]:
    if foretold is None:
        return
    yield (
        f"Each answer foretold before it was learnt from: log loss {foretold.log_loss:.3f} "
        f"(from first grades alone {foretold.log_loss_of_first:.3f}, from the share of right "
        f"answers {foretold.base:.3f})."
    )
    if foretold.auc is not None and foretold.auc_of_first is not None:
        yield f"AUC {foretold.auc:.3f} (from first grades alone {foretold.auc_of_first:.3f})."
    if foretold.answers < _FEW:
        yield f"With fewer than {_FEW} answers these figures say little."


def _document(learnt: Learnt, path: Path) -> dict[str, object]:
    return {
        "file": str(path),
        "answers": sum(learnt.answers.values()),
        "exercises": [
            {
                "exercise": name,
                "kind": learnt.kinds[name],
                "before": level_of(learnt.first[name]),
                "level": level_of(strength.value),
                "answers": learnt.answers[name],
            }
            for name, strength in learnt.calibration.exercises.items()
        ],
        "foretold": None if learnt.foretold is None else asdict(learnt.foretold),
    }


def run_forget(files: Sequence[Path], nickname: str, out: Path | None) -> Exit:
    """Erase a pupil's answers, and learn anew from what is left."""
    from flightless.exercises.calibrating import learn, own_calibration, write_calibration

    if not nickname.strip():
        raise UsageError("say whose answers to erase: the nickname is empty")
    paths = _files(files)
    gone = sum(forget(path, nickname) for path in paths)
    names = ", ".join(str(path) for path in paths)
    if not gone:
        say(f"There is no answer of {nickname.strip()} in {names}.")
        return Exit.DONE
    left = read_results([p for p in paths if p.exists()])
    path = out or own_calibration()
    write_calibration(path, learn(left))
    say(f"{_count(gone, 'answer')} of {nickname.strip()} erased: {names}")
    say(f"The calibration was made anew from the {_count(len(left), 'answer')} left: {path}")
    note("Copies and backups of these files are yours to erase.")
    return Exit.DONE


def _files(files: Sequence[Path]) -> list[Path]:
    if files:
        return list(files)
    if not own_results().exists():
        raise FileError(f"no results have been recorded yet in {str(own_results())!r}")
    return [own_results()]


def run_simulated(seed: int, *, as_json: bool) -> Exit:
    """What the calibration does with pupils who are not real."""
    from flightless.exercises.simulated import simulate

    found = simulate(seed)
    if as_json:
        say_json({"simulated": True, "seed": seed, **asdict(found)})
        return Exit.DONE
    say(
        "Simulated pupils of known strength, not real ones: 20 pupils, 60 exercises, 2,000 answers."
    )
    say(
        f"The second thousand foretold: log loss {found.log_loss:.3f} and AUC {found.auc:.3f}; "
        f"from first grades alone {found.log_loss_of_first:.3f} and {found.auc_of_first:.3f}; "
        f"with the true chances {found.log_loss_of_truth:.3f} and {found.auc_of_truth:.3f}."
    )
    say(
        f"Grades of exercises that nobody has answered are off by {found.new_error:.2f}, and by "
        f"{found.new_error_of_first:.2f} without what others of their group have shown."
    )
    return Exit.DONE


def calibration_from(path: Path) -> Calibration:
    """A calibration from its own file, or from results (any file that does not end in .json)."""
    from flightless.exercises.calibrating import learn, read_calibration

    if path.suffix.lower() == ".json":
        return read_calibration(path)
    return learn(read_results([path])).calibration


def _count(number: int, word: str) -> str:
    return f"{number:,} {word}" if number == 1 else f"{number:,} {word}s"
