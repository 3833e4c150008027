"""The pages on one position in a real browser: by mouse, by touch, by keyboard, and what if."""

from __future__ import annotations

from urllib.parse import quote

import httpx
import pytest
from playwright.sync_api import Page, expect

FORCED = "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1"
MATED = "4R1k1/5ppp/8/8/8/8/8/6K1 b - - 0 1"


def at(desk: str, fen: str) -> str:
    return f"{desk}/position?fen={quote(fen)}"


def test_a_position_is_explained(desk: str, page: Page) -> None:
    """The first worked example of the house's voice (positions ours, facts by brute force)."""
    page.goto(at(desk, FORCED))
    expect(page.get_by_role("heading", level=1)).to_have_text("Mate in two.")
    expect(page.get_by_text("The only first move is 1.Re8+").first).to_be_visible()
    ledger = page.get_by_role("table", name="The ledger")
    expect(ledger.get_by_role("row")).to_have_count(6)
    expect(ledger.get_by_role("row", name="g7 pawn – one")).to_be_visible()
    expect(page.get_by_text("The skeleton", exact=True)).to_be_visible()


@pytest.mark.parametrize(
    ("text", "title"),
    [
        (FORCED, "Mate in two."),
        ("1. f3 e5 2. g4 Qh4#", "It is mate"),
        ('[Event "x"]\n\n1. e4 e5 2. Qh5 Nc6 3. Bc4 Nf6 4. Qxf7# 1-0', "It is mate"),
    ],
)
def test_what_is_pasted_is_read(desk: str, page: Page, text: str, title: str) -> None:
    page.goto(desk + "/")
    page.get_by_label("Paste a position").fill(text)
    page.get_by_role("button", name="Examine it").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(title.rstrip("."))


@pytest.mark.parametrize("text", ["nonsense", "1. e4 e5 2. Qh7", "8/8/8/8/8/8/8/8 w - - 0 1"])
def test_what_cannot_be_read_says_so(desk: str, page: Page, text: str) -> None:
    page.goto(desk + "/")
    page.get_by_label("Paste a position").fill(text)
    page.get_by_role("button", name="Examine it").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("That could not be done")


def square(page: Page, name: str):  # type: ignore[no-untyped-def]
    return page.locator(f'[data-square="{name}"][role=gridcell]')


def verdict(page: Page):  # type: ignore[no-untyped-def]
    return page.locator(".answer .verdict")


def test_what_if_by_two_clicks(desk: str, page: Page) -> None:
    """With the pawn on h6 instead of h7 the king has luft (trade's rule, checked by the rules)."""
    page.goto(at(desk, MATED))
    square(page, "h7").click()
    square(page, "h6").click()
    expect(verdict(page)).to_contain_text("No mate")
    row = page.locator(".ledger-after tr", has_text="h7")
    expect(row).to_contain_text("free")
    expect(page.locator(".answer .said")).to_contain_text("h7")
    page.get_by_role("button", name="As it was").click()
    expect(verdict(page)).to_contain_text("It is mate")


def test_what_if_by_dragging_off(desk: str, page: Page) -> None:
    page.goto(at(desk, MATED))
    box = square(page, "g7").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 10, box["y"] + 10)
    page.mouse.down()
    page.mouse.move(box["x"] + 60, box["y"] + 200, steps=4)
    page.mouse.move(5, 5, steps=4)
    page.mouse.up()
    expect(square(page, "g7")).to_have_attribute("aria-label", "g7, empty")
    expect(verdict(page)).to_contain_text("No mate")


def test_what_if_by_dragging_on_the_board(desk: str, page: Page) -> None:
    page.goto(at(desk, MATED))
    square(page, "e8").drag_to(square(page, "a8"))
    expect(square(page, "a8")).to_have_attribute("aria-label", "a8, white rook")
    expect(verdict(page)).to_contain_text("It is mate")


def test_a_man_from_the_tray(desk: str, page: Page) -> None:
    page.goto(at(desk, MATED))
    page.get_by_role("button", name="black knight").click()
    square(page, "f6").click()
    expect(verdict(page)).to_contain_text("No mate")
    page.get_by_role("link", name="Examine this one").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Black")


def test_without_a_check_it_is_no_mate(desk: str, page: Page) -> None:
    page.goto(at(desk, MATED))
    square(page, "e8").focus()
    page.keyboard.press("Delete")
    expect(verdict(page)).to_have_text("No mate: there is no check.")


def test_an_impossible_change_is_told_in_words(desk: str, page: Page) -> None:
    page.goto(at(desk, MATED))
    square(page, "g8").focus()
    page.keyboard.press("Delete")
    expect(verdict(page)).to_contain_text("Black has no king")


def test_board_is_a_grid_with_one_tab_stop(desk: str, page: Page) -> None:
    """WAI-ARIA Authoring Practices 1.2, grid: one tab stop, arrows, Home and End."""
    page.goto(at(desk, MATED))
    grid = page.get_by_role("grid")
    expect(grid.get_by_role("row")).to_have_count(8)
    expect(grid.get_by_role("gridcell")).to_have_count(64)
    expect(grid.locator("[tabindex='0']")).to_have_count(1)
    square(page, "e1").focus()
    page.keyboard.press("ArrowUp")
    expect(square(page, "e2")).to_be_focused()
    page.keyboard.press("End")
    expect(square(page, "h2")).to_be_focused()
    page.keyboard.press("Control+Home")
    expect(square(page, "a8")).to_be_focused()
    page.keyboard.press("ArrowUp")
    expect(square(page, "a8")).to_be_focused()
    expect(grid.locator("[tabindex='0']")).to_have_count(1)


def test_turned_board_keeps_its_squares(desk: str, page: Page) -> None:
    page.goto(at(desk, MATED))
    before = square(page, "g8").bounding_box()
    page.get_by_role("button", name="Turn the board").click()
    expect(page.locator(".drawing desc")).to_contain_text("Seen from Black")
    after = square(page, "g8").bounding_box()
    assert before is not None
    assert after is not None
    assert after["y"] > before["y"] + 100
    man = page.locator('.drawing [data-square="g8"]').bounding_box()
    assert man is not None
    assert abs(man["x"] + man["width"] / 2 - after["x"] - after["width"] / 2) < 3
    assert abs(man["y"] + man["height"] / 2 - after["y"] - after["height"] / 2) < 12


def test_targets_on_a_phone(desk: str, page: Page) -> None:
    """WCAG 2.2, 2.5.8 Target Size (Minimum): 24 by 24 CSS pixels."""
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(at(desk, MATED))
    for target in (*page.get_by_role("gridcell").all(), *page.get_by_role("button").all()):
        box = target.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= 24


def test_stepping_through_the_proof(desk: str, page: Page) -> None:
    page.goto(at(desk, FORCED))
    page.get_by_role("link", name="Step through the proof").click()
    page.get_by_role("link", name="rook to e8, check").click()
    page.get_by_role("link", name="rook takes e8", exact=True).click()
    page.get_by_role("link", name="rook takes e8, mate").click()
    expect(page.get_by_text("Mate.", exact=True)).to_be_visible()
    page.get_by_role("link", name="One move back").click()
    expect(page.get_by_role("heading", level=2)).to_contain_text("White plays")


def test_set_up_and_examine_by_keyboard_alone(desk: str, page: Page) -> None:
    """From the first page to the verdict without a mouse."""
    page.goto(desk + "/position")
    square(page, "e1").focus()
    page.keyboard.press("Delete")
    for key in ("ArrowRight", "ArrowRight", "K"):  # g1
        page.keyboard.press(key)
    page.keyboard.press("Control+Home")
    page.keyboard.press("R")  # a8
    page.keyboard.press("End")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("k")  # g8; the king of e8 goes there
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowDown")
    for _ in range(3):
        page.keyboard.press("p")
        page.keyboard.press("ArrowRight")
    page.get_by_role("button", name="Other side to move").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_label("Its FEN")).to_have_value("R5k1/5ppp/8/8/8/8/8/6K1 b - - 0 1")
    page.get_by_label("Its FEN").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("It is mate")


def test_pictures_and_proof_are_files(desk: str) -> None:
    for part in ("diagram", "end", "ledger", "marks"):
        answer = httpx.get(f"{desk}/position/{part}.svg", params={"fen": FORCED})
        assert answer.headers["content-type"] == "image/svg+xml"
        assert answer.text.startswith("<svg")
    proof = httpx.get(f"{desk}/position/proof.json", params={"fen": FORCED}).json()
    assert proof["keys"] == ["e2e8"]


def test_castling_is_set_up_where_king_and_rook_stand(desk: str, page: Page) -> None:
    """FIDE Laws, 3.8.2: who castles has king and rook where they began."""
    page.goto(desk + "/position")
    field = page.get_by_label("Its FEN")
    square(page, "h1").focus()
    page.keyboard.press("R")
    page.get_by_label("White, short").check()
    expect(field).to_have_value("4k3/8/8/8/8/8/8/4K2R w K - 0 1")
    page.get_by_label("Black, long").click()
    expect(verdict(page)).to_contain_text("needs king and rook where they began")
    expect(page.get_by_label("Black, long")).not_to_be_checked()
    square(page, "h1").focus()
    page.keyboard.press("Delete")
    expect(field).to_have_value("4k3/8/8/8/8/8/8/4K3 w - - 0 1")
    square(page, "e1").focus()
    page.keyboard.press("Delete")
    expect(field).to_have_value("4k3/8/8/8/8/8/8/8 w - - 0 1")  # what stands there, no older one


def test_a_turn_that_is_passed_is_no_move(desk: str) -> None:
    """The UCI protocol writes a null move as 0000; the Laws know none (1.1)."""
    answer = httpx.get(f"{desk}/position/line", params={"fen": FORCED, "moves": "0000"})
    assert answer.status_code == 422
    assert "cannot be played" in answer.text
