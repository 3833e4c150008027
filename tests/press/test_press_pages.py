"""Atlas and handout as PDF."""

from __future__ import annotations

import re
import shutil
import subprocess

import chess
import pytest

from flightless.cases.build import case_of
from flightless.cases.case import Case
from flightless.draw.atlas import AtlasEntry
from flightless.draw.ledger import ledger
from flightless.draw.marks import EVERY_ROLE, marks_of
from flightless.draw.whatif import removal_pair
from flightless.errors import UsageError
from flightless.press.atlas import atlas_pdf
from flightless.press.figures import board_figure, ledger_figure, pair_figures
from flightless.press.handout import HandoutSection, handout_pdf
from flightless.press.page import PageSetup

LOLLI = "r4rk1/pb3pQp/1p3Pp1/8/8/8/2q2PPP/4R1K1 b - - 0 1"
HOSTILE = '#panic("x") $a$ \\ @b <c> [d] *e* _f_ `g`'


def _pages(pdf: bytes) -> int:
    assert pdf.startswith(b"%PDF-")
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


def _text(pdf: bytes) -> str:
    tool = shutil.which("pdftotext")
    if tool is None:
        pytest.skip("pdftotext (poppler) is not on this machine: the text of the PDF is not read")
    done = subprocess.run([tool, "-", "-"], input=pdf, capture_output=True, check=True)
    return " ".join(done.stdout.decode("utf-8").replace("\u200b", "").split())


@pytest.fixture(scope="module")
def case() -> Case:
    return case_of(chess.Board(LOLLI))


def test_atlas_of_twenty(case: Case) -> None:
    entries = [AtlasEntry(case.skeleton.fen, 2000 - n, f"name {n} {HOSTILE}") for n in range(20)]
    page = PageSetup("Atlas " + HOSTILE)
    pdf = atlas_pdf(entries, page, total=9000, note="9,000 mates, Harbour Street " + HOSTILE)
    assert pdf == atlas_pdf(
        entries, page, total=9000, note="9,000 mates, Harbour Street " + HOSTILE
    )
    assert _pages(pdf) >= 2
    text = _text(pdf)
    assert "2,000 of 9,000" in text
    assert "1,981 of 9,000" in text
    assert text.count(HOSTILE) >= 20
    assert pdf.count(b"/Alt(White: king g1, queen g7, pawn f6. Black: king g8.") == 20


def test_handout_with_pair_and_ledger(case: Case) -> None:
    removal = next(r for r in case.removals if r.square == chess.F6)
    pair = removal_pair(case, removal)
    sections = [
        HandoutSection(
            "The mate " + HOSTILE,
            (board_figure(case.board, "The queen before the king.", marks=marks_of(case)),),
            ("The pawn protects her.", "", HOSTILE),
            (ledger_figure(ledger(case)),),
        ),
        HandoutSection("The work", pair_figures(pair, ("Mate.", "The king takes " + HOSTILE))),
    ]
    pdf = handout_pdf(sections, PageSetup("Lesson 4"), note="Harbour Street", legend=EVERY_ROLE)
    assert 1 <= _pages(pdf) <= 2
    assert pdf.count(b"/S/Figure") == 5
    text = _text(pdf)
    for wanted in ("The queen before the king.", "one guard only", "a way out for the king"):
        assert wanted in text
    assert text.count(HOSTILE) == 3


def test_large_print_and_letter_paper(case: Case) -> None:
    section = HandoutSection("The mate", (board_figure(case.board),), ("A sentence.",))
    pdf = handout_pdf([section], PageSetup("Lesson", paper="letter", large_print=True))
    assert re.search(rb"/MediaBox\s*\[\s*0 0 612 792\s*\]", pdf)


def test_refusals(case: Case) -> None:
    page = PageSetup("Atlas")
    entry = AtlasEntry(case.fen, 1)
    with pytest.raises(UsageError, match="no skeletons"):
        atlas_pdf([], page)
    with pytest.raises(UsageError, match="columns"):
        atlas_pdf([entry], page, columns=7)
    with pytest.raises(UsageError, match="no sections"):
        handout_pdf([], page)
    with pytest.raises(UsageError, match="title"):
        PageSetup(" ")
    with pytest.raises(UsageError, match="paper"):
        PageSetup("Atlas", paper="a5")  # type: ignore[arg-type]
