"""`flightless casebook`: the positions that are kept, listed, shown, added and taken out.

The commands' options are here, what they do is in `casebook_work`, which is imported only
when one of them runs.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from flightless.cli.exits import Exit
from flightless.errors import UsageError

__all__ = ["casebook"]

casebook = typer.Typer(
    help="The casebook: the positions that are kept, and what they are found by.",
    no_args_is_help=True,
)

Where = Annotated[
    str | None,
    typer.Option(
        "--casebook", help="Another casebook: a file, or a PostgreSQL URL.", show_default=False
    ),
]
Ids = Annotated[list[int], typer.Argument(help="Numbers of positions.", show_default=False)]
Pattern = Annotated[
    list[str] | None, typer.Option("--pattern", help="Has this name (may be given again).")
]
Moves = Annotated[str | None, typer.Option(help="Length of the mate: N or A-B.")]
Tandem = Annotated[str | None, typer.Option(help="Kinds of the mating men, as QN.")]
Nature = Annotated[str | None, typer.Option(help="What a key is: sacrifice, quiet, ...")]
Side = Annotated[str | None, typer.Option(help="Who mates: white or black.")]
Phase = Annotated[str | None, typer.Option(help="Opening, middlegame or endgame.")]
Years = Annotated[str | None, typer.Option(help="Year of a game: A-B.")]
Player = Annotated[str | None, typer.Option(help="Part of a player's name.")]
Kind = Annotated[
    str | None, typer.Option(help="mated, given, missed, resigned or kept (added by hand).")
]
Unused = Annotated[bool, typer.Option("--unused", help="In no lesson yet.")]
Tag = Annotated[list[str] | None, typer.Option("--tag", help="Has this tag (may be given again).")]
Text = Annotated[str | None, typer.Option(help="Part of a name, tag or note.")]
Difficulty = Annotated[str | None, typer.Option(help="Difficulty: A-B.")]
Json = Annotated[bool, typer.Option("--json", help="One JSON document a line, for machines.")]


def _leave(code: Exit) -> None:
    raise typer.Exit(int(code))


@casebook.command(name="list")
def list_(
    pattern: Pattern = None,
    moves: Moves = None,
    tandem: Tandem = None,
    nature: Nature = None,
    side: Side = None,
    phase: Phase = None,
    years: Years = None,
    player: Player = None,
    kind: Kind = None,
    unused: Unused = False,
    difficulty: Difficulty = None,
    tag: Tag = None,
    text: Text = None,
    size: Annotated[int, typer.Option(help="Positions on a page.", min=1, max=500)] = 20,
    after: Annotated[int | None, typer.Option(help="Go on after this number.")] = None,
    order: Annotated[
        str, typer.Option(help="added, newest, or class: the best for use in class first.")
    ] = "added",
    newest: Annotated[bool, typer.Option("--newest", help="The newest first.")] = False,
    why: Annotated[
        bool, typer.Option("--why", help="Say what each is worth in class, and why.")
    ] = False,
    where: Where = None,
    json: Json = False,
) -> None:
    """The positions that fit, a line each."""
    from flightless.cli.casebook_work import run_list, wanted

    chosen = wanted(
        pattern,
        moves,
        tandem,
        nature,
        side,
        phase,
        years,
        player,
        kind,
        unused,
        difficulty,
        tag,
        text,
    )
    if newest and order == "class":
        raise UsageError("--newest is an order of its own: leave it or --order out")
    order = "newest" if newest else order
    _leave(run_list(where, chosen, size, after, order=order, with_why=why, as_json=json))


@casebook.command()
def show(ids: Ids, where: Where = None, json: Json = False) -> None:
    """Positions with their solution, names, games, tags and notes."""
    from flightless.cli.casebook_work import run_show

    _leave(run_show(where, ids, as_json=json))


@casebook.command()
def add(
    source: Annotated[
        str,
        typer.Argument(
            help="A FEN, a file of positions, a harvest (JSON Lines) or games.",
            metavar="SOURCE",
            show_default=False,
        ),
    ],
    tag: Annotated[
        list[str] | None, typer.Option("--tag", help="Tag what is added by hand.")
    ] = None,
    note: Annotated[str, typer.Option(help="A note on what is added by hand.")] = "",
    within: Annotated[int, typer.Option(help="Longest mate to look for.", min=1, max=60)] = 5,
    where: Where = None,
) -> None:
    """Keep a position, proved and explained; or all finds of a harvest or of games."""
    from flightless.cli.casebook_work import run_add

    _leave(run_add(where, source, tuple(tag or ()), note, within))


@casebook.command()
def remove(ids: Ids, where: Where = None) -> None:
    """Take positions out of the casebook."""
    from flightless.cli.casebook_work import run_remove

    _leave(run_remove(where, ids))


@casebook.command()
def tag(
    name: Annotated[str, typer.Argument(help="The tag.", show_default=False)],
    ids: Ids,
    off: Annotated[bool, typer.Option("--off", help="Take the tag off.")] = False,
    where: Where = None,
) -> None:
    """Put a tag of your own on positions."""
    from flightless.cli.casebook_work import run_tag

    _leave(run_tag(where, name, ids, off=off))


@casebook.command()
def used(
    lesson: Annotated[str, typer.Argument(help="The lesson's name.", show_default=False)],
    ids: Ids,
    off: Annotated[bool, typer.Option("--off", help="Take the mark off.")] = False,
    where: Where = None,
) -> None:
    """Mark positions as used in a lesson."""
    from flightless.cli.casebook_work import run_used

    _leave(run_used(where, lesson, ids, off=off))


@casebook.command()
def weigh(
    jobs: Annotated[
        int | None, typer.Option(help="Processes; else one a core.", min=1, max=64)
    ] = None,
    again: Annotated[bool, typer.Option("--again", help="Weigh all anew.")] = False,
    where: Where = None,
    json: Json = False,
) -> None:
    """Work out what positions are worth in class; goes on where it was interrupted."""
    from flightless.cli.casebook_weigh import run_weigh

    _leave(run_weigh(where, jobs, again=again, as_json=json))


@casebook.command()
def export(
    form: Annotated[str, typer.Option("--format", help="pgn, epd or jsonl.")] = "jsonl",
    out: Annotated[Path | None, typer.Option(help="The file; else standard output.")] = None,
    pattern: Pattern = None,
    moves: Moves = None,
    tandem: Tandem = None,
    nature: Nature = None,
    side: Side = None,
    phase: Phase = None,
    years: Years = None,
    player: Player = None,
    kind: Kind = None,
    unused: Unused = False,
    difficulty: Difficulty = None,
    tag: Tag = None,
    text: Text = None,
    where: Where = None,
) -> None:
    """The positions that fit, as PGN, EPD or JSON Lines."""
    from flightless.cli.casebook_work import run_export, wanted

    chosen = wanted(
        pattern,
        moves,
        tandem,
        nature,
        side,
        phase,
        years,
        player,
        kind,
        unused,
        difficulty,
        tag,
        text,
    )
    _leave(run_export(where, form, out, chosen))


@casebook.command(name="import")
def import_(
    files: Annotated[list[Path], typer.Argument(help="PGN, EPD or JSONL.", show_default=False)],
    where: Where = None,
) -> None:
    """Take in what another casebook exported."""
    from flightless.cli.casebook_work import run_import

    _leave(run_import(where, files))


@casebook.command()
def backup(
    file: Annotated[Path, typer.Argument(help="The file to write.", show_default=False)],
    overwrite: Annotated[bool, typer.Option("--overwrite", help="Write over a file.")] = False,
    where: Where = None,
) -> None:
    """Copy the whole casebook to one file, while it is in use."""
    from flightless.cli.casebook_work import run_backup

    _leave(run_backup(where, file, overwrite=overwrite))


@casebook.command()
def restore(
    file: Annotated[Path, typer.Argument(help="The backup.", show_default=False)],
    where: Where = None,
) -> None:
    """Put a backup in the casebook's place; what was there is kept aside."""
    from flightless.cli.casebook_work import run_restore

    _leave(run_restore(where, file))


@casebook.command()
def stats(where: Where = None, json: Json = False) -> None:
    """How many there are of what."""
    from flightless.cli.casebook_work import run_stats

    _leave(run_stats(where, as_json=json))
