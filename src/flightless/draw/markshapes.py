"""The shape of each mark, drawn on a square of 100 units.

Every role has a shape of its own and a place of its own on the square, so that several can
stand together round a man and all survive a copier:

* blocked: a frame inside the square; guarded: a saltire; off the board: a bar outside the
  board;
* one man only holds it: two filled corners, in the accent;
* gives check: a wedge at the edge of the checker's square that faces the king, and a broken
  line along the squares between; protects him: a tray under the man;
* needed: a lozenge at his right side; not needed: the man in parentheses; held off: a staple
  over him;
* changed: four corner brackets; taken away: his outline, broken; a way out for the king: a
  doorway; a defender can come here: a shield.

Saltire, doorway and shield stand in the middle of an empty square, and small in its upper
right corner beside a man.
"""

from __future__ import annotations

import math

from flightless.draw.ink import ACCENT, INK, PAPER
from flightless.draw.marks import Role
from flightless.draw.svg import number

__all__ = ["check_line", "mark", "off_board_bar", "wedge"]

_HALO = 6  # bare paper round a mark, so that it stands off hatching and men


def _line(path: str, width: float, colour: str = INK, extra: str = "") -> str:
    bare = (
        f'<path d="{path}" fill="none" stroke="{PAPER}" stroke-width="{number(width + _HALO)}" '
        f'stroke-linecap="round"/>'
    )
    return (
        f'{bare}<path d="{path}" fill="none" stroke="{colour}" stroke-width="{number(width)}"'
        f"{extra}/>"
    )


def _solid(path: str, colour: str = INK) -> str:
    return (
        f'<path d="{path}" fill="{colour}" stroke="{PAPER}" stroke-width="{_HALO}" '
        f'stroke-linejoin="round" paint-order="stroke"/>'
    )


def _saltire(x: float, y: float, arm: float, width: float) -> str:
    a, b, c, d = (number(v) for v in (x - arm, x + arm, y - arm, y + arm))
    return _line(f"M{a} {c}L{b} {d}M{a} {d}L{b} {c}", width)


_SHAPES = {
    Role.BLOCKED: _line("M4 4H96V96H4Z", 4),
    Role.ONE_ONLY: _solid("M3 3H27L3 27Z", ACCENT) + _solid("M97 97H73L97 73Z", ACCENT),
    Role.SUPPORTS: _line("M12 84V97H88V84", 5.5),
    Role.NEEDED: _solid("M90 42L99 53L90 64L81 53Z"),
    Role.NOT_NEEDED: _line("M17 20Q7 50 17 80M83 20Q93 50 83 80", 4.5),
    Role.CHANGED: _line("M5 27V5H27M73 5H95V27M95 73V95H73M27 95H5V73", 7),
    Role.HELD_OFF: _line("M14 17V3H86V17", 5.5),
}
_MIDDLE = {
    Role.GUARDED: _saltire(50, 50, 20, 8),
    Role.FREE: _line("M30 78V44A20 20 0 0 1 70 44V78M18 78H38M62 78H82", 8),
    Role.DEFENDED: _line("M26 26H74V50Q72 70 50 80Q28 70 26 50Z", 8),
}
_CORNER = 0.5  # size of the same marks in the corner; the saltire there is drawn bolder


def mark(role: Role, *, beside_man: bool = False) -> str:
    """The mark of `role` on a square; `beside_man` makes room for a man in the middle."""
    if role not in _MIDDLE:
        return _SHAPES[role]
    if not beside_man:
        return _MIDDLE[role]
    if role is Role.GUARDED:
        return _saltire(85, 15, 9, 6)
    place = number(100 - 98 * _CORNER)
    return f'<g transform="translate({place} -1) scale({_CORNER})">{_MIDDLE[role]}</g>'


def wedge(dx: float, dy: float) -> str:
    """A wedge at the edge of the square towards (`dx`, `dy`), pointing that way.

    The direction is in drawing units: right and down.  Its tip lies on the edge.
    """
    length = math.hypot(dx, dy)
    ux, uy = dx / length, dy / length
    reach = 52 / max(abs(ux), abs(uy))
    tip = (50 + ux * reach, 50 + uy * reach)
    base = (tip[0] - ux * 21, tip[1] - uy * 21)
    half = 12
    left = (base[0] - uy * half, base[1] + ux * half)
    right = (base[0] + uy * half, base[1] - ux * half)
    points = "L".join(f"{number(x)} {number(y)}" for x, y in (tip, left, right))
    return _solid(f"M{points}Z")


def check_line(start: tuple[float, float], end: tuple[float, float]) -> str:
    """The broken line of a check, from edge to edge of the two squares (drawing units)."""
    (x1, y1), (x2, y2) = start, end
    path = f"M{number(x1)} {number(y1)}L{number(x2)} {number(y2)}"
    return _line(path, 5, INK, ' stroke-dasharray="16 10"')


def off_board_bar(step: tuple[int, int], gap: float) -> str:
    """The bar that stands where the board ends, on the square at `step` from the king.

    `step` is in drawing directions (right, down); the square's upper left is 0, 0 and the
    side of it that touches the board carries the bar, `gap` away from the edge.  A square off
    the corner of the board gets a small block there.
    """
    right, down = step
    thick = 7
    if right and down:
        x = gap if right > 0 else 100 - gap - thick
        y = gap if down > 0 else 100 - gap - thick
        width, height = thick, thick
    elif down:
        x, width, height = 14, 72, thick
        y = gap if down > 0 else 100 - gap - thick
    else:
        y, height, width = 14, 72, thick
        x = gap if right > 0 else 100 - gap - thick
    return (
        f'<rect x="{number(x)}" y="{number(y)}" width="{number(width)}" '
        f'height="{number(height)}" fill="{INK}"/>'
    )
