"""`flightless pattern`: the catalogue, and patterns of the coach's own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flightless.cli.atlas import mates_of
from flightless.cli.console import note, refuse, say, say_json
from flightless.cli.exits import Exit
from flightless.cli.warm import ready
from flightless.errors import FileError, UsageError
from flightless.positions import looks_like_fen, read_position

if TYPE_CHECKING:
    from flightless.cases.case import Case

__all__ = ["run_learn", "run_list", "run_show"]


def run_list(*, as_json: bool) -> Exit:
    """Every pattern, by its description and then its name."""
    from flightless.patterns.own import own_catalogue

    for pattern in sorted(own_catalogue().patterns, key=lambda p: (p.family, p.name)):
        if as_json:
            say_json(
                {
                    "name": pattern.name,
                    "description": pattern.description,
                    "known_as": pattern.known_as,
                    "family": pattern.family,
                    "parents": list(pattern.parents),
                    "model": pattern.model.fen,
                }
            )
        else:
            say(f"{pattern.name}: {pattern.shown}")
    return Exit.DONE


def run_show(name: str) -> Exit:
    """One pattern: what it is, its source and notes, its examples and near misses."""
    from flightless.draw.terminal import terminal_board
    from flightless.patterns.own import own_catalogue

    try:
        pattern = own_catalogue()[name]
    except KeyError:
        raise UsageError(
            f"there is no pattern {name!r}; 'flightless pattern list' has all"
        ) from None
    say(f"{pattern.name}: {pattern.shown}.")
    for book in pattern.literature:
        memory = " (from memory)" if book.from_memory else ""
        say(f"Named so in {book.author}, {book.title}, {book.year}{memory}.")
    for text in pattern.notes:
        say(text)
    say()
    say(terminal_board(pattern.model.fen))
    say(f"{pattern.model.fen}  {pattern.model.note}")
    for title, examples in (("Also", pattern.variations), ("Not", pattern.near_misses)):
        for example in examples:
            say(f"{title}: {example.fen}  {example.note}")
    return Exit.DONE


def run_learn(
    fen: str, name: str, description: str, level: str | None, harvest: str | None, replace: bool
) -> Exit:
    """Show what each level of a new pattern would catch; with `level` write it."""
    from flightless.cases.build import case_of
    from flightless.patterns.learn import LEVELS, catches, learn, write_level
    from flightless.patterns.own import own_folder

    if level is not None and level not in LEVELS:
        raise UsageError(f"the level is one of {', '.join(LEVELS)}, not {level!r}")
    if not looks_like_fen(fen):
        raise UsageError(f"a pattern is learned from a FEN, which has seven slashes: {fen!r}")
    board = read_position(fen).board
    ready()
    levels = learn(case_of(board), name, description)
    cases = _cases(harvest) if harvest is not None else []
    for one in levels:
        text = f"{one.name}: " + ("" if one.frees else "the same as the level before; ")
        if harvest is not None:
            text += f"catches {len(catches(one, cases)):,} of {len(cases):,} mates"
        say(text.rstrip("; ").rstrip(": "))
    if level is None:
        say("Nothing is written yet: choose one with --level.")
        return Exit.DONE
    chosen = next(one for one in levels if one.name == level)
    there = own_folder() / chosen.pattern.file
    if there.exists() and not replace:
        raise FileError(f"{there} is there already; --replace writes over it")
    path = write_level(chosen, own_folder(), replace=replace)
    say(f"Written: {path}")
    return Exit.DONE


def _cases(source: str) -> list[Case]:
    cases = []
    for find, case in mates_of(source):
        if case is None:
            refuse(find.refusal or "", find.place)
        else:
            cases.append(case)
    if not cases:
        note(f"{source}: there is no mate in it.")
    return cases
