"""Marks, ledger, legend and terminal board of a case, against python-chess."""

from __future__ import annotations

import itertools
import random
from xml.etree import ElementTree

import chess
import pytest

from flightless.cases.build import case_of
from flightless.cases.case import Case
from flightless.draw.ledger import ledger, ledger_text
from flightless.draw.ledger_svg import ledger_svg
from flightless.draw.legend import legend_svg, roles_in
from flightless.draw.marks import EVERY_ROLE, Marks, Role, marks_of
from flightless.draw.terminal import terminal_board, terminal_legend

LOLLI = "r4rk1/pb3pQp/1p3Pp1/8/8/8/2q2PPP/4R1K1 b - - 0 1"
BACK_RANK = "4R1k1/5ppp/8/8/8/7P/5PP1/6K1 b - - 0 1"
SMOTHERED = "6rk/5Npp/8/8/8/8/8/6K1 b - - 0 1"
FOOLS = "rnb1kbnr/pppp1ppp/8/4p3/6Pq/5P2/PPPPP2P/RNBQKBNR w KQkq - 1 3"  # 1.f3 e5 2.g4 Qh4 mate
CORNER = "8/8/8/8/8/2k5/1q6/K7 w - - 0 1"
MATES = (LOLLI, BACK_RANK, SMOTHERED, FOOLS, CORNER)


def _random_mates(count: int) -> list[chess.Board]:
    rng = random.Random(5)
    found: list[chess.Board] = []
    while len(found) < count:
        board = chess.Board()
        for _ in range(160):
            moves = list(board.legal_moves)
            if not moves:
                break
            board.push(rng.choice(moves))
        if board.is_checkmate():
            found.append(board)
    return found


@pytest.fixture(scope="module")
def cases() -> list[Case]:
    return [case_of(chess.Board(fen)) for fen in MATES] + [case_of(b) for b in _random_mates(12)]


def _reasons(board: chess.Board) -> dict[chess.Square, set[chess.Square]]:
    """Who answers for each field square, by python-chess with the king lifted."""
    king = board.king(board.turn)
    assert king is not None
    lifted = board.copy(stack=False)
    lifted.remove_piece_at(king)
    answers = {}
    for square in chess.SquareSet(chess.BB_KING_ATTACKS[king]):
        men = set(lifted.attackers(not board.turn, square))
        if board.color_at(square) == board.turn:
            men.add(square)
        answers[square] = men
    return answers


def test_marks_agree_with_python_chess(cases: list[Case]) -> None:
    for case in cases:
        board, marks = case.board, marks_of(case)
        reasons = _reasons(board)
        own = {s for s in reasons if board.color_at(s) == board.turn}
        assert set(marks.blocked) == own
        assert set(marks.guarded) == {s for s, men in reasons.items() if men - {s}}
        assert len(marks.off_board) == 8 - len(reasons)
        checkers = set(board.checkers())
        assert set(marks.checks) == checkers
        alone = {s for s, men in reasons.items() if len(men) == 1 and men != checkers}
        assert set(marks.one_only) == alone
        contact = [c for c in checkers if chess.square_distance(c, case.king) == 1]
        protectors = {p for c in contact for p in reasons[c]}
        assert set(marks.supports) == protectors
        for man in marks.needed:
            fewer = board.copy(stack=False)
            fewer.remove_piece_at(man)
            assert not fewer.is_checkmate()
        for man in marks.not_needed:
            fewer = board.copy(stack=False)
            fewer.remove_piece_at(man)
            assert fewer.is_checkmate()


def test_only_keeps_the_roles_asked_for(cases: list[Case]) -> None:
    marks = marks_of(cases[0])
    only = marks.only({Role.BLOCKED})
    assert only == Marks(king=marks.king, blocked=marks.blocked)
    assert marks_of(cases[0], {Role.CHECKS}).roles() == (Role.CHECKS,)
    assert marks.only(EVERY_ROLE) == marks


def test_the_ledger_of_the_worked_example() -> None:
    """The ledger that the project's own page of style prints, its spacing aside."""
    wanted = """
        the king on g8     his own man     guarded by
         f8                rook            queen
         f7                pawn            queen
         g7  (the queen)   -               pawn f6            one guard only
         h7                pawn            queen
         h8                -               queen
    """
    text = ledger_text(ledger(case_of(chess.Board(LOLLI))))
    assert text.split() == wanted.split()
    columns = {
        line.index(word) for line in text.splitlines() for word in ("his", "rook") if word in line
    }
    assert len(columns) == 1


def test_ledger_rows_are_the_field_squares_and_their_men(cases: list[Case]) -> None:
    for case in cases:
        found, reasons = ledger(case), _reasons(case.board)
        assert {row.square for row in found.rows} == set(reasons)
        assert found.off_board == 8 - len(found.rows)
        for row in found.rows:
            men = {man.square for man in row.guards} | ({row.own.square} if row.own else set())
            assert men == reasons[row.square]
            for man in row.guards:
                assert case.board.piece_at(man.square) == man.piece
            if row.stands:
                assert row.stands.piece.color == case.mating
        order = [man.square for man in found.guards]
        assert set(order) == {man.square for row in found.rows for man in row.guards}
        checks = [square in case.checkers for square in order]
        assert checks == sorted(checks, reverse=True)


def test_rows_go_round_the_king_without_a_jump(cases: list[Case]) -> None:
    for case in cases:
        squares = [row.square for row in ledger(case).rows]
        for one, other in itertools.pairwise(squares):
            file = abs(chess.square_file(one) - chess.square_file(other))
            rank = abs(chess.square_rank(one) - chess.square_rank(other))
            assert file + rank == 1, (case.fen, chess.square_name(one))


def test_ledger_picture(cases: list[Case]) -> None:
    for case in cases:
        svg = ledger_svg(ledger(case))
        root = ElementTree.fromstring(svg)
        texts = [t.text for t in root.iter("{http://www.w3.org/2000/svg}text")]
        for row in ledger(case).rows:
            assert chess.square_name(row.square) in texts
        assert ledger_text(ledger(case)) in str(root.find("{http://www.w3.org/2000/svg}desc").text)  # type: ignore[union-attr]
        alone = sum(row.alone for row in ledger(case).rows)
        notes = sum(t in ("one guard only", "one man only") for t in texts)
        assert notes == alone


def test_legend_names_every_role_once() -> None:
    root = ElementTree.fromstring(legend_svg())
    texts = [t.text for t in root.iter("{http://www.w3.org/2000/svg}text")]
    assert sorted(map(str, texts)) == sorted(role.label() for role in Role)
    assert len(set(texts)) == len(Role)
    assert roles_in([Marks(free=(1,)), Marks(blocked=(2,))]) == (Role.BLOCKED, Role.FREE)


@pytest.mark.parametrize("perspective", chess.COLORS)
@pytest.mark.parametrize("ascii_only", [True, False])
def test_terminal_board_has_every_man(
    cases: list[Case], perspective: chess.Color, ascii_only: bool
) -> None:
    for case in cases:
        text = terminal_board(case.board, marks_of(case), perspective, ascii_only=ascii_only)
        assert text.isascii() or not ascii_only
        lines = text.splitlines()
        assert len({len(line) for line in lines[:10]}) == 1
        for row, line in enumerate(lines[1:9]):
            rank = 7 - row if perspective else row
            assert line[1] == str(rank + 1)
            for column in range(8):
                file = column if perspective else 7 - column
                middle = line[4 + 5 * column + 2]
                piece = case.board.piece_at(chess.square(file, rank))
                if piece:
                    assert middle == piece.symbol()
                else:
                    assert not middle.isalpha() or middle in "xo"


def test_terminal_marks() -> None:
    case = case_of(chess.Board(LOLLI))
    lines = terminal_board(
        case.board, marks_of(case), ascii_only=True, side_line=False
    ).splitlines()
    assert lines[1].endswith("[(rx]  k  //x//|")
    assert lines[2].endswith("[(px]/+Qx![(px]|")
    assert lines[0].endswith("---===============+")
    assert "to move" not in lines[-1]
    figures = terminal_board(case.board, men="figurines")
    assert "♕" in figures
    assert "♚" in figures
    legend = terminal_legend(marks_of(case), ascii_only=True)
    assert "gives check" in legend
    assert "taken away" not in legend
