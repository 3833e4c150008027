"""Small tools for writing SVG by hand: numbers, text made safe, and the outer element.

The SVG written here keeps to shapes, text and `use`, without style sheets, filters or
embedded HTML, so that browsers, office programs and the typesetter draw the same picture.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

from flightless.draw.ink import FONT, INK, PAPER

__all__ = ["Drawing", "attribute", "number", "prefix_for", "text", "xml_text"]

_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Everything outside production [2] Char of XML 1.0; such characters make a file unreadable."""


def number(value: float) -> str:
    """A coordinate with at most two decimals and no idle zeros."""
    return f"{value:.2f}".rstrip("0").rstrip(".") if value % 1 else str(int(value))


def xml_text(value: str) -> str:
    """Text fit to stand between tags: escaped, and without what XML forbids."""
    return escape(_NOT_XML.sub("", value))


def attribute(value: str) -> str:
    """A quoted attribute value, safe for any text."""
    return quoteattr(_NOT_XML.sub("", value))


def prefix_for(*parts: object) -> str:
    """A prefix for ids that depends on the content alone: the same drawing, the same bytes.

    Two equal drawings in one page then share ids that name equal things, which does no harm.
    """
    joined = "\x1f".join(str(part) for part in parts)
    return "d" + hashlib.blake2s(joined.encode("utf-8", "replace"), digest_size=4).hexdigest()


def text(
    x: float,
    y: float,
    value: str,
    size: float,
    *,
    anchor: str = "start",
    fill: str = INK,
    style: str = "",
    weight: str = "",
) -> str:
    """One line of text whose baseline begins (or is centred, or ends) at `x`, `y`."""
    extra = f' text-anchor="{anchor}"' if anchor != "start" else ""
    extra += f' font-style="{style}"' if style else ""
    extra += f' font-weight="{weight}"' if weight else ""
    return (
        f'<text x="{number(x)}" y="{number(y)}" font-family="{FONT}" '
        f'font-size="{number(size)}" fill="{fill}"{extra}>{xml_text(value)}</text>'
    )


@dataclass(frozen=True, slots=True)
class Drawing:
    """A picture before it is a file: shapes in user units, and its reading in words.

    `box` is the user space it fills (x, y, width, height); `body` the elements, whose ids
    begin with a prefix of its own.
    """

    box: tuple[float, float, float, float]
    body: str
    title: str
    description: str

    def document(self, width: float, prefix: str, language: str = "en") -> str:
        """A whole SVG file `width` pixels wide, which can also stand inside a page as it is."""
        height = width * self.box[3] / self.box[2]
        view = " ".join(number(v) for v in self.box)
        x, y, across, down = (number(v) for v in self.box)
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" '
            f'xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="{view}" '
            f'width="{number(width)}" height="{number(height)}" role="img" '
            f'lang={attribute(language)} aria-labelledby="{prefix}-title {prefix}-desc">'
            f'<title id="{prefix}-title">{xml_text(self.title)}</title>'
            f'<desc id="{prefix}-desc">{xml_text(self.description)}</desc>'
            f'<rect x="{x}" y="{y}" width="{across}" height="{down}" fill="{PAPER}"/>'
            f"{self.body}</svg>\n"
        )

    def at(self, x: float, y: float, scale: float = 1) -> str:
        """The elements moved so that the upper left of the box is at `x`, `y`, and scaled."""
        dx, dy = x - self.box[0] * scale, y - self.box[1] * scale
        bigger = f" scale({scale:.4g})" if scale != 1 else ""
        move = f"translate({number(dx)} {number(dy)}){bigger}"
        return f'<g transform="{move}">{self.body}</g>'
