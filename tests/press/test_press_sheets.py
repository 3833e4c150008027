"""Worksheets and keys as PDF: pages, text, safety of what comes from files, determinism."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import chess
import pytest

from flightless.cases.build import case_of
from flightless.draw.labels import Labels
from flightless.errors import PositionError, UsageError
from flightless.press.items import SheetItem, SheetLabels, SheetOptions
from flightless.press.typeset import plain
from flightless.press.worksheet import key_pdf, worksheet_and_key_pdf, worksheet_pdf

LOLLI = "r4rk1/pb3pQp/1p3Pp1/8/8/8/2q2PPP/4R1K1 b - - 0 1"
BEFORE = "r4rk1/pb3p1p/1p3Pp1/8/7Q/8/2q2PPP/4R1K1 w - - 0 1"
HOSTILE = (
    '#panic("x") $a^2$ \\ @ref <lbl> [x] {y} "q" \'s\' *b* _i_ `c` // no /* c */ ~ = h '
    "<script>&amp;"
)


@pytest.fixture(scope="module")
def item() -> SheetItem:
    return SheetItem(
        BEFORE,
        "White to move and mate in three",
        "M. Tern against O. Plover, Harbour Street, 2023",
        "1.Qh6 and 2.Qg7#",
        ("The queen stands before the king.", "The pawn on f6 protects her.", "", "No luft."),
        "queen before the king",
        case=case_of(chess.Board(LOLLI)),
    )


def _pages(pdf: bytes) -> int:
    assert pdf.startswith(b"%PDF-")
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


def _text(pdf: bytes, tmp_path: Path, page: int | None = None) -> str:
    tool = shutil.which("pdftotext")
    if tool is None:
        pytest.skip("pdftotext (poppler) is not on this machine: the text of the PDF is not read")
    file = tmp_path / "sheet.pdf"
    file.write_bytes(pdf)
    limits = ["-f", str(page), "-l", str(page)] if page else []
    done = subprocess.run([tool, *limits, str(file), "-"], capture_output=True, check=True)
    return " ".join(done.stdout.decode("utf-8").replace("\u200b", "").split())


def test_eight_diagrams_are_two_pages_and_the_key_begins_a_new_one(
    item: SheetItem, tmp_path: Path
) -> None:
    options = SheetOptions(title="Mates at the castled king")
    sheet = worksheet_pdf([item] * 8, options)
    assert _pages(sheet) == 2
    both = worksheet_and_key_pdf([item] * 8, options)
    assert _pages(both) == 2 + _pages(key_pdf([item] * 8, options))
    first, third = _text(both, tmp_path, 1), _text(both, tmp_path, 3)
    assert first.startswith("Mates at the castled king")
    assert first.count("White to move and mate in three") == 4
    assert first.count("M. Tern against O. Plover, Harbour Street, 2023") == 4
    assert "Name" in first
    assert "Date" in first
    assert "Qg7#" not in first
    assert "Answer key" in third
    assert "1.Qh6 and 2.Qg7#" in third
    assert "The queen stands before the king. The pawn on f6 protects her." in third
    assert "one guard only" in third


@pytest.mark.parametrize(
    ("options", "pages"),
    [
        (SheetOptions(columns=1), 4),
        (SheetOptions(columns=2, paper="letter"), 2),
        (SheetOptions(columns=3), 1),
        (SheetOptions(columns=3, paper="letter", answer_lines=1), 1),
        (SheetOptions(large_print=True), 4),
        (SheetOptions(large_print=True, paper="letter"), 4),
        (SheetOptions(large_print=True, columns=2, answer_lines=1), 2),
        (SheetOptions(coordinates=False, name_and_date=False, answer_lines=0), 2),
    ],
)
def test_layouts_fill_their_pages(item: SheetItem, options: SheetOptions, pages: int) -> None:
    assert _pages(worksheet_pdf([item] * 8, options)) == pages


def test_paper_sizes(item: SheetItem) -> None:
    """ISO 216 A4 is 210 by 297 mm; letter is 8.5 by 11 inches; a point is 1/72 inch."""
    for paper, size in (("a4", (595.28, 841.89)), ("letter", (612.0, 792.0))):
        pdf = worksheet_pdf([item], SheetOptions(paper=paper))  # type: ignore[arg-type]
        box = re.search(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", pdf)
        assert box
        assert (float(box[1]), float(box[2])) == pytest.approx(size, abs=0.1)


def test_white_men_survive_a_printer_of_one_bit(tmp_path: Path) -> None:
    """Poppler's one-bit mode draws fine strokes as hairlines; white men must still be there."""
    tool = shutil.which("pdftoppm")
    if tool is None:
        pytest.skip("pdftoppm (poppler) is not on this machine: the page is not printed")

    def ink(fen: str) -> int:
        file = tmp_path / "sheet.pdf"
        file.write_bytes(worksheet_pdf([SheetItem(fen)], SheetOptions(columns=1)))
        done = subprocess.run(
            [tool, "-mono", "-r", "150", str(file)], capture_output=True, check=True
        )
        assert done.stdout.startswith(b"P4")
        return sum(byte.bit_count() for byte in done.stdout)

    bare = ink("8/8/8/8/8/8/8/8 w - - 0 1")
    for men in ("1K6", "1Q6", "1R6", "1B6", "1N6"):  # b1 is a light square
        assert ink(f"8/8/8/8/8/8/8/{men} w - - 0 1") > bare + 150


def test_same_sheet_same_bytes_and_no_date(item: SheetItem) -> None:
    one = worksheet_and_key_pdf([item, item])
    assert one == worksheet_and_key_pdf([item, item])
    assert b"CreationDate" not in one


def test_tagged_with_title_language_and_readings(item: SheetItem) -> None:
    pdf = worksheet_and_key_pdf([item], SheetOptions(title="Harbour Street sheet"))
    assert b"/MarkInfo" in pdf
    assert b"/Lang(en)" in pdf
    assert b"pdfuaid" in pdf
    assert b"/Alt(Diagram 1. White: king g1, queen h4, rook e1" in pdf
    assert b"Diagram 1, final position. White: king g1, queen g7" in pdf
    german = SheetLabels(draw=Labels(language="de"), name="Name", date="Datum")
    assert b"/Lang(de)" in worksheet_pdf([item], SheetOptions(labels=german))


def test_markup_in_tags_is_printed_not_obeyed(item: SheetItem, tmp_path: Path) -> None:
    hostile = replace(
        item, task=HOSTILE, source=HOSTILE, solution=HOSTILE, name=HOSTILE, sentences=(HOSTILE,)
    )
    pdf = worksheet_and_key_pdf([hostile], SheetOptions(title=HOSTILE, columns=1))
    text = _text(pdf, tmp_path)
    assert text.count('#panic("x") $a^2$ \\ @ref <lbl> [x] {y} "q" \'s\' *b* _i_ `c`') >= 6
    assert text.count("<script>&amp;") >= 6


def test_text_is_made_plain() -> None:
    assert plain("a\r\nb\x00\x1b[31m\u202ec\td\ud800") == "a b[31mc d"
    assert plain("x" * 30) == "x" * 12 + "\u200b" + "x" * 12 + "\u200b" + "x" * 6
    assert plain("long words " * 9, 20) == "long words long word…"


def test_endless_text_stays_on_the_page(item: SheetItem, tmp_path: Path) -> None:
    endless = replace(
        item, task="x" * 9000, source="y " * 9000, sentences=("Word after word. " * 900,)
    )
    pdf = worksheet_and_key_pdf([endless, item], SheetOptions())
    text = _text(pdf, tmp_path)
    assert text.count("Word after word.") == 900  # the key runs on over pages, nothing lost
    assert _pages(worksheet_pdf([endless, item])) == 1


def test_scripts_that_the_book_faces_lack_do_not_stop_a_sheet(item: SheetItem) -> None:
    strange = replace(item, source="漢字 – עברית – 😀")
    assert _pages(worksheet_pdf([strange])) == 1


def test_bare_positions_can_be_printed(tmp_path: Path) -> None:
    items = [SheetItem("6k1/5ppp/8/8/8/8/8/K3R3 w - - 0 1"), SheetItem(LOLLI)]
    text = _text(worksheet_and_key_pdf(items), tmp_path, 1)
    assert "White to move" in text
    assert "Black to move" in text


def test_refusals(item: SheetItem) -> None:
    with pytest.raises(UsageError, match="no positions"):
        worksheet_pdf([])
    with pytest.raises(UsageError, match="title"):
        worksheet_pdf([item], SheetOptions(title=" \x00"))
    with pytest.raises(PositionError, match="FEN"):
        worksheet_pdf([SheetItem("nonsense")])
    for wrong in (
        {"columns": 4},
        {"columns": 0},
        {"paper": "a5"},
        {"answer_lines": 13},
        {"large_print": True, "columns": 3},
    ):
        with pytest.raises(UsageError):
            SheetOptions(**wrong)  # type: ignore[arg-type]
