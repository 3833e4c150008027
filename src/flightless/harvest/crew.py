"""Who does the work: this process, a pool of processes, or a Dask cluster.

A crew takes tasks and gives their results back in the order of the tasks, whatever the order
in which they are done; a task whose worker dies is given to another.
"""

from __future__ import annotations

import contextlib
import importlib
import multiprocessing
import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import Any, Protocol, TypeVar

from flightless.errors import FlightlessError, UsageError

__all__ = ["Alone", "Cluster", "Crew", "CrewError", "Pool", "cores", "in_order"]

T = TypeVar("T")
A = TypeVar("A")
R = TypeVar("R")

_TRIES = 4


class CrewError(FlightlessError):
    """Workers that died again and again over the same piece of work."""


class Lost(Exception):  # noqa: N818 - no error that anybody sees
    """The worker that had a task is gone."""


class Crew(Protocol):
    """Something that runs functions elsewhere (or here)."""

    @property
    def hands(self) -> int:
        """How many tasks it can do at once."""

    def give(self, function: Callable[..., Any], *arguments: Any) -> Any:
        """Hand over a task; returns a receipt."""

    def take(self, receipt: Any) -> Any:
        """Wait for the result of a task; raises `Lost` if its worker died."""

    def close(self) -> None:
        """Send everybody home, at once."""


def cores() -> int:
    """The number of cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def in_order(
    crew: Crew, tasks: Iterable[T], function: Callable[[A], R], arguments: Callable[[T], A]
) -> Iterator[tuple[T, R]]:
    """Each task with its result, in order; some tasks are always under way ahead.

    `function` is called with `arguments(task)`.  Raises `CrewError` when a task was lost time
    and again.
    """
    under_way: deque[tuple[T, Any]] = deque()
    coming = iter(tasks)
    while True:
        while len(under_way) < 2 * crew.hands + 1:
            try:
                task = next(coming)
            except StopIteration:
                break
            under_way.append((task, crew.give(function, arguments(task))))
            if crew.hands == 1:
                break
        if not under_way:
            return
        task, receipt = under_way.popleft()
        yield task, _taken(crew, receipt, function, arguments(task))


def _taken(crew: Crew, receipt: Any, function: Callable[[A], R], argument: A) -> R:
    for _ in range(_TRIES):
        try:
            result: R = crew.take(receipt)
        except Lost:
            receipt = crew.give(function, argument)
        else:
            return result
    raise CrewError(f"workers died {_TRIES} times over the same piece of work; giving up")


class Alone:
    """This process, one task after the other."""

    hands = 1

    def give(self, function: Callable[..., Any], *arguments: Any) -> Any:
        return function(*arguments)

    def take(self, receipt: Any) -> Any:
        return receipt

    def close(self) -> None:
        """Nothing to do."""


class Pool:
    """Processes on this machine.  They end with this process, however it ends."""

    def __init__(self, hands: int) -> None:
        self.hands = hands
        self._others = set(multiprocessing.active_children())
        self._pool = self._new()

    def _new(self) -> ProcessPoolExecutor:
        # A fresh interpreter for each: forking a process with threads may hang.
        context = multiprocessing.get_context("spawn")
        return ProcessPoolExecutor(self.hands, mp_context=context, initializer=_begin_worker)

    def give(self, function: Callable[..., Any], *arguments: Any) -> Any:
        try:
            return self._pool.submit(function, *arguments)
        except BrokenProcessPool:
            self._pool.shutdown(wait=False, cancel_futures=True)
            self._pool = self._new()
            return self._pool.submit(function, *arguments)

    def take(self, receipt: Future[Any]) -> Any:
        try:
            return receipt.result()
        except BrokenProcessPool:
            raise Lost from None

    def close(self) -> None:
        self._pool.shutdown(wait=False, cancel_futures=True)
        for child in multiprocessing.active_children():
            if child not in self._others:
                child.terminate()


def _begin_worker() -> None:
    """Leave Ctrl-C to the parent, and do not outlive it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent,), daemon=True).start()


def _end_with(parent: Any) -> None:
    parent.join()
    os._exit(1)


class Cluster:
    """Workers of a Dask cluster, which need this package installed."""

    def __init__(self, address: str) -> None:
        try:
            dask: Any = importlib.import_module("distributed")
        except ImportError:
            raise UsageError("a cluster needs the package 'distributed'") from None
        self._lost = (dask.KilledWorker, dask.client.FutureCancelledError)
        try:
            self._client = dask.Client(address, timeout=10)
        except (OSError, TimeoutError, ValueError) as error:
            raise UsageError(f"no cluster answers at {address!r} ({error})") from None

    @property
    def hands(self) -> int:
        return max(int(sum(self._client.ncores().values())), 1)

    def give(self, function: Callable[..., Any], *arguments: Any) -> Any:
        return self._client.submit(function, *arguments, pure=False)

    def take(self, receipt: Any) -> Any:
        try:
            return receipt.result()
        except self._lost:
            raise Lost from None

    def close(self) -> None:
        with contextlib.suppress(OSError, TimeoutError):
            self._client.close(timeout=5)
