"""`flightless prove` for long mates: threads, memory, and how far one may look."""

from __future__ import annotations

import json

import pytest

from commands import run
from flightless.certify import read_document, verify
from flightless.prove import LONGEST

# Steinitz - Von Bardeleben, Hastings 1895, after 25...Kg8 26.Rg7+ Kh8 (from memory): Steinitz
# showed a mate in nine from here, 27.Qh4+ to 35.Qd6.
HASTINGS = "r1r4k/pp1q2R1/5pp1/3p2N1/6Q1/8/PP3PPP/2R3K1 w - - 3 27"


# The longest mate with king and queen is ten moves (endgame books; from memory).
QUEEN = "7k/8/8/8/8/8/Q6K/8 w - - 0 1"


def test_a_long_mate_is_found_and_replays(capsys: pytest.CaptureFixture[str]) -> None:
    arguments = ["--within", "10", "--nodes", "3000000", "--memory", "32"]
    code, out, _ = run("prove", "--json", *arguments, HASTINGS, capsys=capsys)
    proof = read_document(out)
    assert (code, proof["verdict"], proof["moves"]) == (0, "mate", 9)
    assert proof["budget"] == 3_000_000
    assert verify(proof).ok


def test_two_threads_say_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    said = []
    for threads in ("1", "2"):
        arguments = ["--within", "10", "--threads", threads]
        code, out, _ = run("prove", "--json", *arguments, QUEEN, capsys=capsys)
        proof = read_document(out)
        assert code == 0
        assert proof["moves"] <= 10
        assert verify(proof).ok
        said.append([proof[name] for name in ("verdict", "moves", "shortest", "keys")])
    assert said[0] == said[1]


def test_one_may_look_as_far_as_the_prover_can(capsys: pytest.CaptureFixture[str]) -> None:
    arguments = ["--within", str(LONGEST), "--nodes", "2000000"]
    code, out, _ = run("prove", "--json", *arguments, QUEEN, capsys=capsys)
    assert code in (0, 3)
    assert json.loads(out)["within"] == LONGEST
    code, _, err = run("prove", "--within", str(LONGEST + 1), QUEEN, capsys=capsys)
    assert code == 2
    assert str(LONGEST) in err


@pytest.mark.parametrize(
    ("option", "value"), [("--threads", "0"), ("--threads", "3"), ("--memory", "0")]
)
def test_senseless_limits_are_refused(
    option: str, value: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run("prove", option, value, HASTINGS, capsys=capsys)
    assert (code, out) == (2, "")
    assert option in err
