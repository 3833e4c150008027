"""Pages on which new positions come from one: its family, and positions composed to order.

What is made, and whether it is sound, is decided by `exercises/`; here it is shown and can be
kept.  A page has its address, so the same seed shows the same position again.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

import chess
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from flightless.errors import PositionError, UsageError
from flightless.exercises.compose import compose
from flightless.exercises.vary import Family, Member, vary
from flightless.patterns.own import own_catalogue
from flightless.web.desk import desk_of, link, whole
from flightless.web.drawer import number_word
from flightless.web.figures import diagram, shared_men
from flightless.web.look import board_of
from flightless.words.notation import eye, steps

__all__ = ["ROUTES"]

_WITHIN = 3
_LONGER = 3
_MOST_OF_A_KIND = 8
_HOW = dict.fromkeys(("files mirrored", "colours exchanged", "colours and files"), "Turned") | {
    "man exchanged": "A man exchanged",
    "man slid": "A man slid",
    "man taken off": "A man taken off",
}
_AT_ONCE = 3
"""Positions composed for one page; each may take some seconds."""
_PHASES = {"opening": "the opening", "middlegame": "the middlegame", "endgame": "the endgame"}


def _what(moves: int, fen: str, key: chess.Move | None) -> str:
    board = chess.Board(fen)
    if key is None:
        return "White has mated" if not board.turn else "Black has mated"
    side = "White" if board.turn else "Black"
    return f"{side} mates in {number_word(moves)}, {eye(steps(board, [key])[0])}"


def _shown(member: Member, number: int) -> dict[str, Any]:
    return {
        "fen": member.fen,
        "how": _HOW.get(member.how, member.how[:1].upper() + member.how[1:]),
        "what": _what(member.moves, member.fen, member.key),
        "drawing": diagram(
            chess.Board(member.fen), size=230, bare=True, title=f"Number {number}: {member.how}"
        ),
    }


def _groups(found: Family) -> list[tuple[str, list[dict[str, Any]], int]]:
    """The members by how they came about: a title, those shown, and how many more there are."""
    shown = [_shown(m, n) for n, m in enumerate(found.members, start=1)]
    titles = dict.fromkeys(one["how"] for one in shown)
    grouped = [(title, [one for one in shown if one["how"] == title]) for title in titles]
    most = _MOST_OF_A_KIND
    return [(title, ones[:most], len(ones[most:])) for title, ones in grouped]


def _family(board: chess.Board) -> Family:
    return vary(board, _WITHIN, _LONGER)


async def family(request: Request) -> Response:
    """Everything that can be made of one mate by a single step."""
    board = board_of(request.query_params.get("fen", ""))
    found = await run_in_threadpool(_family, board)
    dropped = Counter(one.reason for one in found.dropped).most_common(6)
    return desk_of(request).page(
        request,
        "family.html",
        men=shared_men(),
        fen=board.fen(),
        first=diagram(board),
        groups=_groups(found),
        dropped=[(reason, times) for reason, times in dropped],
    )


def _composed(
    pattern: str, moves: int, seed: int, phase: str, *, balanced: bool, quiet: bool
) -> list[dict[str, Any]]:
    try:
        net = chess.Board(own_catalogue()[pattern].model.fen)
    except KeyError:
        raise UsageError(f"there is no pattern {pattern[:60]!r}") from None
    made: list[dict[str, Any]] = []
    for number in range(seed, seed + _AT_ONCE):
        try:
            one = compose(net, moves, number, phase, balanced=balanced, quiet=quiet)
        except PositionError as error:
            made.append({"seed": number, "sorry": str(error)})
            continue
        title = f"Composed, seed {number}"
        made.append(
            {
                "seed": number,
                "sorry": "",
                "fen": one.fen,
                "what": _what(one.moves, one.fen, one.key),
                "drawing": diagram(chess.Board(one.fen), size=230, title=title),
            }
        )
    return made


async def composing(request: Request) -> Response:
    """Full positions that end in a pattern."""
    query = request.query_params
    pattern = query.get("pattern", "")[:80]
    phase = query.get("phase", "middlegame")
    if phase not in _PHASES:
        raise UsageError(f"the phase is one of {', '.join(_PHASES)}, not {phase[:40]!r}")
    moves = whole(query.get("moves", ""), "the length", 1, _WITHIN, 1)
    seed = whole(query.get("seed", ""), "the seed", 0, 1 << 31, 1)
    balanced = query.get("balanced", "yes") != "no"
    quiet = query.get("key", "") == "quiet" and moves > 1
    made: list[dict[str, Any]] = []
    if pattern:
        made = await run_in_threadpool(
            lambda: _composed(pattern, moves, seed, phase, balanced=balanced, quiet=quiet)
        )
    known = sorted(own_catalogue().patterns, key=lambda p: (p.known_as or p.name).lower())
    return desk_of(request).page(
        request,
        "compose.html",
        men=shared_men(),
        pattern=pattern,
        patterns=[(p.name, p.known_as or p.name) for p in known],
        phase=phase,
        phases=_PHASES,
        moves=moves,
        seed=seed,
        balanced=balanced,
        quiet=quiet,
        longest=_WITHIN,
        made=made,
        more=link(
            "/compose",
            pattern=pattern,
            moves=moves,
            phase=phase,
            seed=seed + _AT_ONCE,
            balanced="" if balanced else "no",
            key="quiet" if quiet else "",
        ),
    )


ROUTES = [
    Route("/position/family", family),
    Route("/compose", composing),
]
