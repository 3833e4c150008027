"""`flightless draw`: one diagram as an SVG file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import chess

from flightless.cli.console import note, say, say_json
from flightless.cli.exits import Exit
from flightless.cli.whole import write_text
from flightless.errors import UsageError
from flightless.positions import looks_like_fen, read_position

if TYPE_CHECKING:
    from flightless.draw.marks import Marks

__all__ = ["check_is_svg", "perspective", "run_draw"]


def run_draw(
    fen: str, out: Path, *, marks: bool, coordinates: bool, seen_from: str, as_json: bool
) -> Exit:
    """Draw a position; a mated one with the marks of its case unless told otherwise."""
    if not looks_like_fen(fen):
        raise UsageError(f"draw takes a FEN, which has seven slashes: {fen!r}")
    check_is_svg(out)
    position = read_position(fen)
    for notice in position.notices:
        note(notice)
    from flightless.draw.board import board_svg

    svg = board_svg(
        position.board,
        marks=_marks(position.board) if marks else None,
        perspective=perspective(seen_from, position.board),
        coordinates=coordinates,
    )
    write_text(out, svg)
    if as_json:
        say_json({"file": str(out), "fen": position.board.fen()})
    else:
        say(f"Drawn: {out}")
    return Exit.DONE


def check_is_svg(out: Path) -> None:
    """Refuse a name that would promise another kind of picture."""
    if out.suffix.lower() not in ("", ".svg"):
        raise UsageError(f"the picture is an .svg, not {out.name!r}")


def _marks(board: chess.Board) -> Marks | None:
    if not board.is_checkmate():
        return None
    from flightless.cases.build import case_of
    from flightless.cli.warm import ready
    from flightless.draw.marks import marks_of

    ready()
    return marks_of(case_of(board))


def perspective(seen_from: str, board: chess.Board) -> chess.Color:
    """The colour at the bottom: 'white', 'black', or 'mover' for the side to move."""
    if seen_from not in ("white", "black", "mover"):
        raise UsageError(f"the board is seen from white, black or mover, not {seen_from!r}")
    return board.turn if seen_from == "mover" else seen_from == "white"
