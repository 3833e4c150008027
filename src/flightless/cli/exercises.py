"""`flightless exercises`: the commands and their options; the work is in `exercise_work`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, NoReturn

import typer

from flightless.cli.exits import Exit
from flightless.errors import UsageError

__all__ = ["exercises"]

exercises = typer.Typer(
    help="Exercises: make a set, check it, mark answers with the reason, print and export it.",
    no_args_is_help=True,
)

SetFile = Annotated[
    Path, typer.Argument(help="An exercise file (TOML).", metavar="FILE", show_default=False)
]
Number = Annotated[
    int, typer.Argument(help="Number of the exercise in the file.", min=1, show_default=False)
]
Nickname = Annotated[
    str, typer.Option(help="Whose answer it is; may be left out.", show_default=False)
]
Day = Annotated[
    str | None,
    typer.Option(help="The day, like 2026-03-31, or none; today.", show_default=False),
]
Results = Annotated[
    Path | None,
    typer.Option(
        "--results", help="The file of results; without it, your own.", show_default=False
    ),
]
Language = Annotated[str, typer.Option(help="en or de.")]
Json = Annotated[bool, typer.Option("--json", help="One JSON document a line, for machines.")]


@exercises.command()
def make(
    source: Annotated[
        str,
        typer.Option(
            "--from",
            help="'casebook' (yours), a casebook's file or URL, a harvest (JSON Lines), a PGN, "
            "or FEN or EPD lines.",
            show_default=False,
        ),
    ],
    out: Annotated[Path, typer.Option(help="The exercise file to write.")] = Path("set.toml"),
    pattern: Annotated[
        list[str] | None,
        typer.Option(
            help="A pattern to train, by its name in the catalogue; may be given again.",
            show_default=False,
        ),
    ] = None,
    count: Annotated[int, typer.Option(help="Number of exercises.", min=1, max=500)] = 24,
    level: Annotated[
        str | None,
        typer.Option(
            help="first steps, easy, medium, hard or very hard; without it, from easy to hard.",
            show_default=False,
        ),
    ] = None,
    kinds: Annotated[
        str | None,
        typer.Option(help="Kinds of exercise with commas between; all, if left out."),
    ] = None,
    seed: Annotated[int, typer.Option(help="The same seed, the same set.")] = 1,
    blocked: Annotated[
        bool,
        typer.Option(
            "--blocked/--mixed",
            help="Begin in blocks, pattern by pattern and kind by kind, or mix everything.",
        ),
    ] = False,
    block_share: Annotated[
        float,
        typer.Option(help="With --blocked: the share in blocks; the rest is mixed.", min=0, max=1),
    ] = 0.5,
    look_alikes: Annotated[
        float, typer.Option(help="Share of positions of other, similar patterns.", min=0, max=1)
    ] = 0.2,
    no_mates: Annotated[
        float, typer.Option(help="Share of positions in which there is no mate.", min=0, max=1)
    ] = 0.15,
    title: Annotated[str, typer.Option(help="Heading of the set.", show_default=False)] = "",
    results: Annotated[
        Path | None,
        typer.Option(
            help="Grade by these results (CSV), or by the calibration made of them (.json).",
            show_default=False,
        ),
    ] = None,
    json: Json = False,
) -> None:
    """Make a graded set from a casebook, a harvest or games."""
    from flightless.cli.exercise_making import run_make
    from flightless.exercises.sets import Wish

    wish = Wish(
        patterns=tuple(pattern or ()),
        count=count,
        level=level,
        kinds=tuple(k.strip() for k in (kinds or "").split(",") if k.strip()),
        seed=seed,
        blocked=block_share if blocked else 0.0,
        look_alikes=look_alikes,
        no_mates=no_mates,
        title=title,
    )
    _leave(run_make(source, wish, out, results, as_json=json))


@exercises.command()
def check(file: SetFile, json: Json = False) -> None:
    """Is every exercise sound?  Everything is computed from scratch.

    An error in the file is refused with its line and field; an unsound exercise with what is
    wrong, for instance the second solution.  Exit code 2 in both cases, 0 if all is sound.
    """
    from flightless.cli.exercise_work import run_check

    _leave(run_check(file, as_json=json))


@exercises.command()
def show(
    file: SetFile,
    number: Annotated[
        int | None, typer.Argument(help="Only this exercise.", min=1, show_default=False)
    ] = None,
    language: Language = "en",
) -> None:
    """The exercises as a pupil sees them: diagrams and tasks, without the answers."""
    from flightless.cli.exercise_work import run_show

    _leave(run_show(file, number, language))


@exercises.command()
def mark(
    file: SetFile,
    number: Number,
    answer: Annotated[
        list[str],
        typer.Argument(help="The answer, as a pupil would write it.", show_default=False),
    ],
    record: Annotated[
        bool,
        typer.Option("--record", help="Keep the outcome in the file of results."),
    ] = False,
    nickname: Nickname = "",
    seconds: Annotated[
        float | None,
        typer.Option(help="How long the pupil took.", min=0, show_default=False),
    ] = None,
    allowed: Annotated[
        float | None,
        typer.Option(help="Seconds allowed: right but later is late.", min=0, show_default=False),
    ] = None,
    date: Day = None,
    results: Results = None,
    language: Language = "en",
    json: Json = False,
) -> None:
    """Mark an answer, with the reason.

    Moves are SAN or UCI, alone or as a line; men are written 'Bf6' or 'bishop f6', a ledger
    'f7 = f7; h8 = Qe8'.  Exit code 2 if the answer cannot be read or the move is illegal; such
    an answer is not recorded.
    """
    from flightless.cli.exercise_work import run_mark

    keep = None
    if record:
        from flightless.cli.exercise_results import Keeping, Who

        keep = Keeping(Who.said(nickname, date), results, seconds, allowed)
    elif nickname or seconds is not None or allowed is not None or date or results:
        raise UsageError("a nickname, times, a day and a file are for --record, which is not given")
    _leave(run_mark(file, number, " ".join(answer), keep, language, as_json=json))


@exercises.command()
def record(
    file: SetFile,
    right: Annotated[
        str, typer.Option(help="Numbers of the exercises: 1-4,6", show_default=False)
    ] = "",
    late: Annotated[
        str, typer.Option(help="Right, but after the time allowed.", show_default=False)
    ] = "",
    wrong: Annotated[str, typer.Option(help="Wrong or not answered.", show_default=False)] = "",
    nickname: Nickname = "",
    date: Day = None,
    results: Results = None,
) -> None:
    """Record a pupil's sheet that was marked by hand.

    Kept on this machine alone, a line for each answer: the nickname if you give one, the
    exercise, its kind and grade, right, late or wrong, and the day.  Pupils are often minors:
    give a nickname that tells them apart for you alone, or none; local law on minors' data
    comes first.  'calibrate --forget' erases a pupil.
    """
    from flightless.cli.exercise_results import Who, run_record

    numbers = {"right": right, "late": late, "wrong": wrong}
    _leave(run_record(file, numbers, Who.said(nickname, date), results))  # type: ignore[arg-type]


@exercises.command()
def calibrate(
    files: Annotated[
        list[Path] | None,
        typer.Argument(
            help="Files of results (CSV); without them, what was recorded on this machine.",
            metavar="RESULTS...",
            show_default=False,
        ),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(help="The calibration to write; without it, your own.", show_default=False),
    ] = None,
    forget: Annotated[
        str | None,
        typer.Option(
            help="Erase this pupil's answers from the files, and calibrate anew.",
            metavar="NICKNAME",
            show_default=False,
        ),
    ] = None,
    simulated: Annotated[
        bool,
        typer.Option("--simulated", help="Show what it does with simulated pupils; keep nothing."),
    ] = False,
    seed: Annotated[int, typer.Option(help="Of --simulated: the same seed, the same pupils.")] = 1,
    json: Json = False,
) -> None:
    """Learn from results how hard the exercises are, and say how well they were foretold.

    The calibration has no pupils in it and is made anew each time from all the results given.
    'make --results' grades by it.
    """
    from flightless.cli.exercise_results import run_calibrate, run_forget, run_simulated

    if simulated:
        if files or forget is not None or out is not None:
            raise UsageError("--simulated takes no results and keeps nothing: leave them out")
        _leave(run_simulated(seed, as_json=json))
    if forget is not None:
        _leave(run_forget(files or [], forget, out))
    _leave(run_calibrate(files or [], out, as_json=json))


@exercises.command()
def hint(
    file: SetFile,
    number: Number,
    step: Annotated[int, typer.Option(help="How far up the ladder: 1 is the vaguest.", min=1)] = 1,
    language: Language = "en",
) -> None:
    """A hint for an exercise: first the pattern, then the man, then the square."""
    from flightless.cli.exercise_work import run_hint

    _leave(run_hint(file, number, step, language))


@exercises.command()
def export(
    file: SetFile,
    epd: Annotated[
        bool, typer.Option("--epd/--pgn", help="EPD lines, or PGN games from the position on.")
    ] = False,
    out: Annotated[
        Path | None,
        typer.Option(help="The file to write; without it, standard output.", show_default=False),
    ] = None,
) -> None:
    """The set in an open format, with the solutions, for other programs."""
    from flightless.cli.exercise_work import run_export

    _leave(run_export(file, "epd" if epd else "pgn", out))


@exercises.command()
def sheet(
    file: SetFile,
    out: Annotated[Path, typer.Option(help="The PDF to write.")] = Path("exercises.pdf"),
    columns: Annotated[int, typer.Option(help="Diagrams side by side.", min=1, max=3)] = 2,
    paper: Annotated[str, typer.Option(help="a4 or letter.")] = "a4",
    large: Annotated[bool, typer.Option("--large", help="Large print.")] = False,
    coordinates: Annotated[bool, typer.Option(help="Letters and figures round the board.")] = True,
    seen_from: Annotated[
        str, typer.Option(help="white, or mover for the side to move at the bottom.")
    ] = "white",
    key: Annotated[bool, typer.Option(help="The answer key, on pages of its own.")] = True,
    language: Language = "en",
) -> None:
    """The set on paper: a worksheet of every kind of exercise, and its answer key."""
    from flightless.cli.exercise_work import SheetLook, run_sheet

    look = SheetLook(columns, paper, large, coordinates, seen_from, key, language)
    _leave(run_sheet(file, out, look))


def _leave(code: Exit) -> NoReturn:
    raise typer.Exit(int(code))
