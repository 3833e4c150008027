"""Worksheet and answer key: numbered diagrams to solve, and their answers on pages of their own."""

from __future__ import annotations

from collections.abc import Sequence

import chess

from flightless.draw.board import as_board, board_svg
from flightless.draw.ledger import Ledger, ledger, ledger_text
from flightless.draw.ledger_svg import ledger_svg
from flightless.draw.legend import roles_in
from flightless.draw.marks import NOTHING, Marks, marks_of
from flightless.draw.reading import colour_name, position_in_words
from flightless.errors import UsageError
from flightless.press.figures import LEDGER_SCALE, legend_data
from flightless.press.items import SheetItem, SheetOptions
from flightless.press.page import LONGEST, PageSetup, width_of
from flightless.press.typeset import paragraphs, pdf_of, pictures_of, plain

__all__ = ["key_pdf", "worksheet_and_key_pdf", "worksheet_pdf", "worksheet_pictures"]

_RULE, _LARGE_RULE = 8, 11  # millimetres between ruled lines, wide enough for handwriting
_ROWS = {1: 2, 2: 2, 3: 3}  # rows of diagrams a page, by columns
_WIDE, _SMALL = 360, 150  # pixels of a diagram, which choose the cut of the men
_TEMPLATES = ("book.typ", "sheet.typ")


def worksheet_pdf(items: Sequence[SheetItem], options: SheetOptions | None = None) -> bytes:
    """The worksheet alone: diagrams with tasks, sources and room for the answers.

    Raises `UsageError` if there are no items and `PositionError` for a FEN that cannot be
    read.
    """
    return _pdf(items, options or SheetOptions(), sheet=True, key=False)


def key_pdf(items: Sequence[SheetItem], options: SheetOptions | None = None) -> bytes:
    """The answer key alone: solutions, reasons, final diagrams with marks, ledgers."""
    return _pdf(items, options or SheetOptions(), sheet=False, key=True)


def worksheet_and_key_pdf(items: Sequence[SheetItem], options: SheetOptions | None = None) -> bytes:
    """Worksheet and key in one file, the key beginning on a page of its own."""
    return _pdf(items, options or SheetOptions(), sheet=True, key=True)


def worksheet_pictures(
    items: Sequence[SheetItem], options: SheetOptions | None = None, *, key: bool, dots: int = 72
) -> list[bytes]:
    """The pages of the worksheet, or of its key, as PNG pictures to look at before printing.

    `dots` to the inch.
    """
    data = _data(items, options or SheetOptions(), sheet=not key, key=key)
    return pictures_of(_TEMPLATES, data, dots)


def _pdf(items: Sequence[SheetItem], options: SheetOptions, *, sheet: bool, key: bool) -> bytes:
    return pdf_of(_TEMPLATES, _data(items, options, sheet=sheet, key=key))


def _data(
    items: Sequence[SheetItem], options: SheetOptions, *, sheet: bool, key: bool
) -> dict[str, object]:
    if not items:
        raise UsageError("there is nothing to print: the sheet has no positions")
    labels, large = options.labels, options.large_print
    title = plain(options.title)
    page = PageSetup(
        title=title if sheet or not title else f"{title}: {labels.answer_key}",
        paper=options.paper,
        large_print=large,
        margin=18 if large or options.across == 3 else 22,
        labels=labels,
    )
    numbered = list(enumerate(items, start=1))
    return {
        **page.data(),
        "columns": options.across,
        "pairs_stacked": _pairs_stacked(options),
        "rows": _ROWS[options.across],
        "gutter": 8 if options.across == 3 else 12,
        "rule": _LARGE_RULE if large else _RULE,
        "key_diagram": 66 if large else 52,
        "name_and_date": options.name_and_date,
        "name": labels.name,
        "date": labels.date,
        "items": [_problem(n, item, options) for n, item in numbered] if sheet else [],
        "key_title": labels.answer_key,
        "key": [_answer(n, item, options, page) for n, item in numbered] if key else [],
        "legend": legend_data(roles_in(map(final_marks, items)), page)
        if key and options.legend
        else None,
    }


def _pairs_stacked(options: SheetOptions) -> bool:
    """Whether two diagrams of one item go one under the other, to be large enough."""
    return options.large_print or options.across == 3


def _side(fen: str, options: SheetOptions) -> chess.Color:
    """From whose side the boards of an item are seen."""
    return as_board(fen).turn if options.from_side_to_move else chess.WHITE


def _problem(number: int, item: SheetItem, options: SheetOptions) -> dict[str, object]:
    board = as_board(item.fen)
    labels = options.labels
    to_move = labels.to_move.format(colour=colour_name(board.turn, labels.draw))
    second = item.second
    first = _diagram(number, item, options, item.fen, labels.letters[0] if second else "")
    return {
        "number": number,
        "task": plain(item.task, 2 * LONGEST) or to_move,
        "source": plain(item.source, LONGEST),
        **first,
        "second": _diagram(number, item, options, second, labels.letters[1]) if second else None,
        "choices": [plain(choice, LONGEST) for choice in item.choices],
        "rows": [plain(row, LONGEST) for row in item.rows],
        "heads": list(labels.ledger_heads),
        "lines": options.lines if item.lines is None else item.lines,
    }


def _diagram(
    number: int, item: SheetItem, options: SheetOptions, fen: str, letter: str
) -> dict[str, object]:
    """A diagram of the worksheet; of two beside one another each has its letter."""
    board, labels = as_board(fen), options.labels
    svg = board_svg(
        board,
        marks=item.task_marks if fen == item.fen else NOTHING,
        perspective=_side(item.fen, options),
        coordinates=options.coordinates,
        size=_SMALL if letter and not _pairs_stacked(options) else _WIDE,
        labels=labels.draw,
        prefix=f"p{number}{letter}",
    )
    heading = f"{labels.diagram.format(number=number)}{letter}"
    read = f"{heading}. {position_in_words(board, labels.draw)}"
    return {"svg": svg, "alt": f"{read} {_seen(item, fen, options)}".strip(), "letter": letter}


def _seen(item: SheetItem, fen: str, options: SheetOptions) -> str:
    return item.task_marks.in_words(options.labels.draw) if fen == item.fen else ""


def final_marks(item: SheetItem) -> Marks:
    """The marks of an item's final diagram."""
    if item.marks is not None:
        return item.marks
    return marks_of(item.case) if item.case is not None else NOTHING


def _answer(
    number: int, item: SheetItem, options: SheetOptions, page: PageSetup
) -> dict[str, object]:
    return {
        "number": number,
        "solution": plain(item.solution),
        "name": plain(item.name, LONGEST),
        "paragraphs": paragraphs(item.sentences),
        "picture": _final(number, item, options),
        "ledger": _ledger(number, item, options, page),
    }


def _final(number: int, item: SheetItem, options: SheetOptions) -> dict[str, object] | None:
    fen = item.final_fen or (item.case.fen if item.case is not None else None)
    if fen is None:
        return None
    board, marks, labels = as_board(fen), final_marks(item), options.labels
    svg = board_svg(
        board,
        marks=marks,
        perspective=_side(item.fen, options),
        coordinates=options.coordinates,
        side_mark=False,
        labels=labels.draw,
        prefix=f"k{number}",
    )
    heading = labels.final.format(number=number)
    read = f"{heading}. {position_in_words(board, labels.draw)} {marks.in_words(labels.draw)}"
    return {"svg": svg, "alt": read.strip()}


def _ledger(
    number: int, item: SheetItem, options: SheetOptions, page: PageSetup
) -> dict[str, object] | None:
    """The ledger where it helps: where some square hangs on one man."""
    if item.case is None or not (options.ledgers and item.show_ledger):
        return None
    found: Ledger = ledger(item.case)
    if not any(row.alone for row in found.rows):
        return None
    labels = options.labels.draw
    svg = ledger_svg(found, prefix=f"l{number}", labels=labels)
    width = page.points(width_of(svg), LEDGER_SCALE)
    return {"svg": svg, "alt": ledger_text(found, labels), "width": width}
