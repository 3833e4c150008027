"""Small tools for writing SVG by hand: numbers, text made safe, and the outer element.

The SVG written here keeps to shapes, text and `use`, without style sheets, filters or
embedded HTML, so that browsers, office programs and the typesetter draw the same picture.
"""

from __future__ import annotations

import hashlib
import re
from xml.sax.saxutils import escape, quoteattr

from flightless.draw.ink import FONT, INK

__all__ = ["attribute", "document", "number", "prefix_for", "text", "xml_text"]

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


def document(
    box: tuple[float, float, float, float],
    width: float,
    body: str,
    *,
    prefix: str,
    title: str,
    description: str,
    language: str = "en",
) -> str:
    """A whole SVG file `width` pixels wide showing the user-space `box` (x, y, width, height).

    It can also stand inside a page as it is: its ids begin with `prefix`.
    """
    height = width * box[3] / box[2]
    view = " ".join(number(v) for v in box)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'viewBox="{view}" width="{number(width)}" height="{number(height)}" role="img" '
        f'lang={attribute(language)} aria-labelledby="{prefix}-title {prefix}-desc">'
        f'<title id="{prefix}-title">{xml_text(title)}</title>'
        f'<desc id="{prefix}-desc">{xml_text(description)}</desc>'
        f"{body}</svg>\n"
    )
