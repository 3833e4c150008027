"""Composed problems: published ones with their published keys, and every part by brute force.

The referee is python-chess alone (`problem_referee`, `certify.brute`).
"""

from __future__ import annotations

import json
import random
from dataclasses import dataclass
from pathlib import Path

import chess
import problem_referee as referee
import pytest

from flightless.cases.problem import Play, Problem, Variation, problem_of
from flightless.cases.problem_play import dual_kind
from flightless.cases.problem_record import problem_document
from flightless.cases.tries import tries_of
from flightless.certify.brute import has_mate_within, keys_within, mated_within
from flightless.errors import PositionError
from strategies import scatter

MATES_IN_TWO = Path(__file__).with_name("mates_in_two.fen")


@dataclass(frozen=True)
class Published:
    fen: str
    moves: int
    key: str
    lines: tuple[str, ...]


# All from memory, positions and solutions; each was taken only because the search and plain
# python-chess find the published key, alone, in the published number of moves.
PUBLISHED = {
    # Paul Morphy, New York Clipper, 1856.
    "morphy": Published(
        "kbK5/pp6/1P6/8/8/8/8/R7 w - - 0 1", 2, "Ra6", ("Ra6 bxa6 b7#", "Ra6 Bc7 Rxa7#")
    ),
    # The mate named after J. J. W. Heinse's novel 'Anastasia und das Schachspiel', 1803, in the
    # setting in which primers show it.
    "heinse": Published(
        "5r1k/1b2Nppp/8/2R5/4Q3/8/5PPP/6K1 w - - 0 1", 2, "Qxh7+", ("Qxh7+ Kxh7 Rh5#",)
    ),
    # Sam Loyd, Chess Monthly, 1859 ('Charles XII at Bender'), the first of its four parts.
    "charles": Published(
        "8/6R1/7p/5K1k/8/6p1/5bPP/4N3 w - - 0 1", 3, "Rxg3", ("Rxg3 Bxg3 Nf3 Be1 g4#",)
    ),
    # The same, after 'a bullet has taken the knight'.
    "charles, knight off": Published(
        "8/6R1/7p/5K1k/8/6p1/5bPP/8 w - - 0 1", 4, "hxg3", ("hxg3 Be3 Rg4 Bg5 Rh4+ Bxh4 g4#",)
    ),
    # The same, after 'a bullet has taken the pawn' too.
    "charles, pawn off": Published(
        "8/6R1/7p/5K1k/8/6p1/5bP1/8 w - - 0 1",
        5,
        "Rb7",
        ("Rb7 Be3 Rb1 Bg5 Rh1+ Bh4 Rh2 gxh2 g4#",),
    ),
    # The same, if the first bullet had taken the rook instead of the knight.
    "charles, rook off": Published(
        "8/8/7p/5K1k/8/6p1/5bPP/4N3 w - - 0 1",
        6,
        "Nf3",
        ("Nf3 Be1 Nxe1 Kh4 h3 Kh5 Nd3 Kh4 Nf4 h5 Ng6#",),
    ),
    # Sam Loyd: the whole army, and the king put where he is mated in three; 19th century.
    "loyd": Published(
        "8/8/8/8/7k/8/PPPPPPPP/RNBQKBNR w KQ - 0 1",
        3,
        "d4",
        ("d4 Kh5 Qd3 Kg4 Qh3#", "d4 Kg4 e4+ Kh4 g3#"),
    ),
    # Pal Benko, Chess Life, 1960s.
    "benko": Published("8/8/8/8/4k3/8/8/2BQKB2 w - - 0 1", 3, "Bc4", ("Bc4 Ke5 Qd5+ Kf6 Qg5#",)),
    # Sam Loyd, The Era (London), 1861 ('Excelsior').
    "excelsior": Published(
        "n1rb4/1p3p1p/1p6/1R5K/8/p3p1PN/1PP1R3/N6k w - - 0 1",
        5,
        "b4",
        ("b4 Rc5+ bxc5 a2 c6 Bc7 cxb7 axb1=Q bxa8=Q#",),
    ),
}


def mated_in(board: chess.Board, moves: int) -> bool:
    """Whether the side to move is mated within so many moves, by python-chess alone."""
    if moves <= 2:
        return mated_within(board, moves)
    replies = [referee.after(board, reply) for reply in board.legal_moves]
    return bool(replies) and all(
        any(mated_in(referee.after(then, move), moves - 1) for move in then.legal_moves)
        for then in replies
    )


@pytest.mark.parametrize("name", PUBLISHED)
def test_published_problems_have_their_published_key(name: str) -> None:
    published = PUBLISHED[name]
    board = chess.Board(published.fen)
    problem = problem_of(board, within=published.moves)
    key = board.parse_san(published.key)
    assert (problem.verdict, problem.moves) == ("sound", published.moves)
    assert [play.move for play in problem.keys] == [key]
    if published.moves > 3:
        return  # too long for python-chess; the tests of the prover replay such proofs
    assert not has_mate_within(board, min(published.moves - 1, 2))
    solving = [
        move
        for move in board.legal_moves
        if mated_in(referee.after(board, move), published.moves - 1)
    ]
    assert solving == [key]


@pytest.mark.parametrize("name", [n for n, p in PUBLISHED.items() if n != "excelsior"])
def test_published_lines_are_in_the_play(name: str) -> None:
    published = PUBLISHED[name]
    problem = problem_of(chess.Board(published.fen), within=published.moves)
    for text in published.lines:
        board = problem.board
        moves = [board.push_san(san) for san in text.split()]
        assert board.is_checkmate()
        assert follows(problem.keys[0], moves), text


def follows(play: Play, line: list[chess.Move]) -> bool:
    """Whether a line is in the play, as far as the play was followed."""
    if play.move != line[0]:
        return False
    if len(line) == 1 or not play.followed:
        return True
    for variation in (*play.variations, *play.idle):
        if line[1] in variation.defences:
            if variation.play.move == line[2]:
                return follows(variation.play, line[2:])
            return line[2] in variation.duals or any(t.move == line[2] for t in play.threats)
    return False


def mates_in_two(count: int) -> list[chess.Board]:
    """Random small positions with a mate in two, and some that were kept for other tests."""
    chance = random.Random(5)
    kept = [line for line in MATES_IN_TWO.read_text().splitlines() if line and line[0] != "#"]
    boards = [chess.Board(line) for line in chance.sample(kept, count // 2)]
    boards.append(chess.Board("2k2K2/R7/8/8/8/8/8/1R6 w - - 0 1"))  # a complete block
    while len(boards) < count:
        few = len(boards) % 2 == 0
        board = scatter(chance, 1, 3) if few else scatter(chance, 4, 12)
        if any(board.legal_moves) and problem_of(board, within=2).moves == 2:
            boards.append(board)
    return boards


def test_mates_in_two_part_by_part_against_brute_force() -> None:
    seen = dict.fromkeys(
        ("threat", "zugzwang", "check", "dual", "try", "block", "cooked", "idle", "in check"), 0
    )
    for board in mates_in_two(30):
        problem = problem_of(board, within=2)
        assert problem.moves == 2
        assert not has_mate_within(board, 1)
        check_problem(board, problem)
        count(problem, seen)
    assert all(seen.values()), seen


def test_mates_in_three_part_by_part_against_brute_force() -> None:
    chance = random.Random(8)
    found = 0
    while found < 5:
        board = scatter(chance, 2, 5)
        if not any(board.legal_moves) or board.legal_moves.count() > 25:
            continue
        problem = problem_of(board, within=3)
        if problem.moves != 3:
            continue
        found += 1
        assert not has_mate_within(board, 2)
        check_problem(board, problem)


def check_problem(board: chess.Board, problem: Problem) -> None:
    moves = problem.moves
    assert moves is not None
    if moves == 2:
        assert {key.move for key in problem.keys} == set(keys_within(board, 2)), board.fen()
    assert (problem.verdict == "cooked") == (len(problem.keys) > 1)
    check_set_play(board, problem, moves)
    tries = referee.tries(board, moves)
    assert {one.move: one.refutation for one in problem.tries} == tries, board.fen()
    for one in problem.tries:
        then = referee.after(board, one.move)
        assert one.check == then.is_check()
        assert set(one.threats) == referee.threats(then, moves)[1]
    ours = {one.move for one in tries_of(board, moves).tries if one.refutation is not None}
    assert ours == set(tries)
    for key in problem.keys:
        check_play(board, key)


def check_set_play(board: chess.Board, problem: Problem, moves: int) -> None:
    if board.is_check():
        assert problem.set_play is None
        return
    assert problem.set_play is not None
    passed = referee.after(board, chess.Move.null())
    expected = referee.set_play(board, moves)
    assert found(problem.set_play) == expected, board.fen()
    replies = passed.legal_moves.count()
    assert problem.complete_block == (replies > 0 and len(expected) == replies)
    check_variations(passed, problem.set_play)


def found(variations: tuple[Variation, ...]) -> dict[chess.Move, tuple[int, set[chess.Move]]]:
    """Each reply, with the number of moves to mate and the moves that keep to it."""
    out = {}
    for variation in variations:
        for defence in variation.defences:
            assert defence not in out
            out[defence] = variation.play.moves, set(variation.continuations)
    return out


def check_play(board: chess.Board, play: Play) -> None:
    """A followed play, and all below it."""
    then = referee.after(board, play.move)
    assert play.check == then.is_check()
    if play.moves == 1:
        assert then.is_checkmate()
        return
    length, threats = referee.threats(then, play.moves)
    assert {threat.move for threat in play.threats} == threats, board.fen()
    assert play.is_zugzwang == (not then.is_check() and not threats)
    passed = referee.after(then, chess.Move.null()) if threats else then
    for threat in play.threats:
        assert threat.moves == length
        check_play(passed, threat)
    replies = {
        reply: referee.soonest(referee.after(then, reply), play.moves - 1)
        for reply in then.legal_moves
    }
    idle = referee.idle(then, length, threats)
    assert found(play.idle) == {reply: replies[reply] for reply in idle}, board.fen()
    met = {reply: answer for reply, answer in replies.items() if reply not in idle}
    assert found(play.variations) == met, board.fen()
    check_variations(then, play.variations)


def check_variations(then: chess.Board, variations: tuple[Variation, ...]) -> None:
    for variation in variations:
        assert (variation.kind is None) == (not variation.duals)
        sans = set()
        for defence in variation.defences:
            after = referee.after(then, defence)
            sans.add(after.san(variation.play.move))
            check_play(after, variation.play)
        assert len(sans) == 1  # replies that stand together read alike


def count(problem: Problem, seen: dict[str, int]) -> None:
    for key in problem.keys:
        seen["threat"] += bool(key.threats)
        seen["zugzwang"] += key.is_zugzwang
        seen["check"] += key.check
        seen["idle"] += bool(key.idle)
    seen["dual"] += bool(problem.duals)
    seen["try"] += bool(problem.tries)
    seen["block"] += problem.complete_block
    seen["cooked"] += problem.verdict == "cooked"
    seen["in check"] += problem.set_play is None


def test_kinds_of_duals() -> None:
    board = chess.Board("7k/P7/8/8/8/8/R6N/K2Q4 w - - 0 1")

    def kind(*moves: str) -> str | None:
        return dual_kind(board, map(chess.Move.from_uci, moves))

    assert kind("d1d5") is None
    assert kind("a7a8q", "a7a8r") == "promotion"
    assert kind("d1d2", "d1d7") == "same line"
    assert kind("d1d2", "d1e2") == "dual"
    assert kind("a2d2", "d1d2") == "dual"
    assert kind("h2f3", "h2g4") == "dual"
    assert kind("a2g2", "a2b2") == "same line"
    assert kind("d1c1", "d1e1") == "dual"  # the two sides of where she stands


CLAIMS = {
    "as it is": (None, "sound", 3),
    "right": (3, "sound", 3),
    "short": (4, "short solution", 3),
    "too long": (2, "no solution", 3),
}


@pytest.mark.parametrize("what", CLAIMS)
def test_what_is_claimed_and_what_is(what: str) -> None:
    stipulated, verdict, moves = CLAIMS[what]
    board = chess.Board(PUBLISHED["benko"].fen)
    problem = problem_of(board, within=3, stipulated=stipulated)
    assert (problem.verdict, problem.moves, problem.stipulated) == (verdict, moves, stipulated)


def test_no_mate_and_no_decision() -> None:
    none = problem_of(chess.Board(), within=2)
    assert (none.verdict, none.moves, none.keys, none.within) == ("no solution", None, (), 2)
    mated = problem_of(chess.Board("k7/7R/1K6/8/8/8/8/8 b - - 0 1"), within=2)
    assert mated.verdict == "no solution"
    assert mated_within(mated.board, 1)
    spent = problem_of(chess.Board(PUBLISHED["excelsior"].fen), within=5, budget=100)
    assert spent.verdict == "undecided"


def test_the_budget_may_end_before_shorter_mates_are_refuted() -> None:
    """What is left open is named, and then nothing is called sound."""
    board = chess.Board(PUBLISHED["excelsior"].fen)
    whole = problem_of(board, within=5)
    assert whole.left_out == ("set play", "tries", "duals", "later variations")
    for budget in (10_000, 30_000, 100_000):
        problem = problem_of(board, within=9, budget=budget)
        if problem.verdict == "sound":
            assert problem.moves == 5
        elif problem.moves is not None:
            assert set(problem.left_out) & {"shorter", "keys"}


def test_a_finished_game_is_refused() -> None:
    with pytest.raises(PositionError, match="already mated"):
        problem_of(chess.Board("r4rk1/pb3pQp/1p3Pp1/8/8/8/5KPP/4R3 b - - 0 1"))


def test_men_are_counted_and_the_document_is_json() -> None:
    problem = problem_of(chess.Board(PUBLISHED["charles"].fen), within=3)
    assert problem.men == (5, 4)
    document = json.loads(json.dumps(problem_document(problem)))
    assert (document["format"], document["version"]) == ("flightless-problem", 1)
    assert document["men"] == {"white": 5, "black": 4}
    key = document["keys"][0]
    assert (key["move"], key["moves"], key["check"]) == ("g7g3", 3, False)
    assert key["threats"][0]["move"] == "g3h3"
    assert {one["move"] for one in document["tries"]} == {
        one.uci() for one in referee.tries(problem.board, 3)
    }


def test_the_same_position_the_same_problem() -> None:
    board = chess.Board(PUBLISHED["loyd"].fen)
    assert problem_of(board) == problem_of(board)
