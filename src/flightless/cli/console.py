"""Where output goes: answers to standard output, everything about the work to standard error."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Mapping
from typing import Any

__all__ = ["note", "refuse", "say", "say_json", "terminal_width"]


def say(text: str = "") -> None:
    """Print an answer, and let whoever reads the pipe have it at once."""
    print(text, flush=True)


def say_json(document: Mapping[str, Any]) -> None:
    """Print one JSON document on one line."""
    print(json.dumps(document, ensure_ascii=False, separators=(", ", ": ")), flush=True)


def note(text: str) -> None:
    """Say something about the work itself, on standard error."""
    print(text, file=sys.stderr, flush=True)


def refuse(text: str, place: str = "") -> None:
    """Say in one sentence what is wrong and where, on standard error."""
    sentence = f"{place}: {text}" if place else text
    note(f"flightless: {sentence}")


def terminal_width(most: int = 88) -> int:
    """Columns to wrap sentences to: those of the terminal, but a readable measure at most."""
    try:
        columns = os.get_terminal_size(sys.stdout.fileno()).columns
    except (OSError, ValueError):
        columns = most
    return max(40, min(columns, most))
