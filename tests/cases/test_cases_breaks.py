"""What breaks a mate, and what two men share, against plain python-chess loops."""

from __future__ import annotations

import random
from itertools import combinations

import cases_referee as referee
import chess

from flightless.cases.breaks import Break, breaks_of, rescues_of
from flightless.cases.build import case_of
from flightless.cases.duties import either_would_do, shared_squares, sole_guards
from flightless.cases.ownking import own_king


def boards(count: int = 60) -> list[chess.Board]:
    rng = random.Random(8)
    strewn = [referee.strewn_mate(rng, rng.randint(5, 14)) for _ in range(count // 2)]
    return referee.random_mates()[: count // 2] + strewn


def walks(board: chess.Board, man: chess.Square) -> set[chess.Square]:
    """Empty squares to which the man could go if it were his turn: pseudo-legal moves."""
    alone = board.copy(stack=False)
    alone.turn = board.color_at(man)
    alone.ep_square = None
    alone.castling_rights = chess.BB_EMPTY
    return {
        m.to_square
        for m in alone.pseudo_legal_moves
        if m.from_square == man and board.piece_at(m.to_square) is None and not m.promotion
    }


def put(board: chess.Board, man: chess.Square, to: chess.Square | None) -> chess.Board:
    piece = board.piece_at(man)
    left = referee.take(board, man)
    if to is not None:
        left.set_piece_at(to, piece)
    return left


def broken(after: chess.Board) -> bool:
    return not after.is_checkmate() and not after.was_into_check()


def pairs(breaks: list[Break]) -> list[tuple[chess.Square, chess.Square | None]]:
    return sorted((b.change.square, -1 if b.change.to is None else b.change.to) for b in breaks)


def of_kind(breaks: tuple[Break, ...], kind: str) -> list[Break]:
    return [b for b in breaks if b.kind == kind]


def test_every_break_without_the_last_move() -> None:
    for board in boards():
        board.clear_stack()
        case = case_of(board)
        breaks = breaks_of(case)
        why = referee.reasons(board)
        blockers = [s for s in why if board.color_at(s) == board.turn]
        assert pairs(of_kind(breaks, "blocker gone")) == sorted(
            (s, -1) for s in blockers if broken(put(board, s, None))
        )
        assert pairs(of_kind(breaks, "blocker moved")) == sorted(
            (s, to) for s in blockers for to in walks(board, s) if broken(put(board, s, to))
        )
        guards = set(board.checkers()).union(*why.values())
        guards = {s for s in guards if board.color_at(s) != board.turn} - {case.mating_king}
        assert pairs(of_kind(breaks, "guard moved")) == sorted(
            (s, to) for s in guards for to in walks(board, s) if broken(put(board, s, to))
        )
        own = [s for s in referee.men(board) if board.color_at(s) == board.turn]
        pawns = [s for s in own if board.piece_type_at(s) == chess.PAWN]
        for kind, men in (("luft", pawns), ("moved earlier", sorted(set(own) - set(pawns)))):
            assert pairs(of_kind(breaks, kind)) == sorted(
                (s, to) for s in men for to in walks(board, s) if broken(put(board, s, to))
            )
        for b in breaks:
            after = b.change.applied(board)
            assert b.check_gone == (not after.is_check())
            assert set(b.answers) == (set(after.legal_moves) if after.is_check() else set())
            assert (b.first in b.answers) if b.answers else b.first is None
            kings_moves = [m for m in b.answers if after.piece_type_at(m.from_square) == 6]
            if kings_moves and b.kind != "pin released":
                assert b.first in kings_moves


def test_pins_released() -> None:
    seen = 0
    for board in boards(120):
        board.ep_square = None
        wanted = set()
        answers = set(board.checkers())
        if len(answers) == 1:
            answers |= set(chess.SquareSet(chess.between(*answers, board.king(board.turn))))
            for move in board.pseudo_legal_moves:
                man = move.from_square
                if move.to_square not in answers or not board.is_pinned(board.turn, man):
                    continue
                left = referee.take(board, man)
                pinners = set(left.checkers()) - set(board.checkers())
                for pinner in pinners:
                    for to in [None, *walks(board, pinner)]:
                        after = put(board, pinner, to)
                        freed = any(m.from_square == man for m in after.legal_moves)
                        if broken(after) and after.is_check() and freed:
                            wanted.add((pinner, -1 if to is None else to))
        found = of_kind(breaks_of(case_of(board)), "pin released")
        assert set(pairs(found)) == wanted, board.fen()
        for b in found:
            assert b.first.from_square == b.man
            assert b.first in b.change.applied(board).legal_moves
        seen += len(wanted)
    assert seen >= 8


def test_earlier_moves_are_those_of_the_position_before() -> None:
    board = chess.Board("3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1")
    for san in ("Re8+", "Rxe8", "Rxe8#"):
        board.push_san(san)
    breaks = breaks_of(case_of(board), board)
    before = chess.Board("4r1k1/5ppp/8/8/8/7P/5PP1/4R1K1 b - - 0 1")
    wanted = []
    for move in before.legal_moves:
        after = before.copy()
        after.push(move)
        mating = chess.Move.from_uci("e1e8")
        if before.piece_type_at(move.from_square) != chess.KING and mating in after.legal_moves:
            after.push(mating)
            if not after.is_checkmate():
                wanted.append((move.from_square, move.to_square))
    earlier = of_kind(breaks, "luft") + of_kind(breaks, "moved earlier")
    assert pairs(earlier) == sorted(wanted)
    assert (chess.E8, chess.D8) in wanted


def test_rescues_hold_every_saviour_once() -> None:
    for board in boards():
        case = case_of(board)
        rescues = rescues_of(case)
        held = sorted((s, k) for r in rescues for k, squares in r.squares for s in squares)
        assert held == sorted((s.square, s.kind) for s in case.saviours)
        for rescue in rescues:
            for kind, squares in rescue.squares:
                for square in squares:
                    more = board.copy(stack=False)
                    more.set_piece_at(square, chess.Piece(kind, board.turn))
                    if rescue.act == "in between":
                        assert square == rescue.target
                        assert not more.is_check()
                        assert square in case.interposition_squares
                    elif rescue.act != "several":
                        assert {m.to_square for m in more.legal_moves} == {rescue.target}
                        king_goes = {
                            more.piece_type_at(m.from_square) == 6 for m in more.legal_moves
                        }
                        assert king_goes == {rescue.act == "shuts a guard"}


def test_either_would_do() -> None:
    seen = 0
    for board in boards(30):
        case = case_of(board)
        spare = [s for s in referee.men(board) if s not in referee.needed(board)]
        wanted = [
            (a, b)
            for a, b in combinations(spare, 2)
            if not referee.take(referee.take(board, a), b).is_checkmate()
        ]
        found = either_would_do(case)
        assert [e.men for e in found] == wanted
        for e in found:
            assert all(referee.reasons(board)[s] == set(e.men) for s in e.squares)
        seen += len(found)
    assert seen >= 10


def test_shared_squares_and_sole_guards() -> None:
    for board in boards():
        case = case_of(board)
        why = referee.reasons(board)
        assert [(s.square, set(s.men)) for s in shared_squares(case)] == [
            (s, men) for s, men in sorted(why.items()) if len(men) > 1
        ]
        sole = {s: men for s, men in why.items() if len(men) == 1}
        assert {s: {man} for man, squares in sole_guards(case).items() for s in squares} == sole


def test_the_other_king() -> None:
    board = chess.Board("4R1k1/5ppp/8/8/8/7P/5PP1/6K1 b - - 0 2")
    king = own_king(case_of(board))
    assert king.on_back_rank
    assert not king.weak
    assert king.flights == (chess.H2,)
    assert king.luft == ((chess.H2, chess.H3),)
    assert not king.shut_in
    # Without luft only the rook himself can come back: from e8 to e1.
    held = own_king(case_of(chess.Board("4R1k1/5ppp/8/8/8/8/5PPP/6K1 b - - 0 2")))
    assert held.shut_in
    assert not held.weak
    assert held.flights == ()
    assert held.defenders == (chess.E8,)
    # On e8 with pawns in his way, and the king on h1, nothing helps.
    weak = own_king(case_of(chess.Board("1R4k1/5ppp/8/8/8/1N6/5PPP/1n5K b - - 0 2")))
    assert weak.shut_in
    assert weak.weak
    for case in map(case_of, boards()):
        king = own_king(case)
        home = 0 if case.mating else 7
        assert king.on_back_rank == (chess.square_rank(case.mating_king) == home)
        if not king.on_back_rank:
            continue
        wanted = set()
        for file in range(8):
            for kind in (chess.ROOK, chess.QUEEN):
                turned = case.board
                turned.turn = case.mating
                square = chess.square(file, home)
                if turned.piece_at(square) is None:
                    turned.set_piece_at(square, chess.Piece(kind, case.mated))
                    if turned.is_checkmate() and square in turned.checkers():
                        wanted.add((square, kind))
        assert {(m.square, m.piece.piece_type) for m in king.mates} == wanted
        assert king.weak <= king.shut_in
