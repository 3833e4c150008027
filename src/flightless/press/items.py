"""What a sheet is made of: one item a position, and the options of the whole sheet, as data."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from flightless.cases.case import Case
from flightless.draw.labels import ENGLISH, GERMAN, Labels
from flightless.draw.marks import NOTHING, Marks
from flightless.errors import UsageError

__all__ = ["Paper", "SheetItem", "SheetLabels", "SheetOptions"]

Paper = Literal["a4", "letter"]
_MOST_LINES = 12  # more would not fit under a diagram in large print


@dataclass(frozen=True, slots=True)
class SheetItem:
    """One position of a worksheet and its answer.

    `fen` is printed on the worksheet with `task` and `source`.  The key prints `solution`
    (moves in one line), `name` (of the pattern, or empty), `sentences` (an empty one begins a
    new paragraph) and the final diagram: `final_fen`, or the position of `case`, with `marks`
    or, without them, those of `case`.  With a `case` the key can show its ledger too.
    `lines` are ruled lines for the answer; None takes the sheet's number.

    For questions that are not answered by a move: `second` is the FEN of a diagram beside the
    first (they are lettered A and B), `task_marks` are marks on the first diagram of the
    worksheet, `choices` are boxes to tick, `rows` are the lines of a ledger to fill in, each
    begun with its text.
    """

    fen: str
    task: str = ""
    source: str = ""
    solution: str = ""
    sentences: tuple[str, ...] = ()
    name: str = ""
    final_fen: str | None = None
    marks: Marks | None = None
    case: Case | None = None
    show_ledger: bool = True
    lines: int | None = None
    second: str = ""
    task_marks: Marks = NOTHING
    choices: tuple[str, ...] = ()
    rows: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SheetLabels:
    """The fixed words of a sheet in one language; `{…}` is filled in."""

    draw: Labels = ENGLISH
    name: str = "Name"
    date: str = "Date"
    to_move: str = "{colour} to move"
    answer_key: str = "Answer key"
    page_of: str = "{page} of {pages}"
    diagram: str = "Diagram {number}"
    final: str = "Diagram {number}, final position"
    legend: str = "The marks"
    letters: tuple[str, str] = ("A", "B")
    ledger_heads: tuple[str, str, str] = ("square", "his own man", "guarded by")


GERMAN_SHEET = SheetLabels(
    draw=GERMAN,
    name="Name",
    date="Datum",
    to_move="{colour} am Zug",
    answer_key="Lösungen",
    page_of="{page} von {pages}",
    diagram="Diagramm {number}",
    final="Diagramm {number}, Schlussstellung",
    legend="Die Zeichen",
    ledger_heads=("Feld", "eigener Stein", "beherrscht von"),
)
"""The fixed words of a sheet in German."""


@dataclass(frozen=True, slots=True)
class SheetOptions:
    """How a sheet is laid out.

    `columns` are 1 to 3; None is 2, or 1 in large print.  `large_print` sets the text in 16
    points (common practice of large print for readers with low vision).  `from_side_to_move`
    turns each board to the player who moves.  `answer_lines` is the number of ruled lines for
    each answer; None is 4, 2 or 1 for 1, 2 or 3 columns.  Raises `UsageError` for a value that
    cannot be printed.
    """

    title: str = "Mates"
    paper: Paper = "a4"
    columns: int | None = None
    large_print: bool = False
    coordinates: bool = True
    from_side_to_move: bool = False
    name_and_date: bool = True
    answer_lines: int | None = None
    ledgers: bool = True
    legend: bool = True
    labels: SheetLabels = field(default_factory=SheetLabels)

    def __post_init__(self) -> None:
        if self.paper not in ("a4", "letter"):
            raise UsageError(f"the paper must be 'a4' or 'letter', and is {self.paper!r}")
        if self.columns is not None and not 1 <= self.columns <= 3:
            raise UsageError(f"a sheet has 1, 2 or 3 columns, not {self.columns}")
        if self.large_print and self.columns == 3:
            raise UsageError("large print has 1 or 2 columns, not 3")
        if self.answer_lines is not None and not 0 <= self.answer_lines <= _MOST_LINES:
            raise UsageError(
                f"a diagram can have 0 to {_MOST_LINES} answer lines, not {self.answer_lines}"
            )

    @property
    def across(self) -> int:
        """The columns that the sheet really has."""
        return self.columns or (1 if self.large_print else 2)

    @property
    def lines(self) -> int:
        """The ruled lines that each answer really gets."""
        if self.answer_lines is not None:
            return self.answer_lines
        return {1: 4, 2: 2, 3: 1}[self.across]
