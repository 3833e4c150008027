"""`flightless uci`: the engine's side of the UCI protocol over two streams.

The main thread reads commands and answers at once; one search at a time runs in a thread of
its own.  It looks for mate and nothing else: a move without a mate is called only legal, and
no evaluation is ever given.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TextIO

import chess

import flightless
from flightless.errors import FlightlessError
from flightless.prove.asking import DEFAULT_MEMORY, DEFAULT_NODES, LONGEST
from flightless.uci.protocol import (
    Go,
    ProtocolError,
    command_of,
    read_go,
    read_option,
    read_position_command,
)
from flightless.uci.search import Found, Limits, Search

__all__ = ["REACH", "Server", "limits_of"]

REACH = 5
"""Moves looked for where the command names no length: the usual reach of `prove`."""

_LEAST_HASH, _MOST_HASH = 1, 1 << 16
_CLOCK_PART = 30
_POLL = 0.02
_LEAST_SECONDS = 0.05


@dataclass(frozen=True, slots=True)
class _Settings:
    hash: int = DEFAULT_MEMORY
    threads: int = 1


class Server:
    """Answers the protocol until `quit` or the end of its input.

    `prepare` loads what a search needs; it is called in the background, once `uci` has been
    answered, so that the greeting is quick.
    """

    def __init__(self, source: TextIO, sink: TextIO, prepare: Callable[[], None]) -> None:
        self._source = source
        self._sink = sink
        self._prepare = prepare
        self._writing = threading.Lock()
        self._loading: threading.Thread | None = None
        self._fault: BaseException | None = None
        self._settings = _Settings()
        self._board = chess.Board()
        self._debug = self._deaf = False
        self._work: _Work | None = None

    def serve(self) -> None:
        """Read commands and answer them."""
        commands: dict[str, Callable[[list[str]], None]] = {
            "uci": self._uci,
            "debug": self._set_debug,
            "isready": self._is_ready,
            "setoption": self._set_option,
            "position": self._position,
            "go": self._go,
            "stop": self._stop,
            "ponderhit": self._ponderhit,
        }
        try:
            for line in iter(self._source.readline, ""):
                command, words = command_of(line)
                if command == "quit":
                    break
                try:
                    if command in commands:
                        commands[command](words)
                    elif self._debug and line.strip() and not command:
                        self.info(f"passed over: {line.strip()[:60]!r} is no command")
                except FlightlessError as error:
                    self.info(str(error))
        finally:
            self._end()

    def say(self, line: str) -> None:
        """Send one line, whole and at once; nothing if nobody listens any more."""
        with self._writing:
            if not self._deaf:
                try:
                    self._sink.write(line + "\n")
                    self._sink.flush()
                except (BrokenPipeError, ValueError):
                    self._deaf = True

    def info(self, sentence: str) -> None:
        """Say something in words."""
        self.say("info string " + " ".join(sentence.split()))

    def ready(self, given_up: Callable[[], bool] = lambda: False) -> bool:
        """Wait until a search can begin; false if the wait was given up before.

        Raises what hindered the loading.
        """
        loading = self._load()
        while loading.is_alive() and not given_up():
            loading.join(_POLL)
        if self._fault is not None:
            raise self._fault
        return not loading.is_alive()

    @property
    def is_loading(self) -> bool:
        """Whether what a search needs is still being loaded."""
        return self._loading is not None and self._loading.is_alive()

    # -- commands --------------------------------------------------------------------------

    def _uci(self, _words: list[str]) -> None:
        self.say(f"id name Flightless {flightless.__version__}")
        self.say("id author the authors of Flightless")
        self.say(
            f"option name Hash type spin default {DEFAULT_MEMORY} "
            f"min {_LEAST_HASH} max {_MOST_HASH}"
        )
        self.say("option name Threads type spin default 1 min 1 max 2")
        self.say("uciok")
        self._load()

    def _set_debug(self, words: list[str]) -> None:
        if words[:1] in (["on"], ["off"]):
            self._debug = words[0] == "on"

    def _is_ready(self, _words: list[str]) -> None:
        if self._work is None or not self._work.is_running:
            self.ready()
        self.say("readyok")

    def _set_option(self, words: list[str]) -> None:
        name, value = read_option(words)
        known = {"hash": (_LEAST_HASH, _MOST_HASH), "threads": (1, 2)}
        if name.lower() not in known:
            raise ProtocolError(f"there is no option {name[:40]!r}, only Hash and Threads")
        least, most = known[name.lower()]
        if not value.isascii() or not value.isdigit() or not least <= int(value) <= most:
            raise ProtocolError(
                f"{name} must be a number from {least} to {most}, and is {value[:40]!r}"
            )
        number = int(value)
        if name.lower() == "hash":
            self._settings = replace(self._settings, hash=number)
        else:
            self._settings = replace(self._settings, threads=number)

    def _position(self, words: list[str]) -> None:
        board, notices = read_position_command(words)
        self._board = board
        for notice in notices:
            self.info(notice)

    def _go(self, words: list[str]) -> None:
        if self._work is not None and self._work.is_running:
            raise ProtocolError("a search is under way; say stop first")
        go = read_go(words)
        moves = _legal(self._board, go.searchmoves)
        limits = limits_of(go, self._board.turn, self._settings.hash, self._settings.threads)
        if self._work is not None:
            self._work.join()
        self._work = _Work(self, self._board, moves, limits, waits=go.infinite or go.ponder)

    def _stop(self, _words: list[str]) -> None:
        if self._work is not None:
            self._work.stop()

    def _ponderhit(self, _words: list[str]) -> None:
        if self._work is not None:
            self._work.release()

    # -- loading and leaving ---------------------------------------------------------------

    def _load(self) -> threading.Thread:
        if self._loading is None:
            self._loading = threading.Thread(target=self._load_now, daemon=True)
            self._loading.start()
        return self._loading

    def _load_now(self) -> None:
        try:
            self._prepare()
        except BaseException as error:  # noqa: BLE001  (raised again by `ready`)
            self._fault = error

    def _end(self) -> None:
        if self._work is not None:
            self._work.stop()
            self._work.join()


class _Work:
    """One `go` in its thread: infos while it runs, then exactly one `bestmove`.

    If it `waits` (infinite, ponder) the answer is held until `stop` or `ponderhit`.
    """

    def __init__(
        self,
        server: Server,
        board: chess.Board,
        moves: tuple[chess.Move, ...],
        limits: Limits,
        *,
        waits: bool,
    ) -> None:
        self._server = server
        self._board = board
        self._moves = moves
        self._limits = limits
        self._started = time.monotonic()
        self._search = Search(board, limits, self._progress)
        self._stopped = threading.Event()
        self._released = threading.Event()
        if not waits:
            self._released.set()
        self._answered = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    @property
    def is_running(self) -> bool:
        """Whether the answer is still to come."""
        return not self._answered.is_set()

    def stop(self) -> None:
        """Answer at once with what is known."""
        self._stopped.set()
        self._search.halt()
        self._released.set()

    def release(self) -> None:
        """Answer as soon as the search is over."""
        self._released.set()

    def join(self) -> None:
        """Wait until the thread is over."""
        self._thread.join()

    def _run(self) -> None:
        best = "0000"  # the protocol's null move: there is none to play
        try:
            best = self._answer()
        except MemoryError:
            self._server.info(f"tables of {self._limits.memory} megabytes do not fit into memory")
            best = _only_legal(self._board, self._moves).uci()
        except Exception as error:  # noqa: BLE001  (said to the other program, which waits)
            self._server.info(f"a fault of the program itself ({type(error).__name__}: {error})")
            if any(self._board.legal_moves):
                best = _only_legal(self._board, self._moves).uci()
        self._released.wait()
        self._answered.set()
        self._server.say(f"bestmove {best}")

    def _answer(self) -> str:
        say = self._server.say
        if not any(self._board.legal_moves):
            if self._board.is_check():
                say("info depth 0 score mate 0")
            self._server.info("the game is over: " + _ending(self._board))
            return "0000"
        if not self._server.ready(self._stopped.is_set):
            self._server.info("stopped before the search could begin")
            return _only_legal(self._board, self._moves).uci()
        found = self._search.run(self._moves)
        say(self._info(found))
        for sentence in _sentences(found, self._limits.within, bool(self._moves)):
            self._server.info(sentence)
        if found.line and (found.moves is not None or self._moves):
            return found.line[0].uci()
        return _only_legal(self._board, self._moves).uci()

    def _info(self, found: Found) -> str:
        depth = max(found.searched, 1) if found.moves is None else abs(found.moves)
        text = f"info depth {depth} {self._figures(found.nodes)}"
        if found.moves is not None:
            text += f" score mate {found.moves}"
            text += " pv " + " ".join(move.uci() for move in found.line)
        return text

    def _progress(self, moves: int, nodes: int) -> None:
        depth = min(max(moves, 1), self._limits.within)
        self._server.say(f"info depth {depth} {self._figures(nodes)}")

    def _figures(self, nodes: int) -> str:
        seconds = time.monotonic() - self._started
        rate = int(nodes / seconds) if seconds > 0 else nodes
        return f"nodes {nodes} nps {rate} time {int(seconds * 1000)}"


def limits_of(go: Go, turn: chess.Color, memory: int, threads: int) -> Limits:
    """What a search may take after a `go` command.

    Without `mate` or `depth` (both in moves) mates within `REACH` are looked for; without any
    other limit the usual budget of `prove` holds.  From a clock a thirtieth part of the time
    left, and the increment, is used (common practice, no source).
    """
    within = min(go.mate or go.depth or REACH, LONGEST)
    if go.infinite or go.ponder:
        return Limits(within, go.nodes, None, memory, threads)
    seconds = go.movetime / 1000 if go.movetime is not None else _clock_seconds(go, turn)
    nodes = go.nodes
    if nodes is None and seconds is None:
        nodes = DEFAULT_NODES
    return Limits(within, nodes, seconds, memory, threads)


def _clock_seconds(go: Go, turn: chess.Color) -> float | None:
    left, more = (go.wtime, go.winc) if turn else (go.btime, go.binc)
    if left is None:
        return None
    part = left / (go.movestogo + 1 if go.movestogo else _CLOCK_PART)
    share = (part + (more or 0) * 0.75) / 1000
    return max(min(share, left / 2000), _LEAST_SECONDS)


def _legal(board: chess.Board, texts: tuple[str, ...]) -> tuple[chess.Move, ...]:
    moves = []
    for text in texts:
        move = chess.Move.from_uci(text.lower())
        if not board.is_legal(move):
            raise ProtocolError(f"searchmoves: {text} is not a legal move in {board.fen()}")
        moves.append(move)
    return tuple(dict.fromkeys(moves))


def _only_legal(board: chess.Board, moves: tuple[chess.Move, ...]) -> chess.Move:
    """The first legal move by its text: the same each time, and no claim of any kind."""
    return min(moves or tuple(board.legal_moves), key=chess.Move.uci)


def _ending(board: chess.Board) -> str:
    side = "White" if board.turn else "Black"
    return f"{side} is mated" if board.is_check() else f"stalemate, {side} has no legal move"


def _sentences(found: Found, within: int, restricted: bool) -> list[str]:
    """What the figures alone do not say."""
    enders = {"nodes": "the nodes were spent", "seconds": "the time was over", "stop": "stopped"}
    ended = enders.get(found.stopped_by or "")
    moves = "move" if within == 1 else "moves"
    if found.moves is None:
        by = " by these moves" if restricted else ""
        if ended is None:
            none = f"no mate within {within} {moves}{by}"
        else:
            none = f"no mate found{by}, {ended} before {within} {moves} were decided"
        return [f"{none}; bestmove is a legal move and nothing more"]
    if found.shortest:
        return []
    return [f"mate in {abs(found.moves)} is proved; a shorter one is not ruled out, {ended}"]
