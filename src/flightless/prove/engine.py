"""The compiled search held by Python: its arrays, its limits, and stopping it from outside.

One `Engine` serves one question, so that what it remembers of one cannot change the nodes or
the moves of the next.  What a proof is made of is decided in `build`.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

import chess
import numpy as np

from flightless.core.boards import judge, play
from flightless.core.state import MOST_MOVES, State, encode, fresh_key
from flightless.prove import kernels_full as full
from flightless.prove import kernels_tree as kernels
from flightless.prove.kernels_table import new_table

__all__ = [
    "ATTACKS",
    "BY_CHECKS",
    "DEFENDS",
    "Engine",
    "Progress",
    "Row",
    "after_pass",
    "gives_check",
    "state_of",
]

ATTACKS, DEFENDS, BY_CHECKS = full.ATTACKS, full.DEFENDS, full.BY_CHECKS

Progress = Callable[[int, int], None]
"""Told, some five times a second, the number of moves being tried and the nodes so far."""

Row = tuple[State, int, int]
"""A position after a reply, its distance to mate (0: none found), and the reply's number."""

_POLL = 0.2
_QUICK = 3
_SMALL, _LARGE = 12, 20
_NODES, _LIMIT, _STOPPED = (int(n) for n in (full.NODES, full.LIMIT, full.STOPPED))
_NO_LIMIT = 1 << 62


class Engine:
    """The search for one question.

    `longest` is the largest number of moves it will be asked about.  `deadline` is on the
    clock of `time.monotonic`.
    """

    def __init__(
        self,
        longest: int,
        *,
        bits: int | None = None,
        progress: Progress | None = None,
        deadline: float | None = None,
    ) -> None:
        self._moves = full.new_scratch(longest)
        self._table = new_table(bits or (_SMALL if longest <= _QUICK else _LARGE))
        self._work = full.new_work()
        self._rows = np.empty((MOST_MOVES, 8), np.uint64)
        self._progress = progress
        self._deadline = deadline
        self.out_of_time = False

    @property
    def nodes(self) -> int:
        """Positions made so far."""
        return int(self._work[_NODES])

    @property
    def stopped(self) -> bool:
        """Whether the last call was stopped by the limit or the deadline."""
        return bool(self._work[_STOPPED])

    def allow(self, nodes: int | None) -> None:
        """Allow so many nodes from now on (None: as many as it takes, deadline or not)."""
        limit = _NO_LIMIT if nodes is None else min(self.nodes + nodes, _NO_LIMIT)
        self._work[_LIMIT] = 0 if nodes is not None and self.out_of_time else limit
        self._work[_STOPPED] = 0

    def search(self, state: State, left: int, side: np.uint64) -> int:
        """The deciding move of the side to move, or 0 (see `kernels_full.decide`)."""
        return self._ask(kernels.SEARCH, state, left, side)

    def shortest(self, state: State, most: int, checks: int) -> tuple[int, bool]:
        """Length of the shortest mate within `most`, else by checks within `checks`; 0 for none.

        The second is whether it was found by checks.
        """
        found = self._ask(kernels.SHORTEST, state, most, np.uint64(checks))
        return found & 0xFF, bool(found >> 8)

    def solutions(self, state: State, left: int, side: np.uint64 = ATTACKS) -> list[int]:
        """Every move that mates within `left`: checks first, then by the number of replies
        left, then by UCI text; perhaps not all if `stopped` afterwards."""
        count = self._ask(kernels.SOLUTIONS, state, left, side)
        found: list[int] = self._moves[:count].tolist()
        return found

    def replies(self, state: State, most: int, side: np.uint64 = ATTACKS) -> list[Row]:
        """All replies of the defender, who is to move, with exact distances up to `most`."""
        count = self._ask(kernels.REPLIES, state, most, side)
        return [(State(*row[:6]), int(row[6]), int(row[7])) for row in self._rows[:count]]

    def after(self, state: State, move: int) -> State:
        """The position after a legal move."""
        made: State = play(state, np.uint64(move))
        return made

    def _ask(self, question: np.uint64, state: State, left: int, side: np.uint64) -> int:
        """Call the kernel; for long searches in a thread, so that they can be stopped."""
        arguments = (question, state, np.uint64(left), side, self._rows, self._moves)
        arrays = (self._table, self._work)
        if left <= _QUICK and self._deadline is None:
            return int(kernels.ask(*arguments, *arrays))
        answer: list[int] = []

        def run() -> None:
            answer.append(int(kernels.ask(*arguments, *arrays)))

        thread = threading.Thread(target=run, daemon=True)
        thread.start()
        try:
            self._watch(thread, left)
        except BaseException:
            self._work[_LIMIT] = 0
            thread.join()
            raise
        return answer[0]

    def _watch(self, thread: threading.Thread, left: int) -> None:
        while True:
            wait = _POLL
            if self._deadline is not None and int(self._work[_LIMIT]) not in (0, _NO_LIMIT):
                wait = min(max(self._deadline - time.monotonic(), 0.0), _POLL)
            thread.join(wait)
            if not thread.is_alive():
                return
            if wait < _POLL and self._deadline is not None:
                self.out_of_time = True
                self._work[_LIMIT] = 0
            elif self._progress is not None:
                self._progress(left, self.nodes)


def state_of(board: chess.Board) -> State:
    """The position of a board for the engine."""
    return encode(board)


def after_pass(state: State) -> State:
    """The position with the other side to move and no en-passant capture.

    The side that passes must not be in check.
    """
    flags = np.uint64((int(state.flags) ^ 1) & 0x1F)
    passed = state._replace(flags=flags)
    return passed._replace(key=fresh_key(passed))


def gives_check(state: State) -> bool:
    """Whether the side to move is in check, so that the last move was one."""
    return bool(judge(state) in (0, 2))
