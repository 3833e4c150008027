"""A command run in the test's own process, as `flightless` runs it."""

from __future__ import annotations

import sys

import pytest

from flightless.cli import main

__all__ = ["run"]


def run(*arguments: str, capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    """Exit code, standard output, standard error."""
    before = sys.argv
    sys.argv = ["flightless", *arguments]
    try:
        with pytest.raises(SystemExit) as left:
            main()
    finally:
        sys.argv = before
    captured = capsys.readouterr()
    code = left.value.code
    return (code if isinstance(code, int) else 0), captured.out, captured.err
