"""Worksheet and answer key: numbered diagrams to solve, and their answers on pages of their own."""

from __future__ import annotations

from collections.abc import Sequence

import chess

from flightless.draw.board import as_board, board_svg
from flightless.draw.ink import ACCENT
from flightless.draw.ledger import Ledger, ledger, ledger_text
from flightless.draw.ledger_svg import ledger_svg
from flightless.draw.legend import legend_svg, roles_in
from flightless.draw.marks import NOTHING, Marks, marks_of
from flightless.draw.reading import colour_name, position_in_words
from flightless.errors import UsageError
from flightless.press.items import SheetItem, SheetLabels, SheetOptions
from flightless.press.typeset import pdf_of, plain

__all__ = ["key_pdf", "worksheet_and_key_pdf", "worksheet_pdf"]

_PAPER = {"a4": "a4", "letter": "us-letter"}
_TEXT, _LARGE = 10.5, 16.0  # points
_RULE, _LARGE_RULE = 8, 11  # millimetres between ruled lines, wide enough for handwriting
_LEDGER_SCALE = 0.4  # points a unit: the ledger's letters come out at eight points
_ROWS = {1: 2, 2: 2, 3: 3}  # rows of diagrams a page, by columns
_LEGEND_SCALE = 0.38
_LONGEST = 150  # characters of a title, source or name; a task may have twice as many
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


def _pdf(items: Sequence[SheetItem], options: SheetOptions, *, sheet: bool, key: bool) -> bytes:
    if not items:
        raise UsageError("there is nothing to print: the sheet has no positions")
    labels = options.labels
    title = plain(options.title, _LONGEST)
    if not title:
        raise UsageError("the sheet needs a title: it is what a screen reader says first")
    numbered = list(enumerate(items, start=1))
    large = options.large_print
    data: dict[str, object] = {
        "title": title if sheet else f"{title}: {labels.answer_key}",
        "language": labels.draw.language,
        "paper": _PAPER[options.paper],
        "margin": 18 if large or options.across == 3 else 22,
        "size": _LARGE if large else _TEXT,
        "accent": ACCENT,
        "page_of": labels.page_of,
        "large": large,
        "columns": options.across,
        "rows": _ROWS[options.across],
        "gutter": 8 if options.across == 3 else 12,
        "rule": _LARGE_RULE if large else _RULE,
        "key_diagram": 66 if large else 52,
        "name_and_date": options.name_and_date,
        "name": labels.name,
        "date": labels.date,
        "items": [_problem(n, item, options) for n, item in numbered] if sheet else [],
        "key_title": labels.answer_key,
        "key": [_answer(n, item, options) for n, item in numbered] if key else [],
        "legend": _legend(items, options) if key and options.legend else None,
    }
    return pdf_of(_TEMPLATES, data)


def _side(fen: str, options: SheetOptions) -> chess.Color:
    """From whose side the boards of an item are seen."""
    return as_board(fen).turn if options.from_side_to_move else chess.WHITE


def _problem(number: int, item: SheetItem, options: SheetOptions) -> dict[str, object]:
    board = as_board(item.fen)
    labels = options.labels
    to_move = labels.to_move.format(colour=colour_name(board.turn, labels.draw))
    svg = board_svg(
        board,
        perspective=_side(item.fen, options),
        coordinates=options.coordinates,
        labels=labels.draw,
        prefix=f"p{number}",
    )
    heading = labels.diagram.format(number=number)
    return {
        "number": number,
        "task": plain(item.task, 2 * _LONGEST) or to_move,
        "source": plain(item.source, _LONGEST),
        "svg": svg,
        "alt": f"{heading}. {position_in_words(board, labels.draw)}",
        "lines": options.lines if item.lines is None else item.lines,
    }


def final_marks(item: SheetItem) -> Marks:
    """The marks of an item's final diagram."""
    if item.marks is not None:
        return item.marks
    return marks_of(item.case) if item.case is not None else NOTHING


def _answer(number: int, item: SheetItem, options: SheetOptions) -> dict[str, object]:
    return {
        "number": number,
        "solution": plain(item.solution),
        "name": plain(item.name, _LONGEST),
        "paragraphs": _paragraphs(item.sentences),
        "picture": _final(number, item, options),
        "ledger": _ledger(number, item, options),
    }


def _paragraphs(sentences: Sequence[str]) -> list[str]:
    """Sentences run together; an empty one begins a new paragraph."""
    paragraphs: list[list[str]] = [[]]
    for sentence in sentences:
        if sentence.strip():
            paragraphs[-1].append(plain(sentence))
        else:
            paragraphs.append([])
    return [" ".join(p) for p in paragraphs if p]


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


def _ledger(number: int, item: SheetItem, options: SheetOptions) -> dict[str, object] | None:
    """The ledger where it helps: where some square hangs on one man."""
    if item.case is None or not (options.ledgers and item.show_ledger):
        return None
    found: Ledger = ledger(item.case)
    if not any(row.alone for row in found.rows):
        return None
    labels = options.labels.draw
    svg = ledger_svg(found, prefix=f"l{number}", labels=labels)
    width = _width(svg) * _LEDGER_SCALE * (_LARGE / _TEXT if options.large_print else 1)
    return {"svg": svg, "alt": ledger_text(found, labels), "width": width}


def _width(svg: str) -> float:
    """The width that a drawing of ours gives itself."""
    return float(svg.split(' width="', 1)[1].split('"', 1)[0])


def _legend(items: Sequence[SheetItem], options: SheetOptions) -> dict[str, object] | None:
    roles = roles_in(final_marks(item) for item in items)
    if not roles:
        return None
    labels: SheetLabels = options.labels
    svg = legend_svg(
        roles, columns=2 if options.large_print else 3, labels=labels.draw, prefix="legend"
    )
    words = "; ".join(role.label(labels.draw) for role in roles)
    width = _width(svg) * _LEGEND_SCALE * (_LARGE / _TEXT if options.large_print else 1)
    return {"svg": svg, "alt": f"{labels.legend}: {words}", "width": width}
