"""The pages of results: what pupils answered, kept on this machine, learnt from, and erased.

A nickname and a day are all that is asked of a pupil, and neither must be given.  The file of
results and what is learnt from it are the exercises room's.
"""

from __future__ import annotations

from collections import Counter
from typing import Any, get_args

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from flightless.errors import UsageError
from flightless.exercises.calibrating import (
    Learnt,
    learn,
    own_calibration,
    result_of,
    write_calibration,
)
from flightless.exercises.file import ExerciseSet
from flightless.exercises.levels import level_of
from flightless.exercises.results import (
    Outcome,
    Result,
    append_results,
    forget,
    own_results,
    read_results,
)
from flightless.web.desk import Desk, desk_of, link, number_in, sent, whole
from flightless.web.practice import set_of
from flightless.words.reasons import kind_title, task

__all__ = ["ROUTES"]

_OUTCOMES: tuple[Outcome, ...] = get_args(Outcome)
_NOBODY = "nobody named"


def _kept() -> tuple[Result, ...]:
    path = own_results()
    return read_results([path]) if path.exists() else ()


def _learn() -> Learnt:
    learnt = learn(_kept())
    write_calibration(own_calibration(), learnt)
    return learnt


async def asked(request: Request) -> Response:
    """The form by which a sheet that was marked by hand is recorded."""
    desk = desk_of(request)
    number = number_in(request, "set")
    exercises = await run_in_threadpool(set_of, desk, number)
    return desk.page(
        request,
        "record.html",
        number=number,
        title=exercises.title,
        items=[(kind_title(e.kind), task(e)) for e in exercises.exercises],
        outcomes=_OUTCOMES,
        today=desk.clock().date().isoformat(),
    )


def _results(desk: Desk, form: FormData, exercises: ExerciseSet) -> list[Result]:
    nickname = " ".join(str(form.get("nickname", "")).split())
    day = desk.clock().date() if form.get("dated") == "yes" else None
    found = []
    for place, exercise in enumerate(exercises.exercises, start=1):
        said = str(form.get(f"outcome-{place}", ""))
        if not said:
            continue
        outcome: Outcome | None = next((one for one in _OUTCOMES if one == said), None)
        if outcome is None:
            raise UsageError(f"an answer is {', '.join(_OUTCOMES)}, not {said[:20]!r}")
        minutes = str(form.get(f"seconds-{place}", ""))
        seconds = whole(minutes, "the seconds", 0, 100_000, -1)
        found.append(
            result_of(exercise, outcome, nickname, day, None if seconds < 0 else float(seconds))
        )
    if not found:
        raise UsageError("nothing was recorded: say of at least one exercise how it went")
    return found


async def record(request: Request) -> Response:
    """Write down how a pupil did, and learn from it."""
    desk = desk_of(request)
    form = await sent(request)
    number = number_in(request, "set")

    def write() -> int:
        results = _results(desk, form, set_of(desk, number))
        with desk.writing:
            append_results(own_results(), results)
            _learn()
        return len(results)

    written = await run_in_threadpool(write)
    return RedirectResponse(link("/results", written=written), 303)


def _overview() -> dict[str, Any]:
    kept = _kept()
    learnt = learn(kept)
    pupils: dict[str, Counter[str]] = {}
    for result in kept:
        pupils.setdefault(result.nickname or _NOBODY, Counter())[result.outcome] += 1
    changed = []
    for name, strength in learnt.calibration.exercises.items():
        before, now = level_of(learnt.first[name]), level_of(strength.value)
        if before != now:
            changed.append((learnt.kinds[name] or "exercise", before, now, learnt.answers[name]))
    return {
        "answers": len(kept),
        "pupils": [
            (name, [counted[outcome] for outcome in _OUTCOMES], name != _NOBODY)
            for name, counted in sorted(pupils.items())
        ],
        "changed": changed,
        "foretold": learnt.foretold,
    }


async def overview(request: Request) -> Response:
    """Who answered what how often, what was learnt, and how well answers were foretold."""
    written = request.query_params.get("written", "")
    return desk_of(request).page(
        request,
        "results.html",
        outcomes=_OUTCOMES,
        written=whole(written, "the number of answers", 0, 1_000_000, 0),
        erased=request.query_params.get("erased", "")[:60],
        **await run_in_threadpool(_overview),
    )


async def erase(request: Request) -> Response:
    """Erase every answer of a pupil, and learn anew from what is left."""
    desk = desk_of(request)
    form = await sent(request)
    nickname = str(form.get("nickname", "")).strip()
    if not nickname:
        raise UsageError("say whose answers to erase: the nickname is empty")
    if form.get("sure") != "yes":
        raise UsageError("nothing was erased: tick 'yes, erase them' as well")

    def gone() -> int:
        with desk.writing:
            path = own_results()
            count = forget(path, nickname) if path.exists() else 0
            if count:
                _learn()
            return count

    count = await run_in_threadpool(gone)
    if not count:
        raise UsageError(f"there is no answer of {nickname[:40]!r}")
    return RedirectResponse(link("/results", erased=nickname), 303)


ROUTES = [
    Route("/exercises/{set:int}/results", asked),
    Route("/exercises/{set:int}/results", record, methods=["POST"]),
    Route("/results", overview),
    Route("/results/erase", erase, methods=["POST"]),
]
