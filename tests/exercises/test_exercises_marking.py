"""Marks of single answers, word for word, and published combinations marked right."""

from __future__ import annotations

import chess
import exercise_referee as referee
import pytest
import reason_referee

from flightless.exercises.exercise import Exercise
from flightless.exercises.kinds.choose import ChooseMan
from flightless.exercises.kinds.find_mate import FindMate
from flightless.exercises.kinds.ledger import LedgerTable
from flightless.exercises.kinds.luft import GiveLuft
from flightless.exercises.kinds.name import NamePattern
from flightless.exercises.kinds.net import FinishNet
from flightless.exercises.kinds.not_needed import NotNeeded
from flightless.exercises.kinds.saves import Saves
from flightless.exercises.kinds.second_way import SecondWay
from flightless.exercises.kinds.supporter import Supporter
from flightless.exercises.kinds.threat import SayThreat
from flightless.exercises.kinds.two_positions import TwoPositions
from flightless.exercises.kinds.verdict import Verdict
from flightless.words.reasons import spoken

PUBLISHED = list(referee.published())


@pytest.mark.parametrize("entry", PUBLISHED, ids=lambda e: e[4])
def test_what_was_played_is_marked_right(
    entry: tuple[chess.Board, int, str, set[str], str],
) -> None:
    """Combinations of the literature, the source of each in published.txt."""
    board, moves, played, every, _ = entry
    if moves <= 2:
        assert {board.san(key) for key in referee.keys(board, moves)} == every
    exercise = FindMate(position=board.fen(), answers=tuple(sorted(every)), moves=moves)
    assert exercise.malformed() is None
    assert exercise.unsound() is None
    assert exercise.mark(played).right
    for move in board.legal_moves:
        if board.san(move) not in every and moves <= 2:
            assert not exercise.mark(board.san(move)).right


def test_lasker_could_castle() -> None:
    """Edward Lasker mated Thomas with 18.Kd2; castling mates as well (from memory)."""
    fen = "rn3r2/pbppq1p1/1p2pN2/8/3P2NP/6P1/PPP1B2R/R3K1k1 w Q - 0 1"
    exercise = SecondWay(position=fen, given="Kd2#", answers=("O-O-O#",), moves=1)
    assert exercise.unsound() is None
    assert exercise.mark("0-0-0").right
    assert exercise.mark("O-O-O mate").right
    assert said(exercise, "Kd2") == (
        "wrong: 1.Kd2 is the way that is given; another one is asked for."
    )


def said(exercise: Exercise, answer: str) -> str:
    """Verdict and reason; every claim in it is tried."""
    mark = exercise.mark(answer)
    reason_referee.check(mark, getattr(exercise, "moves", 1))
    return f"{mark.verdict}: {' '.join(spoken(mark.reason))}"


BACK_RANK = FindMate(
    position="3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1", answers=("Re8+",), moves=2
)
TWO_KEYS = FindMate(
    position="5r1k/p4p1p/6p1/4N3/8/8/1B3PPP/6K1 w - - 0 1", answers=("Nxf7+", "Nxg6+"), moves=2
)
LUFT = FindMate(
    position="6k1/5pp1/7p/8/8/8/5PPP/R5K1 w - - 0 1", answers=("none",), moves=1, perhaps=True
)
LONE_QUEEN = FindMate(position="k7/8/1K6/8/8/8/8/6Q1 w - - 0 1", answers=("Qg8#",), moves=1)
QUIET = FindMate(
    position="r4rk1/pb3p1p/1p3Pp1/8/7Q/8/2q2PPP/4R1K1 w - - 0 1", answers=("Qh6",), moves=3
)
STALEMATE = FindMate(position="7k/8/6K1/8/8/8/8/5Q2 w - - 0 1", answers=("Qf8#",), moves=1)


@pytest.mark.parametrize(
    ("exercise", "answer", "wanted"),
    [
        (BACK_RANK, "Re8", "right: 1.Re8+ is the only first move: 1…Rxe8 2.Rxe8 mate."),
        (BACK_RANK, "e2e8", "right: 1.Re8+ is the only first move: 1…Rxe8 2.Rxe8 mate."),
        (
            BACK_RANK,
            "1. Re8+ Rxe8 2. Rxe8#",
            "right: The line is right: 1.Re8+ Rxe8 2.Rxe8 mate.",
        ),
        (
            BACK_RANK,
            "1.Re8+ Rxe8 2.Kh2",
            "wrong: 2.Kh2 threatens 3.Rxe8 mate, but the rook on e8 takes the rook on e1: 2…Rxe1.",
        ),
        (BACK_RANK, "none", "wrong: White has a mate in two."),
        (
            TWO_KEYS,
            "Nxg6+",
            "right: 1.Nxg6+ mates in two: 1…Kg8 2.Ne7 mate. "
            "1.Nxg6+ is a second key, as good as the first.",
        ),
        (
            TWO_KEYS,
            "Nd7+",
            "wrong: After 1.Nd7+ the king goes to g8: nothing guards it. "
            "Then 2.Nf6+ is no mate: the king goes to g7.",
        ),
        (LUFT, "Ra8+", "wrong: After 1.Ra8+ the king goes to h7: nothing guards it."),
        (
            LUFT,
            "none",
            "right: There is no mate in one. After 1.Ra8+ the king goes to h7: nothing guards it.",
        ),
        (
            LONE_QUEEN,
            "Qg7",
            "longer: 1.Qg7 mates too, but in two moves, and one was asked for. "
            "1…Kb8 holds out longest.",
        ),
        (QUIET, "Qh6", "right: 1.Qh6 threatens 2.Qg7 mate, and there is no defence. "
            "It is the only first move."),
        (
            STALEMATE,
            "Qf7",
            "wrong: After 1.Qf7 it is stalemate: the king on h8 is not in check, "
            "and Black has no legal move.",
        ),
    ],
)  # fmt: skip
def test_moves(exercise: FindMate, answer: str, wanted: str) -> None:
    assert exercise.unsound() is None
    assert said(exercise, answer) == wanted


def test_a_threat_that_is_parried() -> None:
    """A quiet move threatens, and a defender covers the square in time."""
    board = chess.Board("7k/6pp/8/8/8/8/r4PPP/1R4K1 w - - 0 1")
    exercise = FindMate(position=board.fen(), answers=("Rb8#",), moves=1)
    assert said(exercise, "Rb7") == (
        "wrong: 1.Rb7 threatens 2.Rb8 mate, but after 1…Rxf2 the rook covers f8."
    )
    smothered = FindMate(
        position="r1b1k2r/ppppqppp/2n5/4n3/1PP2B2/5N2/1P1NPPPP/R2QKB1R b KQkq - 0 1",
        answers=("Nd3#",),
        moves=1,
    )
    assert said(smothered, "h5") == (
        "wrong: 1…h5 threatens 2…Nd3 mate, but the knight on f3 takes the knight on e5: 2.Nxe5."
    )


ILLEGAL = "r1b1k2r/pppp1ppp/8/8/4n3/8/1PP2PPP/R1B1K2R w KQkq - 0 1"
PINNED = "4k3/8/8/8/1b6/8/3R1R2/4K3 w - - 0 1"


@pytest.mark.parametrize(
    ("fen", "answer", "wanted"),
    [
        (ILLEGAL, "Bb5", "The bishop on c1 cannot reach b5."),
        (ILLEGAL, "Rb3", "Neither rook can reach b3."),
        (ILLEGAL, "Rhb3", "The rook on h1 cannot reach b3."),
        (ILLEGAL, "Re3", "Neither rook can reach e3."),
        (ILLEGAL, "Rh5", "The rook on h1 cannot reach h5: the pawn on h2 is in its way."),
        (ILLEGAL, "Qd1", "White has no queen that could go to d1."),
        (ILLEGAL, "a1", "White's own rook stands on a1."),
        (ILLEGAL, "0-0-0", "White cannot castle there now."),
        (ILLEGAL, "e4d2", "It is White's move, and the knight on e4 is not White's."),
        (ILLEGAL, "d4d5", "No man stands on d4."),
        (ILLEGAL, "hello", "'hello' cannot be read: a move, like Rf8 or Nxg6, is asked for."),
        (ILLEGAL, "", "There is no answer: a move, like Rf8 or Nxg6, is asked for."),
        (PINNED, "Rd3", "The rook on d2 is pinned by the bishop on b4 and cannot go to d3."),
        (
            "4k3/8/8/8/7b/8/3R4/R3K3 w Q - 0 1",
            "Rb2",
            "White is in check from the bishop on h4, and b2 does not answer it.",
        ),
        (
            "4r1k1/8/8/8/8/8/8/R2K3R w - - 0 1",
            "Ke1",
            "The king cannot go to e1: the rook on e8 guards it.",
        ),
        (
            "4k3/8/8/8/8/8/1K6/R6R w - - 0 1",
            "Rd1",
            "The rooks on a1 and h1 can both go to d1: say which.",
        ),
        ("8/P3k3/8/8/8/8/8/6K1 w - - 0 1", "a8", "Say what the pawn becomes on a8, like a8=Q."),
    ],
)
def test_moves_that_cannot_be_played(fen: str, answer: str, wanted: str) -> None:
    exercise = FindMate(position=fen, answers=("none",), moves=1, perhaps=True)
    mark = exercise.mark(answer)
    assert mark.verdict == "unreadable"
    assert spoken(mark.reason) == (wanted,)
    with pytest.raises(ValueError, match=r"SAN|san|legal|ambiguous|promotion"):
        chess.Board(fen).parse_san(answer or "?")


def test_castling_is_read_in_every_spelling() -> None:
    board = chess.Board("r4b1r/ppp3pp/8/4p3/2Pq4/3P4/PP2QPPP/2k1K2R w K - 0 1")
    exercise = FindMate(position=board.fen(), answers=("O-O#",), moves=1)
    for text in ("0-0", "O-O", "o-o", "0–0", "O-O mate", "1.O-O#", "e1g1"):
        assert exercise.mark(text).right, text


LOLLI = "5rk1/5pQp/5P2/8/8/8/6PP/6K1 b - - 0 1"
HANGING = "5rk1/5pQp/8/8/8/8/6PP/6K1 b - - 0 1"


@pytest.mark.parametrize(
    ("exercise", "answer", "wanted"),
    [
        (
            Verdict(position=LOLLI, answers=("mate",)),
            "check",
            "wrong: It is mate, not check: the queen on g7 checks, and Black has no answer.",
        ),
        (
            Verdict(position=HANGING, answers=("check",)),
            "mate",
            "wrong: It is check and no mate: "
            "the king takes the queen on g7, for nothing protects her.",
        ),
        (
            Verdict(position="7k/5Q2/6K1/8/8/8/8/8 b - - 0 1", answers=("stalemate",)),
            "mate",
            "wrong: It is stalemate, not mate: the king on h8 is not in check, "
            "and Black has no legal move.",
        ),
        (
            LedgerTable(
                position=LOLLI,
                answers=("f7 = f7+g7", "f8 = f8+g7", "g7 = f6", "h7 = g7+h7", "h8 = g7"),
            ),
            "f7: own pawn; f8 = rook f8; g7 = pawn f6; h7 = Qg7; h8 = queen",
            "right: All five squares are right. g7 hangs on one guard only, the pawn on f6.",
        ),
        (
            LedgerTable(
                position=LOLLI,
                answers=("f7 = f7+g7", "f8 = f8+g7", "g7 = f6", "h7 = g7+h7", "h8 = g7"),
            ),
            "f7=f7; f8=f8; g7=g2; h7=h7; h8=g7",
            "partly: The pawn on g2 does not answer for g7: the pawn on f6 guards it. "
            "Four of five squares are right.",
        ),
        (
            LedgerTable(
                position=LOLLI,
                answers=("f7 = f7+g7", "f8 = f8+g7", "g7 = f6", "h7 = g7+h7", "h8 = g7"),
            ),
            "f7=f7 f8=f8 g7=f6 h7=h7",
            "partly: h8 is missing: the queen on g7 guards it. Four of five squares are right.",
        ),
        (
            NotNeeded(position=LOLLI, choices=("f6", "h7", "g7"), answers=("h7",)),
            "the pawn on h7",
            "right: Without the pawn on h7 it is still mate: "
            "the queen on g7 guards h7 all the same.",
        ),
        (
            NotNeeded(position=LOLLI, choices=("f6", "h7", "g7"), answers=("h7",)),
            "f6",
            "wrong: Without the pawn on f6 the king takes the queen on g7: nothing protects her.",
        ),
        (
            Supporter(position=HANGING, men=("P",), answers=("Pf6", "Ph6")),
            "h6",
            "right: With the pawn on h6 it is mate: it protects the queen on g7. "
            "One more answer is right.",
        ),
        (
            Supporter(position=HANGING, men=("P",), answers=("Pf6", "Ph6")),
            "pawn on g6",
            "wrong: The pawn on g6 does not protect the queen on g7. "
            "The king takes the queen on g7.",
        ),
        (
            Supporter(position=HANGING, men=("P",), answers=("Pf6", "Ph6")),
            "h7",
            "unreadable: h7 is taken: a pawn stands there.",
        ),
        (
            Supporter(position=HANGING, men=("P",), answers=("Pf6", "Ph6")),
            "Bf6",
            "unreadable: There is no bishop to place.",
        ),
        (
            ChooseMan(
                position=HANGING, square="f6", men=("R", "B", "N", "P"), answers=("B", "P")
            ),
            "knight",
            "wrong: The knight on f6 does not protect the queen on g7. "
            "The king takes the queen on g7.",
        ),
        (
            NamePattern(position=LOLLI, choices=("Lolli", "Damiano"), answers=("Lolli",)),
            "Lolli's mate",
            "right: It is that pattern: queen on the knight's second square before the castled "
            "king, supported by a pawn, known as Lolli's mate. "
            "The queen on g7 checks and the pawn on f6 supports.",
        ),
        (
            Saves(
                position="3r2k1/5ppp/8/8/8/8/R4PPP/6K1 w - - 0 1",
                moves=1,
                answers=("Kf1", "f3", "f4", "g3", "g4", "h3", "h4"),
            ),
            "Ra7",
            "wrong: After 1.Ra7 the threat is carried out: 1…Rd1 mate.",
        ),
        (
            GiveLuft(
                position="3r2k1/5ppp/8/8/8/8/R4PPP/6K1 w - - 0 1",
                moves=1,
                answers=("f3", "f4", "g3", "g4", "h3", "h4"),
            ),
            "h3",
            "right: 1.h3 holds: after 1…Rd1+ the king goes to h2.",
        ),
        (
            GiveLuft(
                position="3r2k1/5ppp/8/8/8/8/R4PPP/6K1 w - - 0 1",
                moves=1,
                answers=("f3", "f4", "g3", "g4", "h3", "h4"),
            ),
            "Ra1",
            "unreadable: A pawn move is asked for, and the rook on a2 is no pawn.",
        ),
        (
            SayThreat(
                position="r4rk1/pb3p1p/1p3Pp1/8/7Q/8/2q2PPP/4R1K1 w - - 0 1",
                move="Qh6",
                moves=1,
                answers=("Qg7#",),
            ),
            "Qg7 mate",
            "right: 1.Qh6 threatens 2.Qg7 mate.",
        ),
        (
            TwoPositions(
                position="6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1",
                other="6k1/5pp1/7p/8/8/8/8/R5K1 w - - 0 1",
                move="Ra8",
                moves=1,
                answers=("A",),
            ),
            "A, because in B Kh7",
            "right: In A 1.Ra8 is mate. "
            "In B after 1.Ra8+ the king goes to h7: nothing guards it.",
        ),
        (
            TwoPositions(
                position="6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1",
                other="6k1/5pp1/7p/8/8/8/8/R5K1 w - - 0 1",
                move="Ra8",
                moves=1,
                answers=("A",),
            ),
            "the right one",
            "wrong: 1.Ra8 is mate in A, not in B. "
            "In B after 1.Ra8+ the king goes to h7: nothing guards it.",
        ),
    ],
)  # fmt: skip
def test_other_kinds(exercise: Exercise, answer: str, wanted: str) -> None:
    assert exercise.malformed() is None
    assert said(exercise, answer) == wanted


def test_a_net_is_finished_in_any_order() -> None:
    exercise = FinishNet(
        position="5rk1/5p1p/8/8/8/8/6PP/6K1 b - - 0 1", men=("Q", "P"), answers=("Qg7 Pf6",)
    )
    right = exercise.solve()
    assert "Qg7 Pf6" in right
    for text in ("Qg7 Pf6", "Pf6 Qg7", "pawn f6 and queen g7", "f6 Qg7"):
        assert exercise.mark(text).right, text
    assert exercise.mark("Qg7").verdict == "unreadable"
    assert exercise.mark("Qg7 Qf6").verdict == "unreadable"
    assert exercise.mark("Qg7 Pg7").verdict == "unreadable"
    assert exercise.mark("Qg7 Pf1").verdict == "unreadable"


HOSTILE = [
    "", " ", "\x00", "a" * 100_000, "🤖", "…", "1.", "()", "[]", "%s%s", "{0}", "\u202e", "-",
    "N" * 500, "e4 " * 500, "f7 = " * 300, "=;=;=", "Bf6 " * 200, "a1a1", "a1a1q", "+ +", "##",
    "Qq",     "0-0-0-0", "\n\n\n", "<script>", "'; DROP TABLE", "\ud800",
]  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE, ids=lambda t: repr(t)[:20])
def test_no_answer_breaks_the_marking(exercises: list[Exercise], text: str) -> None:
    """Whatever the text, there is a mark with a sentence."""
    first: dict[str, Exercise] = {}
    for exercise in exercises:
        first.setdefault(exercise.kind, exercise)
    for exercise in first.values():
        mark = exercise.mark(text)
        assert not mark.right, (exercise, text)
        assert len(" ".join(spoken(mark.reason))) < 1_500
