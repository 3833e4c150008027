"""`flightless worksheet`: from a harvest, positions or games to a sheet and its answer key."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import chess

from flightless.cli.console import note, refuse, say, say_json
from flightless.cli.exits import Exit
from flightless.cli.finds import finds_of, source_line
from flightless.cli.warm import ready
from flightless.cli.whole import write_whole
from flightless.errors import FileError, PositionError, UsageError
from flightless.exercises.choice import Candidate, choose
from flightless.harvest.inputs import asked_positions, kind_of
from flightless.positions import looks_like_fen, read_position

if TYPE_CHECKING:
    from flightless.exercises.worth import Worth
    from flightless.press.items import SheetItem, SheetOptions

__all__ = ["Layout", "run_worksheet", "sheet_item"]


_SHARE = 4
"""A pattern fills at most one part of so many of a sheet of the best (common practice, no
source)."""


@dataclass(frozen=True, slots=True)
class Layout:
    """How the sheet is to look, as the options of the command say it."""

    title: str
    columns: int
    paper: str
    large: bool
    coordinates: bool
    seen_from: str
    key: bool


def run_worksheet(
    source: str,
    out: Path,
    layout: Layout,
    *,
    diagrams: int,
    best: int | None = None,
    within: int,
    nodes: int | None,
    as_json: bool,
) -> Exit:
    """Make the sheet; lines that are refused and positions without a mate are named.

    With `best` it has so many diagrams, those worth most in class, and the reasons are told.
    """
    options = _options(layout)
    found, refused = _candidates(source)
    ready()
    items: list[SheetItem] = []
    for candidate in choose(found, diagrams) if best is None else _best(found, best):
        item = sheet_item(candidate, within, nodes)
        if item is not None:
            items.append(item)
    if not items:
        raise FileError(f"{source}: no position in it is mate or has a mate within {within}")
    _write(out, items, options, key=layout.key, as_json=as_json)
    return Exit.INPUT if refused else Exit.DONE


def _options(layout: Layout) -> SheetOptions:
    from flightless.press.items import SheetOptions

    if layout.paper not in ("a4", "letter"):
        raise UsageError(f"the paper is a4 or letter, not {layout.paper!r}")
    if layout.seen_from not in ("white", "mover"):
        raise UsageError(f"the board is seen from white or mover, not {layout.seen_from!r}")
    return SheetOptions(
        title=layout.title,
        paper="a4" if layout.paper == "a4" else "letter",
        columns=layout.columns,
        large_print=layout.large,
        coordinates=layout.coordinates,
        from_side_to_move=layout.seen_from == "mover",
    )


def _write(
    out: Path, items: list[SheetItem], options: SheetOptions, *, key: bool, as_json: bool
) -> None:
    from flightless.press.worksheet import worksheet_and_key_pdf, worksheet_pdf

    pdf = worksheet_and_key_pdf(items, options) if key else worksheet_pdf(items, options)
    write_whole(out, [pdf])
    if as_json:
        fens = [item.fen for item in items]
        say_json({"file": str(out), "key": key, "diagrams": len(items), "fens": fens})
        return
    diagrams = "1 diagram" if len(items) == 1 else f"{len(items)} diagrams"
    say(f"{diagrams}{', with the answer key' if key else ''}: {out}")


def sheet_item(candidate: Candidate, within: int, nodes: int | None) -> SheetItem | None:
    """The printed form of a candidate, proved and explained; None, with a note, without a mate."""
    from flightless.explain import explain
    from flightless.press.items import SheetItem
    from flightless.words.explain import account
    from flightless.words.tasks import solution_text, task_text

    board = chess.Board(candidate.fen)
    board.fullmove_number = 1
    try:
        explanation = explain(board, max(within, abs(candidate.moves or 0)), nodes)
    except PositionError as error:
        refuse(str(error), candidate.source)
        return None
    if explanation.case is None:
        note(f"Left out, no mate within {within}: {candidate.fen}")
        return None
    sentences: list[str] = []
    # The key prints the pattern above the sentences, so they need not name it again.
    words = account(explanation.proof, explanation.case)
    for paragraph in words.paragraphs:
        sentences += [paragraph, ""]
    return SheetItem(
        fen=board.fen(),
        task=task_text(board, explanation.proof),
        source=candidate.source,
        solution=solution_text(board, explanation.proof),
        name=explanation.names[0].shown if explanation.names else "",
        sentences=tuple(sentences[:-1]),
        case=explanation.case,
    )


def _best(found: list[Candidate], count: int) -> list[Candidate]:
    """The `count` candidates that are worth most in class, the shortest mates first.

    Every skeleton and every game comes once, and no pattern fills more than a quarter of the
    sheet as long as there are others.  Says on standard error what each is worth, and why.
    """
    from flightless.cli.casebook_weigh import progress_bar
    from flightless.exercises.worth import Worth, rank_of
    from flightless.exercises.worth_keeping import ToWeigh, weigh_all
    from flightless.harvest.crew import cores
    from flightless.words.worth import worth_sentences

    asked = [ToWeigh(c.fen, c.moves, bool(c.game)) for c in found]
    with progress_bar("weighed") as report:
        worths = weigh_all(asked, jobs=cores(), progress=report)
    weighed = [(w, c) for w, c in zip(worths, found, strict=True) if isinstance(w, Worth)]
    taken: list[tuple[Worth, Candidate]] = []
    for most in (max(1, count // _SHARE), count):
        for pair in sorted(weighed, key=lambda pair: rank_of(pair[0])):
            if len(taken) < count and pair not in taken and _is_new(pair, taken, most):
                taken.append(pair)
    taken.sort(key=lambda pair: (abs(pair[0].moves), rank_of(pair[0])))
    for number, (worth, _) in enumerate(taken, start=1):
        note(f"{number}. Worth {worth.total:.2f}. {' '.join(worth_sentences(worth))}")
    return [candidate for _, candidate in taken]


def _is_new(pair: tuple[Worth, Candidate], taken: list[tuple[Worth, Candidate]], most: int) -> bool:
    """Whether game and skeleton are not on the sheet yet, and the pattern not `most` times."""
    worth, candidate = pair
    met = {mark for _, other in taken for mark in (other.skeleton, other.game)} - {""}
    if met & {candidate.skeleton, candidate.game}:
        return False
    return sum(_pattern(other) == _pattern(worth) for other, _ in taken) < most


def _pattern(worth: Worth) -> str | None:
    pattern: str | None = worth.facts("typical")["pattern"]
    return pattern


# --- what the sheet is made from --------------------------------------------------------------


def _candidates(source: str) -> tuple[list[Candidate], bool]:
    """The positions of a harvest, a file of positions, a PGN or one FEN; and whether any line
    of it was refused."""
    if looks_like_fen(source):
        return [Candidate(read_position(source).board.fen())], False
    kind = kind_of(source)
    if kind == "finds":
        return _from_harvest(source)
    if kind == "games":
        return _from_games(source), False
    return _from_lines(source)


def _from_lines(source: str) -> tuple[list[Candidate], bool]:
    found = []
    refused = False
    for asked in asked_positions(source):
        if asked.position is None:
            refuse(asked.refusal or "", asked.place)
            refused = True
            continue
        label = asked.position.operations.get("id", ("",))[0]
        found.append(Candidate(asked.position.board.fen(), source=label))
    return found, refused


def _from_games(source: str) -> list[Candidate]:
    from flightless.harvest.records import BadFile, BadGame, record_document
    from flightless.harvest.run import harvest

    found = []
    items = harvest([source])
    ready()
    for item in items:
        if isinstance(item, BadGame | BadFile):
            note(f"Skipped: {item}")
        else:
            found.append(_from_record(record_document(item)))
    return found


def _from_harvest(source: str) -> tuple[list[Candidate], bool]:
    found = []
    refused = False
    for find in finds_of(source):
        if find.refusal is not None:
            refuse(find.refusal, find.place)
            refused = True
        else:
            found.append(_from_record(find.document))
    return found, refused


def _from_record(document: Mapping[str, Any]) -> Candidate:
    source = document.get("source") or {}
    patterns = document.get("patterns") or [""]
    # A mate on the board is asked from where it became forced: that is the exercise in it.
    asked = document.get("way_in") or document
    return Candidate(
        read_position(asked["fen"]).board.fen(),
        int(asked.get("moves") or 0),
        len(asked.get("keys") or ()),
        str(patterns[0]),
        str(document.get("skeleton") or ""),
        source_line(source),
        f"{source.get('file', '')} {document.get('game', '')}",
    )
