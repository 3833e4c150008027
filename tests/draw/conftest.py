"""Shared by the tests of drawing: reading an SVG back, and turning one into grey levels."""

from __future__ import annotations

import re
import struct
import zlib
from collections.abc import Callable
from xml.etree import ElementTree

import chess
import pytest

SVG = "{http://www.w3.org/2000/svg}"
XLINK = "{http://www.w3.org/1999/xlink}"


def _placements(svg: str, perspective: chess.Color) -> dict[chess.Square, str]:
    """The men of a board picture by square, from where they are drawn alone."""
    found: dict[chess.Square, str] = {}
    for use in ElementTree.fromstring(svg).iter(f"{SVG}use"):
        if str(use.get(f"{XLINK}href")).endswith("-hatch"):
            continue
        match = re.fullmatch(r"translate\((\d+) (\d+)\)", str(use.get("transform")))
        assert match, use.attrib
        column, row = int(match[1]) // 100, int(match[2]) // 100
        file, rank = (column, 7 - row) if perspective else (7 - column, row)
        colour, kind = str(use.get(f"{XLINK}href"))[-2:]
        found[chess.square(file, rank)] = kind.upper() if colour == "w" else kind
    return found


@pytest.fixture(scope="session")
def placements() -> Callable[[str, chess.Color], dict[chess.Square, str]]:
    return _placements


def _unfilter(kind: int, line: bytearray, above: bytes, step: int) -> None:
    """Undo one of the five line filters of the PNG standard (ISO/IEC 15948, clause 9)."""
    for i in range(len(line)):
        a = line[i - step] if i >= step else 0
        b = above[i]
        c = above[i - step] if i >= step else 0
        if kind == 1:
            add = a
        elif kind == 2:
            add = b
        elif kind == 3:
            add = (a + b) // 2
        elif kind == 4:
            p = a + b - c
            nearest = min((abs(p - a), 0, a), (abs(p - b), 1, b), (abs(p - c), 2, c))
            add = nearest[2]
        else:
            add = 0
        line[i] = (line[i] + add) & 255


def _grey_pixels(png: bytes) -> list[list[int]]:
    """Rows of grey levels (ITU-R BT.601 luma) of an 8-bit RGB or RGBA PNG without interlace."""
    width, height, depth, colour, _, _, interlace = struct.unpack(">IIBBBBB", png[16:29])
    assert (depth, interlace) == (8, 0)
    step = {2: 3, 6: 4}[colour]
    data, at = b"", 8
    while at < len(png):
        length, name = struct.unpack(">I4s", png[at : at + 8])
        if name == b"IDAT":
            data += png[at + 8 : at + 8 + length]
        at += length + 12
    raw = zlib.decompress(data)
    rows, above = [], bytes(width * step)
    for y in range(height):
        start = y * (width * step + 1)
        line = bytearray(raw[start + 1 : start + 1 + width * step])
        _unfilter(raw[start], line, above, step)
        above = bytes(line)
        rows.append(
            [
                round(0.299 * line[x] + 0.587 * line[x + 1] + 0.114 * line[x + 2])
                for x in range(0, width * step, step)
            ]
        )
    return rows


def _greys(svg: str, width: int) -> list[list[int]]:
    """`svg` drawn `width` pixels wide by the typesetter's SVG engine, as grey levels."""
    import typst

    source = (
        f"#set page(width: {width}pt, height: auto, margin: 0pt, fill: white)\n"
        '#image(bytes(sys.inputs.svg), format: "svg", width: 100%)'
    )
    png = typst.compile(
        source.encode(), format="png", ppi=72, sys_inputs={"svg": svg}, ignore_system_fonts=True
    )
    return _grey_pixels(png)


@pytest.fixture(scope="session")
def greys() -> Callable[[str, int], list[list[int]]]:
    return _greys
