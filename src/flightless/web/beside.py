"""Two positions side by side: a mate and what one change makes of it, and mates that are alike."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import chess
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from flightless.cases.case import Case
from flightless.cases.changes import Change
from flightless.draw.marks import Marks
from flightless.draw.whatif import Pair, luft_pair, removal_pair
from flightless.errors import PositionError
from flightless.exercises.contrast import contrasts
from flightless.patterns.geometry import geometry_key
from flightless.patterns.like import LikenessIndex
from flightless.patterns.likeness import likeness
from flightless.web.desk import Desk, desk_of
from flightless.web.drawer import Card, cards, number_word
from flightless.web.figures import diagram, shared_men
from flightless.web.look import board_of, change, explained
from flightless.words.likeness import likeness_sentences
from flightless.words.notation import eye, steps
from flightless.words.what_if import break_sentence

__all__ = ["ROUTES"]

_MOST_PAIRS = 8
_WITHIN = 3
_MOST_ALIKE = 12


def _case(board: chess.Board) -> Case:
    case = explained(board).case
    if case is None:
        raise PositionError(f"there is no mate to compare in {board.fen()}")
    return case


@dataclass(frozen=True, slots=True)
class Side:
    """A pair as the page shows it."""

    title: str
    before: Any
    after: Any
    sentences: tuple[str, ...]
    fen: str


def _pairs(board: chess.Board) -> list[Side]:
    """Each needed man taken away, and each pawn move that would have given luft."""
    case = _case(board)
    name = chess.square_name
    found: list[tuple[str, Pair]] = []
    told: set[chess.Square] = set()
    for luft in case.luft:
        if luft.move.from_square in told:  # the pawn's other step says the same
            continue
        told.add(luft.move.from_square)
        title = f"The pawn on {name(luft.move.to_square)} instead of {name(luft.move.from_square)}"
        found.append((title, luft_pair(case, luft)))
    for removal in case.removals:
        if removal.still_mate or removal.exposes or removal.check_gone:
            continue
        man = case.board.piece_type_at(removal.square)
        assert man is not None
        title = f"Without the {chess.piece_name(man)} on {name(removal.square)}"
        found.append((title, removal_pair(case, removal)))
    return [_side(title, pair) for title, pair in found[:_MOST_PAIRS]]


def _side(title: str, pair: Pair) -> Side:
    _, after, new = change(board_of(pair.before.fen()), board_of(pair.after.fen()))
    return Side(
        title,
        diagram(pair.before, pair.before_marks, size=300),
        diagram(pair.after, pair.after_marks, size=300),
        (after.verdict, *new[:1]),
        pair.after.fen(),
    )


def _before_the_first_move(board: chess.Board) -> list[Side]:
    """The position with one man changed, so that its first move no longer mates in time."""
    if board.is_checkmate():
        return []
    try:
        material, found = contrasts(board, _WITHIN, _MOST_PAIRS)
    except PositionError:
        return []  # two first moves, or none: then there is nothing to set against it
    sides = []
    for pair in found:
        assert pair.key is not None
        before, after = (chess.Board(fen) for fen in (pair.mate, pair.no_mate))
        key = eye(steps(before, [pair.key])[0])
        length = number_word(pair.moves)
        title = f"{_said(pair.broken.change)}: {key} no longer mates in {length}"
        sides.append(
            Side(
                title,
                diagram(before, size=300),
                diagram(after, Marks(changed=_squares(pair.broken.change)), size=300),
                (break_sentence(material.case, pair.broken),),
                after.fen(),
            )
        )
    return sides


def _squares(change: Change) -> tuple[chess.Square, ...]:
    return (change.square,) if change.to is None else (change.square, change.to)


def _said(change: Change) -> str:
    """'The pawn on g6 instead of g7' of one changed man."""
    man = chess.piece_name(change.piece.piece_type)
    where = chess.square_name(change.square)
    if change.action == "added":
        return f"A {man} more on {where}"
    if change.action == "removed":
        return f"Without the {man} on {where}"
    if change.action == "moved":
        assert change.to is not None
        return f"The {man} on {chess.square_name(change.to)} instead of {where}"
    assert change.instead is not None
    return f"A {chess.piece_name(change.instead.piece_type)} on {where} instead of the {man}"


async def pairs(request: Request) -> Response:
    """Contrast pairs of the final mate."""
    board = board_of(request.query_params.get("fen", ""))
    found = await run_in_threadpool(_pairs, board)
    first = await run_in_threadpool(_before_the_first_move, board)
    return desk_of(request).page(
        request, "pairs.html", men=shared_men(), fen=board.fen(), pairs=found, first=first
    )


def _alike(desk: Desk, board: chess.Board) -> list[tuple[Card, tuple[str, ...]]]:
    """The mates of the casebook most like this one, each with why."""
    key = geometry_key(_case(board))
    kept = [one for one in desk.book.geometry_keys() if one[0] != key]
    nearest = LikenessIndex.of([k for k, _, _ in kept]).nearest(key, most=_MOST_ALIKE)
    entries = tuple(desk.book.get(kept[number][2]).entry for number, _ in nearest)
    told = [likeness_sentences(likeness(key, kept[number][0])) for number, _ in nearest]
    return list(zip(cards(entries), told, strict=True))


async def like(request: Request) -> Response:
    """The mates of the casebook that are most like this one."""
    desk = desk_of(request)
    board = board_of(request.query_params.get("fen", ""))
    found = await run_in_threadpool(_alike, desk, board)
    case = explained(board).case
    assert case is not None  # else `_alike` has refused it
    return desk.page(
        request,
        "like.html",
        men=shared_men(),
        fen=board.fen(),
        drawing=diagram(case.board),
        key=geometry_key(case),
        found=found,
    )


ROUTES = [Route("/position/pairs", pairs), Route("/position/like", like)]
