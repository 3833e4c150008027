"""The mark of an answer: a verdict and its reason, as frozen data with a JSON form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from typing import Any, Literal

import chess

from flightless.exercises.reasons import Reason

__all__ = ["FORMAT", "VERSION", "Mark", "Verdict", "mark_document"]

FORMAT = "flightless mark"
VERSION = 1

Verdict = Literal["right", "longer", "partly", "wrong", "unreadable"]


@dataclass(frozen=True, slots=True)
class Mark:
    """What an answer is worth, and why.

    "longer": it mates, but in more moves than asked.  "partly": some of it is right.
    "unreadable": it is no possible answer (unreadable, or an illegal move) and should not
    count as a try.
    """

    verdict: Verdict
    reason: Reason

    @property
    def right(self) -> bool:
        """Whether the answer is right."""
        return self.verdict == "right"


def mark_document(mark: Mark) -> dict[str, Any]:
    """The JSON form: moves as UCI, squares by name, men as letters (White's in capitals)."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "verdict": mark.verdict,
        "reason": _plain(mark.reason, ""),
    }


def _plain(value: Any, kind: str) -> Any:
    """A value as JSON; `kind` is its annotation, which tells a square from a number."""
    if isinstance(value, chess.Move):
        return value.uci()
    if isinstance(value, chess.Piece):
        return value.symbol()
    if isinstance(value, bool):
        return ("white" if value else "black") if "chess.Color" in kind else value
    if isinstance(value, int):
        if "chess.Square" in kind:
            return chess.square_name(value)
        return chess.piece_name(value) if "chess.PieceType" in kind else value
    if isinstance(value, tuple):
        return [_plain(item, kind) for item in value]
    if isinstance(value, Mapping):
        return {str(key): _plain(item, kind) for key, item in value.items()}
    if not is_dataclass(value) or isinstance(value, type):
        return value
    document = {f.name: _plain(getattr(value, f.name), str(f.type)) for f in fields(value)}
    return {"name": type(value).__name__, **document} if isinstance(value, Reason) else document
