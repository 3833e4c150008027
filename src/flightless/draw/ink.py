"""The ink, the paper and the one accent of every drawing, and how far apart they are.

Contrast is the ratio of WCAG 2.2 (relative luminance, success criteria 1.4.3 and 1.4.11);
the accent is one of the colours that Okabe and Ito chose to be told apart by every kind of
colour vision.  Meaning never rests on it: each mark has its own shape.
"""

from __future__ import annotations

__all__ = ["ACCENT", "FONT", "INK", "OKABE_ITO", "PAPER", "contrast", "grey"]

OKABE_ITO = {
    "black": "#000000",
    "orange": "#E69F00",
    "sky blue": "#56B4E9",
    "bluish green": "#009E73",
    "yellow": "#F0E442",
    "blue": "#0072B2",
    "vermilion": "#D55E00",
    "reddish purple": "#CC79A7",
}
"""M. Okabe and K. Ito, *Color Universal Design* (2002, revised 2008): the eight colours."""

INK = OKABE_ITO["black"]
PAPER = "#ffffff"
ACCENT = OKABE_ITO["blue"]
"""Blue, the one of the eight that text on paper may be set in (contrast at least 4.5) and
that stays apart from black ink for a pupil who sees no red."""

FONT = "'Libertinus Serif', 'Linux Libertine', Georgia, 'Times New Roman', serif"
"""A book face first; the names after it are what a machine without it is likely to have."""


def _channels(colour: str) -> tuple[float, float, float]:
    value = int(colour.lstrip("#"), 16)
    return ((value >> 16 & 255) / 255, (value >> 8 & 255) / 255, (value & 255) / 255)


def _linear(channel: float) -> float:
    """The sRGB curve undone, as WCAG's definition of relative luminance has it."""
    return channel / 12.92 if channel <= 0.04045 else float(((channel + 0.055) / 1.055) ** 2.4)


def _luminance(colour: str) -> float:
    red, green, blue = (_linear(c) for c in _channels(colour))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """WCAG 2.2 contrast ratio of two colours written `#rrggbb`, from 1 to 21."""
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def grey(colour: str) -> str:
    """The grey in which a black and white copier shows `colour` (luma of ITU-R BT.601)."""
    red, green, blue = _channels(colour)
    level = round(255 * (0.299 * red + 0.587 * green + 0.114 * blue))
    return f"#{level:02x}{level:02x}{level:02x}"
