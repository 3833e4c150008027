"""How a position may be turned against its source."""

from __future__ import annotations

from typing import Literal, get_args

__all__ = ["TURNS", "Turned"]

Turned = Literal["", "colours", "files", "colours and files"]
"""What was exchanged or mirrored against the position of the source."""

TURNS: tuple[str, ...] = get_args(Turned)[1:]
