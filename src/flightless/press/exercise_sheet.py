"""A set of exercises on paper: a worksheet with the right answer space for every kind, and the
key with the solution, the reason and the final position.

Turns exercises into sheet items; setting them is the work of `worksheet`.
"""

from __future__ import annotations

import chess

from flightless.cases.case import Case
from flightless.draw.marks import NOTHING, Marks
from flightless.exercises.exercise import Exercise
from flightless.exercises.file import ExerciseSet
from flightless.exercises.kinds.name import NamePattern
from flightless.exercises.proofs import case_at, case_at_end
from flightless.exercises.reasons import Mates, Standing
from flightless.exercises.rendering import Diagram, Rendering
from flightless.patterns.recognise import names
from flightless.press.items import SheetItem, SheetOptions
from flightless.press.worksheet import (
    worksheet_and_key_pdf,
    worksheet_pdf,
    worksheet_pictures,
)
from flightless.words.explain import account
from flightless.words.reasons import (
    choice_text,
    pattern_text,
    solution,
    source_text,
    spoken,
    task,
)

__all__ = ["exercise_item", "exercise_pdf", "exercise_pictures"]

_WITH_LEDGER = ("ledger", "not-needed", "supporter", "choose", "net")
"""Kinds that ask about the squares of the mated king: their key shows the ledger."""


def exercise_pdf(
    exercises: ExerciseSet, options: SheetOptions | None = None, *, key: bool = True
) -> bytes:
    """The worksheet of a set and, on pages of its own, its key, in the language of the labels
    of `options`.  The exercises must be sound.

    Raises `UsageError` for an empty set.
    """
    look = options or SheetOptions(title=exercises.title)
    items = [exercise_item(exercise, _language(look)) for exercise in exercises.exercises]
    return worksheet_and_key_pdf(items, look) if key else worksheet_pdf(items, look)


def exercise_pictures(
    exercises: ExerciseSet, options: SheetOptions | None = None, *, key: bool, dots: int = 72
) -> list[bytes]:
    """The pages of a set's worksheet, or of its key, as PNG pictures, `dots` to the inch."""
    look = options or SheetOptions(title=exercises.title)
    items = [exercise_item(exercise, _language(look)) for exercise in exercises.exercises]
    return worksheet_pictures(items, look, key=key, dots=dots)


def _language(look: SheetOptions) -> str:
    return look.labels.draw.language


def exercise_item(exercise: Exercise, language: str = "en") -> SheetItem:
    """One exercise as an item of a sheet."""
    shown = exercise.rendering()
    first, *others = shown.diagrams
    space = shown.space
    case = _case(shown)
    return SheetItem(
        fen=first.fen,
        task=task(exercise, language),
        source=source_text(exercise.about, language),
        solution=solution(exercise, language),
        name=_name(exercise, case, language),
        sentences=_sentences(exercise, case, language),
        final_fen=None if case is not None else shown.final or None,
        marks=_marks(exercise, shown) if case is None else None,
        case=case,
        show_ledger=exercise.kind in _WITH_LEDGER,
        lines=space.lines,
        second=others[0].fen if others else "",
        task_marks=_task_marks(first),
        choices=tuple(choice_text(exercise, choice, language) for choice in space.choices),
        rows=tuple(chess.square_name(square) for square in space.squares),
    )


def _case(shown: Rendering) -> Case | None:
    """The case of the final position, if that is mate."""
    if not shown.mated:
        return None
    if shown.line:
        return case_at_end(shown.line_from, shown.line)
    return case_at(shown.final)


def _name(exercise: Exercise, case: Case | None, language: str) -> str:
    """The pattern of the final mate; where it is the answer it is said already."""
    if case is None or isinstance(exercise, NamePattern):
        return ""
    found = names(case)
    return pattern_text(found[0], language) if found else ""


def _sentences(exercise: Exercise, case: Case | None, language: str) -> tuple[str, ...]:
    """The reason of the right answer; for a mate also why it is one, as a new paragraph."""
    answer = "; ".join(exercise.answers) if exercise.kind == "ledger" else exercise.answers[0]
    reason = exercise.mark(answer).reason
    said = spoken(reason, language)
    if case is None:
        return said
    if isinstance(reason, Mates) and reason.moves == 1:
        said = said[1:]  # what is said of the check and the squares says it better
    told = account(None, case, language=language)
    return (*said, "", *told.section("check"), *told.section("squares"))


def _task_marks(diagram: Diagram) -> Marks:
    marks = dict(diagram.marks)
    return Marks(changed=marks["changed"]) if "changed" in marks else NOTHING


def _marks(exercise: Exercise, shown: Rendering) -> Marks:
    """For a final position that is no mate: the man who moved, or the check and the way out."""
    if shown.line:
        move = shown.line[-1]
        return Marks(changed=tuple(sorted((move.from_square, move.to_square))))
    reason = exercise.mark(exercise.answers[0]).reason
    if not isinstance(reason, Standing) or reason.escape is None:
        return NOTHING
    to = (reason.escape.move.to_square,)
    flight = reason.escape.how == "flight"
    return Marks(
        king=reason.king,
        checks=tuple(man.square for man in reason.checkers),
        free=to if flight else (),
        defended=() if flight else to,
    )
