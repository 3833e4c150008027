"""What the pages share: the desk (casebook, pool, folders), templates, and answers to a browser.

Every page is made by `Desk.page`; an error becomes a page in plain words here and nowhere else.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable
from datetime import datetime
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

import jinja2
from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

import flightless
from flightless.errors import FlightlessError, UsageError
from flightless.web.guard import FIELD, token_of, token_right
from flightless.web.places import desk_folder

if TYPE_CHECKING:
    from flightless.casebook import Casebook
    from flightless.web.weighing import Weigher
    from flightless.web.work import Harvests

__all__ = [
    "MOST_FILES",
    "Clock",
    "Desk",
    "ForbiddenError",
    "desk_of",
    "link",
    "number_in",
    "plain_line",
    "sent",
    "whole",
]

_LARGEST = 1 << 40

MOST_FILES = 20
"""Files that one form may bring."""

Clock = Callable[[], datetime]
"""Gives the present moment; a test gives its own."""


class ForbiddenError(FlightlessError):
    """A form without the token of this browser."""


def link(path: str, **query: Any) -> str:
    """An address of this desk, with what is not empty of `query`."""
    kept = {k: v for k, v in query.items() if v not in (None, "", (), [])}
    return f"{path}?{urlencode(kept, doseq=True)}" if kept else path


@lru_cache(maxsize=1)
def _environment() -> jinja2.Environment:
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("flightless.web", "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals |= {"link": link, "version": flightless.__version__}
    return environment


def static_folder() -> Path:
    """The folder of scripts and style sheets."""
    return Path(str(files("flightless.web").joinpath("static")))


class Desk:
    """One coach's desk: the casebook, its folder, the workers, and the clock."""

    def __init__(self, casebook: str | os.PathLike[str] | None, clock: Clock) -> None:
        self._asked = casebook
        self.clock = clock
        self._book: Casebook | None = None
        self._lock = threading.Lock()
        self.closing = threading.Event()
        self.writing = threading.Lock()
        self._harvests: Harvests | None = None
        self._weigher: Weigher | None = None

    @property
    def book(self) -> Casebook:
        """The casebook, opened when it is first wanted."""
        from flightless.casebook import Casebook

        with self._lock:
            if self._book is None:
                self._book = Casebook.open(self._asked)
            return self._book

    @property
    def folder(self) -> Path:
        """Where the desk keeps harvests and exercises: beside the casebook, by its name."""
        return desk_folder(self._asked)

    @property
    def harvests(self) -> Harvests:
        """The harvests of this desk."""
        from flightless.web.work import Harvests

        folder = self.folder
        with self._lock:
            if self._harvests is None:
                self._harvests = Harvests(folder)
            return self._harvests

    def weigh(self) -> int:
        """Weigh in the background what the casebook has not weighed; how many positions wait."""
        from flightless.web.weighing import Weigher

        book = self.book
        with self._lock:
            if self._weigher is None:
                self._weigher = Weigher()
        return self._weigher.begin(book)

    def close(self) -> None:
        """Stop what runs, so that it goes on another day, and close the casebook."""
        self.closing.set()
        if self._weigher is not None:
            self._weigher.close()
        if self._harvests is not None:
            self._harvests.close()
        if self._book is not None:
            self._book.close()

    def page(self, request: Request, template: str, status: int = 200, **what: Any) -> Response:
        """A whole page."""
        text = (
            _environment()
            .get_template(template)
            .render(token=token_of(request), field=FIELD, here=request.url.path, **what)
        )
        return HTMLResponse(text, status, headers={"Cache-Control": "no-store"})

    def part(self, template: str, **what: Any) -> Markup:
        """A piece of a page, for a page that is open already."""
        return Markup(_environment().get_template(template).render(**what))

    def sorry(self, request: Request, status: int, what: str, next_step: str) -> Response:
        """The page that says what is wrong and what to do next."""
        return self.page(request, "sorry.html", status, what=what, next_step=next_step)


def desk_of(request: Request) -> Desk:
    """The desk that this request is for."""
    desk = request.app.state.desk
    assert isinstance(desk, Desk)
    return desk


async def sent(request: Request, *, most_files: int = MOST_FILES) -> Any:
    """The form that was sent, its token checked.  Raises `ForbiddenError`."""
    form = await request.form(max_files=most_files, max_fields=2000, max_part_size=2_000_000)
    request.scope["flightless.forms"].append(form)  # the guard closes it, files and all
    if not token_right(request, str(form.get(FIELD, ""))):
        raise ForbiddenError(
            "The form did not carry the mark of this desk; it may have been open for too long"
        )
    return form


def number_in(request: Request, name: str) -> int:
    """The number in an address; one that nothing can have is answered as not there."""
    number = int(request.path_params[name])
    if number > _LARGEST:
        raise HTTPException(404)
    return number


def plain_line(text: str, most: int = 150) -> str:
    """One line of what can be printed: no control signs, none that turn the direction of text."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())[:most]


def whole(text: str, what: str, least: int, most: int, default: int) -> int:
    """A whole number from a form or an address.  Raises `UsageError`."""
    text = text.strip()
    if not text:
        return default
    if not text.lstrip("-").isascii() or not text.lstrip("-").isdigit() or len(text) > 12:
        raise UsageError(f"{what} must be a whole number, not {text[:40]!r}")
    value = int(text)
    if not least <= value <= most:
        raise UsageError(f"{what} must be from {least} to {most}, not {value}")
    return value
