"""The page on which old sheets are proofread: a file of positions or solutions, claim by claim.

What is claimed is read by `harvest.claims`, compared with the proof by `prove.proofread`, and
spoken by `words.proofreading`.
"""

from __future__ import annotations

import tempfile
from itertools import islice
from pathlib import Path
from typing import Any

import chess
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from flightless.errors import FileError
from flightless.harvest.claims import Sheet, sheets_of
from flightless.prove.proofread import Finding, proofread
from flightless.web.desk import desk_of, sent
from flightless.web.drawer import plain_name, save
from flightless.web.figures import diagram, shared_men
from flightless.words.proofreading import finding_text

__all__ = ["ROUTES"]

_MOST = 60
"""Claims of one file that a page looks at; the command line looks at any number."""
_WITHIN = 5
_NODES = 2_000_000


async def asked(request: Request) -> Response:
    """The page that takes a file."""
    return desk_of(request).page(
        request, "proofread.html", men="", name="", claims=(), more=False, most=_MOST, sound=0
    )


async def answered(request: Request) -> Response:
    """Every claim of the file, sound or with its faults."""
    desk = desk_of(request)
    form = await sent(request)
    upload = form.get("file")
    name = plain_name(upload)
    with tempfile.TemporaryDirectory(dir=desk.folder) as folder:
        path = Path(folder) / name
        await save(upload, path)

        def looked() -> tuple[list[dict[str, Any]], bool]:
            try:
                sheets = list(islice(sheets_of(str(path)), _MOST + 1))
            except FileError as error:
                raise FileError(str(error).replace(str(path), name)) from None
            shown = [_shown(n, s, str(path), name) for n, s in enumerate(sheets[:_MOST], start=1)]
            return shown, len(sheets) > _MOST

        claims, more = await run_in_threadpool(looked)
    return desk.page(
        request,
        "proofread.html",
        men=shared_men(),
        name=name,
        claims=claims,
        more=more,
        most=_MOST,
        sound=sum(claim["sound"] for claim in claims),
    )


def _shown(number: int, sheet: Sheet, path: str, name: str) -> dict[str, Any]:
    if sheet.claim is None:
        finding = Finding(None, (sheet.fault,) if sheet.fault else ())
    else:
        finding = proofread(sheet.claim, _WITHIN, _NODES)
    place = sheet.place.replace(path, name).removeprefix(f"{name}, ")
    return {
        "place": place[:1].upper() + place[1:],
        "fen": sheet.fen if sheet.claim is not None else "",
        "drawing": diagram(chess.Board(sheet.fen), size=230, bare=True, title=f"Number {number}")
        if sheet.claim is not None
        else "",
        "sound": finding.sound,
        "said": finding_text(finding),
    }


ROUTES = [
    Route("/proofread", asked),
    Route("/proofread", answered, methods=["POST"]),
]
