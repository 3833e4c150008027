"""`flightless warm`, and the readiness of the compiled core before any other command."""

from __future__ import annotations

import sys

from flightless.cli.console import note, say, say_json
from flightless.cli.exits import Exit

__all__ = ["ready", "run_warm"]


def ready() -> None:
    """Have the compiled core at hand; the first time on a machine this says what it does."""
    from flightless.core.compiled import prepare

    prepare(note)


def run_warm(*, as_json: bool = False) -> Exit:
    """Compile whatever is not compiled yet, and say how long it took."""
    from flightless.core import compiled

    compiled.on_notice(note)
    if compiled.is_warm():
        if as_json:
            say_json({"compiled": False, "seconds": 0.0})
        else:
            say("Everything is compiled already.")
        return Exit.DONE
    note(f"Compiling the core, once; about {compiled.expected_seconds():.0f} seconds.")
    seconds = compiled.warm(_progress if sys.stderr.isatty() else None)
    if as_json:
        say_json({"compiled": True, "seconds": round(seconds, 1)})
    else:
        say(f"Compiled in {seconds:.1f} s.")
    return Exit.DONE


def _progress(done: int, total: int, name: str) -> None:
    print(f"\r\x1b[K{done + 1} of {total}: {name}", end="", file=sys.stderr, flush=True)
    if done + 1 == total:
        print("\r\x1b[K", end="", file=sys.stderr, flush=True)
