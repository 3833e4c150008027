"""Running the typesetter: a template of this room and plain data in, PDF bytes out.

All text reaches the template as JSON data and is set as text, never read as markup, so that
a `#` or `$` in a player's name is printed and nothing else.  Only the faces built into the
typesetter are used and no date is written, so that the same sheet gives the same bytes on
every machine.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from importlib.resources import files
from typing import Any

from flightless.errors import FlightlessError

__all__ = ["PrintError", "paragraphs", "pdf_of", "pictures_of", "plain"]

_LINE_ENDS = re.compile(r"\s*[\r\n\u0085\u2028\u2029]+\s*")
_UNPRINTABLE = re.compile(
    "[\x00-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff\ud800-\udfff]"
)
"""Control characters, and those that turn the direction of what follows them."""
_BLACK_MOVE = re.compile(r"(?<=\d…)(?=\w)")
_LONG_RUN = re.compile(r"\S{24,}")
_PIECE = 12
_NO_GLYPH = "could not be displayed with font"


class PrintError(FlightlessError, ValueError):
    """A page that the typesetter refuses."""


def plain(text: str, most: int | None = None) -> str:
    """Text fit for one place on a page: one line, printable, and long runs allowed to break.

    What is longer than `most` characters ends there in an ellipsis: a tag of a hostile file
    must not push the diagram off the page.
    """
    text = _UNPRINTABLE.sub("", _LINE_ENDS.sub(" ", text.replace("\t", " "))).strip()
    if most is not None and len(text) > most:
        text = text[:most].rstrip() + "…"
    text = _BLACK_MOVE.sub("\u2060", text)  # no line ends inside 1…Kh6
    return _LONG_RUN.sub(_with_breaks, text)


def _with_breaks(match: re.Match[str]) -> str:
    run = match[0]
    return "\u200b".join(run[i : i + _PIECE] for i in range(0, len(run), _PIECE))


def paragraphs(sentences: Sequence[str]) -> list[str]:
    """Sentences run together; an empty one begins a new paragraph."""
    found: list[list[str]] = [[]]
    for sentence in sentences:
        if sentence.strip():
            found[-1].append(plain(sentence))
        else:
            found.append([])
    return [" ".join(p) for p in found if p]


def pdf_of(templates: Sequence[str], data: Mapping[str, object]) -> bytes:
    """The PDF that the named template files (joined in order) make of `data`.

    The document is tagged and checked against PDF/UA-1 (ISO 14289-1) by the typesetter.  Text
    in a script that the built-in faces lack (Chinese, Hebrew) is set in a face of the machine
    if there is one; if there is none, the page shows boxes in its place and is not PDF/UA.
    Raises `PrintError` if the typesetter refuses.
    """
    source = _source(templates)
    refused: PrintError | None = None
    for accessible, own_faces_only in ((True, True), (True, False), (False, False)):
        try:
            pages = _compiled(
                source,
                data,
                ignore_system_fonts=own_faces_only,
                pdf_standards="ua-1" if accessible else None,
            )
            return pages[0]
        except PrintError as error:
            refused = error
            if _NO_GLYPH not in str(error):
                break
    assert refused is not None
    raise refused


def pictures_of(
    templates: Sequence[str], data: Mapping[str, object], dots: int = 72
) -> list[bytes]:
    """The same pages as pictures to look at: one PNG a page, `dots` to the inch.

    Raises `PrintError` if the typesetter refuses.
    """
    return _compiled(_source(templates), data, format="png", ppi=dots)


def _source(templates: Sequence[str]) -> bytes:
    folder = files("flightless.press")
    texts = (folder.joinpath(name).read_text(encoding="utf-8") for name in templates)
    return "\n".join(texts).encode()


def _compiled(source: bytes, data: Mapping[str, object], **options: Any) -> list[bytes]:
    import typst

    told = {"data": json.dumps(data, ensure_ascii=False, sort_keys=True)}
    try:
        made: Any = typst.compile(source, sys_inputs=told, timestamp=0, **options)
    except typst.TypstError as error:
        raise PrintError(f"the page could not be set: {error}") from error
    return list(made) if isinstance(made, list) else [made]
