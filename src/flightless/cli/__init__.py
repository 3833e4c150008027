"""The command line: commands, progress, exit codes.

A command reads its input, asks the rooms above and prints; it computes no chess.  Nothing
compiled is loaded before a command really needs it, so that help and refusals are quick.
"""

from __future__ import annotations

__all__ = ["main"]


def main() -> None:
    """Entry point of the `flightless` command."""
    import gc

    # Loading numba makes some hundred thousand objects that stay: looking through them again
    # and again for garbage costs a fifth of a second of every start.
    gc.set_threshold(100_000, 20, 20)
    from flightless.cli.app import run

    run()
