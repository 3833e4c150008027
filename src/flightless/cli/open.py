"""`flightless open`: the workbench in the browser, served from this machine to itself."""

from __future__ import annotations

import contextlib
import socket
import threading
import webbrowser
from collections.abc import Iterator
from pathlib import Path

from flightless.cli.console import note, say
from flightless.cli.exits import Exit
from flightless.cli.warm import ready
from flightless.errors import FileError, UsageError
from flightless.folders import locked

__all__ = ["run_open"]

_HOST = "127.0.0.1"
_USUAL = 8731
_ADDRESS = "open.address"


def run_open(casebook: Path | None, port: int | None, *, browser: bool) -> Exit:
    """Serve until the coach stops it; the browser opens when the server listens."""
    from flightless.web.places import desk_folder

    folder = desk_folder(casebook)
    with _held(folder / "open.lock") as alone:
        if alone:
            with contextlib.closing(_listen(port)) as listening:
                _serve(casebook, listening, folder / _ADDRESS, browser=browser)
        else:
            _point_to(folder / _ADDRESS, browser=browser)
    return Exit.DONE


def _serve(
    casebook: Path | None, listening: socket.socket, note_of: Path, *, browser: bool
) -> None:
    import uvicorn

    from flightless.web.app import create_app

    ready()
    address = f"http://{_HOST}:{listening.getsockname()[1]}/"
    server = uvicorn.Server(
        uvicorn.Config(
            create_app(casebook), log_level="warning", access_log=False, server_header=False
        )
    )
    note_of.write_text(address, encoding="utf-8")
    say(f"The workbench is open at {address}")
    note("Ctrl+C closes it.")
    if browser:
        threading.Timer(0.5, webbrowser.open, [address]).start()
    with contextlib.suppress(KeyboardInterrupt):
        server.run(sockets=[listening])


@contextlib.contextmanager
def _held(path: Path) -> Iterator[bool]:
    """Whether this process alone has the desk: two servers would both go on with its harvests."""
    try:
        file = path.open("ab")
    except OSError as error:
        raise FileError(f"{path.parent} cannot be written: {error.strerror}") from None
    with file:
        yield locked(file)


def _point_to(note_of: Path, *, browser: bool) -> None:
    """Say where the workbench is open, and go there."""
    address = note_of.read_text(encoding="utf-8") if note_of.exists() else ""
    if not address:
        raise UsageError("the workbench is being opened already; wait a moment")
    say(f"The workbench is open already at {address}")
    if browser:
        webbrowser.open(address)


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
