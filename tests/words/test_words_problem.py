"""The solution page: as problem books set it, and every move on it played by python-chess.

Positions and solutions are those of `tests/cases/test_cases_problem.py`, from memory there.
"""

from __future__ import annotations

import random
import re
import subprocess
import sys
from pathlib import Path

import chess
import pytest

from flightless.cases.problem import problem_of
from flightless.certify.brute import keys_within
from flightless.errors import UsageError
from flightless.words.problem import problem_page

MORPHY = "kbK5/pp6/1P6/8/8/8/8/R7 w - - 0 1"
CHARLES = "8/6R1/7p/5K1k/8/6p1/5bPP/4N3 w - - 0 1"
BENKO = "8/8/8/8/4k3/8/8/2BQKB2 w - - 0 1"
EXCELSIOR = "n1rb4/1p3p1p/1p6/1R5K/8/p3p1PN/1PP1R3/N6k w - - 0 1"
# A double check by discovery either way; ours.
TWO_KEYS = "5r1k/p4p1p/6p1/4N3/8/8/1B3PPP/6K1 w - - 0 1"
MATES_IN_TWO = Path(__file__).parents[1] / "cases" / "mates_in_two.fen"


def page(fen: str, within: int = 5, language: str = "en", stipulated: int | None = None) -> str:
    problem = problem_of(chess.Board(fen), within, stipulated=stipulated)
    return "\n".join(problem_page(problem, language))


def test_a_mate_in_two_as_a_book_sets_it() -> None:
    assert (
        page(MORPHY)
        == """\
#2  (3+4)

Set play
  1…B~  2.Rxa7#

Tries
  1.Ra5?  1…a6!

Key
  1.Ra6!  zugzwang
  1…B~  2.Rxa7#
  1…bxa6  2.b7#"""
    )


def test_a_mate_in_three_as_a_book_sets_it() -> None:
    assert (
        page(CHARLES)
        == """\
#3  (5+4)

Tries
  1.Rg5+?  1…hxg5!
  1.Nd3? (2.Nf4+)  1…Be3!
  1.Nf3?  1…Be1!
  1.hxg3?  1…Bxe1!

Key
  1.Rxg3!  (2.Rh3+ Bh4 3.g4#)
  1…Bxg3  2.Nf3 zugzwang 2…B~ 3.g4#"""
    )


def test_a_short_threat_and_a_minor_dual() -> None:
    assert page(BENKO).endswith(
        """\
Key
  1.Bc4!  (2.Qd5#)
  1…Ke5  2.Qd5+ Kf6 3.Qg5#
  1…Kf5  2.Qf3+ / 2.Qh5+  [minor dual]
        2…Ke5  3.Qf4#
        2…Kg6  3.Qf7#"""
    )


def test_a_promotion_dual_stands_behind_what_the_first_move_does() -> None:
    """The pawn may become a queen or a rook; ours."""
    said = page("8/2P5/8/8/8/1K6/8/k7 w - - 0 1")
    assert "  1…Kb1  2.c8=Q zugzwang / 2.c8=R  [minor dual]\n        2…Ka1  3.Qc1#\n" in said


def test_german_letters_and_words() -> None:
    said = page(CHARLES, language="de")
    assert "Verführungen\n  1.Tg5+?  1…hxg5!" in said
    assert said.endswith(
        "Schlüssel\n  1.Txg3!  (2.Th3+ Lh4 3.g4#)\n  1…Lxg3  2.Sf3 Zugzwang 2…L~ 3.g4#"
    )
    assert not re.search(r"[RNBQ]", re.sub(r"^#.*", "", said))


def test_a_language_without_words_is_refused() -> None:
    with pytest.raises(UsageError, match="no words for language 'xx'"):
        page(MORPHY, language="xx")


def test_two_keys_are_a_cook() -> None:
    said = page(TWO_KEYS)
    assert "Cooked: two first moves solve it, 1.Nxf7+ and 1.Nxg6+." in said
    assert "Solution 1\n  1.Nxf7+!\n  1…Kg8  2.Nh6#" in said
    assert "Solution 2\n  1.Nxg6+!\n  1…Kg8  2.Ne7#" in said
    assert "1…Rg8  2.Nxf7# / 2.Nxg6#  [dual]" in said
    assert "Nebenlösig: zwei erste Züge lösen, 1.Sxf7+ und 1.Sxg6+." in page(TWO_KEYS, 5, "de")


def test_of_many_keys_some_are_played_and_all_are_named() -> None:
    fen = "2k2K2/R7/8/8/8/8/8/1R6 w - - 0 1"  # two rooks and a lone king
    keys = keys_within(chess.Board(fen), 2)
    assert len(keys) == 13
    said = page(fen)
    assert said.splitlines()[2].count("1.") == 13
    assert said.count("\nSolution ") == 4
    assert said.endswith("Other solutions whose play is not shown: nine.")


STATED = {
    "short": (BENKO, 3, 4, "#4  (4+1)", "mate in four is stipulated, and there is one in three."),
    "longer": (
        BENKO,
        3,
        2,
        "#2  (4+1)",
        "there is no mate within two moves. There is one in three.",
    ),
    "none": (chess.STARTING_FEN, 2, None, "(16+16)", "there is no mate within two moves."),
    "none in one": (chess.STARTING_FEN, 1, None, "(16+16)", "no mate within one move."),
}


@pytest.mark.parametrize("what", STATED)
@pytest.mark.parametrize("language", ["en", "de"])
def test_what_is_wrong_is_stated_plainly(what: str, language: str) -> None:
    fen, within, stipulated, heading, sentence = STATED[what]
    lines = page(fen, within, language, stipulated).splitlines()
    assert lines[0] == heading
    assert lines[1] == ""
    assert language == "de" or lines[2].endswith(sentence)


def test_what_is_left_out_is_said() -> None:
    said = page(EXCELSIOR)
    assert said.startswith("#5  (8+10)\n\nKey\n  1.b4!  (2.Rf5, 2.Rd5)\n")
    assert "  1…Rc5+  2.bxc5 a2 3." in said
    assert said.endswith("Left out: set play, tries, duals and variations after the second move.")


def test_undecided_is_said() -> None:
    problem = problem_of(chess.Board(EXCELSIOR), 5, budget=100)
    assert problem_page(problem)[0] == "(8+10)"
    assert problem_page(problem)[2] == "Not decided: the budget was spent first."


def test_mate_in_one_has_a_key_alone() -> None:
    assert page("6k1/5ppp/8/8/8/8/5PPP/4R1K1 w - - 0 1") == "#1  (5+4)\n\nKey\n  1.Re8#"


def test_black_to_move_is_numbered_as_a_score_is() -> None:
    board = chess.Board(CHARLES).mirror()
    said = page(board.fen())
    assert said.splitlines()[0] == "#3  (4+5)  Black to move"
    assert "  1…Rxg6!  (2…Rh6+ 3.Bh5 g5#)" in said
    assert "  2.Bxg6  Nf6 zugzwang 3.B~ g5#" in said


LINE = re.compile(r"(?P<defences>1….*?)  2\.(?P<answer>\S+#)(?P<more>( / 2\.\S+#)*)")


def test_every_move_on_a_page_is_played_and_mates() -> None:
    """Variations and set play of random mates in two, White to move, as they are printed."""
    fens = [line for line in MATES_IN_TWO.read_text().splitlines() if " w " in line]
    played = 0
    for fen in random.Random(2).sample(fens, 60):
        problem = problem_of(chess.Board(fen), 2)
        board = None
        heads = {f"{problem.board.san(key.move)}!": key.move for key in problem.keys}
        for line in problem_page(problem):
            text = line.strip()
            if text.startswith("Set play"):
                board = problem.board
                board.push(chess.Move.null())
            elif text.startswith("1.") and text.split()[0][2:] in heads:
                board = problem.board
                board.push(heads[text.split()[0][2:]])
            elif text.startswith(("Tries", "More mates")):
                board = None
            match = LINE.fullmatch(re.sub(r"  \[.*\]$", "", text))
            if match and board is not None:
                answers = [match["answer"], *re.findall(r"2\.(\S+)", match["more"])]
                for defence in defences(board, match["defences"][2:]):
                    play(board, defence, answers)
                    played += 1
    assert played > 100


def defences(board: chess.Board, text: str) -> list[chess.Move]:
    """The moves that a printed list of defences stands for; 'R~' is left to the other test."""
    return [board.parse_san(san) for san in text.split(", ") if not san.endswith("~")]


def play(board: chess.Board, defence: chess.Move, answers: list[str]) -> None:
    then = board.copy(stack=False)
    then.push(defence)
    mating = {then.san(move) for move in then.legal_moves if then.san(move).endswith("#")}
    assert mating == set(answers), then.fen()


def test_any_move_of_a_man_is_said_only_where_it_is_true() -> None:
    """'R~' stands for all moves of the man that no other line of the same list has."""
    fens = [line for line in MATES_IN_TWO.read_text().splitlines() if " w " in line]
    seen = 0
    for fen in fens[:40]:
        problem = problem_of(chess.Board(fen), 2)
        text = "\n".join(problem_page(problem))
        for variations, board in lists(problem):
            for variation in variations:
                for origin in {move.from_square for move in variation.defences}:
                    name = chess.square_name(origin)
                    man = board.piece_at(origin)
                    assert man is not None
                    told = {m for v in variations for m in v.defences if m.from_square == origin}
                    legal = {m for m in board.legal_moves if m.from_square == origin}
                    if told != legal and man.piece_type != chess.PAWN:
                        kind = man.symbol().upper()
                        alone = len(board.pieces(man.piece_type, man.color)) == 1
                        letter = kind if alone else kind + name
                        assert text.count(f"…{letter}~") <= others(problem, variations)
                    seen += len(legal) > 2
    assert seen > 50


def lists(problem):  # type: ignore[no-untyped-def]
    """Each list of variations with the board on which its replies are made."""
    board = problem.board
    if problem.set_play:
        board.push(chess.Move.null())
        yield problem.set_play, board.copy(stack=False)
    for key in problem.keys:
        board = problem.board
        board.push(key.move)
        yield key.variations, board


def others(problem, variations) -> int:  # type: ignore[no-untyped-def]
    """In how many of the other lists the sign might rightly stand."""
    return sum(found is not variations for found, _ in lists(problem))


@pytest.mark.parametrize(
    "module",
    ["flightless.words.problem", "flightless.cases.problem_record", "flightless.uci.opinion"],
)
def test_importing_loads_nothing_compiled(module: str) -> None:
    code = f"import sys, {module}; sys.exit('numba' in sys.modules)"
    assert subprocess.call([sys.executable, "-c", code]) == 0
