"""The pages of the patterns: the catalogue, one pattern, and a pattern learned from a mate.

What a name requires is decided by `patterns/`; these pages show it with its examples and write
a coach's own pattern where the command line would.
"""

from __future__ import annotations

from itertools import islice
from typing import Any

import chess
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from flightless.cases.build import case_of
from flightless.cases.case import Case
from flightless.errors import FileError, PositionError, UsageError
from flightless.patterns.atlas import mated_board
from flightless.patterns.learn import LEVELS, Level, catches, learn, write_level
from flightless.patterns.own import own_catalogue, own_folder
from flightless.patterns.reading import FAMILIES
from flightless.patterns.vocabulary import Example, Pattern
from flightless.web.desk import Desk, desk_of, link, sent
from flightless.web.figures import diagram, shared_men
from flightless.web.look import board_of, explained

__all__ = ["ROUTES"]

_MOST_TRIED = 300
_LONGEST = 200
_WORDS = {
    "exact": "the men just where they stand, turned as the rules allow",
    "lines slid": "line men anywhere on their lines",
    "supporter free": "a man who only protects may be any man anywhere",
    "place free": "the king anywhere on the edge, or anywhere off it",
}


def _known(name: str) -> Pattern:
    try:
        return own_catalogue()[name]
    except KeyError:
        raise HTTPException(404) from None


def _example(example: Example) -> dict[str, Any]:
    board = chess.Board(example.fen)
    return {
        "fen": example.fen,
        "note": example.note,
        "source": example.source or "",
        "drawing": diagram(board, size=230, bare=True, title=example.note),
    }


async def patterns(request: Request) -> Response:
    """Every pattern by family, with its model."""
    families: dict[str, list[dict[str, Any]]] = {family: [] for family in FAMILIES}
    for one in sorted(own_catalogue().patterns, key=lambda p: p.name.lower()):
        title = one.known_as or one.name
        families.setdefault(one.family, []).append(
            {
                "address": link("/pattern", name=one.name),
                "title": title[:1].upper() + title[1:],
                "description": one.description,
                "drawing": diagram(chess.Board(one.model.fen), size=230, bare=True, title=title),
            }
        )
    return desk_of(request).page(
        request,
        "patterns.html",
        men=shared_men(),
        families=[(title, ones) for title, ones in families.items() if ones],
    )


async def pattern(request: Request) -> Response:
    """One pattern: what it is, its model, what else is of it, and what is not."""
    desk = desk_of(request)
    one = _known(request.query_params.get("name", ""))
    title = one.known_as or one.name
    return desk.page(
        request,
        "pattern.html",
        men=shared_men(),
        title=title[:1].upper() + title[1:],
        description=one.description[:1].upper() + one.description[1:],
        notes=one.notes,
        books=one.literature,
        model=_example(one.model)
        | {"drawing": diagram(chess.Board(one.model.fen), title=one.model.note)},
        variations=[_example(example) for example in one.variations],
        near_misses=[_example(example) for example in one.near_misses],
        kept=link("/casebook", pattern=one.name),
        compose=link("/compose", pattern=one.name),
    )


# --- a pattern of one's own --------------------------------------------------------------------


def _case(board: chess.Board) -> Case:
    case = explained(board).case
    if case is None:
        raise PositionError(f"there is no mate to learn from in {board.fen()}")
    return case


def _mates(desk: Desk) -> list[Case]:
    """Mates of the casebook to try a new pattern on: one of each skeleton, the commonest first."""
    counted = sorted(desk.book.geometry_keys(), key=lambda one: (-one[1], one[0]))
    cases = []
    for _, _, first in islice(counted, _MOST_TRIED):
        entry = desk.book.get(first).entry
        cases.append(case_of(mated_board({"fen": entry.fen, "line": list(entry.line)})))
    return cases


def _levels(board: chess.Board, name: str, description: str) -> tuple[Level, ...]:
    if len(name) > _LONGEST or len(description) > _LONGEST:
        raise UsageError(f"name and description have at most {_LONGEST} characters")
    return learn(_case(board), name, description)


async def learning(request: Request) -> Response:
    """A mate taken as the model of a new pattern: what each level would catch."""
    desk = desk_of(request)
    query = request.query_params
    board = board_of(query.get("fen", ""))
    name, description = query.get("name", "").strip(), query.get("description", "").strip()

    def tried() -> list[tuple[str, str, bool, int, int]]:
        levels = _levels(board, name, description)
        cases = _mates(desk)
        return [
            (one.name, _WORDS[one.name], one.frees, len(catches(one, cases)), len(cases))
            for one in levels
        ]

    found = await run_in_threadpool(tried) if name or description else []
    case = await run_in_threadpool(_case, board)
    return desk.page(
        request,
        "learn.html",
        men=shared_men(),
        fen=board.fen(),
        drawing=diagram(chess.Board(case.skeleton.fen)),
        name=name,
        description=description,
        levels=found,
        longest=_LONGEST,
    )


async def learned(request: Request) -> Response:
    """Write the pattern at the level that was chosen."""
    form = await sent(request)
    board = board_of(str(form.get("fen", "")))
    name, level = str(form.get("name", "")).strip(), str(form.get("level", ""))
    if level not in LEVELS:
        raise UsageError(f"choose one of the levels: {', '.join(LEVELS)}")

    def write() -> None:
        levels = _levels(board, name, str(form.get("description", "")).strip())
        chosen = next(one for one in levels if one.name == level)
        try:
            write_level(chosen, own_folder())
        except FileError:
            raise UsageError(f"there is a pattern of your own with the name {name!r}") from None

    await run_in_threadpool(write)
    return RedirectResponse(link("/pattern", name=" ".join(name.split())), 303)


ROUTES = [
    Route("/patterns", patterns),
    Route("/pattern", pattern),
    Route("/position/learn", learning),
    Route("/position/learn", learned, methods=["POST"]),
]
