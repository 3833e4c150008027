"""The king's field, the checkers and the men held off, against plain python-chess questions."""

from __future__ import annotations

import random

import cases_referee as referee
import chess

from flightless.cases.build import case_of
from flightless.cases.case import HeldOff


def boards() -> list[chess.Board]:
    rng = random.Random(11)
    strewn = [referee.strewn_mate(rng, rng.randint(5, 18)) for _ in range(100)]
    return referee.random_mates()[::6] + strewn


def test_the_field() -> None:
    for board in boards():
        case = case_of(board)
        why = referee.reasons(board)
        assert len(case.field) == 8
        assert len({f.step for f in case.field}) == 8
        on_board = [f for f in case.field if f.square is not None]
        assert {f.square for f in on_board} == set(why)
        for f in on_board:
            assert f.square == case.king + f.step[0] + 8 * f.step[1]
            if board.color_at(f.square) == board.turn:
                assert f.state == "blocked"
                assert f.by == (f.square,)
                assert set(f.also_guarded_by) == why[f.square] - {f.square}
            else:
                assert f.state == "guarded"
                assert set(f.by) == why[f.square]
                assert not f.also_guarded_by
            assert list(f.reasons) == [*f.by, *f.also_guarded_by]
        for f in case.field:
            if f.square is None:
                assert f.state == "off-board"
                assert not f.by
                assert not f.also_guarded_by
        for man in referee.men(board):
            assert set(case.duties(man)) == {s for s, men in why.items() if man in men}


def test_the_checkers() -> None:
    for board in boards():
        case = case_of(board)
        assert set(case.checkers) == set(board.checkers())
        between = {
            s for c in board.checkers() for s in chess.SquareSet(chess.between(c, case.king))
        }
        assert set(case.interposition_squares) == between
        lifted = referee.take(board, case.king)
        for checker, men in case.checker_protectors.items():
            assert set(men) == set(lifted.attackers(not board.turn, checker))


def targets(board: chess.Board) -> dict[chess.Square, set[chess.Square]]:
    """Each checker with the squares where a man answers his check."""
    king = board.king(board.turn)
    return {c: {c, *chess.SquareSet(chess.between(c, king))} for c in board.checkers()}


def held_off_by_trial(board: chess.Board) -> set[HeldOff]:
    """The same list found by asking python-chess for pseudo-legal moves, with men lifted."""
    king = board.king(board.turn)
    checkers = tuple(sorted(board.checkers()))
    found = set()
    for wanted in targets(board).values():
        open_moves = {
            (m.from_square, m.to_square)
            for m in board.pseudo_legal_moves
            if m.from_square != king and m.to_square in wanted
        }
        for man, target in open_moves:
            action = "capture" if target in checkers else "interposition"
            if len(checkers) > 1:
                found.add(HeldOff(man, action, target, "double check", checkers))
            else:
                assert board.is_pinned(board.turn, man)
                pinners = pin_givers(board, man)
                found.add(HeldOff(man, action, target, "pinned", pinners))
        if len(checkers) > 1:
            continue
        for stone in [*referee.men(board), king, board.king(not board.turn)]:
            if stone in checkers:
                continue
            left = board.copy(stack=False)
            left.ep_square = None
            left.remove_piece_at(stone)
            for move in left.pseudo_legal_moves:
                where = (move.from_square, move.to_square)
                if move.from_square == king or move.to_square not in wanted:
                    continue
                if where in open_moves or board.is_pinned(board.turn, move.from_square):
                    continue
                action = "capture" if move.to_square in checkers else "interposition"
                found.add(HeldOff(*where[:1], action, where[1], "shut off", (stone,)))
    return found


def pin_givers(board: chess.Board, man: chess.Square) -> tuple[chess.Square, ...]:
    left = referee.take(board, man)
    new = set(left.attackers(not board.turn, board.king(board.turn))) - set(board.checkers())
    return tuple(sorted(new))


def test_who_is_held_off() -> None:
    seen = set()
    for board in boards():
        if board.ep_square is not None and board.has_pseudo_legal_en_passant():
            continue
        found = case_of(board).held_off
        assert len(set(found)) == len(found)
        assert set(found) == held_off_by_trial(board), board.fen()
        seen |= {h.why for h in found}
    assert seen == {"pinned", "shut off", "double check"}


def test_en_passant_is_held_off_by_the_line_it_would_open() -> None:
    # The pawn a4 is pinned on the file by the queen on a2.
    case = case_of(chess.Board("8/8/2K3N1/k1B1Q1R1/pP6/3B4/Q7/8 b - b3 0 1"))
    held = [h for h in case.held_off if h.man == chess.A4 and h.target == chess.B3]
    assert [(h.action, h.why, h.by) for h in held] == [("capture", "pinned", (chess.A2,))]
    # f4xe3 takes the pawn e4 off the diagonal from c2 to f5.
    case = case_of(chess.Board("8/1P6/3Q4/5k1K/4Pp2/8/2Q5/8 b - e3 0 1"))
    held = [h for h in case.held_off if h.man == chess.F4 and h.target == chess.E3]
    assert [(h.action, h.why, h.by) for h in held] == [("capture", "exposes", (chess.C2,))]


def test_luft_and_discovery_come_from_the_last_move() -> None:
    board = chess.Board("6k1/5ppp/8/8/8/7P/5PP1/4R1K1 w - - 0 1")
    board.push_san("Re8#")
    case = case_of(board)
    assert {x.move.uci() for x in case.luft} == {"f7f6", "f7f5", "g7g6", "g7g5", "h7h6", "h7h5"}
    after = {x.move.uci(): {m.uci() for m in x.answers} for x in case.luft}
    assert after["h7h6"] == {"g8h7"}
    assert case.last_move == chess.Move.from_uci("e1e8")
    assert case.discovered is False
    alone = case_of(chess.Board(board.fen()))
    assert alone.luft == ()
    assert alone.last_move is None
    assert alone.discovered is None


def test_luft_against_trial_over_random_games() -> None:
    rng = random.Random(3)
    tried = 0
    for final in referee.random_mates()[:60]:
        # A last move is made up: any mating man who could have come from an empty square.
        for origin in rng.sample(range(64), 64):
            before = final.copy(stack=False)
            mover = min(final.checkers())
            piece = before.piece_at(mover)
            if before.piece_at(origin) or piece.piece_type == chess.PAWN:
                continue
            before.remove_piece_at(mover)
            before.set_piece_at(origin, piece)
            before.turn = not final.turn
            before.ep_square = None
            move = chess.Move(origin, mover)
            if not before.is_valid() or not before.is_legal(move):
                continue
            board = before.copy()
            board.push(move)
            if not board.is_checkmate():
                continue
            tried += 1
            wanted = set()
            before.turn = final.turn
            for pawn_move in before.legal_moves:
                if before.piece_type_at(pawn_move.from_square) != chess.PAWN:
                    continue
                if pawn_move.to_square == before.king(not final.turn):
                    continue
                after = before.copy(stack=False)
                after.push(pawn_move)
                if move in after.legal_moves:
                    after.push(move)
                    if not after.is_checkmate():
                        wanted.add(pawn_move)
            assert {x.move for x in case_of(board).luft} == wanted, board.fen()
            break
    assert tried > 40
