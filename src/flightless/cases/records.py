"""The other findings of this room as JSON documents, beside `document.case_document`.

What keeps and what breaks a mate, what is missing, the other king, the way in, other keys and
tries.  Squares are their names, moves are UCI, men are letters of Q R B N P (a change gives
the FEN letter, so that its colour shows).  Nothing is computed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import chess

from flightless.cases.breaks import Break, Rescue
from flightless.cases.case import FieldSquare
from flightless.cases.changes import Change
from flightless.cases.document import field_square, kind_letter, move_list, square_names
from flightless.cases.duties import EitherWouldDo
from flightless.cases.missing import NearCheck, NearMate
from flightless.cases.natures import Nature
from flightless.cases.ownking import OwnKing
from flightless.cases.tries import OtherKey, Try
from flightless.cases.variations import StartVariations, Variations
from flightless.cases.wayin import AttackStep, DefenceStep, WayIn

__all__ = [
    "breaks_record",
    "change_record",
    "either_record",
    "near_record",
    "other_keys_record",
    "own_king_record",
    "rescues_record",
    "start_record",
    "try_record",
    "variations_record",
    "way_record",
]


def change_record(change: Change) -> dict[str, Any]:
    """One change to a position."""
    record: dict[str, Any] = {
        "action": change.action,
        "square": chess.square_name(change.square),
        "man": change.piece.symbol(),
    }
    if change.to is not None:
        record["to"] = chess.square_name(change.to)
    if change.instead is not None:
        record["instead"] = change.instead.symbol()
    return record


def either_record(pairs: Iterable[EitherWouldDo]) -> list[dict[str, Any]]:
    """Pairs of men of whom one is needed."""
    return [
        {
            "men": square_names(pair.men),
            "squares": square_names(pair.squares),
            "answers": move_list(pair.answers),
        }
        for pair in pairs
    ]


def breaks_record(breaks: Iterable[Break]) -> list[dict[str, Any]]:
    """Changes that break a mate."""
    return [
        {
            "kind": b.kind,
            "change": change_record(b.change),
            "check_gone": b.check_gone,
            "answers": move_list(b.answers),
            "first": _move(b.first),
            "man": _square(b.man),
        }
        for b in breaks
    ]


def rescues_record(rescues: Iterable[Rescue]) -> list[dict[str, Any]]:
    """Saviours grouped by what they do."""
    return [
        {
            "act": rescue.act,
            "target": _square(rescue.target),
            "men": {kind_letter(kind): square_names(at) for kind, at in rescue.squares},
        }
        for rescue in rescues
    ]


def variations_record(found: Variations) -> dict[str, Any]:
    """What keeps a mated position mate."""
    return {
        "supporters": [
            {
                "instead_of": chess.square_name(s.instead_of),
                "man": kind_letter(s.kind),
                "square": chess.square_name(s.square),
            }
            for s in found.supporters
        ],
        "slid": _changes(found.slid),
        "blockers": [
            {
                "blocker": chess.square_name(b.blocker),
                "own": _changes(b.own),
                "guards": [
                    {
                        "man": kind_letter(m.piece.piece_type),
                        "square": chess.square_name(m.square),
                    }
                    for m in b.guards
                ],
            }
            for b in found.blockers
        ],
        "shifted": list(found.shifted),
        "mirrored": list(found.mirrored),
        "exchanged": found.exchanged,
    }


def start_record(found: StartVariations) -> dict[str, Any]:
    """What could be otherwise at the start of a forced line."""
    return {
        "moves": found.moves,
        "kinds": _changes(found.kinds),
        "slid": _changes(found.slid),
        "undecided": _changes(found.undecided),
    }


def own_king_record(king: OwnKing) -> dict[str, Any]:
    """How the mating side's own king stands."""
    return {
        "king": chess.square_name(king.king),
        "on_back_rank": king.on_back_rank,
        "weak": king.weak,
        "shut_in": king.shut_in,
        "defenders": square_names(king.defenders),
        "mates": [
            {"man": kind_letter(m.piece.piece_type), "square": chess.square_name(m.square)}
            for m in king.mates
        ],
        "flights": square_names(king.flights),
        "luft": [
            {"square": chess.square_name(square), "pawn": chess.square_name(pawn)}
            for square, pawn in king.luft
        ],
    }


def near_record(near: NearMate) -> dict[str, Any]:
    """What a position lacks to be mate."""
    return {
        "fen": near.fen,
        "kind": near.kind,
        "king": chess.square_name(near.king),
        "field": _field(near.field),
        "free": square_names(near.free),
        "check": None if near.check is None else _check(near.check),
        "stuck": [
            {"man": chess.square_name(s.man), "why": s.why, "by": square_names(s.by)}
            for s in near.stuck
        ],
        "changes": _changes(near.changes),
        "checks": [_check(check) for check in near.checks],
        "helped": [{"change": change_record(h.change), "mate": h.mate.uci()} for h in near.helped],
    }


def way_record(way: WayIn) -> dict[str, Any]:
    """A forced line with the nature of each move."""
    return {
        "fen": way.fen,
        "attacker": "white" if way.attacker else "black",
        "profile": list(way.profile),
        "checks_only": way.checks_only,
        "wins": way.wins,
        "steps": [_step(step) for step in way.steps],
        "mated": way.mated,
    }


def other_keys_record(keys: Iterable[OtherKey]) -> list[dict[str, Any]]:
    """Other first moves that mate in the shortest number."""
    return [
        {
            "key": other.key.uci(),
            "only_here": list(other.only_here),
            "only_there": list(other.only_there),
            "same_mate": other.same_mate,
            "same_square": other.same_square,
            "way": way_record(other.way),
        }
        for other in keys
    ]


def try_record(one: Try) -> dict[str, Any]:
    """A first move that nearly works."""
    return {
        "move": one.move.uci(),
        "check": one.check,
        "refutation": _move(one.refutation),
        "how": one.how,
        "meant": _move(one.meant),
        "why": one.why,
        "answers": None if one.answers is None else _check(one.answers),
    }


def _step(step: AttackStep | DefenceStep) -> dict[str, Any]:
    if isinstance(step, DefenceStep):
        return {
            "side": "defender",
            "fen": step.fen,
            "move": step.move.uci(),
            "answers": step.answers,
            "delay": step.delay,
            "others": step.others,
            "balance": step.balance,
        }
    return {
        "side": "attacker",
        "fen": step.fen,
        "move": step.move.uci(),
        "mate_in": step.mate_in,
        "duals": move_list(step.duals),
        "natures": [_nature(nature) for nature in step.natures],
        "offers": [
            {
                "man": chess.square_name(offer.man),
                "captures": move_list(offer.captures),
                "net": offer.net,
            }
            for offer in step.offers
        ],
        "replies": [
            {
                "move": reply.move.uci(),
                "answers": reply.answers,
                "mate_in": reply.mate_in,
                "delay": reply.delay,
            }
            for reply in step.replies
        ],
        "balance": step.balance,
    }


def _nature(nature: Nature) -> dict[str, Any]:
    record: dict[str, Any] = {"kind": nature.kind}
    if nature.man is not None:
        record["man"] = chess.square_name(nature.man)
    if nature.square is not None:
        record["square"] = chess.square_name(nature.square)
    if nature.move is not None:
        record["move"] = nature.move.uci()
    if nature.value is not None:
        promoted = nature.kind == "promotion"
        record["value"] = kind_letter(nature.value) if promoted else nature.value
    return record


def _check(check: NearCheck) -> dict[str, Any]:
    return {
        "fen": check.fen,
        "move": _move(check.move),
        "field": _field(check.field),
        "checkers": square_names(check.checkers),
        "flights": [
            {
                "move": flight.move.uci(),
                "square": chess.square_name(flight.square),
                "takes": flight.takes,
                "shut": [
                    {"man": chess.square_name(g.man), "shut_by": chess.square_name(g.shut_by)}
                    for g in flight.shut
                ],
            }
            for flight in check.flights
        ],
        "captures": move_list(check.captures),
        "interpositions": move_list(check.interpositions),
    }


def _field(field: Iterable[FieldSquare]) -> list[dict[str, Any]]:
    return [field_square(f) for f in field]


def _changes(changes: Sequence[Change]) -> list[dict[str, Any]]:
    return [change_record(change) for change in changes]


def _move(move: chess.Move | None) -> str | None:
    return None if move is None else move.uci()


def _square(square: chess.Square | None) -> str | None:
    return None if square is None else chess.square_name(square)
