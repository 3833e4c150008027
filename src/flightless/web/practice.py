"""The pages of exercises: make a set, see why each is sound, change its order, try it as a pupil.

A set is a file of the format that `exercises.file` reads, in a folder beside the casebook.
What is right, and why, is computed and spoken by the rooms above.
"""

from __future__ import annotations

from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

import chess
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from flightless.draw.marks import NOTHING, Marks
from flightless.errors import FileError, UsageError
from flightless.exercises.calibrating import own_calibration, read_calibration
from flightless.exercises.choice import Candidate
from flightless.exercises.file import ExerciseSet, read_set, write_set
from flightless.exercises.grade import Calibration
from flightless.exercises.levels import LEVELS
from flightless.exercises.portable import epd_text, pgn_text
from flightless.exercises.rarity import shares_met
from flightless.exercises.registry import KINDS
from flightless.exercises.sets import Wish, make_set
from flightless.exercises.sources import candidate_of_entry, for_wish
from flightless.patterns.recognise import catalogue
from flightless.press.exercise_sheet import exercise_pdf, exercise_pictures
from flightless.web.desk import Desk, desk_of, link, number_in, plain_line, sent, whole
from flightless.web.drawer import chosen_ids, tags_line
from flightless.web.figures import diagram, shared_men
from flightless.web.leafing import DOTS, page_asked, picture, previewed
from flightless.words.reasons import (
    choice_text,
    hint_text,
    kind_title,
    role_text,
    solution,
    source_text,
    spoken,
    task,
)

if TYPE_CHECKING:
    from flightless.exercises.exercise import Exercise
    from flightless.exercises.rendering import Diagram, Rendering

__all__ = ["ROUTES", "set_of"]

_MOST_IN_A_SET = 60
_VERDICTS = {
    "right": "Right.",
    "longer": "It mates, but not in the number asked.",
    "partly": "Some of it is right.",
    "wrong": "Not right.",
    "unreadable": "That is no possible answer; it does not count.",
}


def _folder(desk: Desk) -> Path:
    folder = desk.folder / "exercises"
    folder.mkdir(mode=0o700, exist_ok=True)
    return folder


def _path(desk: Desk, number: int) -> Path:
    path = _folder(desk) / f"{number}.toml"
    if not path.exists():
        raise UsageError(f"there is no set of exercises {number}")
    return path


def set_of(desk: Desk, number: int) -> ExerciseSet:
    """The set of a number.  Raises `UsageError`."""
    return read_set(_path(desk, number))


def _as_of(path: Path) -> str:
    """The set's contents as a mark in its forms, by which a change made elsewhere shows."""
    return sha256(path.read_bytes()).hexdigest()[:16]


def _write(path: Path, exercises: ExerciseSet) -> None:
    new = path.with_suffix(".new")
    new.write_text(write_set(exercises), encoding="utf-8")
    new.replace(path)


def _numbers(desk: Desk) -> list[int]:
    stems = (path.stem for path in _folder(desk).glob("*.toml"))
    return sorted((int(stem) for stem in stems if stem.isdigit()), reverse=True)


async def sets(request: Request) -> Response:
    """All sets, and the form by which one is made."""
    desk = desk_of(request)
    ids = request.query_params.get("ids", "")[:4000]
    chosen = chosen_ids(ids.split(",")) if ids else []

    def titles() -> list[tuple[int, str, int]]:
        found = []
        for number in _numbers(desk):
            exercises = set_of(desk, number)
            found.append((number, exercises.title, len(exercises.exercises)))
        return found

    return desk.page(
        request,
        "exercises.html",
        sets=await run_in_threadpool(titles),
        ids=",".join(map(str, chosen)),
        chosen=len(chosen),
        patterns=[(p.name, p.known_as or p.name) for p in catalogue().patterns],
        kinds=[(slug, kind_title(slug)) for slug in KINDS],
        levels=LEVELS,
    )


async def make(request: Request) -> Response:
    """Make a set from the ticked positions, or from the whole casebook."""
    desk = desk_of(request)
    form = await sent(request)

    def said(name: str) -> str:
        return str(form.get(name, "")).strip()

    pattern = said("pattern")
    wish = Wish(
        patterns=(pattern,) if pattern else (),
        count=whole(said("count"), "the number of exercises", 1, _MOST_IN_A_SET, 8),
        level=said("level") or None,
        kinds=tuple(str(kind) for kind in form.getlist("kind")),
        seed=whole(said("seed"), "the seed", 0, 1 << 31, 1),
        blocked=0.5 if said("order") == "blocks" else 0.0,
        look_alikes=whole(said("alike"), "the share of similar patterns", 0, 100, 20) / 100,
        no_mates=whole(said("none"), "the share without a mate", 0, 100, 15) / 100,
        title=plain_line(said("title")),
    )
    ids = chosen_ids(said("ids").split(",")) if said("ids") else []

    def candidates() -> tuple[Candidate, ...]:
        if not ids:
            return for_wish(desk.book, wish, tags_line)
        return tuple(candidate_of_entry(desk.book.get(number).entry, tags_line) for number in ids)

    def graded() -> Calibration:
        """By what pupils answered, if that was ever written down."""
        path = own_calibration()
        known = read_calibration(path) if path.exists() else Calibration()
        counts = desk.book.statistics()
        return replace(known, shares=shares_met(counts.patterns, counts.cases))

    def made() -> str:
        found = make_set(candidates(), wish, graded()).exercises
        if not found.exercises:
            raise UsageError("no sound exercise could be made from these positions with this wish")
        with desk.writing:
            number = max(_numbers(desk), default=0) + 1
            _write(_folder(desk) / f"{number}.toml", found)
        short = len(found.exercises) < wish.count
        return link(f"/exercises/{number}", wished=wish.count if short else None)

    return RedirectResponse(await run_in_threadpool(made), 303)


def _drawings(shown: Rendering, size: int = 300) -> list[tuple[str, Any]]:
    return [
        (one.letter, diagram(chess.Board(one.fen), _marks(one), size=size, bare=size < 250))
        for one in shown.diagrams
    ]


def _marks(one: Diagram) -> Marks:
    marks = dict(one.marks)
    return Marks(changed=tuple(marks["changed"])) if "changed" in marks else NOTHING


def _told(exercise: Exercise) -> tuple[str, ...]:
    """Why the first right answer is right."""
    answer = "; ".join(exercise.answers) if exercise.kind == "ledger" else exercise.answers[0]
    return spoken(exercise.mark(answer).reason)


async def one_set(request: Request) -> Response:
    """A set, each exercise with its answer and why it is sound."""
    desk = desk_of(request)
    number = number_in(request, "set")
    wished = whole(
        request.query_params.get("wished", ""), "the number wished for", 0, _MOST_IN_A_SET, 0
    )

    def shown() -> dict[str, Any]:
        as_of = _as_of(_path(desk, number))
        exercises = set_of(desk, number)
        return {
            "title": exercises.title,
            "as_of": as_of,
            "wished": wished,
            "items": [
                {
                    "kind": kind_title(e.kind),
                    "task": task(e),
                    "drawings": _drawings(e.rendering(), 230),
                    "answer": solution(e),
                    "why": _told(e),
                    "role": role_text(e.about.role),
                    "level": e.about.level,
                    "source": source_text(e.about),
                    "alike": link("/position", fen=e.position),
                }
                for e in exercises.exercises
            ],
        }

    return desk.page(
        request, "set.html", men=shared_men(), number=number, **await run_in_threadpool(shown)
    )


async def change(request: Request) -> Response:
    """Move an exercise, leave one out, give the set a title, or put the set away."""
    desk = desk_of(request)
    form = await sent(request)
    number = number_in(request, "set")
    act, _, place = str(form.get("act", "")).partition(" ")

    def changed() -> str:
        with desk.writing:
            path = _path(desk, number)
            exercises = read_set(path)
            if form.get("as-of", _as_of(path)) != _as_of(path):
                raise UsageError(
                    "nothing was done: the set has been changed in another window since this "
                    "page was loaded; load it again"
                )
            if act == "delete":
                if form.get("sure") != "yes":
                    raise UsageError("nothing was thrown away: tick 'yes, throw it away' as well")
                path.unlink()
                return "/exercises"
            _write(path, _changed(exercises, act, place, str(form.get("title", ""))))
            return f"/exercises/{number}"

    return RedirectResponse(await run_in_threadpool(changed), 303)


def _changed(exercises: ExerciseSet, act: str, place: str, title: str) -> ExerciseSet:
    order = list(exercises.exercises)
    if act == "title":
        plain = plain_line(title)
        if not plain:
            raise UsageError("the set needs a title")
        return ExerciseSet(plain, exercises.exercises, exercises.made)
    index = whole(place, "the exercise", 1, len(order), 0) - 1
    if act == "earlier" and index > 0:
        order[index - 1], order[index] = order[index], order[index - 1]
    elif act == "out":
        if len(order) == 1:
            raise UsageError("a set needs at least one exercise; throw the set away instead")
        del order[index]
    elif act != "earlier":
        raise UsageError("an exercise can be moved earlier or left out")
    return ExerciseSet(exercises.title, tuple(order), exercises.made)


async def attempt(request: Request) -> Response:
    """One exercise as the pupil sees it; an answer in the address is marked with its reason."""
    desk = desk_of(request)
    number, place = number_in(request, "set"), number_in(request, "place")
    query = request.query_params
    given = [text[:500] for text in query.getlist("answer") if text.strip()][:20]
    hints = whole(query.get("hints", ""), "the number of hints", 0, 20, 0)

    def shown() -> dict[str, Any]:
        exercises = set_of(desk, number)
        if not 1 <= place <= len(exercises.exercises):
            raise FileError(f"there is no exercise {place} in this set")
        e = exercises.exercise(place)
        rendering = e.rendering()
        ladder = [hint_text(hint) for hint in e.hints()]
        squares = [chess.square_name(s) for s in rendering.space.squares]
        rows = {square: query.get(f"row-{square}", "").strip()[:60] for square in squares}
        if any(rows.values()):
            men = {s: "+".join(r.replace(",", " ").split()) for s, r in rows.items() if r}
            given[:] = [f"{square} = {who}" for square, who in men.items()]
        answer = ("; " if squares else " ").join(given)
        mark = e.mark(answer) if answer else None
        return {
            "title": exercises.title,
            "last": len(exercises.exercises),
            "task": task(e),
            "drawings": _drawings(rendering),
            "form": rendering.space.form,
            "choices": [
                (choice.answer, choice_text(e, choice)) for choice in rendering.space.choices
            ],
            "rows": rows,
            "fen": rendering.diagrams[0].fen,
            "moves": rendering.space.form == "lines" and len(rendering.diagrams) == 1,
            "expected": e.expected(),
            "answer": answer,
            "given": given,
            "verdict": _VERDICTS[mark.verdict] if mark else "",
            "reason": spoken(mark.reason) if mark else (),
            "right": mark.right if mark else False,
            "hints": ladder[:hints],
            "more_hints": len(ladder) > hints,
        }

    return desk.page(
        request,
        "try.html",
        men=shared_men(),
        number=number,
        place=place,
        asked=hints,
        **await run_in_threadpool(shown),
    )


async def files(request: Request) -> Response:
    """The set as a sheet, its key, PGN, EPD, or the file that is kept."""
    desk = desk_of(request)
    number = number_in(request, "set")
    kind = request.url.path.rpartition("/")[2]

    def made() -> bytes:
        exercises = set_of(desk, number)
        if kind == "sheet.pdf":
            return exercise_pdf(exercises, key=False)
        if kind == "both.pdf":
            return exercise_pdf(exercises, key=True)
        if kind == "set.toml":
            return write_set(exercises).encode()
        return (pgn_text if kind == "set.pgn" else epd_text)(exercises, task, solution).encode()

    return Response(
        await run_in_threadpool(made),
        media_type="application/pdf" if kind.endswith("pdf") else "text/plain; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{kind}"'},
    )


async def page_picture(request: Request) -> Response:
    """One page of the set's sheet or key as it will be printed."""
    desk = desk_of(request)
    number, (page, key) = number_in(request, "set"), page_asked(request.query_params)
    pages = await run_in_threadpool(
        lambda: exercise_pictures(set_of(desk, number), key=key, dots=DOTS)
    )
    return picture(pages, page)


async def preview(request: Request) -> Response:
    """The pages of a set looked at one by one before they are printed."""
    desk = desk_of(request)
    number, (page, key) = number_in(request, "set"), page_asked(request.query_params)

    def looked() -> tuple[str, int]:
        exercises = set_of(desk, number)
        return exercises.title, len(exercise_pictures(exercises, key=key, dots=1))

    title, count = await run_in_threadpool(looked)
    return previewed(request, title, count, page, key, f"/exercises/{number}", {})


ROUTES = [
    Route("/exercises", sets),
    Route("/exercises", make, methods=["POST"]),
    Route("/exercises/{set:int}", one_set),
    Route("/exercises/{set:int}", change, methods=["POST"]),
    *(
        Route(f"/exercises/{{set:int}}/{name}", files, name=f"set {name}")
        for name in ("sheet.pdf", "both.pdf", "set.toml", "set.pgn", "set.epd")
    ),
    Route("/exercises/{set:int}/page.png", page_picture),
    Route("/exercises/{set:int}/preview", preview, name="set preview"),
    Route("/exercises/{set:int}/{place:int}", attempt),
]
