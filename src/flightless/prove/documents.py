"""A proof as its JSON document, in the format that `certify/` defines and checks."""

from __future__ import annotations

from typing import Any

import chess

from flightless.certify.document import FORMAT, VERSION
from flightless.prove.proof import Proof

__all__ = ["document", "refusal_document"]


def document(proof: Proof) -> dict[str, Any]:
    """The document of a proof, ready for `certify.document_text` and `certify.verify`.

    Moves are UCI text but for `line` and the threats' lines, which are SAN.
    """
    board = chess.Board(proof.fen)
    return {
        "format": FORMAT,
        "version": VERSION,
        "fen": proof.fen,
        "verdict": proof.verdict,
        "moves": proof.moves,
        "shortest": proof.shortest,
        "keys": [move.uci() for move in proof.keys],
        "line": _san(board, proof.line),
        "nodes": proof.nodes,
        "within": proof.within,
        "budget": proof.budget,
        "searched": proof.searched,
        "stopped_by": proof.stopped_by,
        "left_open": list(proof.left_open),
        "threats": _threats(board, proof),
        "delays": [move.uci() for move in proof.delays],
        "tree": {
            position: [proof.distance[position], *(move.uci() for move in moves)]
            for position, moves in proof.tree.items()
        },
    }


def refusal_document(fen: str, reason: str) -> dict[str, Any]:
    """The document for a position that cannot be asked about, with the reason in one sentence."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "fen": fen,
        "verdict": "refused",
        "moves": None,
        "shortest": False,
        "keys": [],
        "line": [],
        "nodes": 0,
        "reason": reason,
    }


def _san(board: chess.Board, line: tuple[chess.Move, ...]) -> list[str]:
    board = board.copy(stack=False)
    return [board.san_and_push(move) for move in line]


def _threats(board: chess.Board, proof: Proof) -> dict[str, Any]:
    found = {}
    for key, threat in proof.threats.items():
        passed = board.copy(stack=False)
        passed.push(key)
        passed.push(chess.Move.null())
        found[key.uci()] = {
            "moves": threat.moves,
            "keys": [move.uci() for move in threat.keys],
            "line": _san(passed, threat.line),
        }
    return found
