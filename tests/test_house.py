"""The house itself: imports flow one way, and nothing heavy loads before it is needed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


def test_imports_flow_one_way() -> None:
    result = subprocess.run(
        [str(Path(sys.executable).with_name("lint-imports")), "--no-cache"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert result.returncode == 0, result.stdout + result.stderr


def test_style_and_types() -> None:
    for command in (
        ["ruff", "check", "."],
        ["ruff", "format", "--check", "."],
        ["mypy"],
    ):
        result = subprocess.run(
            [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
        )
        assert result.returncode == 0, f"{command}: {result.stdout}{result.stderr}"


@pytest.mark.parametrize(
    "module",
    [
        "flightless",
        "flightless.positions",
        "flightless.cli.app",
        "flightless.prove",
        "flightless.prove.proof",
        "flightless.cases",
        "flightless.cases.case",
        "flightless.patterns",
        "flightless.harvest",
        "flightless.words",
        "flightless.draw",
        "flightless.press",
        "flightless.explain",
        "flightless.certify",
    ],
)
def test_importing_loads_nothing_compiled(module: str) -> None:
    code = f"import sys, {module}; sys.exit('numba' in sys.modules)"
    assert subprocess.call([sys.executable, "-c", code]) == 0


def test_no_machine_path_or_registry_host_is_committed() -> None:
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if listed.returncode != 0:
        pytest.skip("not a git checkout, so there is no list of committed files")
    needles = ["/" + "work/", "pypi" + ".org", "files.python" + "hosted"]
    for name in filter(None, listed.stdout.split("\0")):
        path = ROOT / name
        if not path.is_file():
            continue
        text = path.read_bytes().decode("utf-8", "replace")
        assert not any(needle in text for needle in needles), name
