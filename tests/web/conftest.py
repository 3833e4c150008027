"""A workbench over an empty casebook, a client without a network, and a real browser."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright
from web_serving import served

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session", autouse=True)
def own_folders(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """No test touches the patterns or the data of whoever runs it."""
    with pytest.MonkeyPatch.context() as patch:
        folder = tmp_path_factory.mktemp("own")
        patch.setenv("FLIGHTLESS_PATTERNS", str(folder / "patterns"))
        patch.setenv("XDG_DATA_HOME", str(folder / "data"))
        yield


@pytest.fixture(scope="session")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of one workbench for all tests that do not mind each other."""
    with served(tmp_path_factory.mktemp("desk") / "casebook.sqlite") as address:
        yield address


def chromium() -> str | None:
    """Debian's Chromium; None for whichever Playwright has."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's Chromium, or whichever Playwright has."""
    path = chromium()
    with sync_playwright() as playwright:
        if path is None and not Path(playwright.chromium.executable_path).exists():
            pytest.skip("no browser is here: neither Debian's chromium nor Playwright's own")
        found = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield found
        found.close()


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A fresh page; what its scripts complain of fails the test."""
    context = browser.new_context(viewport={"width": 1440, "height": 900})
    context.set_default_timeout(10_000)
    one = context.new_page()
    faults: list[str] = []
    one.on("pageerror", lambda error: faults.append(str(error)))
    yield one
    context.close()
    assert faults == []
