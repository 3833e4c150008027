"""What the workbench makes of a mate: its family, compositions, patterns; and pages to print."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import chess
import httpx
import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader
from web_serving import served

from flightless.certify import brute

MATE = "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1"


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with served(tmp_path_factory.mktemp("making") / "casebook.sqlite") as address:
        yield address


def _offered(text: str) -> list[tuple[str, str]]:
    """The positions with a box, and what is said of each."""
    found = re.findall(r'name="fen" value="([^"]+)"> ([^<]+)<', text)
    return [(unescape(fen), unescape(said)) for fen, said in found]


@pytest.mark.parametrize("fen", [MATE, "6rk/5Npp/8/8/8/8/8/6K1 b - - 0 1"])
def test_every_one_of_a_family_is_what_it_says(bench: str, fen: str) -> None:
    """Lengths and single first moves against a plain search with python-chess."""
    offered = _offered(httpx.get(f"{bench}/position/family", params={"fen": fen}).text)
    assert len(offered) >= 6
    for one, said in offered:
        board = chess.Board(one)
        assert board.is_valid(), one
        if said.endswith("has mated"):
            assert board.is_checkmate()
            continue
        moves = {"one": 1, "two": 2, "three": 3}[re.search(r"in (\w+)", said)[1]]  # type: ignore[index]
        if moves > 2:
            continue  # the plain search takes too long here; the room's own tests have these
        assert moves == 1 or not brute.has_mate_within(board, moves - 1)
        keys = brute.keys_within(board, moves)
        told = said.rpartition("…" if "…" in said else ".")[2].replace(" mate", "#")
        assert [board.san(move) for move in keys] == [told]


def test_ticked_ones_of_a_family_are_kept(bench: str, page: Page) -> None:
    page.goto(f"{bench}/position/family?fen={MATE}")
    boxes = page.locator("input[name=fen]")
    boxes.nth(0).check()
    boxes.nth(3).check()
    page.get_by_role("button", name="Keep the ticked ones").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("The casebook")
    expect(page.locator(".card")).to_have_count(2)


def test_nothing_ticked_is_refused_in_words(bench: str, page: Page) -> None:
    page.goto(f"{bench}/position/family?fen={MATE}")
    page.get_by_role("button", name="Keep the ticked ones").click()
    expect(page.locator(".lead")).to_contain_text("tick the box")


def test_a_position_without_a_mate_has_no_family(bench: str) -> None:
    answer = httpx.get(f"{bench}/position/family", params={"fen": chess.STARTING_FEN})
    assert answer.status_code == 422
    assert "Traceback" not in answer.text


def test_composed_positions_mate_in_one_by_one_move(bench: str, page: Page) -> None:
    page.goto(bench + "/compose")
    page.get_by_label("Pattern").select_option("back rank")
    page.get_by_role("button", name="Compose three").click()
    expect(page.locator(".card")).to_have_count(3)
    address = page.url
    offered = _offered(page.content())
    assert offered
    for fen, _ in offered:
        board = chess.Board(fen)
        assert board.is_valid()
        assert len(brute.keys_within(board, 1)) == 1
    page.goto(address)
    assert _offered(page.content()) == offered, "the same seed, the same positions"


def test_the_catalogue_shows_only_mates_as_examples(bench: str) -> None:
    """Every model and variation is mate by the rules (python-chess)."""
    names = re.findall(r'href="(/pattern\?name=[^"]+)"', httpx.get(bench + "/patterns").text)
    assert len(names) >= 30
    for address in names[::4]:
        text = httpx.get(bench + unescape(address)).text.partition("<h2>Not</h2>")[0]
        boards = [chess.Board(unescape(f).replace("+", " ").replace("%2F", "/"))
                  for f in re.findall(r"/position\?fen=([^\"&]+)", text)]  # fmt: skip
        assert boards
        assert all(board.is_checkmate() for board in boards), address
    assert httpx.get(bench + "/pattern?name=nobody's").status_code == 404


def test_a_pattern_of_ones_own(bench: str, page: Page) -> None:
    page.goto(f"{bench}/position?fen={MATE}")
    page.get_by_role("link", name="Make it a pattern of your own").click()
    page.get_by_label("Name").fill("Harbour <b>rank</b>")
    page.get_by_label("What it is").fill("a rook on the last rank of the harbour")
    page.get_by_role("button", name="See what it would catch").click()
    page.get_by_label("Lines slid").check()
    page.get_by_role("button", name="Write it down").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Harbour <b>rank</b>")
    page.goto(bench + "/patterns")
    expect(page.get_by_role("heading", name="Our own")).to_be_visible()
    page.goto(f"{bench}/position/learn?fen={MATE}&name=Harbour+<b>rank</b>&description=again")
    page.get_by_label("Exact").check()
    page.get_by_role("button", name="Write it down").click()
    expect(page.locator(".lead")).to_contain_text("pattern of your own with the name")


def test_leaves_are_the_pages_that_are_printed(bench: str, page: Page) -> None:
    """As many pictures as the PDF has pages, none past the last."""
    page.goto(f"{bench}/position?fen={MATE}")
    page.get_by_role("button", name="Keep it in the casebook").click()
    number = page.url.rpartition("/")[2]
    pdf = httpx.get(f"{bench}/sheet/key.pdf?ids={number}&title=Leaf")
    pages = len(PdfReader(io.BytesIO(pdf.content)).pages)
    page.goto(f"{bench}/sheet/preview?ids={number}&title=Leaf&part=key")
    expect(page.get_by_text(f"page 1 of {pages}")).to_be_visible()
    assert page.locator(".leaf").evaluate("one => one.naturalWidth") > 500
    for n in range(1, pages + 2):
        there = httpx.get(f"{bench}/sheet/page.png?ids={number}&part=key&page={n}")
        assert there.status_code == (200 if n <= pages else 404)
        assert (there.content[:4] == b"\x89PNG") == (n <= pages)


def test_an_old_sheet_is_proofread(bench: str, page: Page, tmp_path: Path) -> None:
    """The claims of tests/cli/test_proofread.py whose truth python-chess confirms there."""
    sheet = tmp_path / "drawer.epd"
    sheet.write_text(
        "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - dm 2; bm Re8+;\n"
        "5r1k/p4p1p/6p1/4N3/8/8/1B3PPP/6K1 w - - dm 2; bm Nxf7+;\n"
        "6k1/6pp/8/8/8/8/5PPP/4R1K1 w - - bm Rh9;\n",
        encoding="utf-8",
    )
    page.goto(bench + "/")
    page.get_by_role("link", name="Proofread a sheet").click()
    page.get_by_label("EPD lines").set_input_files(sheet)
    page.get_by_role("button", name="Proofread it").click()
    expect(page.get_by_text("1 of 3 sound")).to_be_visible()
    heads = page.get_by_role("heading", level=2).all_inner_texts()
    assert heads == ["Line 1: sound", "Line 2: not sound", "Line 3: not sound"]
    expect(page.get_by_text("A second key: 1.Nxg6+")).to_be_visible()
    assert str(tmp_path) not in page.content()


@pytest.mark.parametrize("content", [b"", b"\x00\xff\x01" * 40, b"<html>hello</html>"])
def test_what_is_no_sheet_is_said_so(
    bench: str, page: Page, tmp_path: Path, content: bytes
) -> None:
    sheet = tmp_path / "wrong.epd"
    sheet.write_bytes(content)
    page.goto(bench + "/proofread")
    page.get_by_label("EPD lines").set_input_files(sheet)
    page.get_by_role("button", name="Proofread it").click()
    expect(page.locator("main")).to_contain_text("wrong.epd")
    assert "desk" not in page.locator(".lead").inner_text()


def test_a_pawn_becomes_a_knight_in_an_answer_on_the_board(bench: str, page: Page) -> None:
    """1.f8=N mate and no queen: position ours; python-chess says that it is mate."""
    board = chess.Board("6br/5Ppk/7p/8/8/8/8/6K1 w - - 0 1")
    board.push_uci("f7f8n")
    assert board.is_checkmate()
    page.goto(f"{bench}/position?fen=6br/5Ppk/7p/8/8/8/8/6K1 w - - 0 1")
    page.get_by_role("button", name="Keep it in the casebook").click()
    page.goto(f"{bench}/exercises?ids={page.url.rpartition('/')[2]}")
    page.get_by_label("Title").fill("Knights\u202e\x07 " + "x" * 100)
    page.get_by_label("How many").fill("3")
    page.get_by_label("Without a mate").fill("0")
    page.get_by_label("Find the mate").check()
    page.get_by_role("button", name="Make it").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Knights " + "x" * 100)
    expect(page.get_by_text("1 exercise; 3 were wished for")).to_be_visible()
    page.set_viewport_size({"width": 390, "height": 800})
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.get_by_role("link", name="Try it as a pupil would").click()
    becomes = page.get_by_role("group", name="The pawn becomes a")
    expect(becomes).to_be_hidden()
    for square in ("f7", "f8"):
        page.locator(f'[data-square="{square}"][role=gridcell]').click()
    assert page.get_by_label("Your answer").input_value() == "f7f8q"
    expect(page.locator(".board [role=status]")).to_contain_text("buttons below")
    becomes.get_by_role("button", name="knight").click()
    assert page.get_by_label("Your answer").input_value() == "f7f8n"
    page.get_by_role("button", name="Mark it").click()
    expect(page.locator(".verdict")).to_have_text("Right.")


def test_two_windows_do_not_fight_over_a_set(bench: str, page: Page) -> None:
    """What one window shows is not what another has changed: nothing is done to a wrong one."""
    page.goto(f"{bench}/position?fen={MATE}")
    page.get_by_role("button", name="Keep it in the casebook").click()
    page.goto(bench + "/exercises")
    page.get_by_label("How many").fill("4")
    page.get_by_role("button", name="Make it").click()
    other = page.context.new_page()
    other.goto(page.url)
    other.get_by_role("button", name="Leave out number 1", exact=True).click()
    left = other.get_by_role("heading", level=2).all_inner_texts()
    page.get_by_role("button", name="Leave out number 1", exact=True).click()
    expect(page.locator(".lead")).to_contain_text("changed in another window")
    other.reload()
    assert other.get_by_role("heading", level=2).all_inner_texts() == left
    other.get_by_label("Title").fill("By the return key")
    other.get_by_label("Title").press("Enter")
    expect(other.get_by_role("heading", level=1)).to_have_text("By the return key")
    assert other.get_by_role("heading", level=2).all_inner_texts() == left


def test_the_index_counts_a_position_without_a_mate(bench: str, page: Page) -> None:
    page.goto(f"{bench}/position?fen=4k3/8/8/8/8/8/8/4K2R w - - 0 1")
    page.get_by_role("button", name="Keep it in the casebook").click()
    page.goto(bench + "/casebook/index")
    expect(page.get_by_role("heading", level=1)).to_have_text("Index of the casebook")
    assert "not known" not in page.locator("main").inner_text()
