"""Every claim in the reason of a mark, tried with plain python-chess."""

from __future__ import annotations

import chess
import exercise_referee as referee

from flightless.exercises import reasons as rs
from flightless.exercises.mark import Mark

_DEEP = 2


def check(mark: Mark, asked: int) -> None:
    """Fail if the reason says anything that is not so; `asked` is the length asked for."""
    reason = mark.reason
    tries = {
        rs.Mates: _mates,
        rs.MatesLater: _later,
        rs.Stalemates: _stalemates,
        rs.CheckAnswered: _check_answered,
        rs.QuietAnswered: _quiet_answered,
        rs.NoCheck: _no_check,
        rs.Holds: _holds,
        rs.NotHeld: _not_held,
        rs.Trial: _trial,
        rs.GivesMate: _gives_mate,
        rs.Standing: _standing,
    }
    one = tries.get(type(reason))
    if one is not None:
        one(reason, asked)  # type: ignore[operator]


def _after(fen: str, moves: tuple[chess.Move, ...]) -> chess.Board:
    board = chess.Board(fen)
    for move in moves:
        assert board.is_legal(move), (fen, moves)
        board.push(move)
    return board


def _passed(board: chess.Board) -> chess.Board:
    board = board.copy(stack=False)
    board.push(chess.Move.null())
    return board.copy(stack=False)


def _mates(r: rs.Mates, asked: int) -> None:
    assert _after(r.fen, (*r.played, *r.rest)).is_checkmate()
    assert r.moves <= asked
    if r.threat:
        quiet = _after(r.fen, r.played)
        assert _after(_passed(quiet).fen(), r.threat).is_checkmate()


def _later(r: rs.MatesLater, asked: int) -> None:
    board = _after(r.fen, r.played[:-1])
    assert r.moves > asked - len(r.played) // 2
    if r.moves <= _DEEP + 1 and len(list(board.legal_moves)) < 25:
        assert referee.mates_with(board, r.played[-1], r.moves)
    if r.moves - 1 <= _DEEP:
        assert not referee.mates_with(board, r.played[-1], r.moves - 1)
    if r.reply is not None:
        then = _after(r.fen, (*r.played, r.reply))
        left = r.moves - 2
        assert not left or left > _DEEP or not referee.mates_in(then, left)


def _stalemates(r: rs.Stalemates, asked: int) -> None:
    assert asked
    after = _after(r.fen, r.played)
    assert after.is_stalemate()
    assert after.king(after.turn) == r.king


def _escape(e: rs.Escape) -> None:
    board = chess.Board(e.fen)
    assert board.is_legal(e.move)
    assert board.piece_at(e.man.square) == e.man.piece
    assert e.man.square == e.move.from_square
    if e.taken is None:
        assert not board.is_capture(e.move)
    elif not board.is_en_passant(e.move):
        assert board.piece_at(e.move.to_square) == e.taken.piece
    assert (e.how == "flight") == (e.man.piece.piece_type == chess.KING)
    if e.how == "interposition":
        king = board.king(board.turn)
        checker = chess.msb(board.checkers_mask())
        assert king is not None
        assert e.move.to_square in chess.SquareSet(chess.between(king, checker))
    if e.how == "capture":
        taken = e.taken.square if e.taken is not None else -1
        assert board.checkers_mask() == chess.BB_SQUARES[taken]
    for shut in e.shut:
        left = board.copy(stack=False)
        left.remove_piece_at(shut.by.square)
        left.remove_piece_at(e.man.square)
        assert shut.man.square in left.attackers(not board.turn, e.move.to_square)


def _check_answered(r: rs.CheckAnswered, asked: int) -> None:
    del asked
    after = _after(r.fen, r.played)
    assert after.is_check()
    assert after.fen() == r.escape.fen
    _escape(r.escape)
    after.push(r.escape.move)
    if r.left and r.left <= _DEEP:
        assert not referee.mates_in(after, r.left)
    if r.nearest is not None:
        assert r.met is not None
        assert after.gives_check(r.nearest)
        after.push(r.nearest)
        assert after.fen() == r.met.fen
        _escape(r.met)
    elif r.left == 1:
        assert not any(after.gives_check(move) for move in after.legal_moves)


def _quiet_answered(r: rs.QuietAnswered, asked: int) -> None:
    del asked
    quiet = _after(r.fen, r.played)
    assert not quiet.is_check()
    assert _after(_passed(quiet).fen(), r.threat).is_checkmate()
    _parry(r.parry, r.left)
    assert r.parry.threat == r.threat[0]


def _parry(p: rs.Parry, left: int) -> None:
    board = chess.Board(p.fen)
    assert board.is_legal(p.reply)
    assert board.piece_at(p.reply.from_square) == p.man.piece
    threatening = board.piece_at(p.threat.from_square)
    after = _after(p.fen, (p.reply,))
    if left and left <= _DEEP:
        assert not referee.mates_in(after, left)
    if p.how == "takes him":
        assert after.piece_at(p.threat.from_square) != threatening
    elif p.how == "check":
        assert after.is_check()
    elif p.how in ("not possible", "pinned"):
        assert not after.is_legal(p.threat)
        if p.how == "pinned":
            assert after.is_pinned(after.turn, p.threat.from_square)
    elif p.answer is not None:
        after.push(p.threat)
        assert after.is_check()
        assert after.is_legal(p.answer)
        assert p.same == (p.answer.from_square == p.reply.to_square)
        king = after.piece_type_at(p.answer.from_square) == chess.KING
        assert king == (p.how == "flight")
        if p.how == "takes there":
            assert after.is_capture(p.answer)


def _no_check(r: rs.NoCheck, asked: int) -> None:
    del asked
    after = _after(r.fen, r.played)
    assert not after.is_check()
    if max(r.left, 1) <= _DEEP:
        assert not referee.mates_in(_passed(after), max(r.left, 1))
    if r.reply is not None:
        after.push(r.reply)
        assert r.left > _DEEP or not r.left or not referee.mates_in(after, r.left)


def _holds(r: rs.Holds, asked: int) -> None:
    after = _after(r.fen, (r.move,))
    assert asked > _DEEP or not referee.mates_in(after, asked)
    if r.parry is not None:
        _parry(r.parry, 0)
        if len(list(after.legal_moves)) < 40 and asked <= _DEEP:
            assert referee.mates_with(_passed(chess.Board(r.fen)), r.parry.threat, asked)


def _not_held(r: rs.NotHeld, asked: int) -> None:
    assert _after(r.fen, (r.move, *r.line)).is_checkmate()
    assert len(r.line) // 2 + 1 <= asked
    if r.threatened and asked <= _DEEP:
        passed = _passed(chess.Board(r.fen))
        keys = referee.keys(passed, asked)
        after = _after(r.fen, (r.move,))
        assert keys & referee.keys(after, asked)


def _trial(r: rs.Trial, asked: int) -> None:
    del asked
    board = chess.Board(r.fen)
    assert not referee.is_mate(board)
    for man in r.men:
        assert board.piece_at(man.square) == man.piece
    assert (r.trouble == "own king") == board.was_into_check()
    if r.trouble == "answered":
        assert r.escape is not None
        _escape(r.escape)
    if r.target is not None:
        lifted = board.copy(stack=False)
        king = board.king(board.turn)
        assert king is not None
        lifted.remove_piece_at(king)
        protects = r.men[0].square in lifted.attackers(not board.turn, r.target.square)
        assert r.reaches == protects
        if r.shut_by is not None:
            lifted.remove_piece_at(r.shut_by.square)
            assert r.men[0].square in lifted.attackers(not board.turn, r.target.square)


def _gives_mate(r: rs.GivesMate, asked: int) -> None:
    del asked
    board = chess.Board(r.fen)
    assert referee.is_mate(board)
    for man in r.checks:
        assert man.square in board.checkers()
    alone = referee.ledger(board)
    for man, squares in r.guards:
        for square in squares:
            assert alone[square] == {man.square}
    for man, protected in r.protects:
        assert alone[protected.square] == {man.square}


def _standing(r: rs.Standing, asked: int) -> None:
    del asked
    board = chess.Board(r.fen)
    assert (r.standing == "mate") == board.is_checkmate()
    assert (r.standing == "stalemate") == board.is_stalemate()
    assert {man.square for man in r.checkers} == set(board.checkers())
    if r.escape is not None:
        _escape(r.escape)
