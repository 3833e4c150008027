"""The pages of a harvest: files are dropped, games are read, finds are looked through and kept."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from importlib.resources import files
from itertools import islice
from typing import Any

import chess
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response, StreamingResponse
from starlette.routing import Route

from flightless.errors import UsageError
from flightless.patterns.recognise import catalogue
from flightless.web.desk import Desk, desk_of, link, number_in, sent, whole
from flightless.web.drawer import chosen_ids, number_word, plain_name, save
from flightless.web.figures import diagram, shared_men
from flightless.web.work import Find, State, fill_geometry

__all__ = ["ROUTES"]

_ON_A_PAGE = 24
_KINDS = {"mated": "mate given", "missed": "mate missed", "resigned": "resigned before it"}
_ORDERS = {"found": "as they were found", "short": "the shortest first", "clear": "one key first"}
_SAMPLE = ("classics.pgn", "club-2026.pgn")


async def harvests(request: Request) -> Response:
    """All harvests, and the place where files are dropped."""
    return desk_of(request).page(request, "harvests.html", states=desk_of(request).harvests.all())


async def begin(request: Request) -> Response:
    """Files that were sent become a harvest."""
    desk = desk_of(request)
    form = await sent(request)
    uploads = [u for u in form.getlist("files") if isinstance(u, UploadFile) and u.filename]
    number, folder = desk.harvests.new_folder()
    for index, upload in enumerate(uploads, start=1):
        await save(upload, folder / "files" / f"{index:02} {plain_name(upload)}")
    title = ", ".join(plain_name(u) for u in uploads[:3]) or "files"
    keep = desk.book if form.get("keep") == "yes" else None
    desk.harvests.begin(number, folder, title, book=keep)
    return RedirectResponse(f"/harvest/{number}", 303)


async def sample(request: Request) -> Response:
    """The games of the Harbour Street club, harvested into the casebook."""
    desk = desk_of(request)
    await sent(request)
    number, folder = desk.harvests.new_folder()
    source = files("flightless.web").joinpath("sample")
    for name in _SAMPLE:
        (folder / "files" / name).write_bytes(source.joinpath(name).read_bytes())
    desk.harvests.begin(number, folder, "Harbour Street club", book=desk.book)
    return RedirectResponse(f"/harvest/{number}", 303)


def _shown(find: Find) -> dict[str, Any]:
    document = find.document
    asked = document.get("way_in") or document
    board = chess.Board(asked["fen"])
    source = document.get("source") or {}
    players = " – ".join(
        str(source.get(side, "")).partition(",")[0] for side in ("white", "black")
    ).strip("– ?")
    moves = int(asked.get("moves") or 0)
    known = {p.name: p.known_as or p.name for p in catalogue().patterns}
    first = next(iter(document.get("patterns") or ()), "")
    mates = "White" if board.turn == (moves > 0) else "Black"
    return {
        "number": find.number,
        "drawing": diagram(board, size=230, bare=True, title=f"Find {find.number}"),
        "fen": board.fen(),
        "what": f"{mates} mates in {number_word(abs(moves))}" if moves else "Mate",
        "kind": _KINDS.get(document.get("kind", ""), ""),
        "pattern": known.get(first, first),
        "source": ", ".join(
            filter(None, (players, str(source.get("event") or "").strip("?"),
                          str(source.get("date") or "")[:4].strip("?.")))
        ),
        "played": document.get("played") or "",
    }  # fmt: skip


def _year(source: dict[str, Any]) -> str:
    year = str(source.get("date") or "")[:4]
    return year if year.isdigit() else ""


def _picked(desk: Desk, number: int, pattern: str, kind: str, order: str) -> list[Find]:
    found = [
        find
        for find in desk.harvests.finds(number)
        if (not pattern or pattern in find.document.get("patterns", ()))
        and (not kind or find.document.get("kind") == kind)
    ]

    def asked(find: Find) -> dict[str, Any]:
        way: dict[str, Any] = find.document.get("way_in") or find.document
        return way

    if order == "short":
        found.sort(key=lambda f: (abs(int(asked(f).get("moves") or 0)), f.number))
    elif order == "clear":
        found.sort(key=lambda f: (len(asked(f).get("keys") or ()) != 1, f.number))
    return found


async def one(request: Request) -> Response:
    """One harvest: how far it is, and what it has found."""
    desk = desk_of(request)
    number = number_in(request, "id")
    state = desk.harvests.get(number)
    query = request.query_params
    pattern, kind = query.get("pattern", "")[:80], query.get("kind", "")
    order = query.get("order", "found")
    if kind and kind not in _KINDS:
        raise UsageError(f"the kind is one of {', '.join(_KINDS)}, not {kind[:40]!r}")
    if order not in _ORDERS:
        raise UsageError(f"the order is one of {', '.join(_ORDERS)}, not {order[:40]!r}")
    start = whole(query.get("from", ""), "the place in the list", 1, 1_000_000, 1)
    picked = await run_in_threadpool(_picked, desk, number, pattern, kind, order)
    shown = [_shown(f) for f in islice(picked, start - 1, start - 1 + _ON_A_PAGE)]

    def address(**change: Any) -> str:
        kept = {"pattern": pattern, "kind": kind, "order": order if order != "found" else ""}
        return link(f"/harvest/{number}", **(kept | change))

    more = start - 1 + _ON_A_PAGE < len(picked)
    return desk.page(
        request,
        "harvest.html",
        men=shared_men(),
        state=state,
        finds=shown,
        count=len(picked),
        names=[(n, c, address(pattern=n)) for n, c in desk.harvests.patterns(number)],
        pattern=pattern,
        kind=kind,
        kinds=[("", "all", address(kind=""))]
        + [(k, w, address(kind=k)) for k, w in _KINDS.items()],
        orders=[(k, w, address(order=k)) for k, w in _ORDERS.items()],
        order=order,
        every=address(pattern=""),
        next=address(**{"from": start + _ON_A_PAGE}) if more else "",
        this=address(**{"from": start if start > 1 else ""}),
        kept=query.get("kept", "")[:20],
    )


async def act(request: Request) -> Response:
    """Stop a harvest, or go on with it."""
    desk = desk_of(request)
    form = await sent(request)
    number = number_in(request, "id")
    state = desk.harvests.get(number)
    if form.get("act") == "stop":
        desk.harvests.stop(number)
    elif form.get("act") == "go on":
        desk.harvests.go_on(number, desk.book if state.keep_all else None)
    else:
        raise UsageError("a harvest can be stopped, or go on")
    return RedirectResponse(f"/harvest/{number}", 303)


async def keep(request: Request) -> Response:
    """Put the ticked finds, or all of them, into the casebook."""
    desk = desk_of(request)
    form = await sent(request)
    number = number_in(request, "id")
    everything = form.get("act") == "all"
    wanted = set() if everything else set(chosen_ids([str(v) for v in form.getlist("id")]))

    def add() -> int:
        documents = [
            f.document for f in desk.harvests.finds(number) if everything or f.number in wanted
        ]
        counts = desk.book.add_records(documents)
        fill_geometry(desk.book)
        return counts.positions

    added = await run_in_threadpool(add)
    return RedirectResponse(link(f"/harvest/{number}", kept=str(added)), 303)


def _told(state: State) -> str:
    document = {
        "stage": state.stage,
        "part": round(state.part, 4),
        "games": state.games,
        "skipped": state.skipped,
        "finds": state.finds,
    }
    return f"data: {json.dumps(document)}\n\n"


async def events(request: Request) -> Response:
    """Server-sent events (WHATWG HTML, 9.2): how far the harvest is, until it stands still."""
    desk = desk_of(request)
    number = number_in(request, "id")
    desk.harvests.get(number)

    async def stream() -> AsyncIterator[str]:
        last = ""
        while not desk.closing.is_set():
            state = desk.harvests.get(number)
            told = _told(state)
            if told != last:
                last = told
                yield told
            if state.stage not in ("waiting", "running") or await request.is_disconnected():
                return
            await asyncio.sleep(0.2)

    return StreamingResponse(
        stream(), media_type="text/event-stream", headers={"Cache-Control": "no-store"}
    )


ROUTES = [
    Route("/harvest", harvests),
    Route("/harvest", begin, methods=["POST"]),
    Route("/harvest/sample", sample, methods=["POST"]),
    Route("/harvest/{id:int}", one),
    Route("/harvest/{id:int}", act, methods=["POST"]),
    Route("/harvest/{id:int}/keep", keep, methods=["POST"]),
    Route("/harvest/{id:int}/events", events),
]
