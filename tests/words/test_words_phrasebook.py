"""The phrasebook is complete, and the plain verdicts are said plainly."""

from __future__ import annotations

import chess
import pytest

from flightless.cases.build import case_of
from flightless.errors import UsageError
from flightless.prove.proof import Proof
from flightless.words.explain import account, sentences
from flightless.words.facts import alike, further, nearly, statements, what_if
from flightless.words.phrasebook import LANGUAGES, phrasebook

START = "6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1"


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_statement_has_a_rule(language: str) -> None:
    """The public classes of the statements are what a phrasebook must know."""
    modules = (statements, alike, further, nearly, what_if)
    public = [getattr(module, name) for module in modules for name in module.__all__]
    kinds = {c for c in public if isinstance(c, type) and issubclass(c, statements.Statement)}
    assert set(phrasebook(language).rules) == kinds - {statements.Statement}


def test_no_mate() -> None:
    proof = Proof(START, "no mate", None, True, within=3, searched=3)
    assert sentences(proof, None) == ("White has no mate within three moves.",)


def test_undecided_says_how_far_it_got() -> None:
    proof = Proof(
        START, "undecided", None, False, 5, budget=200_000, searched=3, stopped_by="nodes"
    )
    assert sentences(proof, None) == (
        "Not decided: the search stopped at its budget of 200,000 positions.",
        "There is no mate in three; beyond that nothing is known.",
    )


def test_mated() -> None:
    fen = "7k/8/6K1/8/8/8/8/R7 b - - 0 1"
    line = (chess.Move.from_uci("h8g8"), chess.Move.from_uci("a1a8"))
    proof = Proof(fen, "mated", -1, True, 3, line=line)
    (told,) = sentences(proof, None)
    assert told.startswith("Black is mated in one, whatever Black plays.")
    assert "1…Kg8 2.Ra8 mate" in told


def test_unknown_language_is_refused() -> None:
    case = case_of(chess.Board("4R1k1/5ppp/8/8/8/8/5PP1/6K1 b - - 0 1"))
    with pytest.raises(UsageError, match="no phrasebook for language 'xx'"):
        account(None, case, language="xx")


def test_nothing_to_say_is_refused() -> None:
    with pytest.raises(UsageError, match="needs a proof or a case"):
        account(None, None)
