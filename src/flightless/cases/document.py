"""A case as a JSON document: the fields of `explain --json`, with a format name and version.

Squares are their names, men are letters of Q R B N P, moves are UCI.  Nothing is computed.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import chess

from flightless.cases.case import Case, FieldSquare

__all__ = ["FORMAT", "VERSION", "case_document"]

FORMAT = "flightless-case"
VERSION = 1


def case_document(case: Case) -> dict[str, Any]:
    """The case as plain lists, numbers and text, fit for `json.dumps`."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "fen": case.fen,
        "mated": "white" if case.mated else "black",
        "king": chess.square_name(case.king),
        "mating_king": chess.square_name(case.mating_king),
        "field": [_field_square(f) for f in case.field],
        "checkers": _names(case.checkers),
        "checker_protectors": {
            chess.square_name(c): _names(men) for c, men in case.checker_protectors.items()
        },
        "interposition_squares": _names(case.interposition_squares),
        "held_off": [
            {
                "man": chess.square_name(h.man),
                "action": h.action,
                "target": chess.square_name(h.target),
                "why": h.why,
                "by": _names(h.by),
            }
            for h in case.held_off
        ],
        "last_move": case.last_move.uci() if case.last_move else None,
        "discovered": case.discovered,
        "needed": _names(case.needed),
        "not_needed": _names(case.not_needed),
        "shields_own_king": _names(case.shields_own_king),
        "removals": [
            {
                "square": chess.square_name(r.square),
                "still_mate": r.still_mate,
                "exposes": r.exposes,
                "check_gone": r.check_gone,
                "answers": _moves(r.answers),
            }
            for r in case.removals
        ],
        "skeleton": case.skeleton.fen,
        "skeletons": [{"men": _names(s.men), "fen": s.fen} for s in case.skeletons],
        "skeletons_complete": case.complete,
        "takes_part": {chess.square_name(m): part for m, part in case.takes_part.items()},
        "king_takes_part": case.king_takes_part,
        "substitutes": [
            {
                "instead_of": chess.square_name(s.instead_of),
                "man": _letter(s.kind),
                "square": chess.square_name(s.square),
            }
            for s in case.substitutes
        ],
        "saviours": [
            {
                "man": _letter(s.kind),
                "square": chess.square_name(s.square),
                "answers": _moves(s.answers),
            }
            for s in case.saviours
        ],
        "luft": [{"move": x.move.uci(), "answers": _moves(x.answers)} for x in case.luft],
    }


def _field_square(f: FieldSquare) -> dict[str, Any]:
    if f.square is None:
        return {"state": f.state, "by": [], "also_guarded_by": []}
    return {
        "square": chess.square_name(f.square),
        "state": f.state,
        "by": _names(f.by),
        "also_guarded_by": _names(f.also_guarded_by),
    }


def _names(men: Iterable[chess.Square]) -> list[str]:
    return [chess.square_name(square) for square in men]


def _moves(moves: Iterable[chess.Move]) -> list[str]:
    return [move.uci() for move in moves]


def _letter(kind: chess.PieceType) -> str:
    return chess.piece_symbol(kind).upper()
