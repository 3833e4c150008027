"""All kinds of exercise by their words, in the order in which a coach would name them.

A kind's class is loaded when it is first asked for, so that refusing a file costs nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from importlib import import_module

from flightless.exercises.exercise import Exercise

__all__ = ["KINDS"]

_CLASSES = {
    "find-mate": ("find_mate", "FindMate"),
    "verdict": ("verdict", "Verdict"),
    "ledger": ("ledger", "LedgerTable"),
    "not-needed": ("not_needed", "NotNeeded"),
    "supporter": ("supporter", "Supporter"),
    "choose": ("choose", "ChooseMan"),
    "save": ("saves", "Saves"),
    "net": ("net", "FinishNet"),
    "name": ("name", "NamePattern"),
    "two-positions": ("two_positions", "TwoPositions"),
    "threat": ("threat", "SayThreat"),
    "luft": ("luft", "GiveLuft"),
    "second-way": ("second_way", "SecondWay"),
}


class _Kinds(Mapping[str, type[Exercise]]):
    """The classes by their words; the words alone load nothing."""

    def __getitem__(self, word: str) -> type[Exercise]:
        module, name = _CLASSES[word]
        found: type[Exercise] = getattr(import_module(f"flightless.exercises.kinds.{module}"), name)
        return found

    def __iter__(self) -> Iterator[str]:
        return iter(_CLASSES)

    def __len__(self) -> int:
        return len(_CLASSES)


KINDS: Mapping[str, type[Exercise]] = _Kinds()
