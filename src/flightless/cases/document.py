"""A case as a JSON document: the fields of `explain --json`, with a format name and version.

Squares are their names, men are letters of Q R B N P, moves are UCI.  Nothing is computed.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import chess

from flightless.cases.case import Case, FieldSquare

__all__ = [
    "FORMAT",
    "VERSION",
    "case_document",
    "field_square",
    "kind_letter",
    "move_list",
    "square_names",
]

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
        "field": [field_square(f) for f in case.field],
        "checkers": square_names(case.checkers),
        "checker_protectors": {
            chess.square_name(c): square_names(men) for c, men in case.checker_protectors.items()
        },
        "interposition_squares": square_names(case.interposition_squares),
        "held_off": [
            {
                "man": chess.square_name(h.man),
                "action": h.action,
                "target": chess.square_name(h.target),
                "why": h.why,
                "by": square_names(h.by),
            }
            for h in case.held_off
        ],
        "last_move": case.last_move.uci() if case.last_move else None,
        "discovered": case.discovered,
        "needed": square_names(case.needed),
        "not_needed": square_names(case.not_needed),
        "shields_own_king": square_names(case.shields_own_king),
        "removals": [
            {
                "square": chess.square_name(r.square),
                "still_mate": r.still_mate,
                "exposes": r.exposes,
                "check_gone": r.check_gone,
                "answers": move_list(r.answers),
            }
            for r in case.removals
        ],
        "skeleton": case.skeleton.fen,
        "skeletons": [{"men": square_names(s.men), "fen": s.fen} for s in case.skeletons],
        "skeletons_complete": case.complete,
        "takes_part": {chess.square_name(m): part for m, part in case.takes_part.items()},
        "king_takes_part": case.king_takes_part,
        "substitutes": [
            {
                "instead_of": chess.square_name(s.instead_of),
                "man": kind_letter(s.kind),
                "square": chess.square_name(s.square),
            }
            for s in case.substitutes
        ],
        "saviours": [
            {
                "man": kind_letter(s.kind),
                "square": chess.square_name(s.square),
                "answers": move_list(s.answers),
            }
            for s in case.saviours
        ],
        "luft": [{"move": x.move.uci(), "answers": move_list(x.answers)} for x in case.luft],
    }


def field_square(f: FieldSquare) -> dict[str, Any]:
    """One square of the field; off the board it has no square."""
    if f.square is None:
        return {"state": f.state, "by": [], "also_guarded_by": []}
    return {
        "square": chess.square_name(f.square),
        "state": f.state,
        "by": square_names(f.by),
        "also_guarded_by": square_names(f.also_guarded_by),
    }


def square_names(men: Iterable[chess.Square]) -> list[str]:
    """Squares by name, in the order given."""
    return [chess.square_name(square) for square in men]


def move_list(moves: Iterable[chess.Move]) -> list[str]:
    """Moves in UCI."""
    return [move.uci() for move in moves]


def kind_letter(kind: chess.PieceType) -> str:
    """The letter of a kind of man, Q R B N P (K for the king)."""
    return chess.piece_symbol(kind).upper()
