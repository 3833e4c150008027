"""One search for the server: limits in, the mate that is found out, and it stops when told.

Uses the search of `prove/` without writing a whole proof: one line is wanted, soon.  What is
said to the other program is for `server` to decide.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import chess

if TYPE_CHECKING:
    from flightless.core.state import State
    from flightless.prove.engine import Engine

__all__ = ["Found", "Halted", "Limits", "Search"]

Progress = Callable[[int, int], None]

_GLANCE = 2_000
"""Nodes to look up what the tables hold once a search was stopped: about a millisecond."""
_NO_LIMIT = 1 << 60
_LAST = 0.05
"""Seconds to write out the line of a mate that is known when the time is over."""


class Halted(Exception):  # noqa: N818  (no error: somebody said stop)
    """The search was told to stop."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What a search may take: mates within `within` moves, `nodes` (None: no limit), `seconds`
    (None: no limit), megabytes of `memory` for its tables, one thread or two."""

    within: int
    nodes: int | None = None
    seconds: float | None = None
    memory: int = 128
    threads: int = 1


@dataclass(frozen=True, slots=True)
class Found:
    """What a search found.

    `moves` is n for a mate in n by the side to move and -n if it is mated in n whatever it
    plays; None for neither.  `line` begins with the move to play and may be cut short if the
    time was over.  `shortest`: no shorter mate exists.  Up to `searched` moves there is neither
    (or no shorter one).  `stopped_by` says what ended an unfinished search.
    """

    moves: int | None
    line: tuple[chess.Move, ...]
    shortest: bool
    searched: int
    nodes: int
    stopped_by: Literal["nodes", "seconds", "stop"] | None = None


class Search:
    """A search that another thread may `halt`."""

    def __init__(self, board: chess.Board, limits: Limits, progress: Progress) -> None:
        self._board = board
        self._limits = limits
        self._report = progress
        self._halted = threading.Event()
        self._by: Literal["seconds", "stop"] = "stop"
        self._engine: Engine | None = None
        self._refuted = 0
        self._spent = 0

    def halt(self, by: Literal["seconds", "stop"] = "stop") -> None:
        """End the search now; `run` returns within some milliseconds with what is known."""
        if not self._halted.is_set():
            self._by = by
        self._halted.set()
        if self._engine is not None:
            self._engine.stop()

    def run(self, moves: tuple[chess.Move, ...] = ()) -> Found:
        """The shortest mate for or against the side to move; of its `moves` alone, if given.

        The board must be legal and the game not over.  Raises `MemoryError` if the tables
        do not fit.
        """
        with _alarm(self._limits.seconds, lambda: self.halt("seconds")):
            if not moves:
                return self._whole()
            return self._among(moves)

    # -- all moves -------------------------------------------------------------------------

    def _whole(self) -> Found:
        from flightless.prove.engine import state_of

        engine = self._new_engine(self._limits.within)
        root = state_of(self._board)
        try:
            return self._decide(engine, root, self._limits.within, self._limits.nodes)
        except Halted:
            return self._glance(engine, root)

    def _decide(self, engine: Engine, root: State, within: int, nodes: int | None) -> Found:
        """The verdict with a line in which every defence is the longest."""
        from flightless.prove.build import build_mate, build_mated
        from flightless.prove.sweep import sweep

        budget = _NO_LIMIT if nodes is None else nodes
        out = sweep(
            engine, root, within, budget, threads=self._limits.threads, progress=self._progress
        )
        self._check()
        self._refuted = max(self._refuted, out.searched)
        spent = engine.nodes
        ended: Literal["nodes"] | None = None
        if out.searched < within and not out.shortest:
            ended = "nodes"
        if out.mate is not None:
            built = build_mate(engine, root, out.mate, 1)
        elif out.mated is not None:
            built = build_mated(engine, root, out.mated)
        else:
            return Found(None, (), False, out.searched, spent, ended)
        moves = built.moves if out.mate is not None else -built.moves
        shortest = out.shortest or out.searched == built.moves - 1
        return Found(moves, built.line, shortest, out.searched, spent, ended)

    def _glance(self, engine: Engine, root: State) -> Found:
        """After a stop: the shortest mate that the tables hold already, with its line if that
        is quick."""
        nodes, by = engine.nodes, self._by
        self._halted.clear()
        best = Found(None, (), False, self._refuted, nodes, by)
        try:
            for length in range(self._limits.within, self._refuted, -1):
                known = self._known(engine, root, length)
                if known is None:
                    break
                best = Found(length, (known,), length == self._refuted + 1, length - 1, nodes, by)
            if best.moves is not None:
                with _alarm(_LAST, self.halt):
                    best = self._written_out(engine, root, best)
        except Halted:
            pass  # the first move will do
        return replace(best, searched=self._refuted)

    def _known(self, engine: Engine, root: State, length: int) -> chess.Move | None:
        from flightless.core.state import move_to_chess
        from flightless.prove.engine import ATTACKS

        engine.allow(_GLANCE)
        move = engine.search_here(root, length, ATTACKS, 2)
        return move_to_chess(move) if move and not engine.stopped else None

    def _written_out(self, engine: Engine, root: State, found: Found) -> Found:
        from flightless.prove.build import build_mate

        assert found.moves is not None
        built = build_mate(engine, root, found.moves, 1, shortest=False)
        shortest = built.moves == self._refuted + 1
        return replace(found, moves=built.moves, line=built.line, shortest=shortest)

    # -- some moves only -------------------------------------------------------------------

    def _among(self, moves: tuple[chess.Move, ...]) -> Found:
        """The best of some first moves: the shortest mate, else none, else the longest defence.

        Each is searched in turn with an equal share of what is left of the nodes.
        """
        best: Found | None = None
        within = self._limits.within
        ended: Literal["nodes", "seconds", "stop"] | None = None
        for at, move in enumerate(moves):
            found = self._one(move, within, len(moves) - at)
            self._spent += found.nodes
            ended = ended or found.stopped_by
            if best is None or _rank(found) < _rank(best):
                best = found
            if found.moves is not None and found.moves > 0:
                within = min(within, found.moves - 1)  # only a shorter mate is of interest
            if not within or self._halted.is_set():
                break
        assert best is not None
        searched = 0 if ended else within
        return Found(best.moves, best.line, ended is None, searched, self._spent, ended)

    def _one(self, move: chess.Move, within: int, left: int) -> Found:
        """What the side to move gets by this move within so many moves, itself counted."""
        from flightless.prove.engine import state_of

        after = self._board.copy(stack=False)
        after.push(move)
        if after.is_checkmate():
            return Found(1, (move,), True, 0, 1)
        if within == 1 or not any(after.legal_moves):
            return Found(None, (move,), False, within, 1)
        nodes = self._limits.nodes
        share = None if nodes is None else max((nodes - self._spent) // left, 1)
        engine = self._new_engine(within)
        try:
            then = self._decide(engine, state_of(after), within - 1, share)
        except Halted:
            return Found(None, (move,), False, 0, engine.nodes, self._by)
        moves = then.moves
        if moves is not None:
            moves = 1 - moves if moves < 0 else -moves
        return replace(then, moves=moves, line=(move, *then.line))

    # -- stopping --------------------------------------------------------------------------

    def _new_engine(self, within: int) -> Engine:
        from flightless.uci.halting import HaltingEngine

        engine = HaltingEngine(
            within, memory=self._limits.memory, progress=self._progress, stop=self._check
        )
        self._engine = engine
        return engine

    def _check(self) -> None:
        if self._halted.is_set():
            raise Halted

    def _progress(self, moves: int, nodes: int) -> None:
        self._check()
        self._refuted = max(self._refuted, moves - 1)
        self._report(moves, nodes + self._spent)


def _rank(found: Found) -> tuple[int, int]:
    """For the side to move, best first: a mate, the shorter the better; then neither; then
    being mated, the later the better."""
    if found.moves is None:
        return 1, 0
    return (0, found.moves) if found.moves > 0 else (2, found.moves)


@contextmanager
def _alarm(seconds: float | None, ring: Callable[[], None]) -> Iterator[None]:
    """Call `ring` after so many seconds, unless the work is over before."""
    if seconds is None:
        yield
        return
    timer = threading.Timer(seconds, ring)
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
