"""The pages of a harvest: files are dropped, games are read, finds are looked through and kept."""

from __future__ import annotations

import asyncio
import json
import shutil
from collections import Counter
from collections.abc import AsyncIterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Any

import chess
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response, StreamingResponse
from starlette.routing import Route

from flightless.casebook.geometry import fill_geometry
from flightless.cases.build import case_of
from flightless.errors import UsageError
from flightless.patterns.geometry import geometry_key
from flightless.patterns.recognise import catalogue
from flightless.web.desk import Desk, desk_of, link, number_in, sent, whole
from flightless.web.drawer import chosen_ids, number_word, plain_name, save, tags_line
from flightless.web.figures import diagram, shared_men
from flightless.web.weighing import in_class
from flightless.web.work import MOST_READ, Find, State

__all__ = ["ROUTES"]

_ON_A_PAGE = 24
_KINDS = {"mated": "mate given", "missed": "mate missed", "resigned": "resigned before it"}
_ORDERS = {
    "found": "as they were found",
    "short": "the shortest first",
    "class": "the best for use in class first",
}
_MOST_SKELETONS = 24
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
    try:
        for index, upload in enumerate(uploads, start=1):
            await save(upload, folder / "files" / f"{index:02} {plain_name(upload)}")
    except BaseException:
        await run_in_threadpool(shutil.rmtree, folder)
        raise
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
        "source": tags_line(document.get("source") or {}),
    }


@dataclass(frozen=True, slots=True)
class _Asked:
    """What an address asks of a harvest."""

    pattern: str
    kind: str
    key: str
    order: str

    def kept(self, **change: Any) -> dict[str, Any]:
        """Its part of an address, with changes."""
        order = self.order if self.order != "found" else ""
        here = {"pattern": self.pattern, "kind": self.kind, "key": self.key, "order": order}
        return here | change


def _asked(query: Mapping[str, str]) -> _Asked:
    kind, order = query.get("kind", ""), query.get("order", "found")
    if kind and kind not in _KINDS:
        raise UsageError(f"the kind is one of {', '.join(_KINDS)}, not {kind[:40]!r}")
    if order not in _ORDERS:
        raise UsageError(f"the order is one of {', '.join(_ORDERS)}, not {order[:40]!r}")
    return _Asked(query.get("pattern", "")[:80], kind, query.get("key", "")[:1000], order)


@lru_cache(maxsize=20_000)
def _key_of(skeleton: str) -> str:
    """The geometry key of a skeleton; none if it is no mate by itself."""
    board = chess.Board(skeleton)
    return geometry_key(case_of(board)) if board.is_checkmate() else ""


def _picked(
    desk: Desk, number: int, asked: _Asked, worths: Mapping[int, Mapping[str, Any]]
) -> list[Find]:
    found = [
        find
        for find in desk.harvests.finds(number)
        if (not asked.pattern or asked.pattern in find.document.get("patterns", ()))
        and (not asked.kind or find.document.get("kind") == asked.kind)
        and (not asked.key or _key_of(find.document.get("skeleton") or "") == asked.key)
    ]
    if asked.order == "short":
        found.sort(key=lambda f: (abs(int(_way(f).get("moves") or 0)), f.number))
    elif asked.order == "class":
        found.sort(key=lambda f: (-float(worths.get(f.number, {}).get("total", -1)), f.number))
    return found


def _way(find: Find) -> dict[str, Any]:
    way: dict[str, Any] = find.document.get("way_in") or find.document
    return way


def _skeletons(desk: Desk, number: int) -> list[tuple[str, str, int]]:
    """The commonest skeletons of a harvest: key, one to draw, and how many finds have it."""
    first: dict[str, str] = {}
    counted: Counter[str] = Counter()
    for find in desk.harvests.finds(number):
        skeleton = find.document.get("skeleton") or ""
        key = _key_of(skeleton) if skeleton else ""
        if key:
            first.setdefault(key, skeleton)
            counted[key] += 1
    ordered = sorted(counted.items(), key=lambda item: (-item[1], item[0]))
    return [(key, first[key], times) for key, times in ordered[:_MOST_SKELETONS]]


async def one(request: Request) -> Response:
    """One harvest: how far it is, and what it has found."""
    desk = desk_of(request)
    number = number_in(request, "id")
    state = desk.harvests.get(number)
    query = request.query_params
    asked = _asked(query)
    start = whole(query.get("from", ""), "the place in the list", 1, 1_000_000, 1)
    by_skeleton = query.get("by", "") == "skeleton"
    best = asked.order == "class"

    def looked() -> tuple[list[Find], dict[int, dict[str, Any]], list[tuple[str, str, int]]]:
        if best:
            desk.harvests.weigh(number)
        worths = desk.harvests.worths(number) if best else {}
        skeletons = _skeletons(desk, number) if by_skeleton else []
        return _picked(desk, number, asked, worths), worths, skeletons

    picked, worths, skeletons = await run_in_threadpool(looked)
    page = picked[start - 1 : start - 1 + _ON_A_PAGE]

    def address(**change: Any) -> str:
        return link(f"/harvest/{number}", **asked.kept(**change))

    more = start - 1 + _ON_A_PAGE < len(picked)
    return desk.page(
        request,
        "harvest.html",
        men=shared_men(),
        state=state,
        finds=[_shown(f) | {"why": in_class(worths.get(f.number))} for f in page],
        count=len(picked),
        waiting=max(0, min(state.finds, MOST_READ) - len(worths)) if best else 0,
        names=[(n, c, address(pattern=n)) for n, c in desk.harvests.patterns(number)],
        asked=asked,
        kinds=[("", "all", address(kind=""))]
        + [(k, w, address(kind=k)) for k, w in _KINDS.items()],
        orders=[(k, w, address(order=k if k != "found" else "")) for k, w in _ORDERS.items()],
        every=address(pattern=""),
        skeletons=[
            (diagram(chess.Board(s), size=230, bare=True), times, address(key=key))
            for key, s, times in skeletons
        ],
        by_skeleton=address(by="skeleton"),
        any_skeleton=address(key=""),
        next=address(**{"from": start + _ON_A_PAGE}) if more else "",
        kept=query.get("kept", "")[:20],
    )


async def act(request: Request) -> Response:
    """Stop a harvest, go on with it, or erase it."""
    desk = desk_of(request)
    form = await sent(request)
    number = number_in(request, "id")
    state = desk.harvests.get(number)
    if form.get("act") == "stop":
        desk.harvests.stop(number)
    elif form.get("act") == "go on":
        desk.harvests.go_on(number, desk.book if state.keep_all else None)
    elif form.get("act") == "remove":
        if form.get("sure") != "yes":
            raise UsageError("nothing was erased: tick 'yes, erase it' as well")
        await run_in_threadpool(desk.harvests.remove, number)
        return RedirectResponse("/harvest", 303)
    else:
        raise UsageError("a harvest can be stopped, go on, or be erased")
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
