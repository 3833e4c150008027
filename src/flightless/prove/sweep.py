"""Which lengths to try, in what order and for how long: from a position to a verdict.

Short lengths are decided one after the other.  Then every open length gets a share of nodes
in turn, the shortest first, and the shares grow: so a long mate is found without first
refuting all shorter ones, and as many of those as possible are refuted afterwards.  The
tables keep what a share has achieved.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from flightless.core.state import State
from flightless.prove.engine import ATTACKS, DEFENDS, QUICK, Engine, Progress

__all__ = ["Outcome", "sweep"]

_FIRST = 400_000
"""Nodes of the first share of a length."""
_LEAF = 3
"""Moves left to plain search: with two, no more is found in the same time and less refuted."""
_POLL = 0.2


@dataclass(slots=True)
class _Question:
    """Mate by the side to move (`ATTACKS`), or of it (`DEFENDS`)?

    No mate within `refuted`; mate within `proved`, None if that is not known.
    """

    side: np.uint64
    refuted: int = 0
    proved: int | None = None

    def lengths(self, within: int) -> range:
        """The lengths that are open."""
        return range(self.refuted + 1, self.proved or within + 1)


@dataclass(frozen=True, slots=True)
class Outcome:
    """The verdict: at most one of `mate` and `mated` is a length, and then `shortest` says
    whether all shorter ones are refuted.  `searched`: neither within so many moves."""

    mate: int | None
    mated: int | None
    shortest: bool
    searched: int
    stopped_by_time: bool = False


def sweep(
    engine: Engine,
    root: State,
    within: int,
    budget: int,
    *,
    threads: int = 1,
    progress: Progress | None = None,
    deadline: float | None = None,
) -> Outcome:
    """Decide the position within a budget of nodes.

    With one thread the same question takes the same nodes.  With two they share the tables;
    the verdict is the same if the budget suffices.  Whatever is found by then is returned.
    """
    run = _Sweep(engine, root, within, budget)
    run.short_lengths()
    if run.is_open():
        run.long_lengths(threads, progress, deadline)
    return run.outcome()


class _Sweep:
    def __init__(self, engine: Engine, root: State, within: int, budget: int) -> None:
        self.root = root
        self.within = within
        self.budget = budget
        self.engines = [engine]
        self.mate = _Question(ATTACKS)
        self.mated = _Question(DEFENDS)
        self.lock = threading.Lock()
        self.at_work: dict[int, tuple[_Question, int]] = {}
        self.error: BaseException | None = None
        self.out_of_time = False

    @property
    def nodes(self) -> int:
        return sum(engine.nodes for engine in self.engines)

    def is_open(self) -> bool:
        """Whether another share of nodes could still change the verdict."""
        if self.nodes >= self.budget or self.error or self.out_of_time:
            return False
        if self.mate.proved is not None or self.mated.proved is not None:
            proved = self.mate if self.mate.proved is not None else self.mated
            return bool(proved.lengths(self.within))
        return bool(self.mate.lengths(self.within)) or bool(self.mated.lengths(self.within))

    def short_lengths(self) -> None:
        """Decide the lengths that take no time, one after the other."""
        for length in range(1, min(QUICK, self.within) + 1):
            for question in (self.mate, self.mated):
                if self.is_open():
                    self._try(0, question, length, self.budget)

    def long_lengths(self, threads: int, progress: Progress | None, deadline: float | None) -> None:
        """Share out nodes until the verdict is there or the budget is spent."""
        self.engines += [self.engines[0].twin() for _ in range(1, threads)]
        workers = [
            threading.Thread(target=self._work, args=(number,), daemon=True)
            for number in range(threads)
        ]
        for worker in workers:
            worker.start()
        try:
            while any(worker.is_alive() for worker in workers):
                self._wait(workers, progress, deadline)
        except BaseException as error:
            self._give_up(error)
            raise
        finally:
            for worker in workers:
                worker.join()
            for engine in self.engines[1:]:
                self.engines[0].add_nodes(engine.nodes)
            del self.engines[1:]
        if self.error is not None:
            raise self.error

    def outcome(self) -> Outcome:
        """What is known now."""
        proved = self.mate if self.mate.proved is not None else self.mated
        known = proved.proved
        return Outcome(
            self.mate.proved,
            self.mated.proved if self.mate.proved is None else None,
            known is not None and not proved.lengths(self.within),
            min(self.mate.refuted, self.mated.refuted) if known is None else proved.refuted,
            self.out_of_time,
        )

    # -- waiting, in the caller's thread ---------------------------------------------------

    def _wait(
        self,
        workers: list[threading.Thread],
        progress: Progress | None,
        deadline: float | None,
    ) -> None:
        wait = _POLL if deadline is None else min(max(deadline - time.monotonic(), 0.0), _POLL)
        alive = next((worker for worker in workers if worker.is_alive()), None)
        if alive is not None:
            alive.join(wait)
        if deadline is not None and time.monotonic() >= deadline:
            self.out_of_time |= any(worker.is_alive() for worker in workers)
            self._stop_all()
        elif progress is not None and any(worker.is_alive() for worker in workers):
            progress(self.mate.refuted + 1, self.nodes)

    def _give_up(self, error: BaseException) -> None:
        self.error = error
        self._stop_all()

    def _stop_all(self) -> None:
        for engine in self.engines:
            engine.stop()

    # -- working, in one thread or two -----------------------------------------------------

    def _work(self, number: int) -> None:
        """Take one share after the other; the second thread leaves the shortest open length
        to the first while there are others."""
        try:
            shares = self._shares(alone=len(self.engines) == 1, leads=number == 0)
            for question, length, nodes in shares:
                self._try(number, question, length, nodes)
        except BaseException as error:  # noqa: BLE001  (raised again in the caller's thread)
            self._give_up(error)

    def _shares(self, *, alone: bool, leads: bool) -> Iterator[tuple[_Question, int, int]]:
        nodes = _FIRST
        while self.is_open():
            for question, part in ((self.mate, 1), (self.mated, 4)):
                if question is self.mated and self.mate.proved is not None:
                    continue
                lengths = list(question.lengths(self.within))
                if not alone and len(lengths) > 1:
                    lengths = lengths[:1] if leads else lengths[1:]
                for length in lengths:
                    if length in question.lengths(self.within) and self.is_open():
                        yield question, length, nodes // part
            nodes *= 2

    def _try(self, number: int, question: _Question, length: int, nodes: int) -> None:
        engine = self.engines[number]
        with self.lock:
            self.at_work[number] = (question, length)
            engine.allow(max(min(nodes, self.budget - self.nodes), 1))
            if self.error or self.out_of_time:
                engine.stop()
        move = engine.search_here(self.root, length, question.side, _LEAF)
        with self.lock:
            del self.at_work[number]
            if engine.stopped:
                return
            if bool(move) == (question is self.mate):
                if question.proved is None or length < question.proved:
                    question.proved = length
            else:
                question.refuted = max(question.refuted, length)
            self._call_off()

    def _call_off(self) -> None:
        """Stop the other thread if its share has become pointless."""
        for number, (question, length) in self.at_work.items():
            settled = question is self.mated and self.mate.proved is not None
            if settled or length not in question.lengths(self.within):
                self.engines[number].stop()
