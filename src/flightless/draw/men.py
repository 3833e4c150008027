"""The six silhouettes, read from the files in `men/`, and how each is inked for a colour.

A file holds one silhouette on a square of 100 units: `body` is its outline in one piece,
`crest` what is solid in both colours, `slit` a cut that shows at any size, `lines` and `dots`
the finer details.  A white man is his outline on paper, drawn last so that no printer loses
it; a black man is solid, his details left out of the ink.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from types import MappingProxyType
from xml.etree import ElementTree

import chess

from flightless.draw.ink import INK, PAPER
from flightless.draw.svg import number

__all__ = ["BOOK", "CUTS", "SMALL", "SQUARE", "Cut", "cut_for", "ghost", "man"]

SQUARE = 100
"""Units of one square in every drawing."""


@dataclass(frozen=True, slots=True)
class Cut:
    """How the drawings are cut for a size, as type founders cut a face for one.

    All in units of a hundredth of a square: `outline` and `line` are stroke widths of a man,
    `crest` that of the king's cross and `slit` that of the bishop's mitre, `halo` the strip of
    bare paper that keeps the hatching off him, `hatch` the width of a hatch line and `pitch`
    the distance of two along the edge of the square, `frame` the border of the board.
    `details` says whether the finer lines are drawn at all; `scale` enlarges the men.
    """

    name: str
    outline: float
    line: float
    crest: float
    slit: float
    halo: float
    details: bool
    hatch: float
    pitch: float
    frame: float
    scale: float


BOOK = Cut("book", 5, 4, 9, 4.5, 5, True, 2.2, 12.5, 5, 1)
SMALL = Cut("small", 5.5, 0, 12, 8, 6, False, 4, 25, 8, 1.07)
CUTS = (BOOK, SMALL)
_SMALL_BELOW = 20
"""Pixels of a square under which the finer details are lost: then the small cut is used."""


def cut_for(pixels: float) -> Cut:
    """The cut that reads best when a square is `pixels` wide."""
    return SMALL if pixels < _SMALL_BELOW else BOOK


@lru_cache(maxsize=6)
def _shapes(kind: chess.PieceType) -> Mapping[str, str]:
    """The paths of one silhouette by id."""
    name = f"{chess.piece_name(kind)}.svg"
    source = files("flightless.draw").joinpath("men", name).read_text(encoding="utf-8")
    found = {str(e.get("id")): str(e.get("d")) for e in ElementTree.fromstring(source)}
    return MappingProxyType(found)


def _outline(shape: str, fill: str, stroke: str, width: float) -> str:
    return (
        f'<path d="{shape}" fill="{fill}" stroke="{stroke}" stroke-width="{number(width)}" '
        f'stroke-linejoin="round"/>'
    )


def _stroke(shape: str, colour: str, width: float, extra: str = "") -> str:
    return (
        f'<path d="{shape}" fill="none" stroke="{colour}" stroke-width="{number(width)}"{extra}/>'
    )


def man(piece: chess.Piece, cut: Cut = BOOK) -> str:
    """SVG elements that draw `piece` on a square of 100 units with its upper left at 0, 0."""
    shapes = _shapes(piece.piece_type)
    body, crest = shapes["body"], shapes.get("crest")
    inner = INK if piece.color else PAPER
    drawn = []
    if crest:
        drawn.append(_stroke(crest, PAPER, cut.crest + 2 * cut.halo))
    drawn.append(_outline(body, PAPER, PAPER, cut.outline + 2 * cut.halo))
    if crest:
        drawn.append(_stroke(crest, INK, cut.crest))
    drawn.append(_outline(body, PAPER if piece.color else INK, INK, cut.outline))
    if "slit" in shapes:
        drawn.append(_stroke(shapes["slit"], inner, cut.slit))
    if cut.details:
        drawn.append(_stroke(shapes["lines"], inner, cut.line))
        if "dots" in shapes:
            drawn.append(f'<path d="{shapes["dots"]}" fill="{inner}"/>')
    return _enlarged("".join(drawn), cut)


def _enlarged(drawn: str, cut: Cut) -> str:
    """The man as large as the cut wants him, from the middle of his square."""
    if cut.scale == 1:
        return drawn
    shift = number(SQUARE / 2 * (1 - cut.scale))
    return f'<g transform="translate({shift} {shift}) scale({cut.scale})">{drawn}</g>'


def ghost(piece: chess.Piece, cut: Cut = BOOK) -> str:
    """The place of a man who has been taken away: his silhouette in a broken line."""
    body = _shapes(piece.piece_type)["body"]
    return _outline(body, PAPER, PAPER, cut.outline + 2 * cut.halo) + _stroke(
        body, INK, cut.outline, ' stroke-dasharray="7 6"'
    )
