"""`flightless open`: the workbench in the browser, served from this machine to itself."""

from __future__ import annotations

import contextlib
import socket
import threading
import webbrowser
from pathlib import Path

from flightless.cli.console import note, say
from flightless.cli.exits import Exit
from flightless.cli.warm import ready
from flightless.errors import UsageError

__all__ = ["run_open"]

_HOST = "127.0.0.1"
_USUAL = 8731


def run_open(casebook: Path | None, port: int | None, *, browser: bool) -> Exit:
    """Serve until the coach stops it; the browser opens when the server listens."""
    listening = _listen(port)
    import uvicorn

    from flightless.web.app import create_app

    ready()
    address = f"http://{_HOST}:{listening.getsockname()[1]}/"
    server = uvicorn.Server(
        uvicorn.Config(
            create_app(casebook), log_level="warning", access_log=False, server_header=False
        )
    )
    say(f"The workbench is open at {address}")
    note("Ctrl+C closes it.")
    if browser:
        threading.Timer(0.5, webbrowser.open, [address]).start()
    with contextlib.closing(listening), contextlib.suppress(KeyboardInterrupt):
        server.run(sockets=[listening])
    return Exit.DONE


def _listen(port: int | None) -> socket.socket:
    """A socket on this machine alone: the port asked for, else the usual one or any free one."""
    wanted = [port] if port is not None else [_USUAL, 0]
    for number in wanted:
        # With the protocol named, asyncio switches Nagle off; without, every answer waits 40 ms.
        one = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
        one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            one.bind((_HOST, number))
        except OSError:
            one.close()
            continue
        return one
    raise UsageError(f"port {port} is in use; leave --port out to have a free one chosen")
