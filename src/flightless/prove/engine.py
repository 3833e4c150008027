"""The compiled search held by Python: its arrays, its limits, and stopping it from outside.

One `Engine` serves one question, so that what it remembers of one cannot change the nodes or
the moves of the next.  What a proof is made of is decided in `build`.
"""

from __future__ import annotations

import copy
import threading
import time
from collections.abc import Callable

import chess
import numpy as np

from flightless.core.boards import judge, play
from flightless.core.state import MOST_MOVES, State, encode, fresh_key
from flightless.prove import kernels_full as full
from flightless.prove import kernels_numbers as numbers
from flightless.prove import kernels_tree as kernels
from flightless.prove.kernels_numbers import new_numbers
from flightless.prove.kernels_table import new_table

__all__ = [
    "ATTACKS",
    "BY_CHECKS",
    "DEFENDS",
    "QUICK",
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

QUICK = 3
"""Up to so many moves a search is over at once, and never worth a thread or a large table."""

_SOON = 200_000
"""A search of so few nodes is over before anybody would stop it."""

_POLL = 0.2
_MEMORY = 128
_SMALL = 12
_NODES, _LIMIT, _STOPPED = (int(n) for n in (full.NODES, full.LIMIT, full.STOPPED))
_LEAF, _BACKWARDS = int(numbers.LEAF), int(numbers.BACKWARDS)
_NO_LIMIT = 1 << 62


class Engine:
    """The search for one question.

    `longest` is the largest number of moves it will be asked about.  `memory` is what its
    tables may take, in megabytes; they take less while less is needed.  `bits` gives a small
    table of 2^bits pairs instead.  `deadline` is on the clock of `time.monotonic`.
    """

    def __init__(
        self,
        longest: int,
        *,
        bits: int | None = None,
        memory: int = _MEMORY,
        progress: Progress | None = None,
        deadline: float | None = None,
    ) -> None:
        if bits is None:
            bits = _SMALL if longest <= QUICK else _bits_for(memory)
        self._table = new_table(bits)
        self._numbers = new_numbers(0 if longest <= QUICK else bits + 1)
        self._progress = progress
        self._deadline = deadline
        self._longest = longest
        self.out_of_time = False
        self._set_out()

    def _set_out(self) -> None:
        """The arrays that each thread has for itself."""
        self._moves = full.new_scratch(self._longest)
        self._rows = np.empty((MOST_MOVES, 8), np.uint64)
        self._work = full.new_work()
        self._work[_LEAF] = QUICK

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

    def stop(self) -> None:
        """Stop the call that is under way, from another thread."""
        self._work[_LIMIT] = 0

    def add_nodes(self, nodes: int) -> None:
        """Count nodes that a twin has spent."""
        self._work[_NODES] += np.uint64(nodes)

    def twin(self) -> Engine:
        """An engine for another thread: the same tables, arrays of its own.

        Where two moves look alike it tries the last first, so that the two divide the work.
        """
        other = copy.copy(self)
        other._set_out()
        other._work[_BACKWARDS] = 1
        return other

    def search_here(self, state: State, left: int, side: np.uint64, leaf: int) -> int:
        """As `search`, in the calling thread, with `leaf` moves left to plain search."""
        self._work[_LEAF] = leaf
        found = self._call(kernels.SEARCH, state, left, side)
        self._work[_LEAF] = QUICK
        return found

    def plain(self, state: State, left: int, side: np.uint64) -> int:
        """As `search`, without proof numbers whatever the length (see `kernels_full.decide`)."""
        return self._ask(kernels.PLAIN, state, left, side)

    def search(self, state: State, left: int, side: np.uint64) -> int:
        """The deciding move of the side to move, or 0 (see `kernels_numbers.settle`)."""
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
        return self._rows_of(self._ask(kernels.REPLIES, state, most, side))

    def outline(self, state: State, most: int, side: np.uint64 = ATTACKS) -> list[Row]:
        """As `replies`, but distances beyond three moves are only what is known already."""
        return self._rows_of(self._ask(kernels.OUTLINE, state, most, side))

    def _rows_of(self, count: int) -> list[Row]:
        return [(State(*row[:6]), int(row[6]), int(row[7])) for row in self._rows[:count]]

    def after(self, state: State, move: int) -> State:
        """The position after a legal move."""
        made: State = play(state, np.uint64(move))
        return made

    def _call(self, question: np.uint64, state: State, left: int, side: np.uint64) -> int:
        arguments = (question, state, np.uint64(left), side, self._rows, self._moves)
        return int(kernels.ask(*arguments, self._table, self._numbers, self._work))

    def _ask(self, question: np.uint64, state: State, left: int, side: np.uint64) -> int:
        """Call the kernel; for long searches in a thread, so that they can be stopped."""
        allowed = int(self._work[_LIMIT]) - self.nodes
        if self._deadline is None and (left <= QUICK or allowed <= _SOON):
            return self._call(question, state, left, side)
        answer: list[int] = []

        def run() -> None:
            answer.append(self._call(question, state, left, side))

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


def _bits_for(megabytes: int) -> int:
    """The largest table, with numbers twice its size, in so much memory: 32 bytes a pair."""
    return max(int(megabytes * (1 << 20) / 96).bit_length() - 1, _SMALL)


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
