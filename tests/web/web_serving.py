"""The workbench served for a test, in a thread of the test's own process."""

from __future__ import annotations

import contextlib
import socket
import threading
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import uvicorn

from flightless.core.compiled import prepare
from flightless.web.app import create_app

__all__ = ["moment", "served"]


def moment() -> datetime:
    return datetime(2026, 3, 4, 5, 6, tzinfo=UTC)


@contextlib.contextmanager
def served(casebook: Path) -> Iterator[str]:
    """The workbench on a free port, as `flightless open` serves it."""
    prepare(lambda _: None)
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listening.bind(("127.0.0.1", 0))
    server = uvicorn.Server(
        uvicorn.Config(
            create_app(casebook, moment),
            log_level="error",
            access_log=False,
            timeout_graceful_shutdown=2,
        )
    )
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    until = time.monotonic() + 30
    while not server.started and time.monotonic() < until:
        time.sleep(0.02)
    try:
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join(20)
        listening.close()
