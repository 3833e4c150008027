"""A second opinion: a coach's own UCI engine, asked about a position and never obeyed.

Starts the program without a shell, gives it a limit of time, and leaves nothing running
behind.  What it says is set beside a proof (`differs`) and alters none.
"""

from __future__ import annotations

import asyncio
import contextlib
import logging
import os
import shlex
import shutil
import signal
import sys
import time
from collections.abc import Coroutine
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Literal, TypeVar

import chess
import chess.engine

from flightless.errors import FlightlessError
from flightless.prove.proof import Proof

__all__ = [
    "USUAL_SECONDS",
    "Adviser",
    "AdviserError",
    "Difference",
    "Opinion",
    "difference",
    "opinion_record",
]

USUAL_SECONDS = 5.0
"""The time an engine has for a position unless told otherwise."""

_GREETING = 10.0
_GRACE = 3.0
_FAREWELL = 1.0
_T = TypeVar("_T")

Difference = Literal["no mate", "length", "other side", "first move", "unproved", "unfinished"]
"""How an engine's word differs from a proof: it names no mate where one is proved; another
length that cannot be right; a mate of the other side; a first move that is not one of the keys;
a mate where the proof says there is none within the moves that were looked at (which need not
contradict it); a mate where the search ended undecided."""


class AdviserError(FlightlessError, ValueError):
    """The named program cannot be started, does not speak UCI, dies, or does not answer."""


@dataclass(frozen=True, slots=True)
class Opinion:
    """What an engine says of a position.

    `moves` is n for a mate in n by the side to move, -n if it is to be mated in n, None if the
    engine names no mate.  `move` is the first move of its line, None if it gave none.
    `seconds`: when it first said so, after it was asked.
    """

    engine: str
    moves: int | None
    move: chess.Move | None
    seconds: float


class Adviser:
    """A running engine; use it in a `with` statement.

    `command` is the path of a program, its name in the search path, or such a name with
    arguments.  Raises `AdviserError`, here and in `ask`, if that does not work; after an error
    it cannot be asked again.
    """

    def __init__(self, command: str, greeting: float = _GREETING) -> None:
        self._named = command
        logging.getLogger("chess.engine").addHandler(logging.NullHandler())  # rubbish is expected
        words = _words(command)
        self._runner = asyncio.Runner()
        self._complaint: BaseException | None = None
        self._runner.get_loop().set_exception_handler(self._overhear)
        self._transport: asyncio.SubprocessTransport | None = None
        try:
            self._protocol = self._run(self._start(words, greeting))
            self.name = " ".join(self._protocol.id.get("name", Path(words[0]).name).split())[:60]
        except BaseException:
            self.close()
            raise

    def __enter__(self) -> Adviser:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def ask(
        self, board: chess.Board, seconds: float = USUAL_SECONDS, enough: int | None = None
    ) -> Opinion:
        """What it says within so many seconds.

        It is stopped before if it names a mate of `enough` moves (or fewer, for either side).
        """
        return self._run(self._listen(board, seconds, enough))

    def close(self) -> None:
        """Say goodbye, and end the program and all that it started if it does not go."""
        if self._transport is not None:
            with contextlib.suppress(AdviserError):
                self._run(self._leave())
            self._transport = None
        self._runner.close()

    # -- inside the event loop -------------------------------------------------------------

    def _run(self, work: Coroutine[Any, Any, _T]) -> _T:
        """Run one exchange; whatever can go wrong on the other side becomes one sentence."""
        try:
            return self._runner.run(work)
        except FileNotFoundError:
            raise AdviserError(f"there is no program {self._named!r}") from None
        except TimeoutError:
            what = "does not answer"
            if isinstance(self._complaint, chess.engine.EngineError):
                what = f"broke the protocol: {_short(self._complaint)}"
            raise AdviserError(f"the engine {self._named!r} {what}") from None
        except OSError as error:
            reason = error.strerror or str(error)
            raise AdviserError(f"{self._named!r} cannot be started: {reason}") from None
        except chess.engine.EngineTerminatedError:
            raise AdviserError(f"the engine {self._named!r} ended of its own accord") from None
        except chess.engine.EngineError as error:
            raise AdviserError(
                f"the engine {self._named!r} broke the protocol: {_short(error)}"
            ) from None

    def _overhear(self, _: asyncio.AbstractEventLoop, context: dict[str, Any]) -> None:
        """Keep an error that reached nobody: it tells why an answer did not come."""
        self._complaint = context.get("exception") or self._complaint

    async def _start(self, words: list[str], greeting: float) -> chess.engine.UciProtocol:
        transport, protocol = await chess.engine.UciProtocol.popen(
            words, setpgrp=True, stderr=asyncio.subprocess.DEVNULL
        )
        self._transport = transport
        try:
            await asyncio.wait_for(protocol.initialize(), greeting)
        except TimeoutError:
            raise AdviserError(
                f"{self._named!r} does not speak UCI: no 'uciok' within {greeting:g} seconds"
            ) from None
        except chess.engine.EngineTerminatedError:
            raise AdviserError(
                f"{self._named!r} does not speak UCI: it ended without 'uciok'"
            ) from None
        return protocol

    async def _listen(self, board: chess.Board, seconds: float, enough: int | None) -> Opinion:
        best: tuple[int | None, chess.Move | None, float] = (None, None, 0.0)
        async with asyncio.timeout(seconds + _GRACE):
            begun = time.monotonic()
            limit = chess.engine.Limit(time=seconds)
            with await self._protocol.analysis(board, limit, game=object()) as analysis:
                async for info in analysis:
                    best = _heard(best, info, board.turn, time.monotonic() - begun)
                    if enough is not None and best[0] is not None and abs(best[0]) <= enough:
                        break
            final = await analysis.wait()
        moves, move, when = best
        move = move or final.move
        if moves is None:
            when = time.monotonic() - begun
        return Opinion(self.name, moves, move or None, when)

    async def _leave(self) -> None:
        transport = self._transport
        assert transport is not None
        pid = transport.get_pid()
        protocol = transport.get_protocol()
        if transport.get_returncode() is None and isinstance(protocol, chess.engine.UciProtocol):
            with contextlib.suppress(TimeoutError, chess.engine.EngineError, OSError):
                async with asyncio.timeout(_FAREWELL):
                    protocol.send_line("quit")
                    await asyncio.shield(protocol.returncode)
        _end_group(pid)
        transport.close()
        with contextlib.suppress(TimeoutError, chess.engine.EngineError):
            async with asyncio.timeout(_FAREWELL):
                if isinstance(protocol, chess.engine.UciProtocol):
                    await asyncio.shield(protocol.returncode)


def _heard(
    best: tuple[int | None, chess.Move | None, float],
    info: chess.engine.InfoDict,
    turn: chess.Color,
    when: float,
) -> tuple[int | None, chess.Move | None, float]:
    """The last word on the first line of play, and when it was first said."""
    if "score" not in info or info.get("multipv", 1) != 1:
        return best
    line = info.get("pv", [])
    move = line[0] if line else None
    moves = info["score"].pov(turn).mate()
    return best if (moves, move) == best[:2] else (moves, move, when)


def _short(error: BaseException) -> str:
    return " ".join(str(error).split())[:120]


def _words(command: str) -> list[str]:
    """The program and its arguments, as a list: no shell ever reads it."""
    if not command.strip() or "\0" in command:
        raise AdviserError("no program is named for the second opinion")
    path = shutil.which(command)
    if path is not None:
        return [path]
    file = Path(command)
    if file.is_dir():
        raise AdviserError(f"{command!r} is a folder, and a program is wanted")
    if file.is_file():
        raise AdviserError(f"{command!r} is not a program that can be run")
    try:
        words = shlex.split(command)
    except ValueError:
        words = []
    found = shutil.which(words[0]) if words else None
    if found is None:
        raise AdviserError(f"there is no program {command!r}")
    return [found, *words[1:]]


def _end_group(pid: int | None) -> None:
    """End the engine and whatever it has started; they are a process group of their own."""
    if pid is None or sys.platform == "win32":
        return
    with contextlib.suppress(ProcessLookupError, PermissionError):
        os.killpg(pid, signal.SIGKILL)


def difference(proof: Proof, opinion: Opinion) -> Difference | None:
    """How the engine's word differs from the proof; None if it says the same.

    That it names no mate where none is proved is no difference.
    """
    said, proved = opinion.moves, proof.moves
    if proved is None:
        if said is None:
            return None
        return "unfinished" if proof.verdict == "undecided" else "unproved"
    if said is None:
        return "no mate"
    if (said > 0) != (proved > 0):
        return "other side"
    if said != proved and (proof.shortest or abs(said) > abs(proved)):
        return "length"
    if said != proved:
        return "unfinished"
    if proved > 0 and proof.keys_complete and opinion.move not in (None, *proof.keys):
        return "first move"
    return None


def opinion_record(opinion: Opinion, proof: Proof) -> dict[str, Any]:
    """The opinion as JSON, beside a proof's document."""
    return {
        "engine": opinion.engine,
        "moves": opinion.moves,
        "move": opinion.move.uci() if opinion.move else None,
        "seconds": round(opinion.seconds, 3),
        "differs": difference(proof, opinion),
    }
