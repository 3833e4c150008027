"""German: the same statements in another language, to show that the layers are apart."""

from __future__ import annotations

import re

import chess
import pytest
from approved_texts import Approved, account_of, all_texts

from flightless.words.german.grammar import GERMAN_EAR, a, his, men_on, number, plural, the
from flightless.words.notation import ear, steps

TEXTS = all_texts()

ENGLISH = re.compile(
    r"\b(the|king|queen|rook|knight|pawn|and|or|guards|protects|check|mate|with|would|square)\b"
)


@pytest.mark.parametrize("approved", TEXTS, ids=lambda a: a.path.stem)
def test_every_text_can_be_said_in_german(approved: Approved) -> None:
    """Well formed, no English word, the same sections as in English, and in each section the
    same squares."""
    german, english = account_of(approved, "de"), account_of(approved, "en")
    assert german.language == "de"
    assert [s.name for s in german.sections] == [s.name for s in english.sections]
    for sentence in german.sentences:
        assert re.match(r"[A-ZÄÖÜ]|[a-h][1-8]\b|\d+[.…]", sentence), sentence
        assert sentence.endswith("."), sentence
        assert "  " not in sentence, sentence
        assert not ENGLISH.search(sentence), sentence
        assert not re.search(r"\d[.…][QRN]", sentence), sentence
        assert len(sentence.split()) <= 40, sentence
    for section in english.sections:
        told = [" ".join(one.section(section.name)) for one in (german, english)]
        squares = [set(re.findall(r"[a-h][1-8]", text)) for text in told]
        assert squares[0] == squares[1], told


def test_cases_of_the_men() -> None:
    """Declension (Duden; 'Bauer' here weak, as chess books have it)."""
    assert [the(chess.PAWN, c) for c in ("nom", "acc", "dat", "gen")] == [
        "der Bauer",
        "den Bauern",
        "dem Bauern",
        "des Bauern",
    ]
    assert [the(chess.QUEEN, c) for c in ("nom", "acc", "dat", "gen")] == [
        "die Dame",
        "die Dame",
        "der Dame",
        "der Dame",
    ]
    assert a(chess.ROOK, "acc") == "einen Turm"
    assert plural(chess.ROOK, "dat") == "Türmen"
    assert his(chess.PAWN, True, "dat", own=True) == "seinen eigenen Bauern"
    assert his(chess.ROOK, False, own=True) == "sein eigener Turm"
    assert men_on([(chess.KNIGHT, chess.E8), (chess.BISHOP, chess.H6)]) == (
        "ein Springer auf e8 oder ein Läufer auf h6"
    )
    assert number(2) == "zwei"


def test_moves_for_the_german_ear() -> None:
    board = chess.Board("4r1k1/5ppp/8/8/8/7P/5PP1/4R1K1 w - - 0 2")
    (step,) = steps(board, [board.parse_san("Rxe8#")])
    assert ear(step, GERMAN_EAR) == "Turm schlägt e8, matt"
