"""The result of a search, as frozen data that loads nothing compiled.

The rooms below read a `Proof`; its JSON document (the format of `certify/`) is what other
software can replay.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

import chess

__all__ = ["Find", "Open", "Proof", "Threat", "Verdict"]

Verdict = Literal["mate", "mated", "no mate", "undecided"]
Open = Literal["keys", "duals", "threats"]


@dataclass(frozen=True, slots=True)
class Threat:
    """What a quiet key threatens: the shortest mate if the defender passes.

    `moves` counts from the threatening move; `keys` are all first moves that carry it out
    and `line` one full line from the position after the pass.
    """

    moves: int
    keys: tuple[chess.Move, ...]
    line: tuple[chess.Move, ...]


@dataclass(frozen=True, slots=True)
class Proof:
    """What is known of a position, and why.

    `moves` is n for "mate" (the side to move mates in n) and -n for "mated" (the side to
    move is mated in n whatever it does), as the EPD opcode `dm`; None for the other verdicts.
    `shortest` says that no shorter mate exists.  `keys` are *every* first move that mates in
    the shortest number (empty unless "mate").  `line` is the main line: a key, the longest
    defence, and so on until mate.  `tree` maps positions (FEN's first four fields) where the
    attacker moves to all of his moves that mate in the shortest number there (the first is
    the one the tree follows; the others are duals), for each position the proof can reach.
    `distance` gives, for the same positions, the number of moves to mate.  `delays` are
    defences that only put the mate off and change nothing (see `prove.delays`).
    """

    fen: str
    verdict: Verdict
    moves: int | None
    shortest: bool
    within: int
    keys: tuple[chess.Move, ...] = ()
    line: tuple[chess.Move, ...] = ()
    nodes: int = 0
    budget: int = 0
    searched: int = 0
    """Largest n for which 'no mate in n' is proved; how far an undecided search got."""
    stopped_by: Literal["nodes", "seconds"] | None = None
    tree: Mapping[str, tuple[chess.Move, ...]] = field(default_factory=lambda: MappingProxyType({}))
    distance: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))
    threats: Mapping[chess.Move, Threat] = field(default_factory=lambda: MappingProxyType({}))
    """For each quiet key, its threat; a quiet key without one puts the defender in zugzwang."""
    delays: tuple[chess.Move, ...] = ()
    """Defences to the first key that only delay: spite checks and sacrifices after which the
    same mate follows one move later."""
    left_open: tuple[Open, ...] = ()
    """What may be missing although the mate is proved: "keys", "duals" (other solutions later
    in the tree) and "threats", because looking for them would have cost too many nodes."""

    @property
    def keys_complete(self) -> bool:
        """Whether `keys` are all there are."""
        return "keys" not in self.left_open

    @property
    def duals_complete(self) -> bool:
        """Whether the tree lists all duals."""
        return "duals" not in self.left_open


@dataclass(frozen=True, slots=True)
class Find:
    """The answer of a quick look for a mate: no tree, but every first move.

    `moves` is None if there is no mate within the limits, or if `exhausted` says that the
    budget ended the look.  `found_by` is "full" (then it is the shortest) or "checks" (every
    move of the mating side a check; a shorter or another mate with quiet moves may exist, and
    `keys` are the checking ones).
    """

    moves: int | None
    keys: tuple[chess.Move, ...] = ()
    found_by: Literal["full", "checks"] | None = None
    nodes: int = 0
    exhausted: bool = False
