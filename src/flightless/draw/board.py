"""The one board of Flightless, as SVG: for the screen, for print and as a picture.

Dark squares are hatched with lines, men are our own silhouettes, marks come from `Marks`.
Nothing is decided about chess here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import chess

from flightless.draw import markshapes
from flightless.draw.ink import INK, PAPER
from flightless.draw.labels import ENGLISH, Labels
from flightless.draw.marks import NOTHING, Marks, Role
from flightless.draw.men import SQUARE, Cut, cut_for, ghost, man
from flightless.draw.reading import colour_name, position_in_words
from flightless.draw.svg import Drawing, number, prefix_for, text
from flightless.errors import PositionError, UsageError

__all__ = ["Look", "as_board", "board_drawing", "board_svg"]

_EDGE = 26  # bare margin where nothing is printed: room for the bars off the board
_FIGURES = 60  # margin that holds coordinates or the side mark
_OVER = (
    Role.BLOCKED,
    Role.CHANGED,
    Role.ONE_ONLY,
    Role.SUPPORTS,
    Role.HELD_OFF,
    Role.NEEDED,
    Role.NOT_NEEDED,
)
_IN_THE_MIDDLE = (Role.GUARDED, Role.FREE, Role.DEFENDED)


@dataclass(frozen=True, slots=True)
class _View:
    """From where the board is seen: places squares in drawing units."""

    perspective: chess.Color

    def corner(self, square: chess.Square) -> tuple[int, int]:
        """Upper left of `square`, with the board's upper left at 0, 0."""
        column, row = chess.square_file(square), 7 - chess.square_rank(square)
        if not self.perspective:
            column, row = 7 - column, 7 - row
        return column * SQUARE, row * SQUARE

    def step(self, step: tuple[int, int]) -> tuple[int, int]:
        """A step (file, rank) as right and down."""
        return (step[0], -step[1]) if self.perspective else (-step[0], step[1])


@dataclass(frozen=True, slots=True)
class Look:
    """How a board is printed: from whose side, and what stands round it."""

    perspective: chess.Color = chess.WHITE
    coordinates: bool = True
    side_mark: bool = True
    labels: Labels = ENGLISH

    @property
    def box(self) -> tuple[float, float, float, float]:
        """The user space of the picture, the board's upper left at 0, 0."""
        left = _FIGURES if self.coordinates else _EDGE
        right = _FIGURES if self.side_mark else _EDGE
        return (-left, -_EDGE, left + 8 * SQUARE + right, _EDGE + 8 * SQUARE + left)


def as_board(position: chess.Board | str) -> chess.Board:
    """`position` itself, or the board of a FEN; raises `PositionError` if it is none."""
    if isinstance(position, chess.Board):
        return position
    try:
        return chess.Board(position)
    except ValueError as error:
        raise PositionError(f"expected a FEN to draw, found {position[:80]!r}: {error}") from None


def board_svg(
    position: chess.Board | str,
    *,
    marks: Marks | None = None,
    perspective: chess.Color = chess.WHITE,
    coordinates: bool = True,
    side_mark: bool = True,
    size: float = 360,
    title: str | None = None,
    description: str | None = None,
    prefix: str | None = None,
    labels: Labels = ENGLISH,
) -> str:
    """A self-contained SVG of `position`, `size` pixels wide over all.

    The board is seen from `perspective`.  `side_mark` puts a small square beside the board on
    the side of the player to move, open for White and filled for Black.  `title` and
    `description` are what a screen reader says; without them the position and its marks are
    read out.  `prefix` begins every id (without it, a digest of the content), so that many
    boards can stand in one page.  Raises `PositionError` for text that is no FEN and
    `UsageError` for a size that cannot be drawn.
    """
    if not size > 0:
        raise UsageError(f"the size of a diagram must be more than 0 pixels, and is {size}")
    board, marks = as_board(position), marks or NOTHING
    look = Look(perspective, coordinates, side_mark, labels)
    prefix = prefix or prefix_for(board.fen(), marks, look, size)
    drawing = board_drawing(board, marks, look, prefix, size)
    if title or description:
        drawing = replace(
            drawing,
            title=title or drawing.title,
            description=description or drawing.description,
        )
    return drawing.document(size, prefix, labels.language)


def board_drawing(
    board: chess.Board, marks: Marks, look: Look, prefix: str, size: float
) -> Drawing:
    """The board as a part of a larger picture, in which it will be `size` pixels wide."""
    view, cut = _View(look.perspective), cut_for(size * SQUARE / look.box[2])
    near = board.turn == look.perspective
    layers = (
        _defs(board, prefix, cut),
        _hatching(prefix),
        _frame(cut),
        _coordinates(view) if look.coordinates else "",
        _side_mark(near, board.turn, cut) if look.side_mark else "",
        _off_board(marks, view, cut),
        _check_lines(marks, view),
        _middle_marks(board, marks, view, beside_man=False),
        _ghosts(marks, view, cut),
        _men(board, view, prefix),
        _over_men(board, marks, view),
    )
    colour = colour_name(board.turn, look.labels)
    return Drawing(
        look.box,
        "".join(layers),
        title=look.labels.board_title.format(colour=colour),
        description=_reading(board, marks, look.perspective, look.labels),
    )


def _reading(board: chess.Board, marks: Marks, perspective: chess.Color, labels: Labels) -> str:
    seen = "" if perspective else labels.seen_from.format(colour=labels.black)
    parts = (position_in_words(board, labels), seen, marks.in_words(labels))
    return " ".join(part for part in parts if part)


def _defs(board: chess.Board, prefix: str, cut: Cut) -> str:
    """Each man that occurs, and the hatching of one rank, drawn once to be used many times."""
    pieces = sorted({p.symbol() for p in board.piece_map().values()})
    drawn = "".join(
        f'<g id="{_id(prefix, symbol)}">{man(chess.Piece.from_symbol(symbol), cut)}</g>'
        for symbol in pieces
    )
    return f"<defs>{drawn}{_rank_hatch(prefix, cut)}</defs>"


def _id(prefix: str, symbol: str) -> str:
    return f"{prefix}-{'w' if symbol.isupper() else 'b'}{symbol.lower()}"


def _rank_hatch(prefix: str, cut: Cut) -> str:
    """Slanting lines on every other square of a rank, from its first: single lines and no
    pattern, for patterns come out differently from one program to the next."""
    lines = []
    steps = int(SQUARE / cut.pitch)
    for left in range(0, 8 * SQUARE, 2 * SQUARE):
        for step in range(1 - steps, steps):
            shift = step * cut.pitch  # of the line against the square's rising diagonal
            x, y = left + max(0.0, shift), min(SQUARE, SQUARE + shift)
            length = SQUARE - abs(shift)
            lines.append(f"M{number(x)} {number(y)}l{number(length)} {number(-length)}")
    return (
        f'<path id="{prefix}-hatch" d="{"".join(lines)}" fill="none" stroke="{INK}" '
        f'stroke-width="{number(cut.hatch)}"/>'
    )


def _hatching(prefix: str) -> str:
    """The upper left square is light from either side, so even rows begin one square in."""
    rows = (
        f'<use xlink:href="#{prefix}-hatch" '
        f'transform="translate({0 if row % 2 else SQUARE} {row * SQUARE})"/>'
        for row in range(8)
    )
    return f'<g class="hatch">{"".join(rows)}</g>'


def _frame(cut: Cut) -> str:
    out = cut.frame / 2
    side = number(8 * SQUARE + cut.frame)
    return (
        f'<rect x="{number(-out)}" y="{number(-out)}" width="{side}" height="{side}" '
        f'fill="none" stroke="{INK}" stroke-width="{number(cut.frame)}"/>'
    )


def _coordinates(view: _View) -> str:
    drawn = []
    for index in range(8):
        column, _ = view.corner(chess.square(index, 0))
        _, row = view.corner(chess.square(0, index))
        middle = SQUARE / 2
        drawn.append(
            text(column + middle, 8 * SQUARE + 45, chess.FILE_NAMES[index], 36, anchor="middle")
        )
        drawn.append(text(-36, row + middle + 12, chess.RANK_NAMES[index], 36, anchor="middle"))
    return "".join(drawn)


def _side_mark(below: bool, colour: chess.Color, cut: Cut) -> str:
    side, stroke = 22, cut.frame
    y = 8 * SQUARE - side - stroke / 2 if below else stroke / 2
    fill = PAPER if colour else INK
    return (
        f'<rect class="side" x="{8 * SQUARE + 32}" y="{number(y)}" width="{side}" '
        f'height="{side}" fill="{fill}" stroke="{INK}" stroke-width="{number(stroke)}"/>'
    )


def _placed(at: tuple[float, float], drawn: str) -> str:
    return f'<g transform="translate({number(at[0])} {number(at[1])})">{drawn}</g>'


def _off_board(marks: Marks, view: _View, cut: Cut) -> str:
    if marks.king is None:
        return ""
    x, y = view.corner(marks.king)
    drawn = []
    for step in marks.off_board:
        right, down = view.step(step)
        place = (x + right * SQUARE, y + down * SQUARE)
        outward = (
            right if not 0 <= place[0] < 8 * SQUARE else 0,
            down if not 0 <= place[1] < 8 * SQUARE else 0,
        )
        drawn.append(_placed(place, markshapes.off_board_bar(outward, cut.frame + 6)))
    return "".join(drawn)


def _check_lines(marks: Marks, view: _View) -> str:
    """A broken line over the squares between a distant checker and the king."""
    if marks.king is None:
        return ""
    drawn = []
    for checker in marks.checks:
        if not chess.between(checker, marks.king):
            continue
        (x1, y1), (x2, y2) = view.corner(checker), view.corner(marks.king)
        right, down = (x2 > x1) - (x2 < x1), (y2 > y1) - (y2 < y1)
        start = (x1 + 50 + right * 56, y1 + 50 + down * 56)
        end = (x2 + 50 - right * 50, y2 + 50 - down * 50)
        drawn.append(markshapes.check_line(start, end))
    return "".join(drawn)


def _middle_marks(board: chess.Board, marks: Marks, view: _View, *, beside_man: bool) -> str:
    """Marks that take the middle of an empty square, or the corner beside a man or a ghost."""
    ghosts = set(marks.squares(Role.GONE)) - set(marks.free)
    taken = chess.SquareSet(board.occupied).union(ghosts)
    return "".join(
        _placed(view.corner(square), markshapes.mark(role, beside_man=beside_man))
        for role in _IN_THE_MIDDLE
        for square in marks.squares(role)
        if (square in taken) is beside_man
    )


def _ghosts(marks: Marks, view: _View, cut: Cut) -> str:
    """Those who are gone; where the king can go there now, his doorway takes the square."""
    return "".join(
        _placed(view.corner(gone.square), ghost(gone.piece, cut))
        for gone in marks.gone
        if gone.square not in marks.free
    )


def _men(board: chess.Board, view: _View, prefix: str) -> str:
    drawn = []
    for square, piece in sorted(board.piece_map().items()):
        x, y = view.corner(square)
        drawn.append(
            f'<use xlink:href="#{_id(prefix, piece.symbol())}" transform="translate({x} {y})" '
            f'data-square="{chess.square_name(square)}" data-man="{piece.symbol()}"/>'
        )
    return f'<g class="men">{"".join(drawn)}</g>'


def _over_men(board: chess.Board, marks: Marks, view: _View) -> str:
    """Marks that frame a square or belong to a man, over the men."""
    drawn = [
        _placed(view.corner(square), markshapes.mark(role))
        for role in _OVER
        for square in marks.squares(role)
    ]
    drawn.append(_middle_marks(board, marks, view, beside_man=True))
    if marks.king is None:
        return "".join(drawn)
    for checker in marks.checks:
        (x1, y1), (x2, y2) = view.corner(checker), view.corner(marks.king)
        drawn.append(_placed((x1, y1), markshapes.wedge(x2 - x1, y2 - y1)))
    return "".join(drawn)
