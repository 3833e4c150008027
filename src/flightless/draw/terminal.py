"""The board and its marks in plain characters, for a terminal or a text file.

One line a rank, five characters a square: the man in the middle, the state of a field square
at the ends, what the man does beside him.  Dark squares are hatched here too.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import chess

from flightless.draw.board import as_board
from flightless.draw.labels import ENGLISH, Labels
from flightless.draw.marks import NOTHING, Marks, Role
from flightless.draw.reading import colour_name

__all__ = ["terminal_board", "terminal_legend"]


@dataclass(frozen=True, slots=True)
class _Signs:
    hatch: str
    saltire: str
    edge: str  # of the board, along a rank
    wall: str  # the same where a square of the field is off the board
    post: str
    post_wall: str
    corners: str


_BOX = _Signs("╱", "×", "─", "━", "│", "┃", "┌┐└┘")
_ASCII = _Signs("/", "x", "-", "=", "|", "#", "++++")
_WIDTH = 5


def terminal_board(
    position: chess.Board | str,
    marks: Marks | None = None,
    perspective: chess.Color = chess.WHITE,
    *,
    ascii_only: bool = False,
    men: Literal["letters", "figurines"] = "letters",
    side_line: bool = True,
    labels: Labels = ENGLISH,
) -> str:
    """The board as text without colours, and under it who is to move (if `side_line`).

    `letters` are those of FEN (upper case for White), which every terminal shows alike;
    `figurines` are the chess characters of Unicode.  `ascii_only` keeps to ASCII.
    """
    board, marks = as_board(position), marks or NOTHING
    signs = _ASCII if ascii_only else _BOX
    figurines = men == "figurines" and not ascii_only
    files, ranks = list(range(8)), list(range(7, -1, -1))
    if not perspective:
        files, ranks = files[::-1], ranks[::-1]
    beyond = _beyond(marks)
    lines = [
        _border(files, ranks[0] + (1 if perspective else -1), beyond, signs, signs.corners[:2])
    ]
    for rank in ranks:
        cells = [_cell(board, marks, chess.square(f, rank), signs, figurines) for f in files]
        posts = [
            signs.post_wall if (f, rank) in beyond else signs.post
            for f in (files[0] - (1 if perspective else -1), files[7] + (1 if perspective else -1))
        ]
        lines.append(f" {chess.RANK_NAMES[rank]} {posts[0]}{''.join(cells)}{posts[1]}")
    lines.append(
        _border(files, ranks[7] - (1 if perspective else -1), beyond, signs, signs.corners[2:])
    )
    lines.append("    " + "".join(chess.FILE_NAMES[f].center(_WIDTH) for f in files).rstrip())
    if side_line:
        lines.append("    " + labels.to_move.format(colour=colour_name(board.turn, labels)))
    return "\n".join(lines)


def terminal_legend(marks: Marks, *, ascii_only: bool = False, labels: Labels = ENGLISH) -> str:
    """One line for each sign that `terminal_board` uses for `marks`, in words."""
    signs = _ASCII if ascii_only else _BOX
    shown = {
        Role.BLOCKED: "[ ]",
        Role.GUARDED: f" {signs.saltire} ",
        Role.OFF_BOARD: f" {signs.wall}{signs.post_wall}",
        Role.ONE_ONLY: "  !",
        Role.CHECKS: " + ",
        Role.SUPPORTS: " _ ",
        Role.NOT_NEEDED: "( )",
        Role.HELD_OFF: "~ ~",
        Role.FREE: " o ",
        Role.DEFENDED: " # ",
        Role.CHANGED: "< >",
    }
    return "\n".join(
        f"    {sign}  {role.label(labels)}" for role, sign in shown.items() if role in marks.roles()
    )


def _beyond(marks: Marks) -> set[tuple[int, int]]:
    """File and rank (-1 to 8) of the field squares that are off the board."""
    if marks.king is None:
        return set()
    file, rank = chess.square_file(marks.king), chess.square_rank(marks.king)
    return {(file + step[0], rank + step[1]) for step in marks.off_board}


def _border(
    files: list[int], rank: int, beyond: set[tuple[int, int]], signs: _Signs, corners: str
) -> str:
    parts = [(signs.wall if (f, rank) in beyond else signs.edge) * _WIDTH for f in files]
    return f"   {corners[0]}{''.join(parts)}{corners[1]}"


def _cell(
    board: chess.Board, marks: Marks, square: chess.Square, signs: _Signs, figurines: bool
) -> str:
    dark = (chess.square_file(square) + chess.square_rank(square)) % 2 == 0
    fill = signs.hatch if dark else " "
    piece = board.piece_at(square)
    state = _state(marks, square, signs)
    left, right = _ends(marks, square, fill)
    before, after = _sides(marks, square, fill)
    if piece is None:
        middle = state or fill
    else:
        middle = _figurine(piece) if figurines else piece.symbol()
        after = state or after
    return f"{left}{before}{middle}{after}{right}"


def _state(marks: Marks, square: chess.Square, signs: _Signs) -> str:
    """The sign in the middle of an empty square, or at the right of a man; may be empty."""
    shown = (
        (marks.guarded, signs.saltire),
        (marks.free, "o"),
        (marks.defended, "#"),
    )
    return next((sign for squares, sign in shown if square in squares), "")


def _ends(marks: Marks, square: chess.Square, fill: str) -> tuple[str, str]:
    left, right = ("<", ">") if square in marks.changed else (fill, fill)
    if square in marks.blocked:
        left, right = "[", "]"
    if square in marks.one_only:
        right = "!"
    return left, right


def _sides(marks: Marks, square: chess.Square, fill: str) -> tuple[str, str]:
    if square in marks.checks:
        return "+", fill
    if square in marks.supports:
        return "_", fill
    if square in marks.held_off:
        return "~", "~"
    if square in marks.not_needed:
        return "(", ")"
    return fill, fill


def _figurine(piece: chess.Piece) -> str:
    """The Unicode figurine; U+FE0E asks for text form where a terminal would draw an emoji."""
    return piece.unicode_symbol() + ("\ufe0e" if piece.symbol() == "p" else "")
