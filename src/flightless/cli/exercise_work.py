"""What the other commands of `flightless exercises` do: check, show, mark, hint, export, print."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from flightless.cli.console import refuse, say, say_json, terminal_width
from flightless.cli.exits import Exit
from flightless.cli.warm import ready
from flightless.cli.whole import write_text, write_whole
from flightless.errors import FileError, UsageError
from flightless.exercises.file import ExerciseSet, check_set, read_set, refuse_unsound

if TYPE_CHECKING:
    from flightless.cli.exercise_results import Keeping
    from flightless.exercises.exercise import Exercise

__all__ = ["SheetLook", "run_check", "run_export", "run_hint", "run_mark", "run_sheet", "run_show"]


def run_check(file: Path, *, as_json: bool) -> Exit:
    """Name every unsound exercise."""
    exercises = read_set(file)
    ready()
    unsound = {found.number: found for found in check_set(exercises)}
    for number, exercise in enumerate(exercises.exercises, 1):
        found = unsound.get(number)
        if as_json:
            say_json(
                {
                    "exercise": number,
                    "kind": exercise.kind,
                    "sound": found is None,
                    "field": found.fault.field if found else None,
                    "reason": found.fault.why if found else None,
                }
            )
        if found is not None:
            try:
                refuse_unsound(exercises, found)
            except FileError as error:
                refuse(str(error))
    if unsound:
        return Exit.INPUT
    if not as_json:
        count = len(exercises.exercises)
        say("The exercise is sound." if count == 1 else f"All {count} exercises are sound.")
    return Exit.DONE


def run_show(file: Path, number: int | None, language: str = "en") -> Exit:
    """Diagrams and tasks, with what there is to choose from."""
    exercises = _in_language(file, language)
    if number is not None:
        say(_page(exercises.exercise(number), number, language))
        return Exit.DONE
    pages = [_page(exercise, n, language) for n, exercise in enumerate(exercises.exercises, 1)]
    say("\n\n".join([exercises.title, *pages]))
    return Exit.DONE


def _page(exercise: Exercise, number: int, language: str) -> str:
    from flightless.draw.labels import ENGLISH, GERMAN
    from flightless.draw.terminal import terminal_board
    from flightless.words.reasons import choice_text, kind_title, task

    width = terminal_width()
    rendering = exercise.rendering()
    title, asked = kind_title(exercise.kind, language), task(exercise, language)
    parts = [f"{number}. {title}", textwrap.fill(asked, width)]
    labels = GERMAN if language == "de" else ENGLISH
    for diagram in rendering.diagrams:
        board = terminal_board(diagram.fen, side_line=diagram.side_mark, labels=labels)
        parts.append(f"{diagram.letter}\n{board}" if diagram.letter else board)
    choices = rendering.space.choices
    if choices:
        # Only a pattern may be answered by a letter: elsewhere (b) would be taken for a bishop.
        lettered = exercise.kind == "name"
        boxes = [
            f"{f'({chr(97 + n)})' if lettered else '-'} {choice_text(exercise, choice, language)}"
            for n, choice in enumerate(choices)
        ]
        parts.append("\n".join(boxes))
    return "\n\n".join(parts)


def run_mark(
    file: Path,
    number: int,
    answer: str,
    keeping: Keeping | None = None,
    language: str = "en",
    *,
    as_json: bool,
) -> Exit:
    """The verdict and its reason; kept with the results if that is wished."""
    from flightless.exercises.mark import mark_document
    from flightless.words.reasons import spoken, verdict_text

    exercise = _sound(_in_language(file, language), number)
    mark = exercise.mark(answer)
    sentences = spoken(mark.reason, language)
    if as_json:
        say_json({"exercise": number, **mark_document(mark), "sentences": list(sentences)})
    else:
        verdict = verdict_text(mark.verdict, language)
        say(textwrap.fill(f"{verdict} {' '.join(sentences)}", terminal_width()))
    if mark.verdict == "unreadable":
        return Exit.INPUT
    if keeping is not None:
        keeping.keep(exercise, mark)
    return Exit.DONE


def run_hint(file: Path, number: int, step: int, language: str = "en") -> Exit:
    """One step of the ladder."""
    from flightless.words.reasons import hint_text

    ladder = _sound(_in_language(file, language), number).hints()
    if step > len(ladder):
        raise UsageError(f"exercise {number} has {len(ladder)} hints, not {step}")
    say(hint_text(ladder[step - 1], language))
    return Exit.DONE


def run_export(file: Path, form: Literal["pgn", "epd"], out: Path | None) -> Exit:
    """The set as PGN or EPD."""
    from flightless.exercises.portable import epd_text, pgn_text
    from flightless.words.reasons import solution, task

    exercises = _all_sound(file)
    write = pgn_text if form == "pgn" else epd_text
    text = write(exercises, task, solution)
    if out is None:
        say(text.rstrip("\n"))
    else:
        write_text(out, text)
        say(f"{len(exercises.exercises)} exercises: {out}")
    return Exit.DONE


@dataclass(frozen=True, slots=True)
class SheetLook:
    """How the sheet is to look, as the options of the command say it."""

    columns: int
    paper: str
    large: bool
    coordinates: bool
    seen_from: str
    key: bool
    language: str = "en"


def run_sheet(file: Path, out: Path, look: SheetLook) -> Exit:
    """The worksheet and its key."""
    from flightless.press.exercise_sheet import exercise_pdf
    from flightless.press.items import GERMAN_SHEET, SheetLabels, SheetOptions

    if look.paper not in ("a4", "letter"):
        raise UsageError(f"the paper is a4 or letter, not {look.paper!r}")
    if look.seen_from not in ("white", "mover"):
        raise UsageError(f"the board is seen from white or mover, not {look.seen_from!r}")
    _in_language(file, look.language)
    exercises = _all_sound(file)
    options = SheetOptions(
        title=exercises.title,
        paper="a4" if look.paper == "a4" else "letter",
        columns=1 if look.large else look.columns,
        large_print=look.large,
        coordinates=look.coordinates,
        from_side_to_move=look.seen_from == "mover",
        labels=GERMAN_SHEET if look.language == "de" else SheetLabels(),
    )
    pdf = exercise_pdf(exercises, options, key=look.key)
    write_whole(out, [pdf])
    count = len(exercises.exercises)
    exercises_ = "1 exercise" if count == 1 else f"{count} exercises"
    say(f"{exercises_}{', with the answer key' if look.key else ''}: {out}")
    return Exit.DONE


def _in_language(file: Path, language: str) -> ExerciseSet:
    """The set, once it is known that the language is one that is spoken."""
    from flightless.words.reasons import speech

    speech(language)
    return read_set(file)


def _sound(exercises: ExerciseSet, number: int) -> Exercise:
    """The exercise of a number, refused if it is not sound."""
    from flightless.exercises.file import Unsound

    exercise = exercises.exercise(number)
    ready()
    fault = exercise.unsound()
    if fault is not None:
        refuse_unsound(exercises, Unsound(number, fault))
    return exercise


def _all_sound(file: Path) -> ExerciseSet:
    exercises = read_set(file)
    ready()
    for found in check_set(exercises):
        refuse_unsound(exercises, found)
    return exercises
