"""The catalogue's own tests: every file's model, variations and near misses, in both colours
and every turn that the rules allow; and what PATTERNS, the law of the names, asks for."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import chess
import pytest

from flightless.cases.build import case_of
from flightless.patterns.recognise import catalogue, names
from flightless.patterns.vocabulary import Example, Pattern

# Word for word the names of the definitions (docs/patterns.md), by family.
NAMES = """
back rank · corridor · two-rook ladder · heavy pieces on the seventh · epaulette · swallow's tail ·
Cozio · queen before the king · supported queen beside the king · queen on the edge, rook behind ·
king and rook · king and queen · Lolli · Damiano · Anderssen · pawn mate ·
queen and bishop at the castled king · Greco · Morphy · Pillsbury · Mayet ·
rook and bishop at the home square · Réti · smothered · Boden · two bishops side by side ·
Blackburne · Légal · bishop and knight at the castled king · Anastasia · Arabian ·
rook, knight and pawn in a chain · knight mate in the corner · queen and knight at the castled king
"""
WANTED = {" ".join(name.split()) for name in NAMES.split("·")}

PATTERNS = catalogue().patterns
IDS = [pattern.name for pattern in PATTERNS]

TURNS: dict[str, Callable[[chess.Bitboard], chess.Bitboard]] = {
    "turned a quarter": chess.flip_anti_diagonal,
    "reflected in the long diagonal": chess.flip_diagonal,
    "upside down": chess.flip_vertical,
}


def found(board: chess.Board) -> list[str]:
    return [name.name for name in names(case_of(board))]


def mirrors(board: chess.Board) -> list[chess.Board]:
    """The position, its mirror of the files, and both with colours exchanged."""
    mirrored = board.copy()
    mirrored.castling_rights = 0
    mirrored = mirrored.transform(chess.flip_horizontal)
    return [board, mirrored, board.mirror(), mirrored.mirror()]


def test_the_names_are_those_of_the_definitions() -> None:
    assert {pattern.name for pattern in PATTERNS} == WANTED


def test_the_names_are_those_of_the_shared_page() -> None:
    page = Path(__file__).parents[3] / "shared" / "PATTERNS.md"
    if not page.exists():
        pytest.skip(f"{page} is not on this machine")
    tables = page.read_text(encoding="utf-8").split("## Every mate")[0]
    rows = [line.split("|")[1].strip() for line in tables.splitlines() if line.startswith("| ")]
    page_names = {re.sub(r"\s*\(.*\)", "", row) for row in rows if row != "name"}
    assert page_names == {pattern.name for pattern in PATTERNS}


@pytest.mark.parametrize("pattern", PATTERNS, ids=IDS)
def test_each_file_has_what_a_coach_needs(pattern: Pattern) -> None:
    assert pattern.description != pattern.name
    assert pattern.family != "our own"
    assert len(pattern.variations) >= 2
    assert len(pattern.near_misses) >= 2
    assert all(example.note for example in (pattern.model, *pattern.variations))
    assert all(example.note for example in pattern.near_misses), "a near miss says why"
    fens = [e.fen for e in (pattern.model, *pattern.variations, *pattern.near_misses)]
    assert len(set(fens)) == len(fens)


@pytest.mark.parametrize("pattern", PATTERNS, ids=IDS)
def test_model_and_variations_match_in_both_colours_and_mirrors(pattern: Pattern) -> None:
    colours = set()
    for example in (pattern.model, *pattern.variations):
        board = chess.Board(example.fen)
        colours.add(board.turn)
        assert board.is_checkmate(), example.fen
        home = pattern.name == "rook and bishop at the home square"
        for number, seen in enumerate(mirrors(board)):
            expected = not (home and number in (1, 3))  # d8 is nobody's home square
            assert (pattern.name in found(seen)) == expected, seen.fen()
    assert colours == {chess.WHITE, chess.BLACK}, "examples of both colours"


@pytest.mark.parametrize("pattern", PATTERNS, ids=IDS)
def test_near_misses_do_not_match(pattern: Pattern) -> None:
    for example in pattern.near_misses:
        board = chess.Board(example.fen)
        if not board.is_checkmate():
            continue  # the reason says what saves the king; the next test holds it to that
        for seen in mirrors(board):
            assert pattern.name not in found(seen), seen.fen()


@pytest.mark.parametrize("pattern", PATTERNS, ids=IDS)
def test_near_misses_that_are_no_mate_are_check_with_an_answer(pattern: Pattern) -> None:
    misses = [chess.Board(example.fen) for example in pattern.near_misses]
    for board in misses:
        assert board.is_check(), board.fen()
        assert board.is_checkmate() or any(board.legal_moves)


def _turned(example: Example) -> list[chess.Board]:
    board = chess.Board(example.fen)
    board.castling_rights = 0
    boards = [board.transform(turn) for turn in TURNS.values()]
    return [b for b in boards if b.is_valid() and b.is_checkmate()]


@pytest.mark.parametrize("pattern", PATTERNS, ids=IDS)
def test_patterns_without_working_pawns_match_on_every_edge(pattern: Pattern) -> None:
    """Where a turned example is still a legal mate, the name stays unless the form is bound
    to the files' mirror (its pawns work, or its king is at home)."""
    free = all(form.freedom == "every edge" for form in pattern.forms)
    for example in (pattern.model, *pattern.variations):
        for board in _turned(example):
            if free:
                assert pattern.name in found(board), board.fen()


@pytest.mark.parametrize(
    ("name", "fen", "stays"),
    [
        ("back rank", "7R/6p1/6pk/6p1/8/8/8/K7 b - - 0 1", ["corridor"]),
        ("Damiano", "6Q1/5P1k/7p/8/8/8/8/K7 b - - 0 1", ["supported queen beside the king"]),
    ],
)
def test_pawns_and_home_ranks_do_not_turn(name: str, fen: str, stays: list[str]) -> None:
    """The picture of the name, turned: legal and mate, but no longer the named one."""
    assert name in WANTED
    assert found(chess.Board(fen)) == stays


def test_a_parent_comes_after_its_children() -> None:
    for pattern in PATTERNS:
        for example in (pattern.model, *pattern.variations):
            order = found(chess.Board(example.fen))
            for name in order:
                for parent in catalogue()[name].parents:
                    assert parent not in order or order.index(parent) > order.index(name)


def test_a_bishop_merely_on_the_right_diagonal_gives_no_name() -> None:
    """The sentence of the definitions; the bishop on b2 does nothing here."""
    board = chess.Board("3R2k1/5ppp/8/8/8/8/1B3PPP/6K1 b - - 0 1")
    assert found(board) == ["back rank", "corridor"]


def test_essential_men_must_stand_together_in_one_skeleton() -> None:
    """Rook and pawn, or rook and rook, hold h7 and g7: never a name from a mixture."""
    board = chess.Board("R6k/1R4pp/8/8/8/8/8/6K1 b - - 0 1")
    case = case_of(board)
    assert len(case.skeletons) == 2
    assert found(board) == ["back rank", "corridor"]


def test_the_page_shows_every_name_as_it_is_shown() -> None:
    page = Path(__file__).parents[2] / "docs" / "patterns.md"
    lines = page.read_text(encoding="utf-8").splitlines()
    for pattern in PATTERNS:
        assert f"| {pattern.name} | {pattern.shown} |" in lines


def test_the_page_explains_every_word_of_a_file() -> None:
    page = (Path(__file__).parents[2] / "docs" / "patterns.md").read_text(encoding="utf-8")
    words = set()
    for pattern in PATTERNS:
        text = Path(pattern.file).read_text(encoding="utf-8")
        words |= set(re.findall(r"^(\w+) =", text, re.MULTILINE))
    explained = set(re.findall(r"`(\w+)(?: = true)?`", page))
    assert words - explained == set()
