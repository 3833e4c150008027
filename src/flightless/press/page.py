"""What every printed page shares: paper, size of the text, language and feet, as data."""

from __future__ import annotations

from dataclasses import dataclass, field

from flightless.draw.ink import ACCENT
from flightless.errors import UsageError
from flightless.press.items import Paper, SheetLabels
from flightless.press.typeset import plain

__all__ = ["LARGE", "LONGEST", "TEXT", "PageSetup", "width_of"]

TEXT, LARGE = 10.5, 16.0
"""Sizes of the text in points."""
LONGEST = 150
"""Characters of a title, source, name or caption that are printed."""
_PAPER = {"a4": "a4", "letter": "us-letter"}


@dataclass(frozen=True, slots=True)
class PageSetup:
    """Title, paper and size of a document.  Raises `UsageError` for what cannot be printed."""

    title: str
    paper: Paper = "a4"
    large_print: bool = False
    margin: int = 22
    """Left and right, in millimetres."""
    labels: SheetLabels = field(default_factory=SheetLabels)

    def __post_init__(self) -> None:
        if self.paper not in _PAPER:
            raise UsageError(f"the paper must be 'a4' or 'letter', and is {self.paper!r}")
        if not plain(self.title):
            raise UsageError("the sheet needs a title: it is what a screen reader says first")

    def data(self) -> dict[str, object]:
        """The data that `book.typ` asks for."""
        return {
            "title": plain(self.title, LONGEST),
            "language": self.labels.draw.language,
            "paper": _PAPER[self.paper],
            "margin": self.margin,
            "size": LARGE if self.large_print else TEXT,
            "large": self.large_print,
            "accent": ACCENT,
            "page_of": self.labels.page_of,
        }

    def points(self, units: float, scale: float) -> float:
        """Points for a drawing `units` wide at `scale`, enlarged with the text."""
        return units * scale * (LARGE / TEXT if self.large_print else 1)


def width_of(svg: str) -> float:
    """The width that a drawing of ours gives itself."""
    return float(svg.split(' width="', 1)[1].split('"', 1)[0])
