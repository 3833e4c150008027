"""Files of games in the browser: hostile ones, broken ones, stopped and gone on, from two tabs."""

from __future__ import annotations

import json
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import httpx
import pytest
from playwright.sync_api import Page, expect
from web_serving import served

from flightless.casebook import Casebook
from flightless.harvest.records import Progress
from flightless.web import work
from flightless.web.work import Harvests

EXAMPLES = Path(__file__).parents[2] / "examples" / "harbour-street"
EVIL = '<img src=x onerror="window.hurt=1"><script>window.hurt=1</script>'
HOSTILE = f"""[Event "{EVIL.replace('"', "'")}"]
[White "Al{EVIL.replace('"', "'")}"]
[Black "</script><script>window.hurt=1</script>"]
[Date "2026.01.02"]
[Result "0-1"]

1. f3 {{ {EVIL} }} e5 2. g4 Qh4# {{ <svg onload=window.hurt=1> }} 0-1

[Event "broken <script>window.hurt=1</script>"]

1. e4 e5 2. Qh9 *
"""


@pytest.fixture
def own(tmp_path: Path) -> Iterator[str]:
    with served(tmp_path / "casebook.sqlite") as address:
        yield address


def give(page: Page, address: str, path: Path, *, keep: bool = False) -> None:
    page.goto(address + "/harvest")
    page.get_by_label("Files of games").set_input_files(path)
    if keep:
        page.get_by_label("keep everything found").check()
    page.get_by_role("button", name="Read them").click()
    expect(page.get_by_text("games read").first).to_be_visible()


def test_hostile_games_are_text_and_nothing_else(own: str, page: Page, tmp_path: Path) -> None:
    path = tmp_path / "<b>evil&.pgn"
    path.write_text(HOSTILE, encoding="utf-8")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    give(page, own, path, keep=True)
    expect(page.get_by_text("1 games read, 1 skipped; 1 finds")).to_be_visible(timeout=20_000)
    page.get_by_text("was skipped").click()
    expect(page.get_by_text("Qh9").first).to_be_visible()
    for where in ("/casebook", "/casebook/1", "/casebook/2", "/sheet?ids=1,2", "/harvest/1",
                  "/casebook/atlas", "/casebook/index", "/harvest"):  # fmt: skip
        page.goto(own + where)
        assert page.evaluate("window.hurt") is None
        assert page.locator("main img:not(.leaf), main script").count() == 0
    expect(page.get_by_role("link", name="evil")).to_be_visible()
    page.goto(own + "/casebook/1")
    expect(page.get_by_text("onerror").first).to_be_visible()
    assert {urlsplit(one).netloc for one in asked} == {urlsplit(own).netloc}


def test_finds_are_picked(own: str, page: Page) -> None:
    give(page, own, EXAMPLES / "club-2026.pgn")
    expect(page.locator(".card").first).to_be_visible(timeout=20_000)
    page.wait_for_load_state("networkidle")
    page.goto(own + "/harvest/1?kind=missed&order=short")
    cards = page.locator(".card")
    assert cards.count() > 1
    for text in cards.all_inner_texts():
        assert "mate missed" in text
    page.locator("input[name=id]").first.check()
    page.get_by_role("button", name="Keep the ticked ones").click()
    expect(page.get_by_role("status")).to_contain_text("1 new positions")
    page.goto(own + "/casebook")
    expect(page.locator(".card")).to_have_count(1)


@pytest.mark.parametrize("content", [b"", b"\x00\x01\x02\xff" * 50, b"hello, no games here"])
def test_files_without_games_say_so(own: str, page: Page, tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "wrong.pgn"
    path.write_bytes(content)
    page.goto(own + "/harvest")
    page.get_by_label("Files of games").set_input_files(path)
    page.get_by_role("button", name="Read them").click()
    expect(page.locator(".reading .lead")).to_be_visible(timeout=20_000)
    expect(page.get_by_text("wrong.pgn").last).to_be_attached()
    assert str(tmp_path) not in page.locator("main").inner_text()


def test_a_reading_is_erased(own: str, page: Page, tmp_path: Path) -> None:
    """Names in games may be those of minors: files and finds go from the disk."""
    give(page, own, EXAMPLES / "classics.pgn")
    expect(page.get_by_text("31 games read;")).to_be_visible(timeout=30_000)
    folder = tmp_path / "casebook.desk" / "harvests" / "1"
    assert folder.exists()
    page.get_by_role("button", name="Erase this reading").click()
    expect(page.locator(".lead")).to_contain_text("tick 'yes, erase it'")
    page.go_back()
    page.get_by_label("yes, erase it").check()
    page.get_by_role("button", name="Erase this reading").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Collect from games")
    expect(page.get_by_role("heading", name="Read before")).to_have_count(0)
    assert httpx.get(own + "/harvest/1").status_code == 422
    assert not folder.exists()


def test_a_reading_is_erased_while_it_is_weighed(own: str, page: Page, tmp_path: Path) -> None:
    give(page, own, EXAMPLES / "classics.pgn")
    expect(page.get_by_text("31 games read;")).to_be_visible(timeout=30_000)
    page.get_by_role("link", name="the best for use in class first").click()
    expect(page.get_by_text("still being weighed")).to_be_visible()
    page.get_by_label("yes, erase it").check()
    page.get_by_role("button", name="Erase this reading").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Collect from games")
    assert not (tmp_path / "casebook.desk" / "harvests" / "1").exists()
    give(page, own, EXAMPLES / "classics.pgn")  # the desk works on
    expect(page.get_by_text("31 games read;")).to_be_visible(timeout=30_000)


def test_two_tabs_see_one_harvest(own: str, page: Page) -> None:
    other = page.context.new_page()
    give(page, own, EXAMPLES / "classics.pgn", keep=True)
    other.goto(page.url)
    for tab in (page, other):
        expect(tab.get_by_text("31 games read")).to_be_visible(timeout=30_000)
    with httpx.stream("GET", own + "/harvest/1/events", timeout=5) as stream:
        told = [line for line in stream.iter_lines() if line.startswith("data:")]
    assert json.loads(told[-1][5:])["stage"] == "done"


def test_stopped_and_gone_on_nothing_is_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A harvest stopped in the middle and gone on in another process's stead has every find
    once, as one that was never stopped."""
    games = [(EXAMPLES / name).read_bytes() for name in ("classics.pgn", "club-2026.pgn")]

    def begin(place: Path) -> tuple[Harvests, int]:
        harvests = Harvests(place)
        number, folder = harvests.new_folder()
        for index, text in enumerate(games):
            (folder / "files" / f"{index}.pgn").write_bytes(text)
        return harvests, number

    whole, number = begin(tmp_path / "whole")
    whole.begin(number, tmp_path / "whole" / "harvests" / "1", "whole")
    wait(whole, number, "done")
    wanted = told(whole, number)
    assert len(wanted) > 60

    halves, number = begin(tmp_path / "halves")
    first = threading.Event()
    real = work.harvest_to

    def slow(out, paths, limits, progress, bad, jobs):  # type: ignore[no-untyped-def]
        def heard(now: Progress) -> None:
            progress(now)
            if now.games and not first.is_set():
                first.set()
                halves.stop(number)

        return real(out, paths, limits, heard, bad, jobs=jobs)

    monkeypatch.setattr(work, "harvest_to", slow)
    halves.begin(number, tmp_path / "halves" / "harvests" / "1", "halves")
    wait(halves, number, "stopped")
    found = len(list(halves.finds(number)))
    assert 0 < found < len(wanted)
    halves.close()
    monkeypatch.setattr(work, "harvest_to", real)

    again = Harvests(tmp_path / "halves")
    assert again.get(number).stage == "stopped"
    again.go_on(number, None)
    again.go_on(number, None)  # from the other tab
    wait(again, number, "done")
    assert told(again, number) == wanted
    again.close()
    whole.close()


def told(harvests: Harvests, number: int) -> list[dict[str, object]]:
    """The finds, without the folders of their files."""
    found = [find.document for find in harvests.finds(number)]
    for document in found:
        document["source"]["file"] = Path(document["source"]["file"]).name
    return found


def wait(harvests: Harvests, number: int, stage: str) -> None:
    until = time.monotonic() + 60
    while harvests.get(number).stage != stage:
        assert time.monotonic() < until, harvests.get(number)
        assert harvests.get(number).stage != "failed", harvests.get(number).said
        time.sleep(0.02)


def test_geometry_is_filled_in(tmp_path: Path) -> None:
    with Casebook.open(tmp_path / "casebook.sqlite") as book:
        harvests = Harvests(tmp_path)
        number, folder = harvests.new_folder()
        (folder / "files" / "a.pgn").write_bytes((EXAMPLES / "classics.pgn").read_bytes())
        harvests.begin(number, folder, "a", book=book)
        wait(harvests, number, "done")
        harvests.close()
        # A mate's way in has no line of its own; its mate is counted where it stands.
        assert {e.kinds for e in book.without_geometry().entries} == {("given",)}
        assert list(book.geometry_keys())
