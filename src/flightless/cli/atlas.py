"""`flightless atlas` and `flightless like`: which mates occur, and which are alike."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import chess

from flightless.cli.console import note, refuse, say, say_json
from flightless.cli.draw import check_is_svg
from flightless.cli.exits import Exit
from flightless.cli.finds import Find, finds_of, source_line
from flightless.cli.warm import ready
from flightless.cli.whole import write_text, write_whole
from flightless.errors import FileError, FlightlessError, UsageError
from flightless.harvest.inputs import kind_of
from flightless.positions import looks_like_fen, read_position

if TYPE_CHECKING:
    from flightless.cases.case import Case
    from flightless.patterns.atlas import Atlas, Item
    from flightless.patterns.likeness import Likeness

__all__ = ["mates_of", "run_atlas", "run_like"]


# --- which occur ------------------------------------------------------------------------------


def run_atlas(
    source: str, out: Path | None, most: int, title: str, *, ways: bool, as_json: bool
) -> Exit:
    """Count the mates of a harvest by skeleton; with `out` also as a picture sheet."""
    from flightless.patterns.atlas import atlas_document, atlas_of
    from flightless.words.shares import atlas_sentences

    items, refused = _items(source, ways=ways)
    if not items:
        raise FileError(f"{source}: there is no mate in it")
    atlas = atlas_of(items)
    if out is not None:
        _draw(atlas, out, most, title)
        note(f"Drawn: {out}")
    if as_json:
        say_json(atlas_document(atlas, most=most))
    else:
        for sentence in atlas_sentences(atlas):
            say(sentence)
        say()
        for number, entry in enumerate(atlas.entries[:most], 1):
            say(f"{number:3}. {entry.count:6,}  {entry.name or '(no name)'}  {entry.skeleton}")
    return Exit.INPUT if refused else Exit.DONE


def _items(source: str, *, ways: bool) -> tuple[list[Item], bool]:
    from flightless.patterns.atlas import item_of

    items = []
    refused = False
    for find, case in mates_of(source):
        if case is None:
            refuse(find.refusal or "", find.place)
            refused = True
            continue
        label = source_line(find.document.get("source") or {})
        natures = _natures(find.document) if ways else None
        items.append(item_of(case, natures=natures, label=label))
    return items, refused


def mates_of(source: str) -> Iterator[tuple[Find, Case | None]]:
    """The case of every find of a harvest; None for a line that was refused."""
    from dataclasses import replace

    from flightless.cases.build import case_of
    from flightless.patterns.atlas import mated_board

    if kind_of(source) != "finds":
        raise FileError(f"{source}: expected the finds of a harvest, one JSON document a line")
    ready()
    for find in finds_of(source):
        if find.refusal is not None:
            yield find, None
            continue
        try:
            yield find, case_of(mated_board(find.document))
        except FlightlessError as error:
            yield replace(find, refusal=str(error)), None


def _natures(document: Any) -> frozenset[str] | None:
    """The natures of the mating side's moves in the forced line of a find."""
    from flightless.cases.wayin import way_in
    from flightless.prove import prove

    asked = document.get("way_in") or document
    moves = int(asked.get("moves") or 0)
    if moves < 1:
        return None
    proof = prove(chess.Board(asked["fen"]), moves, 2_000_000)
    if proof.verdict != "mate":
        return None
    return frozenset(n.kind for step in way_in(proof).attacks for n in step.natures)


def _draw(atlas: Atlas, out: Path, most: int, title: str) -> None:
    from flightless.draw.atlas import AtlasEntry, atlas_svg
    from flightless.press.atlas import atlas_pdf
    from flightless.press.page import PageSetup

    entries = [AtlasEntry(e.skeleton, e.count, e.name) for e in atlas.entries[:most]]
    if out.suffix.lower() == ".svg":
        write_text(out, atlas_svg(entries, title=title, total=atlas.total))
    elif out.suffix.lower() == ".pdf":
        write_whole(out, [atlas_pdf(entries, PageSetup(title), total=atlas.total)])
    else:
        raise UsageError(f"the atlas is drawn as .pdf or .svg, not {out.name!r}")


# --- which are alike --------------------------------------------------------------------------


def run_like(fen: str, source: str, most: int, out: Path | None, *, as_json: bool) -> Exit:
    """The finds of a harvest whose mates are most like that of a position, and why."""
    from flightless.patterns.geometry import geometry_of
    from flightless.patterns.like import LikenessIndex
    from flightless.patterns.likeness import likeness
    from flightless.words.likeness import likeness_sentences

    asked = _asked_case(fen)
    if out is not None:
        check_is_svg(out)
    finds, cases, refused = [], [], False
    for find, case in mates_of(source):
        if case is None:
            refuse(find.refusal or "", find.place)
            refused = True
        else:
            finds.append(find)
            cases.append(case)
    keys = [geometry_of(case).key for case in cases]
    key = geometry_of(asked).key
    nearest = LikenessIndex.of(keys).nearest(key, most) if keys else ()
    if not nearest:
        raise FileError(f"{source}: there is no mate in it")
    for number, value in nearest:
        why = likeness(key, keys[number])
        words = " ".join(likeness_sentences(why))
        label = source_line(finds[number].document.get("source") or {})
        if as_json:
            say_json(_like_document(finds[number], cases[number], value, keys[number], why, words))
        else:
            say(f"{value:4.0%}  {cases[number].fen}  {label}")
            say(f"      {words}")
    if out is not None:
        _draw_alike(asked, cases[nearest[0][0]], out)
    return Exit.INPUT if refused else Exit.DONE


def _asked_case(fen: str) -> Case:
    from flightless.cases.build import case_of
    from flightless.explain import final_board
    from flightless.prove import prove

    if not looks_like_fen(fen):
        raise UsageError(f"like takes a FEN, which has seven slashes: {fen!r}")
    board = read_position(fen).board
    ready()
    if board.is_checkmate():
        return case_of(board)
    end = final_board(board, prove(board))
    if end is None:
        raise UsageError(f"there is no mate within five moves to compare: {fen!r}")
    return case_of(end)


def _like_document(
    find: Find, case: Case, value: float, key: str, why: Likeness, words: str
) -> dict[str, Any]:
    return {
        "likeness": round(float(value), 4),
        "same_geometry": why.value == 1,
        "fen": case.fen,
        "skeleton": case.skeleton.fen,
        "geometry": key,
        "patterns": list(find.document.get("patterns") or ()),
        "source": find.document.get("source"),
        "sentences": [words],
    }


def _draw_alike(asked: Case, other: Case, out: Path) -> None:
    from flightless.draw.side_by_side import alike_svg

    captions = ("The mate asked about.", "The one most like it.")
    write_text(out, alike_svg((asked, other), captions, title="Two mates side by side"))
    note(f"Drawn: {out}")
