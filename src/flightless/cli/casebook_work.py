"""What the casebook commands do: ask the casebook, print its answers."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import asdict, replace
from pathlib import Path
from textwrap import fill, indent
from typing import TYPE_CHECKING, Any

from flightless.casebook.codes import NATURES
from flightless.casebook.data import Counts, Entry, Filter, NewPosition
from flightless.cli.casebook_weigh import say_unweighed, weigh_new, why
from flightless.cli.console import note as aside
from flightless.cli.console import refuse, say, say_json, terminal_width
from flightless.cli.exits import Exit
from flightless.cli.finds import finds_of
from flightless.cli.warm import ready
from flightless.cli.whole import write_whole
from flightless.errors import PositionError, UsageError
from flightless.harvest.inputs import asked_positions, kind_of

if TYPE_CHECKING:
    import chess

    from flightless.casebook.book import Casebook

__all__ = [
    "run_add",
    "run_backup",
    "run_export",
    "run_import",
    "run_list",
    "run_remove",
    "run_restore",
    "run_show",
    "run_stats",
    "run_tag",
    "run_used",
    "wanted",
]


def _open(where: str | None, *, create: bool = False) -> Casebook:
    from flightless.casebook import Casebook as Book

    book: Casebook = Book.open(where, create=create)
    return book


def _fill(book: Casebook) -> None:
    from flightless.casebook.geometry import fill_geometry

    ready()
    fill_geometry(book)


# --- filters ----------------------------------------------------------------------------------


def wanted(
    pattern: list[str] | None,
    moves: str | None,
    tandem: str | None,
    nature: str | None,
    side: str | None,
    phase: str | None,
    years: str | None,
    player: str | None,
    kind: str | None,
    unused: bool,
    difficulty: str | None,
    tag: list[str] | None,
    text: str | None,
) -> Filter:
    """The filter that the options of a command say.  `UsageError` names a bad range; words
    that the casebook does not know are refused by it."""
    span = _span("--moves", moves) if moves is not None else None
    years_span = _span("--years", years) if years is not None else None
    return Filter(
        patterns=tuple(pattern or ()),
        moves=span,
        tandem=tandem,
        nature=nature,
        side=side,  # type: ignore[arg-type]  # checked by the casebook, with its own sentence
        phase=phase,  # type: ignore[arg-type]
        years=years_span,
        player=player,
        kind=kind,  # type: ignore[arg-type]
        unused=unused,
        difficulty=_real_span(difficulty) if difficulty is not None else None,
        tags=tuple(tag or ()),
        text=text,
    )


def _span(option: str, text: str) -> tuple[int, int]:
    match = re.fullmatch(r"\s*(-?\d{1,5})\s*(?:-\s*(-?\d{1,5}))?\s*", text)
    if match is None:
        raise UsageError(f"{option} is a number or two with a hyphen between, not {text!r}")
    first = int(match[1])
    return first, int(match[2]) if match[2] is not None else first


def _real_span(text: str) -> tuple[float, float]:
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*-\s*(\d+(?:\.\d+)?)\s*", text)
    if match is None:
        raise UsageError(f"--difficulty is two numbers with a hyphen between, not {text!r}")
    return float(match[1]), float(match[2])


# --- looking ----------------------------------------------------------------------------------


def run_list(
    where: str | None,
    chosen: Filter,
    size: int,
    after: int | None,
    *,
    order: str,
    with_why: bool,
    as_json: bool,
) -> Exit:
    """A page of the positions that fit."""
    if order not in ("added", "newest", "class"):
        raise UsageError(f"the order is added, newest or class, not {order!r}")
    best = order == "class"
    with _open(where) as book:
        page = book.find(
            chosen, after=after, size=size, newest_first=order == "newest", best_first=best
        )
        reasons = book.worths(entry.id for entry in page.entries) if with_why else {}
        if best or with_why:
            say_unweighed(book)
    for entry in page.entries:
        document = reasons.get(entry.id)
        if as_json:
            say_json(_entry_json(entry) | ({"reasons": document} if with_why else {}))
            continue
        say(_line(entry, with_worth=best or with_why))
        if document is not None:
            say(indent(fill(why(document), terminal_width() - 8), " " * 8))
    if not as_json:
        more = "more than " if page.more_than_total else ""
        say(f"{len(page.entries)} of {more}{page.total:,}.")
        if page.after is not None:
            say(f"The next page: --after {page.after}")
    return Exit.DONE


def _line(entry: Entry, *, with_worth: bool = False) -> str:
    length = "mated" if entry.moves == 0 else f"{entry.side} in {abs(entry.moves or 0)}"
    names = ", ".join(entry.patterns[:2])
    where = ""
    if entry.first is not None:
        game = entry.first.game
        where = " – ".join(filter(None, (game.white, game.black)))
        where = f"{where} {game.year}" if game.year else where
    tags = " ".join(f"#{tag}" for tag in entry.tags)
    worth = "" if not with_worth else "   -" if entry.worth is None else f"{entry.worth:.2f}"
    parts = (f"{entry.id:6}", worth, f"{length:10}", entry.fen, names, where, tags)
    return "  ".join(part for part in parts if part)


def _entry_json(entry: Entry) -> dict[str, Any]:
    # The first game is told below; its tags are a view that cannot be copied.
    document = asdict(replace(entry, first=None))
    if entry.first is not None:
        document["first"] = {
            "white": entry.first.game.white,
            "black": entry.first.game.black,
            "event": entry.first.game.event,
            "year": entry.first.game.year,
            "ply": entry.first.ply,
            "kind": entry.first.kind,
        }
    return document


def run_show(where: str | None, ids: list[int], *, as_json: bool) -> Exit:
    """Everything on some positions."""
    from flightless.draw.terminal import terminal_board

    with _open(where) as book:
        found = [book.get(number) for number in ids]
        reasons = book.worths(ids)
    for details in found:
        entry = details.entry
        document = reasons.get(entry.id)
        if as_json:
            more = {"proof": details.proof, "case": details.case, "reasons": document}
            say_json(_entry_json(entry) | more)
            continue
        say(_line(entry))
        say()
        say(terminal_board(entry.fen))
        if entry.line:
            say(f"Line: {' '.join(entry.line)}")
        if document is not None:
            worth = "" if entry.worth is None else f"{entry.worth:.2f}. "
            say(fill(f"Worth in class: {worth}{why(document)}", terminal_width()))
        if entry.note:
            say(f"Note: {entry.note}")
        if entry.used_in:
            say(f"Used in: {', '.join(entry.used_in)}")
        for seen in details.occurrences:
            game = seen.game
            players = f"{game.white} – {game.black}"
            say(f"{seen.kind} in {players}, {game.event} {game.year or ''}".rstrip())
    return Exit.DONE


def run_stats(where: str | None, *, as_json: bool) -> Exit:
    """How many there are of what."""
    with _open(where) as book:
        counted = book.statistics()
    groups = ("kinds", "moves", "sides", "phases", "tandems", "patterns", "tags", "lessons")
    if as_json:
        names = ("positions", "occurrences", "games", "proved", "unused", "not_weighed", *groups)
        say_json({name: _plain(getattr(counted, name)) for name in names})
        return Exit.DONE
    say(f"{counted.positions:,} positions from {counted.games:,} games, {counted.unused:,} unused.")
    if counted.not_weighed:
        say(f"{counted.not_weighed:,} are not weighed yet.")
    for name in groups:
        group: Mapping[str, int] = getattr(counted, name)
        if group:
            listed = ", ".join(f"{what} {count:,}" for what, count in list(group.items())[:8])
            say(f"{name.capitalize()}: {listed}.")
    return Exit.DONE


def _plain(value: object) -> object:
    return dict(value) if isinstance(value, Mapping) else value


# --- changing ---------------------------------------------------------------------------------


def run_add(where: str | None, source: str, tags: tuple[str, ...], note: str, within: int) -> Exit:
    """Add one position, a file of them, a harvest or the finds of games."""
    kind = kind_of(source)
    with _open(where, create=True) as book:
        if kind == "positions":
            return _add_positions(book, source, tags, note, within)
        counts = book.add_records(_records(source, games=kind == "games"), source)
        _say_counts(counts)
        _fill(book)
        weigh_new(book)
    return Exit.DONE if counts.read > counts.refusals else Exit.INPUT


def _add_positions(
    book: Casebook, source: str, tags: tuple[str, ...], note: str, within: int
) -> Exit:
    refused = False
    warmed = False
    for asked in asked_positions(source):
        try:
            if asked.position is None:
                raise PositionError(asked.refusal or "")
            if not warmed:
                ready()
                warmed = True
            added = book.add(_explained(asked.position.board, tags, note, within))
        except PositionError as error:
            refuse(str(error), asked.place)
            refused = True
        else:
            say(f"{'Added' if added.new else 'There already'}: {added.id}")
    if warmed:
        weigh_new(book)
    return Exit.INPUT if refused else Exit.DONE


def _explained(board: chess.Board, tags: tuple[str, ...], note: str, within: int) -> NewPosition:
    """A position with its proof, case, names and geometry key."""
    from flightless.cases.document import case_document
    from flightless.explain import explain
    from flightless.patterns.geometry import geometry_key
    from flightless.prove import document

    explanation = explain(board, within)
    case, proof = explanation.case, explanation.proof
    if case is None:
        raise PositionError(f"there is no mate within {within} moves, so there is nothing to keep")
    letters = "QRBNPK"
    kinds = explanation.description.tandem if explanation.description else ()
    way = explanation.extras.way
    first = way.attacks[0].natures if way is not None else ()
    return NewPosition(
        fen=board.fen(),
        moves=0 if proof is None else None,
        patterns=tuple(name.name for name in explanation.names),
        tandem="".join(sorted((_letter(k) for k in kinds), key=letters.index)) or None,
        skeleton=case.skeleton.fen,
        natures=tuple(dict.fromkeys(n.kind for n in first if n.kind in NATURES)),
        geometry_key=geometry_key(case),
        tags=tags,
        note=note,
        proof=document(proof) if proof is not None else None,
        case=case_document(case),
    )


def _letter(kind: int) -> str:
    import chess

    return chess.piece_symbol(kind).upper()


def _records(source: str, *, games: bool) -> Any:
    if not games:
        for find in finds_of(source):
            if find.refusal is not None:
                refuse(find.refusal, find.place)
            else:
                yield find.document
        return
    from flightless.harvest.records import BadFile, BadGame, record_document
    from flightless.harvest.run import harvest

    items = harvest([source])
    ready()
    for item in items:
        if isinstance(item, BadGame | BadFile):
            aside(f"Skipped: {item}")
        else:
            yield record_document(item)


def _say_counts(counts: Counts) -> None:
    for refusal in counts.refused:
        refuse(refusal.reason, f"item {refusal.number}")
    say(
        f"{counts.read:,} read: {counts.positions:,} new positions, {counts.occurrences:,} new "
        f"occurrences, {counts.improved:,} improved, {counts.refusals:,} refused."
    )


def run_remove(where: str | None, ids: list[int]) -> Exit:
    """Take positions out."""
    with _open(where) as book:
        count = book.remove(ids)
    say(f"{count} removed.")
    return Exit.DONE


def run_tag(where: str | None, name: str, ids: list[int], *, off: bool) -> Exit:
    """Put a tag on positions or take it off."""
    with _open(where) as book:
        (book.untag if off else book.tag)(ids, name)
    say(f"{len(ids)} {'no longer ' if off else ''}tagged {name!r}.")
    return Exit.DONE


def run_used(where: str | None, lesson: str, ids: list[int], *, off: bool) -> Exit:
    """Mark positions as used in a lesson, or take the mark off."""
    with _open(where) as book:
        (book.unmark_used if off else book.mark_used)(ids, lesson)
    say(f"{len(ids)} {'no longer ' if off else ''}used in {lesson!r}.")
    return Exit.DONE


# --- files ------------------------------------------------------------------------------------


def run_export(where: str | None, form: str, out: Path | None, chosen: Filter) -> Exit:
    """Write the positions that fit; a file takes its name when it is whole."""
    if form not in ("pgn", "epd", "jsonl"):
        raise UsageError(f"the format is pgn, epd or jsonl, not {form!r}")
    with _open(where) as book:
        texts = book.export(form, chosen)  # type: ignore[arg-type]
        if out is None:
            for text in texts:
                print(text, end="" if text.endswith("\n") else "\n")
            return Exit.DONE
        write_whole(out, (text.encode() for text in texts))
    say(f"Written: {out}")
    return Exit.DONE


def run_import(where: str | None, files: list[Path]) -> Exit:
    """Take in files that another casebook exported."""
    taken = 0
    with _open(where, create=True) as book:
        for file in files:
            counts = book.import_(file)
            _say_counts(counts)
            taken += counts.read - counts.refusals
        _fill(book)
        weigh_new(book)
    return Exit.DONE if taken else Exit.INPUT


def run_backup(where: str | None, file: Path, *, overwrite: bool) -> Exit:
    """Copy the casebook to one file."""
    with _open(where) as book:
        book.backup(file, overwrite=overwrite)
        positions = book.count(Filter())
    say(f"{positions:,} positions: {file}")
    return Exit.DONE


def run_restore(where: str | None, file: Path) -> Exit:
    """Put a backup in the casebook's place."""
    with _open(where, create=True) as book:
        restored = book.restore(file)
    say(f"{restored.positions:,} positions; what was there before is in {restored.aside}.")
    return Exit.DONE
