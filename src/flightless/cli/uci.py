"""`flightless uci`: the engine protocol over standard input and output."""

from __future__ import annotations

import io
import os
import sys

from flightless.cli.exits import Exit

__all__ = ["run_uci"]


def run_uci() -> Exit:
    """Answer the protocol until `quit` or the end of the input."""
    from flightless.uci.server import Server

    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(encoding="utf-8", errors="replace")
    server = Server(sys.stdin, sys.stdout, _prepare)
    server.serve()
    if server.is_loading:
        # Everything is said; whoever said quit need not wait until a compiler has finished.
        sys.stdout.flush()
        os._exit(Exit.DONE)
    return Exit.DONE


def _prepare() -> None:
    """Load the compiled search and its machine code; the first time it is compiled."""
    import chess

    from flightless.cli.warm import ready
    from flightless.uci.search import Limits, Search

    ready()
    Search(chess.Board(), Limits(1), lambda *_: None).run()
