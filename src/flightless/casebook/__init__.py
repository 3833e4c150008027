"""The casebook: the positions that a coach keeps, with what is known of them, found again.

This room stores and finds; it proves, names and draws nothing.  Loading it is quick: the
database library is loaded when a casebook is first opened.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flightless.casebook.data import (
    Added,
    Counts,
    Details,
    Entry,
    Filter,
    Game,
    NewPosition,
    Occurrence,
    Page,
    Refusal,
    Restored,
    Statistics,
    Weighed,
)
from flightless.casebook.places import default_path

if TYPE_CHECKING:
    from flightless.casebook.book import Casebook

__all__ = [
    "Added",
    "Casebook",
    "Counts",
    "Details",
    "Entry",
    "Filter",
    "Game",
    "NewPosition",
    "Occurrence",
    "Page",
    "Refusal",
    "Restored",
    "Statistics",
    "Weighed",
    "default_path",
]


def __getattr__(name: str) -> Any:
    if name == "Casebook":
        from flightless.casebook.book import Casebook

        return Casebook
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
