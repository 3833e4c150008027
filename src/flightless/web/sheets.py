"""Sheets and the atlas: positions of the casebook chosen, previewed, and taken away as files.

A sheet is its address: the positions in their order and how it is to look.  What is printed is
made by `press/`, and files of positions by the casebook.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from typing import Any

import chess
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from flightless.casebook import Entry
from flightless.casebook.counting import NOT_KNOWN
from flightless.casebook.export import writer_of
from flightless.draw.atlas import AtlasEntry, atlas_svg
from flightless.errors import UsageError
from flightless.patterns.recognise import catalogue
from flightless.press.atlas import atlas_pdf
from flightless.press.items import SheetItem, SheetOptions
from flightless.press.page import PageSetup
from flightless.press.worksheet import (
    key_pdf,
    worksheet_and_key_pdf,
    worksheet_pdf,
    worksheet_pictures,
)
from flightless.web.desk import Desk, desk_of, link, plain_line, sent, whole
from flightless.web.drawer import Card, cards, chosen_ids, source_of
from flightless.web.figures import diagram, shared_men
from flightless.web.leafing import DOTS, page_asked, picture, previewed
from flightless.web.look import board_of, explained
from flightless.words.english.grammar import listed
from flightless.words.english.grammar import number as number_word
from flightless.words.explain import account
from flightless.words.tasks import solution_text, task_text

__all__ = ["ROUTES"]

_MOST = 60
_LEAVES = ("page.png", "preview")
_LOOK = ("title", "columns", "paper", "large", "coordinates", "seen")
_PARTS = {"sheet": worksheet_pdf, "key": key_pdf, "both": worksheet_and_key_pdf}


def ids_of(text: str) -> list[int]:
    """The positions of an address.  Raises `UsageError`."""
    ids = chosen_ids(text.split(",")) if text.strip(" ,") else []
    if len(ids) > _MOST:
        raise UsageError(f"a sheet takes at most {_MOST} positions, and these are {len(ids)}")
    return ids


def options_of(query: Mapping[str, str]) -> SheetOptions:
    """How a sheet is to look.  Raises `UsageError`."""
    columns = query.get("columns", "")
    paper = query.get("paper", "a4")
    if paper not in ("a4", "letter"):
        raise UsageError(f"the paper is a4 or letter, not {paper[:20]!r}")
    return SheetOptions(
        title=plain_line(query.get("title", "")) or "Mates",
        paper="letter" if paper == "letter" else "a4",
        columns=whole(columns, "the number of columns", 1, 3, 2) if columns else None,
        large_print=query.get("large") == "yes",
        coordinates=query.get("coordinates", "yes") != "no",
        from_side_to_move=query.get("seen") == "mover",
    )


def _item(entry: Entry) -> SheetItem:
    board = board_of(entry.fen)
    found = explained(board)
    sentences: list[str] = []
    if found.case is not None:
        for paragraph in account(found.proof, found.case).paragraphs:
            sentences += [paragraph, ""]
    return SheetItem(
        fen=board.fen(),
        task=task_text(board, found.proof),
        source=source_of(entry.first),
        solution=solution_text(board, found.proof),
        name=found.names[0].shown if found.names else "",
        sentences=tuple(sentences[:-1]),
        case=found.case,
    )


async def sheet(request: Request) -> Response:
    """A sheet to be looked at, with all that can be made of it."""
    desk = desk_of(request)
    query = dict(request.query_params)
    ids = ids_of(query.get("ids", ""))
    options = options_of(query)

    def entries() -> list[Entry]:
        return [desk.book.get(number).entry for number in ids]

    found = await run_in_threadpool(entries)
    kept = {name: query[name] for name in _LOOK if query.get(name)}

    def address(order: list[int], path: str = "/sheet", **more: str) -> str:
        return link(path, ids=",".join(map(str, order)), **(kept | more))

    items: list[tuple[Card, str, str, str]] = []
    for index, card in enumerate(cards(tuple(found))):
        earlier = ids[:]
        if index:
            earlier[index - 1], earlier[index] = earlier[index], earlier[index - 1]
        without = [n for n in ids if n != card.id]
        task = task_text(board_of(card.fen), explained(board_of(card.fen)).proof)
        items.append((card, task, address(earlier) if index else "", address(without)))
    return desk.page(
        request,
        "sheet.html",
        men=shared_men(),
        items=items,
        ids=",".join(map(str, ids)),
        options=options,
        query=kept,
        files=[
            ("The sheet (PDF)", address(ids, "/sheet/sheet.pdf")),
            ("The key (PDF)", address(ids, "/sheet/key.pdf")),
            ("Sheet and key in one (PDF)", address(ids, "/sheet/both.pdf")),
            ("The positions (PGN)", address(ids, "/sheet/positions.pgn")),
            ("The positions (EPD)", address(ids, "/sheet/positions.epd")),
        ],
        this=address(ids),
        pages=[
            (words, *(address(ids, f"/sheet/{path}", part=part) for path in _LEAVES))
            for part, words in (("sheet", "The sheet"), ("key", "The key"))
        ],
    )


async def pdf(request: Request) -> Response:
    """The sheet, its key, or both."""
    desk = desk_of(request)
    part = request.url.path.removeprefix("/sheet/").removesuffix(".pdf")
    query = dict(request.query_params)
    ids, options = ids_of(query.get("ids", "")), options_of(query)

    def make() -> bytes:
        return _PARTS[part]([_item(desk.book.get(number).entry) for number in ids], options)

    return Response(
        await run_in_threadpool(make),
        media_type="application/pdf",
        headers={"Content-Disposition": f'attachment; filename="{part}.pdf"'},
    )


async def page_picture(request: Request) -> Response:
    """One page of the sheet or of its key as it will be printed."""
    desk = desk_of(request)
    query = dict(request.query_params)
    ids, options, number, key = ids_of(query.get("ids", "")), options_of(query), *page_asked(query)

    def make() -> list[bytes]:
        items = [_item(desk.book.get(one).entry) for one in ids]
        return worksheet_pictures(items, options, key=key, dots=DOTS)

    return picture(await run_in_threadpool(make), number)


async def preview(request: Request) -> Response:
    """The pages of a sheet looked at one by one before they are printed."""
    desk = desk_of(request)
    query = dict(request.query_params)
    ids, options, number, key = ids_of(query.get("ids", "")), options_of(query), *page_asked(query)

    def count() -> int:
        items = [_item(desk.book.get(one).entry) for one in ids]
        return len(worksheet_pictures(items, options, key=key, dots=1))

    kept = {name: query[name] for name in _LOOK if query.get(name)} | {"ids": query.get("ids", "")}
    return previewed(
        request, options.title, await run_in_threadpool(count), number, key, "/sheet", kept
    )


async def positions(request: Request) -> Response:
    """The positions of a sheet as PGN or EPD."""
    desk = desk_of(request)
    kind = request.url.path.rpartition(".")[2]
    ids = ids_of(request.query_params.get("ids", ""))
    write = writer_of("pgn" if kind == "pgn" else "epd")

    def make() -> str:
        return "".join(write(desk.book.get(number)) for number in ids)

    return Response(
        await run_in_threadpool(make),
        media_type="text/plain; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="positions.{kind}"'},
    )


async def used(request: Request) -> Response:
    """Say that the positions of a sheet were used in a lesson."""
    desk = desk_of(request)
    form = await sent(request)
    ids = chosen_ids(str(form.get("ids", "")).split(","))
    lesson = str(form.get("lesson", "")).strip()
    if not lesson:
        raise UsageError("the lesson has no name; write one beside the button")
    await run_in_threadpool(desk.book.mark_used, ids, lesson)
    return RedirectResponse(link("/casebook", lesson=lesson), 303)


# --- the atlas ---------------------------------------------------------------------------------


def _atlas(desk: Desk, most: int) -> tuple[list[tuple[AtlasEntry, str]], int]:
    """The commonest skeletons of the casebook, each with its key, and how many mates there are."""
    counted = sorted(desk.book.geometry_keys(), key=lambda one: (-one[1], one[0]))
    known = {p.name: p.known_as or p.name for p in catalogue().patterns}
    entries: list[tuple[AtlasEntry, str]] = []
    for key, count, first in counted[:most]:
        entry = desk.book.get(first).entry
        name = known.get(entry.patterns[0], entry.patterns[0]) if entry.patterns else ""
        entries.append((AtlasEntry(entry.skeleton or entry.fen, count, name), key))
    return entries, sum(count for _, count, _ in counted)


async def atlas(request: Request) -> Response:
    """What occurs most in the casebook: skeletons by frequency."""
    desk = desk_of(request)
    most = whole(request.query_params.get("most", ""), "the number of skeletons", 1, 200, 24)
    found, total = await run_in_threadpool(_atlas, desk, most)
    return desk.page(
        request,
        "atlas.html",
        men=shared_men(),
        total=f"{total:,}",
        entries=[
            (diagram(chess.Board(e.fen), size=230, bare=True), e.name, e.count,
             link("/casebook", key=key))
            for e, key in found
        ],
        more=link("/casebook/atlas", most=min(200, most * 2)) if len(found) == most < 200 else "",
        most=most,
    )  # fmt: skip


async def atlas_file(request: Request) -> Response:
    """The atlas as one picture sheet."""
    desk = desk_of(request)
    most = whole(request.query_params.get("most", ""), "the number of skeletons", 1, 200, 24)
    as_pdf = request.url.path.endswith(".pdf")

    def make() -> bytes:
        found, total = _atlas(desk, most)
        entries = [entry for entry, _ in found]
        if as_pdf:
            return atlas_pdf(entries, PageSetup("Atlas of mates"), total=total)
        return atlas_svg(entries, title="Atlas of mates", total=total).encode()

    return Response(
        await run_in_threadpool(make),
        media_type="application/pdf" if as_pdf else "image/svg+xml",
        headers={
            "Content-Disposition": f'attachment; filename="atlas.{"pdf" if as_pdf else "svg"}"'
        },
    )


def _men(letters: str) -> str:
    """'queen and two knights' of the letters QNN."""
    counted = Counter(letters)
    said = [
        name if n == 1 else f"{number_word(n)} {name}s"
        for letter, n in counted.items()
        for name in (chess.piece_name(chess.Piece.from_symbol(letter).piece_type),)
    ]
    return listed(said)


def _length(moves: str) -> str:
    """'mate in two' of a length as the casebook keeps it."""
    n = int(moves)
    if n == 0:
        return "mated already"
    return f"mate in {number_word(n)}" if n > 0 else f"mated in {number_word(-n)}"


async def index(request: Request) -> Response:
    """The index of the casebook: how many there are of what, each with its address."""
    desk = desk_of(request)
    counts = await run_in_threadpool(desk.book.statistics)
    known = {p.name: p.known_as or p.name for p in catalogue().patterns}

    def linked(
        counted: Mapping[Any, int], part: str, shown: Callable[[str], str] = str
    ) -> list[tuple[str, int, str]]:
        return [
            (shown(str(n)), c, link("/casebook", **{part: n}))
            for n, c in counted.items()
            if n != NOT_KNOWN  # nothing can be looked for by it
        ]

    groups: list[tuple[str, Any]] = [
        ("Patterns", linked(counts.patterns, "pattern", lambda n: known.get(n, n))),
        ("Men together", linked(counts.tandems, "tandem", _men)),
        ("Lengths", linked(counts.moves, "moves", _length)),
        ("Tags", linked(counts.tags, "tag")),
        ("Lessons", linked(counts.lessons, "lesson")),
    ]
    return desk.page(
        request,
        "index.html",
        groups=[(title, rows) for title, rows in groups if rows],
        positions=f"{counts.positions:,}",
        games=f"{counts.games:,}",
        unused=f"{counts.unused:,}",
    )


ROUTES = [
    Route("/sheet", sheet),
    *(Route(f"/sheet/{part}.pdf", pdf, name=part) for part in _PARTS),
    Route("/sheet/page.png", page_picture),
    Route("/sheet/preview", preview),
    Route("/sheet/positions.pgn", positions),
    Route("/sheet/positions.epd", positions, name="epd"),
    Route("/sheet/used", used, methods=["POST"]),
    Route("/casebook/atlas", atlas),
    Route("/casebook/atlas.pdf", atlas_file),
    Route("/casebook/atlas.svg", atlas_file, name="atlas_svg"),
    Route("/casebook/index", index),
]
