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
    diagram, `game` tells positions of one game apart from those of others.  `patterns` are all
    its names and `geometry` its geometry key, where they are known.
    """

    fen: str
    moves: int | None = None
    keys: int = 1
    pattern: str = ""
    skeleton: str = ""
    source: str = ""
    game: str = ""
    patterns: tuple[str, ...] = ()
    geometry: str = ""


def choose(candidates: Sequence[Candidate], count: int) -> list[Candidate]:
    """A varied set of at most `count`, the shortest mates first.

    Every skeleton and every game comes once.  Lengths are taken in turn (one, two and three
    moves, then the others), and within a length patterns that the set does not have yet go
    first, single solutions before others.  Positions that are mated already, or where the side
    to move is mated, come in when there is nothing else.  With no more candidates than wanted
    all are kept in their order.
    """
    if len(candidates) <= count:
        return list(candidates)
    order = {id(c): n for n, c in enumerate(candidates)}
    taken: list[Candidate] = []
    queues: dict[int, list[Candidate]] = {}
    for candidate in candidates:
        queues.setdefault(_turn(candidate), []).append(candidate)
    ordinary = [queues[turn] for turn in sorted(queues) if turn <= _LONGEST_FIRST_CHOICE]
    others = [queues[turn] for turn in sorted(queues) if turn > _LONGEST_FIRST_CHOICE]
    _take(taken, ordinary, count)
    _take(taken, others, count)
    return sorted(taken, key=lambda c: (abs(c.moves or 0), order[id(c)]))


def _turn(candidate: Candidate) -> int:
    """Which queue a candidate waits in: its length, or one behind all lengths."""
    moves = candidate.moves
    return moves if moves is not None and moves > 0 else 1000 - (moves or 0)


def _take(taken: list[Candidate], queues: Sequence[list[Candidate]], count: int) -> None:
    """Move candidates to `taken`, one of each queue in turn, until there are `count`."""
    while len(taken) < count and any(queues):
        for queue in queues:
            if len(taken) < count and (candidate := _best(queue, taken)) is not None:
                taken.append(candidate)


def _best(queue: list[Candidate], taken: Sequence[Candidate]) -> Candidate | None:
    """Take the first of the queue that is most unlike what the set has; None if all are like it."""
    skeletons = {c.skeleton for c in taken if c.skeleton}
    games = {c.game for c in taken if c.game}
    patterns = [c.pattern for c in taken]
    queue[:] = [c for c in queue if c.skeleton not in skeletons and c.game not in games]
    if not queue:
        return None
    best = min(queue, key=lambda c: (c.keys > 1, patterns.count(c.pattern), not c.pattern))
    queue.remove(best)
    return best
