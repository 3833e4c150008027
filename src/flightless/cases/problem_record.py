"""A composed problem as its JSON document.  Moves are UCI text; nothing is computed."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import chess

from flightless.cases.problem import Play, Problem, Variation

__all__ = ["FORMAT", "VERSION", "problem_document"]

FORMAT = "flightless-problem"
VERSION = 1


def problem_document(problem: Problem) -> dict[str, Any]:
    """The document of a problem; `docs/problems.md` has the meaning of its fields."""
    white, black = problem.men
    set_play = None if problem.set_play is None else _variations(problem.set_play)
    return {
        "format": FORMAT,
        "version": VERSION,
        "fen": problem.fen,
        "verdict": problem.verdict,
        "moves": problem.moves,
        "stipulated": problem.stipulated,
        "within": problem.within,
        "men": {"white": white, "black": black},
        "keys": [_play(key) for key in problem.keys],
        "set_play": set_play,
        "complete_block": problem.complete_block,
        "tries": [
            {
                "move": one.move.uci(),
                "check": one.check,
                "threats": _moves(one.threats),
                "refutation": one.refutation.uci(),
            }
            for one in problem.tries
        ],
        "left_out": list(problem.left_out),
        "nodes": problem.nodes,
    }


def _play(play: Play) -> dict[str, Any]:
    record: dict[str, Any] = {
        "move": play.move.uci(),
        "moves": play.moves,
        "check": play.check,
        "followed": play.followed,
    }
    if play.moves > 1 and play.followed:
        record["zugzwang"] = play.is_zugzwang
    if play.threats:
        record["threats"] = [_play(threat) for threat in play.threats]
    if play.variations:
        record["variations"] = _variations(play.variations)
    if play.idle:
        record["idle"] = _variations(play.idle)
    return record


def _variations(variations: Iterable[Variation]) -> list[dict[str, Any]]:
    return [
        {
            "defences": _moves(variation.defences),
            "play": _play(variation.play),
            "duals": _moves(variation.duals),
            "kind": variation.kind,
        }
        for variation in variations
    ]


def _moves(moves: Iterable[chess.Move]) -> list[str]:
    return [move.uci() for move in moves]
