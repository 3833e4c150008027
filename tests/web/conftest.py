"""A workbench over an empty casebook, a client without a network, and a real browser."""

from __future__ import annotations

import contextlib
import shutil
import socket
import threading
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Browser, Page, sync_playwright

from flightless.core.compiled import prepare
from flightless.web.app import create_app

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def moment() -> datetime:
    return datetime(2026, 3, 4, 5, 6, tzinfo=UTC)


@contextlib.contextmanager
def served(casebook: Path) -> Iterator[str]:
    """The workbench on a free port, as `flightless open` serves it."""
    prepare(lambda _: None)
    listening = socket.socket()
    listening.bind(("127.0.0.1", 0))
    server = uvicorn.Server(
        uvicorn.Config(
            create_app(casebook, moment),
            log_level="error",
            access_log=False,
            timeout_graceful_shutdown=2,
        )
    )
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    until = time.monotonic() + 30
    while not server.started and time.monotonic() < until:
        time.sleep(0.02)
    try:
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join(20)
        listening.close()


@pytest.fixture(scope="session")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of one workbench for all tests that do not mind each other."""
    with served(tmp_path_factory.mktemp("desk") / "casebook.sqlite") as address:
        yield address


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's Chromium, or whichever Playwright has."""
    path = shutil.which("chromium") or shutil.which("chromium-browser")
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
