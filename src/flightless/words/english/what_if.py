"""English for single changes."""

from __future__ import annotations

import chess

from flightless.cases.case import Man
from flightless.words.english.grammar import (
    KIND,
    article,
    listed,
    place_phrase,
    sentence,
    sq,
)
from flightless.words.english.talk import Talk
from flightless.words.facts import what_if as wt
from flightless.words.notation import Step

__all__ = ["at_the_start", "blocked_as_well", "breaks", "slides"]


def breaks(s: wt.Breaks, talk: Talk) -> list[str]:
    name = KIND[s.man.piece.piece_type]
    at = sq(s.man.square)
    if s.earlier and s.to is not None:
        change = f"with the {name} on {sq(s.to)} instead of {at}"
        return [sentence(f"{change} before the mating move it is no mate")]
    if s.to is None:
        change = f"without the {name} on {at}"
    else:
        change = f"with the {name} on {sq(s.to)} instead of {at}"
    if s.answer is None:
        return [sentence(f"{change} there is no check")]
    return [sentence(f"{change} {_then(s.answer, s.pinned, talk)}")]


def _then(answer: Step, pinned: Man | None, talk: Talk) -> str:
    """'the king goes to h7', 'the bishop takes on e8', 'the rook can stand on f8'."""
    board, move = answer.board, answer.move
    kind = board.piece_type_at(move.from_square)
    assert kind is not None
    where = sq(move.to_square)
    if kind == chess.KING:
        return f"{talk.king()} {'takes on' if board.is_capture(move) else 'goes to'} {where}"
    free = ", no longer pinned," if pinned is not None and pinned.square == move.from_square else ""
    deed = "takes on" if board.is_capture(move) else "can stand on"
    return f"the {KIND[kind]}{free} {deed} {where}"


def blocked_as_well(s: wt.BlockedAsWell, talk: Talk) -> list[str]:
    kinds = listed((article(KIND[k]) for k in s.kinds), "or")
    at = sq(s.blocker.square)
    blocker = KIND[s.blocker.piece.piece_type]
    return [sentence(f"on {at} {kinds} of {talk.own()} would do as well as the {blocker}")]


def slides(s: wt.Slides, talk: Talk) -> list[str]:
    return [sentence(f"{talk.the(s.man)} could also stand {place_phrase(s.places)}")]


def at_the_start(s: wt.AtTheStart, talk: Talk) -> list[str]:
    if s.kind is None:
        man = talk.the(s.men[0])
        return [sentence(f"at the start {man} could also stand {place_phrase(s.places)}")]
    kind = article(KIND[s.kind])
    names = {m.piece.piece_type for m in s.men}
    if len(s.men) == 2 and len(names) == 1:
        return [sentence(f"at the start {kind} would do for either {KIND[names.pop()]}")]
    men = listed((talk.afresh([man]) for man in s.men), "or")
    return [sentence(f"at the start {kind} would do for {men}")]
