"""The server put together: guard, pages, errors in plain words, and the start of it all."""

from __future__ import annotations

import contextlib
import os
from collections.abc import AsyncIterator
from datetime import UTC, datetime

import chess
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from flightless.errors import FileError, FlightlessError, PositionError
from flightless.web import (
    beside,
    drawer,
    examine,
    gather,
    making,
    names,
    practice,
    pupils,
    reading,
    sheets,
)
from flightless.web.desk import MOST_FILES, Clock, Desk, ForbiddenError, desk_of, static_folder
from flightless.web.figures import diagram, shared_men
from flightless.web.guard import Guard, TooLargeError

__all__ = ["MOST_SENT", "create_app"]

MOST_SENT = 64_000_000
"""Bytes of one request: a file of some fifty thousand games, or a backup."""


_FIRST = (
    ("3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1", "Two rooks and a king without luft"),
    ("r4rk1/pb3p1p/1p3Pp1/8/7Q/8/2q2PPP/4R1K1 w - - 0 1", "A quiet move by the queen"),
    ("5r1k/p4p1p/6p1/4N3/8/8/1B3PPP/6K1 w - - 0 1", "A knight, a bishop, and two ways to do it"),
)
"""Positions of our own to begin with."""


_LONG = (
    "The text that was sent is longer than a form of this desk takes.",
    "Send it as a file on the page of games.",
)
_IN_WORDS = {
    "Too many files": (
        413,
        f"At most {MOST_FILES} files can be sent at once.",
        "Send them in several goes, or packed into fewer files.",
    ),
    "Too many fields": (
        413,
        "More was sent than any form of this desk holds.",
        "Go back and tick fewer at once.",
    ),
    "Field exceeded": (413, *_LONG),
    "Part exceeded": (413, *_LONG),
    "Method Not Allowed": (
        405,
        "This address takes what a form sends and is no page of its own.",
        "Begin at the first page.",
    ),
}
"""What Starlette says of a request, by its first words, and what this desk says instead."""


def _now() -> datetime:
    return datetime.now(UTC)


def create_app(
    casebook_path: str | os.PathLike[str] | None = None, clock: Clock = _now
) -> Starlette:
    """The workbench over one casebook (None: the coach's own), as an ASGI application.

    `clock` gives the moment for names of files and for nothing else.
    """
    desk = Desk(casebook_path, clock)

    @contextlib.asynccontextmanager
    async def life(app: Starlette) -> AsyncIterator[None]:
        del app
        yield
        desk.close()

    app = Starlette(
        routes=[
            Route("/", home),
            *examine.ROUTES,
            *beside.ROUTES,
            *making.ROUTES,
            *names.ROUTES,
            *reading.ROUTES,
            *sheets.ROUTES,
            *pupils.ROUTES,
            *practice.ROUTES,
            *drawer.ROUTES,
            *gather.ROUTES,
            Mount("/static", StaticFiles(directory=static_folder()), name="static"),
        ],
        middleware=[
            Middleware(Guard, most=MOST_SENT),
            Middleware(GZipMiddleware, minimum_size=1000),
        ],
        exception_handlers={
            FlightlessError: _refused,
            HTTPException: _not_there,
            TooLargeError: _too_large,
            OSError: _no_room,
            Exception: _fault,
        },
        lifespan=life,
    )
    app.state.desk = desk
    return app


async def home(request: Request) -> Response:
    """The first page."""
    desk = desk_of(request)
    count = await run_in_threadpool(desk.book.count)
    return desk.page(
        request,
        "home.html",
        men=shared_men(),
        first=[
            (fen, words, diagram(chess.Board(fen), size=230, bare=True, title=words))
            for fen, words in _FIRST
        ],
        count=f"{count:,}" if count else "",
    )


async def _refused(request: Request, error: Exception) -> Response:
    """The sentence of the error, as the command line says it, and what to do next."""
    status = 403 if isinstance(error, ForbiddenError) else 422
    sentence = str(error)
    if sentence.partition(" ")[0].isalpha():  # no name of a file is changed
        sentence = sentence[:1].upper() + sentence[1:]
    if request.url.path in ("/position/what-if", "/position/setup"):
        return JSONResponse({"error": sentence}, status)
    if isinstance(error, ForbiddenError):
        step = "Go back, load the page again, and send it once more."
    elif isinstance(error, PositionError):
        step = "Set the position up on the board, or paste it again."
    elif isinstance(error, FileError):
        step = "Choose another file and send it again."
    else:
        step = "Go back and change what was asked."
    return desk_of(request).sorry(request, status, sentence, step)


async def _not_there(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if error.status_code == 404:
        return desk_of(request).sorry(
            request, 404, "There is no page at this address.", "Begin at the first page."
        )
    detail = str(error.detail)
    for beginning, (status, what, step) in _IN_WORDS.items():
        if detail.startswith(beginning):
            return desk_of(request).sorry(request, status, what, step)
    if error.status_code == 400:
        detail = "What was sent is no form of this desk."
    return desk_of(request).sorry(
        request, error.status_code, detail, "Go back and try another way."
    )


async def _too_large(request: Request, error: Exception) -> Response:
    assert isinstance(error, TooLargeError)
    return desk_of(request).sorry(
        request,
        413,
        f"What was sent is larger than {error.most // 1_000_000} MB, the most this page takes.",
        "Split the file, or use the command line, which takes any size.",
    )


async def _no_room(request: Request, error: Exception) -> Response:
    """A disk that is full, or a folder that cannot be written."""
    assert isinstance(error, OSError)
    reason = (error.strerror or type(error).__name__).lower()
    return desk_of(request).sorry(
        request,
        507,
        f"The desk's folder cannot be written: {reason}.",
        "Make room on the disk or let the folder be written, then do it again.",
    )


async def _fault(request: Request, error: Exception) -> Response:
    """A fault of the program: the server's log has the trace, the page says so."""
    return desk_of(request).sorry(
        request,
        500,
        f"This is a fault of the program itself ({type(error).__name__}).",
        "Nothing that was kept is lost. Go back and try another way.",
    )
