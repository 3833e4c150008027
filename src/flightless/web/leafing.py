"""Leafing through what will be printed: one page of a sheet or of its key as a picture."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from flightless.errors import UsageError
from flightless.web.desk import desk_of, link, whole

__all__ = ["DOTS", "page_asked", "picture", "previewed"]

DOTS = 96
"""To the inch: a page of A4 is then as wide as the text of a page here."""

_MOST = 200


def page_asked(query: Mapping[str, str]) -> tuple[int, bool]:
    """The number of the page that an address asks for, and whether it is of the key."""
    part = query.get("part", "sheet")
    if part not in ("sheet", "key"):
        raise UsageError(f"the part is sheet or key, not {part[:20]!r}")
    return whole(query.get("page", ""), "the page", 1, _MOST, 1), part == "key"


def picture(pages: Sequence[bytes], number: int) -> Response:
    """One of the pages; an address past the last is not there."""
    if number > len(pages):
        raise HTTPException(404)
    return Response(pages[number - 1], media_type="image/png")


def previewed(
    request: Request,
    title: str,
    count: int,
    number: int,
    key: bool,
    path: str,
    query: Mapping[str, str],
) -> Response:
    """The page on which a page is looked at, with its neighbours' addresses."""
    if number > count:
        raise HTTPException(404)
    part = "key" if key else "sheet"

    def address(page: int, where: str = "/preview", what: str = part) -> str:
        return link(path + where, **query, part=what, page=page)

    return desk_of(request).page(
        request,
        "preview.html",
        title=title,
        what="the key" if key else "the sheet",
        number=number,
        count=count,
        picture=address(number, "/page.png"),
        before=address(number - 1) if number > 1 else "",
        after=address(number + 1) if number < count else "",
        other=address(1, what="sheet" if key else "key"),
        other_words="The sheet" if key else "The key",
        back=link(path, **query),
    )
