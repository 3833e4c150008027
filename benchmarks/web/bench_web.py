"""How fast the workbench answers: what if, the first page, and a page of a large casebook.

    python benchmarks/web/bench_web.py                      # what if and the first page
    python benchmarks/web/bench_web.py --casebook BIG       # a page of the casebook at BIG as well

The server is asked over a local connection, as a browser asks; a change is a man taken off, put
on or moved in mates of up to two moves.  Times are wall time in milliseconds.
"""

from __future__ import annotations

import argparse
import contextlib
import random
import socket
import statistics
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import chess
import httpx
import uvicorn

from flightless.core.compiled import prepare
from flightless.web.app import create_app

MATES = (
    "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1",
    "5r1k/p4p1p/6p1/4N3/8/8/1B3PPP/6K1 w - - 0 1",
    "4R1k1/5ppp/8/8/8/8/8/6K1 b - - 0 1",
    "r1bqkb1r/pppp1Qpp/2n2n2/4p3/2B1P3/8/PPPP1PPP/RNB1K1NR b KQkq - 0 4",
    "6rk/6pp/8/6N1/8/8/8/6K1 w - - 0 1",
)
FILTERS = ("", "pattern=back+rank", "moves=2&side=white", "tandem=QN", "kind=missed", "unused=yes")


@contextlib.contextmanager
def served(casebook: Path) -> Iterator[str]:
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listening.bind(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(create_app(casebook), log_level="error"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    server.should_exit = True
    thread.join()


def changed(board: chess.Board, chance: random.Random) -> str:
    """The position with one man taken off, put on, or moved."""
    board = board.copy(stack=False)
    men = [s for s, p in board.piece_map().items() if p.piece_type != chess.KING]
    free = [s for s in chess.SQUARES if board.piece_at(s) is None and 0 < s // 8 < 7]
    what = chance.randrange(3)
    piece = None
    if what != 1:
        piece = board.remove_piece_at(chance.choice(men))
    if what == 1:
        piece = chess.Piece(chance.randrange(1, 6), chance.random() < 0.5)
    if what:
        board.set_piece_at(chance.choice(free), piece)
    return board.fen()


def timed(ask: Callable[[], httpx.Response]) -> float:
    start = time.perf_counter()
    answer = ask()
    took = (time.perf_counter() - start) * 1000
    if answer.status_code not in (200, 422):
        raise SystemExit(f"{answer.status_code}: {answer.url}")
    return took


def told(name: str, times: list[float]) -> None:
    cuts = statistics.quantiles(times, n=20)
    print(f"{name}: median {statistics.median(times):.1f}, p95 {cuts[-1]:.1f}, n {len(times)}")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--casebook", type=Path)
    casebook = parser.parse_args().casebook
    prepare(print)
    chance = random.Random(1)
    with (
        tempfile.TemporaryDirectory() as folder,
        served(casebook or Path(folder) / "c.sqlite") as address,
        httpx.Client() as client,
    ):
        for fen in MATES:  # the page was opened before anything is changed on it
            client.get(f"{address}/position", params={"fen": fen})
        times = []
        for _ in range(400):
            fen = chance.choice(MATES)
            query = {"from": fen, "to": changed(chess.Board(fen), chance)}
            times.append(timed(lambda q=query: client.get(f"{address}/position/what-if", params=q)))
        told("what if", times)
        told("first page", [timed(lambda: client.get(address + "/")) for _ in range(50)])
        if casebook is not None:
            for asked in FILTERS:
                url = f"{address}/casebook?{asked}"
                told(f"casebook {asked}", [timed(lambda u=url: client.get(u)) for _ in range(8)])


if __name__ == "__main__":
    main()
