"""`flightless open` as a coach runs it: a process that serves, and a second one that finds it."""

from __future__ import annotations

import contextlib
import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

COMMAND = [str(Path(sys.executable).with_name("flightless")), "open", "--no-browser"]

TRANSPORT = httpx.HTTPTransport(retries=5)


@pytest.fixture
def place(tmp_path: Path) -> dict[str, str]:
    return os.environ | {"XDG_DATA_HOME": str(tmp_path)}


@contextlib.contextmanager
def opened(place: dict[str, str]) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """The workbench in a process of its own, and its address."""
    pipe = subprocess.PIPE
    with subprocess.Popen(COMMAND, env=place, stdout=pipe, stderr=pipe, text=True) as process:
        try:
            assert process.stdout is not None
            said = process.stdout.readline()
            found = re.fullmatch(r"The workbench is open at (http://127\.0\.0\.1:\d+/)\n", said)
            assert found is not None, said
            yield process, found[1]
        finally:
            if process.poll() is None:
                process.kill()


def test_it_serves_and_ctrl_c_closes_it(place: dict[str, str]) -> None:
    with opened(place) as (process, address), httpx.Client(transport=TRANSPORT) as client:
        assert "The desk" in client.get(address).text
        process.send_signal(signal.SIGINT)
        assert process.wait(20) == 0
        with pytest.raises(httpx.ConnectError):
            client.get(address)


def test_a_second_one_points_to_the_first(place: dict[str, str]) -> None:
    """Two servers over one desk would both go on with its harvests."""
    with opened(place) as (_, address):
        second = subprocess.run(COMMAND, env=place, capture_output=True, text=True, timeout=60)
    assert second.returncode == 0
    assert second.stdout.strip() == f"The workbench is open already at {address}"


def test_a_killed_one_leaves_nothing_in_the_way(place: dict[str, str]) -> None:
    with opened(place) as (process, _):
        process.kill()
        process.wait()
    with opened(place) as (_, address), httpx.Client(transport=TRANSPORT) as client:
        assert client.get(address).status_code == 200


def test_a_folder_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    (tmp_path / "flightless").write_text("in the way", encoding="utf-8")
    place = os.environ | {"XDG_DATA_HOME": str(tmp_path)}
    done = subprocess.run(COMMAND, env=place, capture_output=True, text=True, timeout=60)
    assert done.returncode == 2
    assert str(tmp_path) in done.stderr
    assert "Traceback" not in done.stderr
