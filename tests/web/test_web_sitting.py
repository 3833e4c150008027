"""A coach's sitting in a real browser: the sample, the casebook, a sheet, exercises, safety."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import chess.pgn
import httpx
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect
from pypdf import PdfReader
from web_serving import served

from flightless.certify import brute
from flightless.exercises.calibrating import own_calibration
from flightless.exercises.results import own_results

EXAMPLES = Path(__file__).parents[2] / "examples" / "harbour-street"
MATE = "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1"


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory, browser: Browser) -> Iterator[str]:
    """A workbench whose casebook was filled with one click, and a set of exercises."""
    with served(tmp_path_factory.mktemp("sample") / "casebook.sqlite") as address:
        page = browser.new_page()
        page.goto(address + "/")
        page.get_by_role("button", name="Fill the casebook").click()
        expect(page.get_by_text("new positions are in")).to_be_visible(timeout=60_000)
        page.goto(address + "/exercises")
        page.get_by_label("How many").fill("14")
        page.get_by_role("button", name="Make it").click()
        expect(page.get_by_text("Try it as a pupil would")).to_be_visible(timeout=60_000)
        page.goto(address + "/casebook?order=class")
        for _ in range(200):
            if not page.get_by_text("still being weighed").count():
                break
            page.wait_for_timeout(500)
            page.reload()
        page.close()
        yield address


def pages_of(address: str) -> list[str]:
    """One address of each page."""
    found = [
        "/", "/position", f"/position?fen={MATE}", f"/position/line?fen={MATE}&moves=e2e8",
        "/position?fen=4R1k1/5ppp/8/8/8/8/8/6K1 b - - 0 1", "/position?fen=nonsense", "/nowhere",
        "/harvest", "/harvest/1", "/casebook", "/casebook?pattern=back rank", "/casebook/1",
        "/casebook?order=class", "/harvest/1?order=class", "/harvest/1?by=skeleton",
        f"/position/pairs?fen={MATE}", f"/position/like?fen={MATE}",
        f"/position/problem?fen={MATE}", f"/position/family?fen={MATE}", "/compose",
        "/compose?pattern=back rank", "/patterns", "/proofread",
        "/pattern?name=back rank", f"/position/learn?fen={MATE}&name=mine&description=my own",
        "/casebook/atlas", "/casebook/index", "/casebook/safety", "/sheet?ids=1,5,9", "/sheet",
        "/sheet/preview?ids=1,5,9&part=key", "/exercises/1/preview",
        "/exercises", "/exercises?ids=1,2,3", "/exercises/1", "/exercises/1/results", "/results",
        *(f"/exercises/1/{n}?hints=1" for n in (1, 3, 5, 6, 9)),
    ]  # fmt: skip
    return [address + one for one in found]


def test_the_sample_is_that_of_the_examples() -> None:
    import flightless.web

    folder = Path(flightless.web.__file__).parent / "sample"
    for name in ("classics.pgn", "club-2026.pgn"):
        assert (folder / name).read_bytes() == (EXAMPLES / name).read_bytes()


def test_no_page_breaks_the_rules_of_accessibility(sample: str, page: Page) -> None:
    """axe-core, all its rules, on every page in light and in dark."""
    axe = Axe()
    for address in pages_of(sample):
        page.goto(address)
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            only = {"runOnly": ["color-contrast"]} if scheme == "dark" else None
            found = axe.run(page, options=only).response["violations"]
            assert [(v["id"], [n["html"][:120] for n in v["nodes"]]) for v in found] == [], address


def test_every_page_fits_a_phone_and_a_large_zoom(sample: str, page: Page) -> None:
    """WCAG 2.2, 1.4.10 Reflow: no scrolling to the side, at 390 px and at 200 % of 1440 px."""
    for width in (390, 720):
        page.set_viewport_size({"width": width, "height": 800})
        for address in pages_of(sample):
            page.goto(address)
            assert page.evaluate("document.documentElement.scrollWidth") <= width, address


def test_no_page_is_heavy_and_none_asks_anybody_else(sample: str, page: Page) -> None:
    """Under 300 kB with all that it fetches, and nothing from another machine."""
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    for address in pages_of(sample):
        sizes: list[int] = []
        page.on("response", lambda r, s=sizes: s.append(_size(r)))  # type: ignore[misc]
        page.goto(address, wait_until="load")
        assert sum(sizes) < 300_000, address
        sizes.append(-10_000_000)  # later pages are not counted here
    hosts = {urlsplit(one).netloc for one in asked}
    assert hosts == {urlsplit(sample).netloc}


def _size(response) -> int:  # type: ignore[no-untyped-def]
    return len(response.body()) if response.status < 300 else 0


def test_every_page_has_its_own_heading_and_title(sample: str, page: Page) -> None:
    titles = set()
    for address in pages_of(sample):
        page.goto(address)
        expect(page.get_by_role("heading", level=1)).to_have_count(1)
        titles.add(page.title())
    assert len(titles) >= 22


def test_filters_stay_in_the_address(sample: str, page: Page) -> None:
    page.goto(sample + "/casebook")
    page.get_by_text("Look for some").click()
    page.get_by_label("Pattern").select_option("back rank")
    page.get_by_role("button", name="Look", exact=True).click()
    assert "pattern=back+rank" in page.url
    expect(page.locator(".card").first).to_contain_text("back-rank")
    first = httpx.get(sample + "/casebook").text
    after = re.search(r'href="(/casebook\?after=\d+)" rel="next"', first)
    assert after is not None
    second = httpx.get(sample + after[1]).text
    numbers = [set(re.findall(r'name="id" value="(\d+)"', text)) for text in (first, second)]
    assert len(numbers[0]) == 24
    assert not numbers[0] & numbers[1]


def test_tags_notes_and_a_sheet_that_was_used(sample: str, page: Page) -> None:
    page.goto(sample + "/casebook")
    boxes = page.locator("input[name=id]")
    for index in (1, 3, 5):
        boxes.nth(index).check()
    page.get_by_label("Tag", exact=True).last.fill("for Tuesday")
    page.get_by_role("button", name="Put on", exact=True).click()
    expect(page.get_by_text("for Tuesday")).to_have_count(3)
    for index in (1, 3, 5):
        boxes.nth(index).check()
    page.get_by_role("button", name="Put them on a sheet").click()
    expect(page.locator(".card")).to_have_count(3)
    page.get_by_label("Title").fill("Back ranks on Tuesday")
    page.get_by_role("button", name="So").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Back ranks on Tuesday")
    query = urlsplit(page.url).query
    pdf = httpx.get(f"{sample}/sheet/both.pdf?{query}")
    assert "Back ranks on Tuesday" in PdfReader(io.BytesIO(pdf.content)).pages[0].extract_text()
    pgn = httpx.get(f"{sample}/sheet/positions.pgn?{query}").text
    games = io.StringIO(pgn)
    assert sum(1 for _ in iter(lambda: chess.pgn.read_game(games), None)) == 3
    epd = httpx.get(f"{sample}/sheet/positions.epd?{query}").text.splitlines()
    assert len(epd) == 3
    for line in epd:
        chess.Board().set_epd(line)
    page.get_by_label("Used in the lesson").fill("Lesson 4")
    page.get_by_role("button", name="Note it").click()
    expect(page.locator(".card")).to_have_count(3)
    page.locator(".card a").first.click()
    page.get_by_label("Note").fill("<b>Ask</b> for the luft first.")
    page.get_by_role("button", name="Write it down").click()
    expect(page.get_by_label("Note")).to_have_value("<b>Ask</b> for the luft first.")


def test_nothing_ticked_is_said_in_words(sample: str, page: Page) -> None:
    page.goto(sample + "/casebook")
    page.get_by_role("button", name="Put them on a sheet").click()
    expect(page.locator(".lead")).to_contain_text("tick the box")


def test_the_atlas_counts_what_the_casebook_has(sample: str) -> None:
    text = httpx.get(sample + "/casebook/atlas?most=200").text
    counts = [int(n) for n in re.findall(r"(\d+) times?</span>", text)]
    total = re.search(r"skeletons of (\d+) mates", text)
    assert total is not None
    assert sum(counts) == int(total[1])
    assert counts == sorted(counts, reverse=True)
    assert httpx.get(sample + "/casebook/atlas.pdf").content.startswith(b"%PDF")


def test_pairs_stand_side_by_side(sample: str, page: Page) -> None:
    """Each left-hand position mates as it says and each right-hand one does not (python-chess)."""
    page.goto(f"{sample}/position/pairs?fen={MATE}")
    pairs = page.locator("figure.pair")
    before = page.locator("h3", has_text="no longer mates in two").count()
    assert 0 < before < pairs.count()
    for number, figure in enumerate(pairs.all()):
        left, right = (
            _drawn(html, chess.WHITE if number < before else chess.BLACK)
            for html in figure.locator(".drawing").evaluate_all(
                "all => all.map(one => one.innerHTML)"
            )
        )
        if number < before:
            assert len(brute.keys_within(left, 2)) == 1
            assert not brute.has_mate_within(right, 2)
        else:
            assert (left.is_checkmate(), right.is_checkmate()) == (True, False)
            assert "No mate" in figure.inner_text()


def _drawn(svg: str, turn: chess.Color) -> chess.Board:
    board = chess.Board(None)
    for square, man in re.findall(r'data-square="(..)" data-man="(.)"', svg):
        board.set_piece_at(chess.parse_square(square), chess.Piece.from_symbol(man))
    board.turn = turn
    return board


def test_alike_ones_come_with_a_reason(sample: str, page: Page) -> None:
    page.goto(f"{sample}/position/like?fen={MATE}")
    assert page.locator(".card").count() == 12
    for text in page.locator(".card").all_inner_texts():
        assert len(text) > 60


def test_exercises_are_tried_with_reasons_and_hints(sample: str, page: Page) -> None:
    """Every exercise of the set: its own answer is right, and nothing else is asked to be."""
    text = httpx.get(sample + "/exercises/1/set.toml").text
    assert text.count("[[exercise]]") >= 10
    tried = 0
    for place in range(1, 15):
        page.goto(f"{sample}/exercises/1/{place}")
        field = page.locator("#answer")
        if not field.count():
            continue
        field.fill("Zz9")
        page.get_by_role("button", name="Mark it").click()
        expect(page.locator(".verdict")).to_contain_text("no possible answer")
        page.get_by_role("button", name="A hint").click()
        expect(page.get_by_role("heading", name="Hints")).to_be_visible()
        tried += 1
    assert tried


def test_a_pupil_may_answer_on_the_board(sample: str, page: Page) -> None:
    for place in range(1, 15):
        page.goto(f"{sample}/exercises/1/{place}")
        if "Find it" in page.get_by_role("heading", level=1).inner_text():
            break
    page.locator('[role=gridcell][aria-label*="white king"]').click()
    page.locator('[role=gridcell][aria-label*="empty"]').first.click()
    assert re.fullmatch("([a-h][1-8]){2}", page.locator("#answer").input_value())


def test_a_set_is_changed(sample: str, page: Page) -> None:
    page.goto(sample + "/exercises/1")
    heads = page.get_by_role("heading", level=2)
    before = [text.split(". ")[-1] for text in heads.all_inner_texts()]
    page.get_by_role("button", name="Earlier with number 2").click()
    after = [text.split(". ")[-1] for text in heads.all_inner_texts()]
    assert after[:2] == [before[1], before[0]]
    page.get_by_role("button", name="Leave out number 1", exact=True).click()
    assert [t.split(". ")[-1] for t in heads.all_inner_texts()] == [before[0], *before[2:]]


def test_results_are_written_down_learnt_from_and_erased(sample: str, page: Page) -> None:
    """Nothing but a nickname and a day is asked; an erased pupil is in no file any more."""
    page.goto(sample + "/exercises/1")
    page.get_by_role("link", name="Write down how it went").click()
    expect(page.get_by_text("Local law on data protection comes first")).to_be_visible()
    page.get_by_label("Nickname").fill("Robin")
    groups = page.get_by_role("group")
    for place, outcome in ((0, "right"), (1, "late"), (2, "wrong")):
        groups.nth(place).get_by_label(outcome, exact=True).check()
    page.get_by_role("button", name="Write it down").click()
    expect(page.get_by_role("status")).to_contain_text("3 answers were written down")
    expect(page.get_by_role("row", name="Robin")).to_have_text("Robin111")
    kept = own_results().read_text(encoding="utf-8")
    assert kept.count("Robin") == 3
    assert own_calibration().exists()
    page.get_by_role("button", name="Erase every answer").click()
    expect(page.locator(".lead")).to_contain_text("tick 'yes, erase them'")
    page.go_back()
    page.get_by_label("yes, erase them").check()
    page.get_by_role("button", name="Erase every answer").click()
    expect(page.get_by_role("status")).to_contain_text("Every answer of Robin is erased")
    left = [own_results(), own_calibration()]
    assert not any("robin" in path.read_text(encoding="utf-8").lower() for path in left)


def test_backup_and_restore(sample: str, page: Page, tmp_path: Path) -> None:
    page.goto(sample + "/casebook/safety")
    with page.expect_download() as waiting:
        page.get_by_role("link", name="Take a copy").click()
    copy = tmp_path / "copy.sqlite"
    waiting.value.save_as(copy)
    assert waiting.value.suggested_filename == "casebook-2026-03-04.sqlite"
    held = page.get_by_text(re.compile("holds [0-9]+ positions")).inner_text()
    page.goto(sample + "/casebook")
    page.locator("input[name=id]").last.check()
    page.get_by_label("yes, take them out").check()
    page.get_by_role("button", name="Take out of the casebook").click()
    page.goto(sample + "/casebook/safety")
    assert page.get_by_text(re.compile("holds [0-9]+ positions")).inner_text() != held
    page.get_by_label("A copy that was taken here").set_input_files(copy)
    page.get_by_role("button", name="Put the copy in its place").click()
    expect(page.get_by_role("status")).to_contain_text("put aside")
    assert page.get_by_text(re.compile("holds [0-9]+ positions")).inner_text() == held


def test_what_is_no_backup_is_refused(sample: str, page: Page, tmp_path: Path) -> None:
    (tmp_path / "wrong.sqlite").write_bytes(b"not a casebook at all")
    page.goto(sample + "/casebook/safety")
    page.get_by_label("A copy that was taken here").set_input_files(tmp_path / "wrong.sqlite")
    page.get_by_role("button", name="Put the copy in its place").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("That could not be done")
    assert str(tmp_path.parent.parent) not in page.locator(".lead").inner_text()


def test_a_position_is_kept_with_its_proof(sample: str, page: Page) -> None:
    page.goto(f"{sample}/position?fen={MATE}")
    page.get_by_role("button", name="Keep it in the casebook").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("White mates in two")
    expect(page.get_by_role("link", name="back rank")).to_be_visible()


def test_a_whole_sitting_by_keyboard_alone(sample: str, page: Page) -> None:
    """Tab, Enter and Space alone, from the first page to a sheet with two positions."""

    def tab_to(wanted: str) -> None:
        for _ in range(150):
            page.keyboard.press("Tab")
            if page.evaluate("(w) => document.activeElement.matches(w)", wanted):
                return
        pytest.fail(f"{wanted} is not reached by the Tab key")

    page.goto(sample + "/")
    tab_to('nav a[href="/casebook"]')
    page.keyboard.press("Enter")
    page.wait_for_url("**/casebook")
    for _ in range(2):
        tab_to("input[name=id]")
        page.keyboard.press("Space")
    tab_to("button[value=sheet]")
    page.keyboard.press("Enter")
    page.wait_for_url("**/sheet**")
    expect(page.locator(".card")).to_have_count(2)
    tab_to(".card a")
    page.keyboard.press("Enter")
    page.wait_for_url("**/casebook/*")
    tab_to('main a[href^="/position"]')
    page.keyboard.press("Enter")
    page.wait_for_url("**/position?fen=**")
    tab_to("[role=gridcell]")
    page.keyboard.press("Delete")
    page.keyboard.press("Home")
    page.keyboard.press("Delete")
    tab_to("button[data-do=back]")
    page.keyboard.press("Enter")
    expect(page.locator(".answer .verdict")).not_to_be_empty()


def test_exercises_are_solved_by_keyboard_alone(sample: str, page: Page) -> None:
    """From the set to an answer that is marked, with Tab, Enter, Space and letters."""

    def tab_to(wanted: str) -> None:
        for _ in range(150):
            page.keyboard.press("Tab")
            if page.evaluate("(w) => document.activeElement.matches(w)", wanted):
                return
        pytest.fail(f"{wanted} is not reached by the Tab key")

    page.goto(sample + "/exercises")
    tab_to('main a[href="/exercises/1"]')
    page.keyboard.press("Enter")
    page.wait_for_url("**/exercises/1")
    tab_to('a[href="/exercises/1/1"]')
    page.keyboard.press("Enter")
    marked = 0
    while marked < 3:
        page.wait_for_selector("h1")
        if page.locator("#answer").count():
            tab_to("#answer")
            page.keyboard.type("Kh1")
            page.keyboard.press("Enter")
            expect(page.locator(".verdict")).not_to_be_empty()
            marked += 1
        elif page.locator("input[type=radio]").count():
            tab_to("input[type=radio]")
            page.keyboard.press("Space")
            tab_to("form button")
            page.keyboard.press("Enter")
            expect(page.locator(".verdict")).not_to_be_empty()
            marked += 1
        tab_to("a[rel=next]")
        page.keyboard.press("Enter")
        page.wait_for_load_state()


def test_the_best_for_class_come_first_and_say_why(sample: str, page: Page) -> None:
    """Positions with two first moves stand behind those with one, other things alike; and every
    one says how many (python-chess counts them for mates in one and two)."""
    page.goto(sample + "/casebook?order=class")
    expect(page.get_by_text("still being weighed")).to_have_count(0, timeout=1000)
    cards = page.locator(".card")
    counted = 0
    for card in cards.all()[:12]:
        text = card.inner_text()
        box = card.locator("input[name=id]").get_attribute("value")
        fen = httpx.get(f"{sample}/sheet/positions.epd?ids={box}").text
        board, moves = chess.Board(), 1 if "Mate in one" in text else 2
        board.set_epd(fen.splitlines()[0])
        if "Mate in one" in text or "Mate in two" in text:
            one = len(brute.keys_within(board, moves)) == 1
            assert ("One key" in text) == one, text
            counted += 1
    assert counted >= 6


def test_pages_print_without_what_cannot_be_pressed(sample: str, page: Page) -> None:
    page.goto(f"{sample}/position?fen={MATE}")
    page.emulate_media(media="print")
    expect(page.locator(".tray")).to_be_hidden()
    for one in page.locator("nav").all():
        expect(one).to_be_hidden()
    expect(page.locator(".drawing").first).to_be_visible()
    expect(page.get_by_role("table", name="The ledger")).to_be_visible()


def test_what_is_shown_is_printed(sample: str, page: Page) -> None:
    """Diagrams that can be ticked or moved are on paper too; boxes and buttons are not."""
    page.emulate_media(media="print")
    for path, shown in (
        ("/casebook", ".card svg"),
        ("/exercises/1", ".exercise svg"),
        (f"/position/family?fen={MATE}", ".card svg"),
        ("/harvest/1", ".card svg"),
    ):
        page.goto(sample + path)
        expect(page.locator(shown).first).to_be_visible()
        for one in ("button", "input", "fieldset"):
            assert not any(found.is_visible() for found in page.locator(one).all()), (path, one)
