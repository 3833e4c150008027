"""The commands' front: one Typer application, and the wall that no traceback passes.

Each command lives in a module of its own and is imported only when it runs.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Annotated, NoReturn

import typer

import flightless
from flightless.cli.casebook import casebook
from flightless.cli.exercises import exercises
from flightless.cli.exits import Exit
from flightless.errors import FlightlessError

__all__ = ["app", "run"]

app = typer.Typer(
    name="flightless",
    help="The workbench of a chess coach who teaches checkmating patterns.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)

Source = Annotated[
    str,
    typer.Argument(
        help="A FEN in quotes, a file of FEN or EPD lines, or '-' for standard input.",
        metavar="POSITION",
        show_default=False,
    ),
]
Within = Annotated[int, typer.Option(help="The longest mate to look for, in moves.", min=1, max=60)]
Nodes = Annotated[
    int | None,
    typer.Option(
        help="Budget of the search in positions; the same budget, the same answer.", min=1
    ),
]
Seconds = Annotated[
    float | None,
    typer.Option(help="Also stop each search after this time; the answer then says so.", min=0.001),
]
Json = Annotated[bool, typer.Option("--json", help="One JSON document a line, for machines.")]
_LONGEST, _LEAST_MEMORY, _MOST_MEMORY = 200, 1, 65536  # as in `prove.asking`, not loaded here


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"flightless {flightless.__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", help="Show the version.", callback=_version, is_eager=True)
    ] = False,
) -> None:
    del version


@app.command()
def prove(
    position: Source,
    within: Annotated[
        int, typer.Option(help="The longest mate to look for, in moves.", min=1, max=_LONGEST)
    ] = 5,
    nodes: Nodes = None,
    seconds: Seconds = None,
    threads: Annotated[
        int,
        typer.Option(
            help="Search in one thread or in two; one alone does the same work each time.",
            min=1,
            max=2,
        ),
    ] = 1,
    memory: Annotated[
        int,
        typer.Option(
            help="Megabytes that the tables of a search may take.",
            min=_LEAST_MEMORY,
            max=_MOST_MEMORY,
        ),
    ] = 128,
    ask: Annotated[
        str | None,
        typer.Option(
            help="A UCI engine of your own, shown beside the proof (or $FLIGHTLESS_ENGINE).",
            metavar="ENGINE",
            show_default=False,
        ),
    ] = None,
    json: Json = False,
) -> None:
    """Is it mate, in how many, against every defence?

    Exit code 0 when decided, 3 when the budget was spent first, 2 when refused.
    """
    from flightless.cli.prove import Search, run_prove

    search = Search(within, nodes, seconds, threads, memory)
    _leave(run_prove(position, search, ask, as_json=json))


@app.command()
def explain(
    position: Source,
    within: Within = 5,
    nodes: Nodes = None,
    seconds: Seconds = None,
    folder: Annotated[
        Path | None,
        typer.Option(
            help="Also write a diagram (SVG) and the words (text) of each position here.",
            show_default=False,
        ),
    ] = None,
    vary_start: Annotated[
        bool,
        typer.Option(
            "--vary-start",
            help="Also say what could be different before a forced line (up to three moves).",
        ),
    ] = False,
    json: Json = False,
) -> None:
    """Why is it mate: the check, the king's squares, what is needed, what would have saved him.

    Takes any legal position and answers what it is; one with a forced mate is explained with
    the mate that it ends in.  A file of games is explained game by game, each at its end.
    """
    from flightless.cli.explain import run_explain

    _leave(
        run_explain(position, within, nodes, seconds, folder, vary_start=vary_start, as_json=json)
    )


@app.command()
def harvest(
    files: Annotated[
        list[str],
        typer.Argument(
            help="PGN files (.pgn, .pgn.gz, .pgn.zst).", metavar="FILE...", show_default=False
        ),
    ],
    out: Annotated[
        Path | None,
        typer.Option(
            help="Write the JSON Lines here (.parquet: a table); an interrupted run goes on."
        ),
    ] = None,
    full: Annotated[
        int, typer.Option(help="Look for mates with every move up to this length.", min=1, max=6)
    ] = 2,
    checks: Annotated[
        int, typer.Option(help="Look for mates by checks alone up to this length.", min=1, max=12)
    ] = 5,
    jobs: Annotated[
        int | None,
        typer.Option(help="Processes; as many as there are cores for large files.", min=1),
    ] = None,
    cluster: Annotated[
        str | None, typer.Option(help="Address of a Dask scheduler: many machines.")
    ] = None,
    fresh: Annotated[bool, typer.Option("--fresh", help="Begin anew instead of going on.")] = False,
    json: Annotated[
        bool, typer.Option("--json", help="Say what was read as JSON too, on standard error.")
    ] = False,
) -> None:
    """Collect from games: mates given, mates missed, resignations before a forced mate.

    Writes JSON Lines, one find a line.  A bad game is skipped and listed on standard error
    with its file, number, line and reason.  Exit code 0 if any game was read, else 2.
    """
    from flightless.cli.harvest import run_harvest

    _leave(
        run_harvest(files, out, full, checks, jobs=jobs, cluster=cluster, fresh=fresh, as_json=json)
    )


@app.command()
def worksheet(
    file: Annotated[
        str,
        typer.Argument(
            help="A harvest (JSON Lines), FEN or EPD lines, or a PGN.",
            metavar="FILE",
            show_default=False,
        ),
    ],
    out: Annotated[Path, typer.Option(help="The PDF to write.")] = Path("worksheet.pdf"),
    title: Annotated[str, typer.Option(help="Heading of the sheet.")] = "Mates",
    diagrams: Annotated[int, typer.Option(help="Number of diagrams.", min=1, max=400)] = 8,
    best: Annotated[
        int | None,
        typer.Option(help="So many diagrams, the best for use in class.", min=1, max=400),
    ] = None,
    columns: Annotated[int, typer.Option(help="Diagrams side by side.", min=1, max=3)] = 2,
    paper: Annotated[str, typer.Option(help="a4 or letter.")] = "a4",
    large: Annotated[bool, typer.Option("--large", help="Large print.")] = False,
    coordinates: Annotated[bool, typer.Option(help="Letters and figures round the board.")] = True,
    seen_from: Annotated[
        str, typer.Option(help="white, or mover for the side to move at the bottom.")
    ] = "white",
    key: Annotated[bool, typer.Option(help="The answer key, on pages of its own.")] = True,
    within: Within = 5,
    nodes: Nodes = None,
    json: Json = False,
) -> None:
    """A worksheet of diagrams with its answer key, as a PDF for the printer."""
    from flightless.cli.worksheet import Layout, run_worksheet

    layout = Layout(title, columns, paper, large, coordinates, seen_from, key)
    _leave(
        run_worksheet(
            file,
            out,
            layout,
            diagrams=diagrams,
            best=best,
            within=within,
            nodes=nodes,
            as_json=json,
        )
    )


@app.command()
def draw(
    position: Annotated[str, typer.Argument(help="A FEN in quotes.", show_default=False)],
    out: Annotated[Path, typer.Option(help="The SVG to write.")] = Path("diagram.svg"),
    marks: Annotated[
        bool, typer.Option(help="Mark the king's squares if the position is mate.")
    ] = True,
    coordinates: Annotated[bool, typer.Option(help="Letters and figures round the board.")] = True,
    seen_from: Annotated[
        str, typer.Option(help="white, black, or mover for the side to move at the bottom.")
    ] = "white",
    json: Json = False,
) -> None:
    """One diagram as an SVG picture."""
    from flightless.cli.draw import run_draw

    _leave(
        run_draw(
            position, out, marks=marks, coordinates=coordinates, seen_from=seen_from, as_json=json
        )
    )


@app.command()
def check(
    file: Annotated[
        str,
        typer.Argument(
            help="A proof: what 'prove --json' printed; '-' for standard input.",
            metavar="FILE",
            show_default=False,
        ),
    ],
    json: Json = False,
) -> None:
    """Replay a proof with the plain rules alone, and say where it fails if it does.

    Exit code 0 when every proof holds, 1 when one does not, 2 when one cannot be read.
    """
    from flightless.cli.check import run_check

    _leave(run_check(file, as_json=json))


@app.command(name="proofread")
def proofread_(
    file: Annotated[
        str,
        typer.Argument(
            help="EPD lines with bm or dm, or a PGN whose games are solutions from a FEN tag.",
            metavar="FILE",
            show_default=False,
        ),
    ],
    within: Within = 5,
    nodes: Nodes = None,
    json: Json = False,
) -> None:
    """Check old sheets against the proof: sound, second key, shorter, longer, no mate, illegal.

    Exit code 0 when all are sound, 1 when one is not, 2 when one cannot be read.
    """
    from flightless.cli.proofread import run_proofread

    _leave(run_proofread(file, within, nodes, as_json=json))


@app.command()
def atlas(
    file: Annotated[
        str,
        typer.Argument(help="A harvest (JSON Lines).", metavar="FILE", show_default=False),
    ],
    out: Annotated[
        Path | None,
        typer.Option(help="Also draw a picture sheet: a .pdf or an .svg.", show_default=False),
    ] = None,
    most: Annotated[int, typer.Option(help="Number of skeletons to show.", min=1)] = 20,
    title: Annotated[str, typer.Option(help="Heading of the sheet.")] = "Atlas of mates",
    ways: Annotated[
        bool, typer.Option(help="Also count what the forced lines are made of (slower).")
    ] = True,
    json: Json = False,
) -> None:
    """What really occurs: the skeletons of a harvest's mates by frequency, and what they share."""
    from flightless.cli.atlas import run_atlas

    _leave(run_atlas(file, out, most, title, ways=ways, as_json=json))


@app.command()
def like(
    position: Annotated[
        str,
        typer.Argument(help="A FEN: mated, or with a mate within five.", show_default=False),
    ],
    among: Annotated[
        str, typer.Option("--in", help="A harvest (JSON Lines) to look in.", show_default=False)
    ],
    most: Annotated[int, typer.Option(help="Number of mates to show.", min=1)] = 10,
    out: Annotated[
        Path | None,
        typer.Option(help="Draw both with their ledgers side by side (SVG).", show_default=False),
    ] = None,
    json: Json = False,
) -> None:
    """The mates most like this one, and why they are alike."""
    from flightless.cli.atlas import run_like

    _leave(run_like(position, among, most, out, as_json=json))


patterns = typer.Typer(
    help="The catalogue of patterns, and patterns of the coach's own.", no_args_is_help=True
)
app.add_typer(patterns, name="pattern")


@patterns.command(name="list")
def pattern_list(json: Json = False) -> None:
    """Every pattern, by its description and its name."""
    from flightless.cli.patterns import run_list

    _leave(run_list(as_json=json))


@patterns.command(name="show")
def pattern_show(
    name: Annotated[str, typer.Argument(help="The name, as the list has it.", show_default=False)],
) -> None:
    """One pattern: where it is named, its model position, variations and near misses."""
    from flightless.cli.patterns import run_show

    _leave(run_show(name))


@patterns.command(name="learn")
def pattern_learn(
    position: Annotated[str, typer.Argument(help="A mated position (FEN).", show_default=False)],
    name: Annotated[str, typer.Option(help="The pattern's name.", show_default=False)],
    description: Annotated[
        str, typer.Option(help="What it is, in a few words.", show_default=False)
    ],
    level: Annotated[
        str | None,
        typer.Option(
            help="Write it: exact, 'lines slid', 'supporter free' or 'place free'.",
            show_default=False,
        ),
    ] = None,
    among: Annotated[
        str | None,
        typer.Option("--in", help="A harvest: count what each level catches.", show_default=False),
    ] = None,
    replace: Annotated[bool, typer.Option(help="Write over a file of that name.")] = False,
) -> None:
    """Make a pattern of your own from an example, freed step by step."""
    from flightless.cli.patterns import run_learn

    _leave(run_learn(position, name, description, level, among, replace))


app.add_typer(casebook, name="casebook")
app.add_typer(exercises, name="exercises")


@app.command()
def vary(
    position: Annotated[str, typer.Argument(help="A FEN in quotes.", show_default=False)],
    within: Within = 3,
    longer: Annotated[int, typer.Option(help="Positions one move longer, at most.", min=0)] = 3,
    json: Json = False,
) -> None:
    """A family from one position, each member proved with a single first move.

    Takes a position with a forced mate, or a mated one.
    """
    from flightless.cli.making import run_vary

    _leave(run_vary(position, within, longer, as_json=json))


@app.command()
def contrast(
    position: Annotated[str, typer.Argument(help="A FEN in quotes.", show_default=False)],
    within: Within = 3,
    most: Annotated[int, typer.Option(help="Number of pairs.", min=1)] = 5,
    json: Json = False,
) -> None:
    """The same position with one thing changed and no mate any more, and the sentence why."""
    from flightless.cli.making import run_contrast

    _leave(run_contrast(position, within, most, as_json=json))


@app.command()
def compose(
    position: Annotated[
        str,
        typer.Argument(help="A mated position (FEN), or a pattern's name.", show_default=False),
    ],
    moves: Annotated[int, typer.Option(help="Length of the mate.", min=1, max=3)] = 1,
    count: Annotated[int, typer.Option(help="Number of positions.", min=1)] = 1,
    seed: Annotated[int, typer.Option(help="The same seed, the same positions.")] = 0,
    phase: Annotated[str, typer.Option(help="opening, middlegame or ending.")] = "middlegame",
    balanced: Annotated[bool, typer.Option(help="Material near balance.")] = True,
    quiet: Annotated[
        bool, typer.Option("--quiet", help="The first move gives no check (2 or 3 moves).")
    ] = False,
    json: Json = False,
) -> None:
    """A full position, as from a game, that ends in this mate; proved, one first move.

    Exit code 0 when all were found, 2 when one was not.
    """
    from flightless.cli.making import run_compose

    seeds = range(seed, seed + count)
    _leave(run_compose(position, moves, seeds, phase, balanced, quiet=quiet, as_json=json))


@app.command(name="open")
def open_(
    casebook: Annotated[
        Path | None, typer.Option(help="Another casebook than your own.", show_default=False)
    ] = None,
    port: Annotated[
        int | None, typer.Option(help="The port to listen on.", min=1, max=65535)
    ] = None,
    browser: Annotated[bool, typer.Option(help="Open the browser.")] = True,
) -> None:
    """The workbench in the browser, on this machine alone."""
    from flightless.cli.open import run_open

    _leave(run_open(casebook, port, browser=browser))


@app.command()
def problem(
    position: Source,
    within: Within = 5,
    moves: Annotated[
        int | None,
        typer.Option(
            help="The length that the problem claims (else an EPD's dm); a shorter one is then "
            "called a short solution.",
            min=1,
            max=60,
            show_default=False,
        ),
    ] = None,
    nodes: Nodes = None,
    language: Annotated[str, typer.Option(help="Letters and words of the page: en or de.")] = "en",
    json: Json = False,
) -> None:
    """A direct mate as a composed problem: set play, tries, key, threat, variations, duals.

    Exit code 0 when decided, 3 when the budget was spent first, 2 when refused.
    """
    from flightless.cli.problem import run_problem

    _leave(run_problem(position, within, moves, nodes, language, as_json=json))


@app.command()
def uci() -> None:
    """Answer the open engine protocol UCI, for programs that ask for mates."""
    from flightless.cli.uci import run_uci

    _leave(run_uci())


@app.command()
def warm(json: Json = False) -> None:
    """Compile everything ahead, so that the first question is answered at once."""
    from flightless.cli.warm import run_warm

    _leave(run_warm(as_json=json))


def _leave(code: Exit) -> NoReturn:
    raise typer.Exit(int(code))


def run() -> None:
    """Run the command line; whatever happens, the user gets a sentence and an exit code."""
    from flightless.cli.console import note, refuse

    try:
        app()
    except FlightlessError as error:
        refuse(str(error))
        sys.exit(Exit.INPUT)
    except KeyboardInterrupt:
        note("Stopped.")
        sys.exit(Exit.INTERRUPTED)
    except SystemExit as left:
        # Typer turns Ctrl-C within a command into this code, without a word.
        if left.code == Exit.INTERRUPTED:
            note("Stopped.")
        raise
    except BrokenPipeError:
        # Whoever read our output has gone (head, a pager): that is no fault of theirs.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(Exit.DONE)
    except OSError as error:
        refuse(f"{error.filename or 'a file'}: {error.strerror or error}")
        sys.exit(Exit.INPUT)
    except Exception as error:
        if os.environ.get("FLIGHTLESS_TRACEBACK"):
            raise
        refuse(
            f"a fault of the program itself ({type(error).__name__}: {error}); "
            "set FLIGHTLESS_TRACEBACK=1 to see where"
        )
        sys.exit(Exit.FAULT)
