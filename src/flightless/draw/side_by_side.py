"""Pictures that stand side by side under one title: pairs of diagrams, boards with ledgers.

A picture made here is one SVG, with a caption under each part.
"""

from __future__ import annotations

from collections.abc import Sequence

import chess

from flightless.cases.case import Case
from flightless.draw.board import Look, board_drawing
from flightless.draw.labels import ENGLISH, Labels
from flightless.draw.ledger import ledger
from flightless.draw.ledger_svg import ledger_drawing
from flightless.draw.marks import FIELD_ROLES, Marks, marks_of
from flightless.draw.svg import Drawing, prefix_for, text
from flightless.draw.whatif import Pair

__all__ = ["Panel", "alike_svg", "grid", "pair_svg", "wrapped"]

_GAP = 90.0
_TYPE = 40.0
_EM = 0.46  # mean width of a letter of a book face in ems, for breaking lines

Panel = tuple[chess.Board, Marks, str]
"""A board, its marks and the caption under it."""


def wrapped(caption: str, width: float, size: float) -> list[str]:
    """`caption` broken into lines about `width` units long at `size`; its own line ends stay."""
    most = max(int(width / (size * _EM)), 1)
    lines: list[str] = []
    for paragraph in caption.split("\n"):
        line = ""
        for word in paragraph.split():
            if line and len(line) + 1 + len(word) > most:
                lines.append(line)
                line = word
            else:
                line = f"{line} {word}" if line else word
        if line:
            lines.append(line)
    return lines


def grid(
    panels: Sequence[tuple[Drawing, str]], columns: int, *, title: str, size: float = _TYPE
) -> Drawing:
    """Drawings in rows of `columns`, each with its caption in `size` under it, as one."""
    leading = size * 1.25
    across = max((drawing.box[2] for drawing, _ in panels), default=1.0)
    body: list[str] = []
    y = 0.0
    for start in range(0, len(panels), columns):
        row = panels[start : start + columns]
        down = max(drawing.box[3] for drawing, _ in row)
        captions = [wrapped(caption, across, size) for _, caption in row]
        for index, ((drawing, _), lines) in enumerate(zip(row, captions, strict=True)):
            x = index * (across + _GAP)
            body.append(drawing.at(x, y))
            for number, line in enumerate(lines):
                below = y + down + leading * (number + 0.8)
                body.append(text(x - drawing.box[0], below, line, size))
        y += down + leading * max(map(len, captions)) + _GAP
    said = (f"{d.title}. {d.description} {caption}".strip() for d, caption in panels)
    return Drawing(
        (0, 0, columns * (across + _GAP) - _GAP, max(y - _GAP / 2, 1)),
        "".join(body),
        title=title,
        description=" ".join(said),
    )


def pair_svg(
    pair: Pair,
    captions: tuple[str, str],
    *,
    title: str,
    size: float = 720,
    perspective: chess.Color = chess.WHITE,
    coordinates: bool = True,
    prefix: str | None = None,
    labels: Labels = ENGLISH,
) -> str:
    """A what-if as two diagrams side by side, `size` pixels wide together.

    The squares that change carry corner brackets; the second diagram shows the man who is gone
    in a broken line, the king's ways out and where a defender comes.
    """
    look = Look(perspective, coordinates, side_mark=False, labels=labels)
    prefix = prefix or prefix_for(pair, captions, look, size)
    panels = [
        (board_drawing(board, marks, look, f"{prefix}-{index}", size * 0.47), caption)
        for index, (board, marks, caption) in enumerate(
            (
                (pair.before, pair.before_marks, captions[0]),
                (pair.after, pair.after_marks, captions[1]),
            )
        )
    ]
    return grid(panels, 2, title=title).document(size, prefix, labels.language)


def alike_svg(
    cases: tuple[Case, Case],
    captions: tuple[str, str],
    *,
    title: str,
    size: float = 720,
    perspectives: tuple[chess.Color, chess.Color] = (chess.WHITE, chess.WHITE),
    prefix: str | None = None,
    labels: Labels = ENGLISH,
) -> str:
    """Two mates side by side, each with its ledger under the board, for comparing them."""
    prefix = prefix or prefix_for(cases[0].fen, cases[1].fen, captions, perspectives, size)
    boards, ledgers = [], []
    for index, (case, caption) in enumerate(zip(cases, captions, strict=True)):
        look = Look(perspectives[index], side_mark=False, labels=labels)
        marks = marks_of(case, FIELD_ROLES)
        board = board_drawing(case.board, marks, look, f"{prefix}-{index}", size * 0.47)
        boards.append((board, caption))
        rows = ledger_drawing(ledger(case), labels)
        ledgers.append((_under(rows, board.box), ""))
    drawing = grid([*boards, *ledgers], 2, title=title)
    return drawing.document(size, prefix, labels.language)


def _under(drawing: Drawing, box: tuple[float, float, float, float]) -> Drawing:
    """`drawing` set as wide as the board whose box is given, its left edge under the board's;
    its letters become no larger than those of the captions."""
    left, width = -box[0], box[2] + box[0]
    scale = min(width / drawing.box[2], _TYPE / 20)
    return Drawing(
        (0, 0, box[2], drawing.box[3] * scale),
        drawing.at(left, 0, scale),
        title=drawing.title,
        description=drawing.description,
    )
