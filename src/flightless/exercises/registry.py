"""All kinds of exercise by their words, in the order in which a coach would name them."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from flightless.exercises.exercise import Exercise
from flightless.exercises.kinds.choose import ChooseMan
from flightless.exercises.kinds.find_mate import FindMate
from flightless.exercises.kinds.ledger import LedgerTable
from flightless.exercises.kinds.luft import GiveLuft
from flightless.exercises.kinds.name import NamePattern
from flightless.exercises.kinds.net import FinishNet
from flightless.exercises.kinds.not_needed import NotNeeded
from flightless.exercises.kinds.saves import Saves
from flightless.exercises.kinds.second_way import SecondWay
from flightless.exercises.kinds.supporter import Supporter
from flightless.exercises.kinds.threat import SayThreat
from flightless.exercises.kinds.two_positions import TwoPositions
from flightless.exercises.kinds.verdict import Verdict

__all__ = ["KINDS"]

KINDS: Mapping[str, type[Exercise]] = MappingProxyType(
    {
        cls.kind: cls
        for cls in (
            FindMate,
            Verdict,
            LedgerTable,
            NotNeeded,
            Supporter,
            ChooseMan,
            Saves,
            FinishNet,
            NamePattern,
            TwoPositions,
            SayThreat,
            GiveLuft,
            SecondWay,
        )
    }
)
