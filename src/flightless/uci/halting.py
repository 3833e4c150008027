"""The compiled search with a way out: every question asks first whether it is still wanted.

The one module of the room that loads compiled code when it is imported.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from flightless.core.state import State
from flightless.prove.engine import ATTACKS, Engine, Progress, Row

__all__ = ["HaltingEngine"]


class HaltingEngine(Engine):
    """An engine that calls `stop` before every question; it may raise.

    Together with `Engine.stop` this ends a search at once, from any thread: the question that
    is under way comes back, and the next one is not begun.
    """

    def __init__(
        self, longest: int, *, memory: int, progress: Progress, stop: Callable[[], None]
    ) -> None:
        super().__init__(longest, memory=memory, progress=progress)
        self._stop = stop

    def search_here(self, state: State, left: int, side: np.uint64, leaf: int) -> int:
        """As the engine's own."""
        self._stop()
        return super().search_here(state, left, side, leaf)

    def search(self, state: State, left: int, side: np.uint64) -> int:
        """As the engine's own."""
        self._stop()
        found = super().search(state, left, side)
        self._stop()
        return found

    def solutions(self, state: State, left: int, side: np.uint64 = ATTACKS) -> list[int]:
        """As the engine's own."""
        self._stop()
        found = super().solutions(state, left, side)
        self._stop()
        return found

    def replies(self, state: State, most: int, side: np.uint64 = ATTACKS) -> list[Row]:
        """As the engine's own."""
        self._stop()
        found = super().replies(state, most, side)
        self._stop()
        return found

    def outline(self, state: State, most: int, side: np.uint64 = ATTACKS) -> list[Row]:
        """As the engine's own."""
        self._stop()
        found = super().outline(state, most, side)
        self._stop()
        return found
