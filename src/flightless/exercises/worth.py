"""What a position is worth in class: five computed facts from 0 to 1, their sum, and why.

It says which of many positions to show first, and gives the facts that decide it; how they
are worked out stands in `worth_facts`, `words` speaks them, and the casebook keeps them.  No
merit is given for what a pupil cannot see on the board.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Literal, get_args

import chess

from flightless.errors import FileError
from flightless.exercises.material import NotFit

__all__ = [
    "BUDGET",
    "VERSION",
    "WEIGHTS",
    "Criterion",
    "Reason",
    "Worth",
    "rank_of",
    "refusal_document",
    "weigh",
    "worth_document",
    "worth_of_document",
]

Criterion = Literal["key", "clean", "natural", "typical", "contrast"]

VERSION = 1
"""Of the measure and of its JSON form; another measure has another number."""

WEIGHTS: Mapping[Criterion, float] = MappingProxyType(
    {"key": 0.30, "clean": 0.25, "natural": 0.15, "typical": 0.15, "contrast": 0.15}
)
"""What each fact counts.  Common practice, no source: an exercise with two solutions cannot be
marked, and clutter hides the pattern; the others come after these."""

BUDGET = 400_000
"""Nodes for proving a position before it is weighed; what needs more is not weighed."""


@dataclass(frozen=True, slots=True)
class Reason:
    """One fact: how good it is, from 0 to 1, and what was found.

    `facts` holds plain values (numbers, texts, true or false, FEN, names of squares), by names
    that the functions of `worth_facts` list.
    """

    criterion: Criterion
    value: float
    facts: Mapping[str, Any]

    @property
    def weight(self) -> float:
        """What the fact counts in the total."""
        return WEIGHTS[self.criterion]


@dataclass(frozen=True, slots=True)
class Worth:
    """What a position is worth in class: `total` from 0 to 1, and the reasons in the order of
    `WEIGHTS`.

    `moves` is the length as EPD's `dm` has it (0: mated already), and `quiet` says that the key
    is neither check nor capture (None where there is no key to find).  Both are there to be
    shown and are no merits.
    """

    fen: str
    total: float
    reasons: tuple[Reason, ...]
    moves: int
    quiet: bool | None

    def reason(self, criterion: Criterion) -> Reason:
        """The reason of that name."""
        return next(r for r in self.reasons if r.criterion == criterion)

    def value(self, criterion: Criterion) -> float:
        """The value of one of the facts."""
        return self.reason(criterion).value

    def facts(self, criterion: Criterion) -> Mapping[str, Any]:
        """What was found."""
        return self.reason(criterion).facts


def weigh(
    board: chess.Board, *, from_game: bool = False, within: int = 5, budget: int = BUDGET
) -> Worth | NotFit:
    """What a position is worth in class, or why that cannot be said.

    `from_game` says that it stood in a game.  Not fit: no mate for or against the side to
    move is proved within `within` moves and `budget` nodes, or other first moves may have been
    missed.  The same position gives the same answer on every machine.
    """
    from flightless.exercises.worth_facts import reasons_of, seen

    look = seen(board, within, budget)
    if isinstance(look, NotFit):
        return look
    reasons = reasons_of(look, from_game=from_game)
    total = sum(reason.weight * reason.value for reason in reasons)
    return Worth(look.board.fen(), round(total, 4), reasons, look.moves, look.quiet)


def rank_of(worth: Worth) -> tuple[float, str]:
    """What positions are sorted by: the greatest total first, equals by FEN."""
    return -worth.total, worth.fen


def worth_document(worth: Worth) -> dict[str, Any]:
    """The JSON form."""
    return {
        "format": "flightless worth",
        "version": VERSION,
        "fen": worth.fen,
        "total": worth.total,
        "moves": worth.moves,
        "quiet": worth.quiet,
        "reasons": [
            {"criterion": r.criterion, "value": r.value, "facts": dict(r.facts)}
            for r in worth.reasons
        ],
    }


def refusal_document(fen: str, reason: NotFit) -> dict[str, Any]:
    """The JSON form of a position that could not be weighed."""
    return {
        "format": "flightless worth",
        "version": VERSION,
        "fen": fen,
        "refused": reason.reason,
    }


def worth_of_document(document: Mapping[str, Any]) -> Worth | NotFit:
    """What `worth_document` or `refusal_document` made of it, read again.  `FileError` if it is
    neither, or of another version."""
    if document.get("format") != "flightless worth" or document.get("version") != VERSION:
        raise FileError("this is no worth of a position, or of another version")
    if "refused" in document:
        return NotFit(str(document["refused"]))
    try:
        reasons = tuple(
            Reason(r["criterion"], float(r["value"]), MappingProxyType(dict(r["facts"])))
            for r in document["reasons"]
        )
        worth = Worth(
            str(document["fen"]),
            float(document["total"]),
            reasons,
            int(document["moves"]),
            document["quiet"],
        )
    except (KeyError, TypeError, ValueError) as error:
        raise FileError(
            f"the worth of a position has a field that is not as it should be: {error}"
        ) from None
    if tuple(r.criterion for r in reasons) != get_args(Criterion):
        raise FileError("the worth of a position has other reasons than it should have")
    return worth
