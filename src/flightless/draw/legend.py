"""The legend: each mark beside its meaning, as it stands on the board."""

from __future__ import annotations

from collections.abc import Iterable

import chess

from flightless.draw import markshapes
from flightless.draw.labels import ENGLISH, Labels
from flightless.draw.marks import EVERY_ROLE, Marks, Role
from flightless.draw.men import BOOK, ghost, man
from flightless.draw.svg import Drawing, number, prefix_for, text

__all__ = ["legend_svg", "roles_in"]

_WITH_MAN = {
    Role.BLOCKED: "p",
    Role.ONE_ONLY: "p",
    Role.CHECKS: "R",
    Role.SUPPORTS: "P",
    Role.NEEDED: "P",
    Role.NOT_NEEDED: "p",
    Role.HELD_OFF: "r",
}
_ROW = 60.0
_CELL = 46.0
_TYPE = 22.0


def roles_in(marks: Iterable[Marks]) -> tuple[Role, ...]:
    """The roles that occur in any of `marks`, in the order of the legend."""
    seen = {role for one in marks for role in one.roles()}
    return tuple(role for role in Role if role in seen)


def legend_svg(
    roles: Iterable[Role] = EVERY_ROLE,
    *,
    columns: int = 2,
    size: float | None = None,
    prefix: str | None = None,
    labels: Labels = ENGLISH,
) -> str:
    """The marks of `roles` with their meanings in `columns`, as a self-contained SVG."""
    wanted = set(roles)
    shown = [role for role in Role if role in wanted]
    longest = max((len(role.label(labels)) for role in shown), default=0)
    across = _CELL + 16 + longest * _TYPE * 0.48 + 16
    down = -(-len(shown) // columns)
    drawn = []
    for index, role in enumerate(shown):
        x, y = (index // down) * across, (index % down) * _ROW
        drawn.append(_example(role, x + 8, y + 8))
        drawn.append(text(x + _CELL + 20, y + 38, role.label(labels), _TYPE))
    width, height = max(across * columns, 1), max(down * _ROW, 1)
    drawing = Drawing(
        (0, 0, width, height),
        "".join(drawn),
        title=labels.legend_title,
        description="; ".join(role.label(labels) for role in shown),
    )
    prefix = prefix or prefix_for("legend", shown, columns, size)
    return drawing.document(size or width, prefix, labels.language)


def _example(role: Role, x: float, y: float) -> str:
    """One square that carries the mark, on a man where the mark belongs to a man."""
    symbol = _WITH_MAN.get(role)
    figure = man(chess.Piece.from_symbol(symbol), BOOK) if symbol else ""
    if role is Role.OFF_BOARD:
        mark = markshapes.off_board_bar((0, -1), 30)
    elif role is Role.CHECKS:
        mark = markshapes.wedge(1, 0) + markshapes.check_line((104, 50), (128, 50))
    elif role is Role.GONE:
        mark = ghost(chess.Piece.from_symbol("p"), BOOK)
    else:
        mark = markshapes.mark(role)
    scale = number(_CELL / 100)
    return f'<g transform="translate({number(x)} {number(y)}) scale({scale})">{figure}{mark}</g>'
