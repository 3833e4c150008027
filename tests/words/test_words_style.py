"""How the sentences are built: length, articles, spaces, nothing said twice, no praise."""

from __future__ import annotations

import re

import chess
import pytest
from approved_texts import account_of, all_texts

from flightless.cases.build import case_of
from flightless.patterns.recognise import catalogue, names
from flightless.words.account import SECTIONS, Account
from flightless.words.explain import account

LONGEST = 35
"""Words in a sentence: what can be said in one breath (common practice, no source)."""

EMPTY_WORDS = (
    *("beautiful", "brilliant", "elegant", "nice", "lovely", "great", "excellent", "amazing"),
    *("perfect", "devastating", "deadly", "clearly", "obviously", "simply", "just", "very"),
    *("really", "actually", "basically", "interestingly", "note"),
)


def accounts() -> list[Account]:
    """The approved accounts and those of the catalogue's examples, in both colours."""
    found = [account_of(a) for a in all_texts()]
    for pattern in catalogue().patterns:
        for example in (pattern.model, *pattern.variations):
            for board in (chess.Board(example.fen), chess.Board(example.fen).mirror()):
                case = case_of(board)
                found.append(account(None, case, names(case)))
    return found


@pytest.fixture(scope="module")
def told() -> list[Account]:
    return accounts()


def test_sentences_are_well_formed(told: list[Account]) -> None:
    """They start with a capital, a square or a move, end with a stop, and can be said."""
    for sentence in {s for a in told for s in a.sentences}:
        assert re.match(r"[A-Z]|[a-h][1-8]\b|\d+[.…]", sentence), sentence
        assert sentence.endswith("."), sentence
        assert "  " not in sentence, sentence
        assert not re.search(r" [,;.:]|,,|;;|\.\.", sentence), sentence
        assert len(sentence.split()) <= LONGEST, sentence
        assert sentence.isprintable(), sentence


def test_articles_and_repeated_words(told: list[Account]) -> None:
    """'a' and 'an' by sound, and no word twice running."""
    for sentence in {s for a in told for s in a.sentences}:
        assert not re.search(r"\b(\w+) \1\b", sentence), sentence
        assert not re.search(r"\ba (?=[aeio])", sentence, re.IGNORECASE), sentence
        assert not re.search(r"\ban (?=[^aeiouAEIOU\W])(?![fhlmnr]-)", sentence), sentence


def test_nothing_is_said_twice(told: list[Account]) -> None:
    """No sentence comes twice in one account."""
    for one in told:
        assert len(set(one.sentences)) == len(one.sentences), one.text


def test_no_empty_words(told: list[Account]) -> None:
    """No praise and no filler."""
    pattern = re.compile(rf"\b({'|'.join(EMPTY_WORDS)})\b", re.IGNORECASE)
    for sentence in {s for a in told for s in a.sentences}:
        assert not pattern.search(sentence), sentence


def test_sections_are_in_order(told: list[Account]) -> None:
    """The order of the telling, each section once and none empty."""
    for one in told:
        order = [SECTIONS.index(s.name) for s in one.sections]
        assert order == sorted(set(order))
        assert all(s.sentences for s in one.sections)
        assert one.sentences == tuple(s for section in one.sections for s in section.sentences)
        assert " ".join(one.paragraphs) == " ".join(one.sentences)


def test_at_most_three_ideas_save_him(told: list[Account]) -> None:
    """What would have saved him: luft, a defender, something in between, no more."""
    for one in told:
        lines = [s for s in one.section("saved") if not s.startswith("What is wrong")]
        assert len(lines) <= 3, lines


@pytest.mark.parametrize("pattern", catalogue().patterns, ids=lambda p: p.name)
def test_colours_exchanged_say_the_same(pattern) -> None:  # type: ignore[no-untyped-def]
    """With colours exchanged the account is the same, with ranks and colours exchanged."""
    board = chess.Board(pattern.model.fen)
    ours, theirs = case_of(board), case_of(board.mirror())
    first = account(None, ours, names(ours))
    second = account(None, theirs, names(theirs))
    if any(word in first.text for word in ("rank", "anywhere", "any square", " or ")):
        # ranges and lists are named from the lower square on: compare what is order-free
        assert [s.name for s in first.sections] == [s.name for s in second.sections]
        for name in ("work", "wrong"):
            assert len(first.section(name)) == len(second.section(name))
        return
    assert _exchanged(first.text) == second.text


def _exchanged(text: str) -> str:
    text = re.sub(r"\b([a-h])([1-8])\b", lambda m: f"{m[1]}{9 - int(m[2])}", text)
    text = re.sub(
        r"\b(dark|light)(?= squares|-squared)",
        lambda m: "light" if m[1] == "dark" else "dark",
        text,
    )
    return re.sub(r"\b(White|Black)'s", lambda m: "Black's" if m[1] == "White" else "White's", text)
