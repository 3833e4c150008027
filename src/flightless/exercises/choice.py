"""Choosing a varied set from many positions: no two alike, patterns taken in turn, short first.

Everything is decided by the positions and their order; the same input gives the same set.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Candidate", "choose"]

_LONGEST_FIRST_CHOICE = 3
"""Mates of up to three moves are taken before longer ones: a pupil solves them on paper
(common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A position that could go into a set.

    `moves` is the length of the mate (0: mated already; negative: the side to move is mated),
    `keys` the number of first moves that do it, `pattern` its first name or empty,
    `skeleton` the skeleton of the mate it ends in, `source` what is printed under the
    diagram, `game` tells positions of one game apart from those of others.
    """

    fen: str
    moves: int | None = None
    keys: int = 1
    pattern: str = ""
    skeleton: str = ""
    source: str = ""
    game: str = ""


def choose(candidates: Sequence[Candidate], count: int) -> list[Candidate]:
    """A varied set of at most `count`, the shortest mates first.

    Every skeleton and every game comes once.  Patterns are taken in turn, the rarest first.
    Positions to solve go before mated ones, which fill at most a quarter of the set unless
    there is nothing else; single solutions and short mates go before others.  With no more
    candidates than wanted all are kept in their order.
    """
    if len(candidates) <= count:
        return list(candidates)
    to_solve = [c for c in candidates if c.moves != 0]
    mated = [c for c in candidates if c.moves == 0]
    most_mated = max(count // 4, count - len(to_solve))
    taken: list[Candidate] = []
    _take(taken, mated, min(most_mated, count))
    _take(taken, to_solve, count)
    if len(taken) < count:
        _take(taken, mated, count)
    order = {id(c): n for n, c in enumerate(candidates)}
    return sorted(taken, key=lambda c: (abs(c.moves or 0), order[id(c)]))


def _take(taken: list[Candidate], pool: Sequence[Candidate], upto: int) -> None:
    """Move candidates from `pool` to `taken` until there are `upto`, a pattern at a time."""
    groups: dict[str, list[Candidate]] = {}
    for candidate in sorted(pool, key=_quality):
        groups.setdefault(candidate.pattern, []).append(candidate)
    queues = sorted(groups.values(), key=len)
    skeletons = {c.skeleton for c in taken if c.skeleton}
    games = {c.game for c in taken if c.game}
    while len(taken) < upto and any(queues):
        for queue in queues:
            while queue and len(taken) < upto:
                candidate = queue.pop(0)
                if candidate.skeleton in skeletons or candidate.game in games:
                    continue
                taken.append(candidate)
                skeletons |= {candidate.skeleton} - {""}
                games |= {candidate.game} - {""}
                break


def _quality(candidate: Candidate) -> tuple[bool, bool, bool, int]:
    length = abs(candidate.moves or 0)
    return (
        candidate.keys > 1,
        length > _LONGEST_FIRST_CHOICE,
        (candidate.moves or 0) < 0,
        -min(length, 2),
    )
