"""The command line: commands, progress, exit codes.

A command reads its input, asks the rooms above and prints; it computes no chess.  Nothing
compiled is loaded before a command really needs it, so that help and refusals are quick.
"""

from __future__ import annotations

__all__ = ["main"]


def main() -> None:
    """Entry point of the `flightless` command."""
    from flightless.cli.app import run

    run()
