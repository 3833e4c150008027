"""How a side gets out of it: the answer to a check, and how a reply stops a threat.

Reads the board and plays a move or two on it; searching is `judging`'s work.
"""

from __future__ import annotations

from collections.abc import Iterable

import chess

from flightless.cases.answers import how_it_answers
from flightless.cases.case import Man
from flightless.cases.missing import near_check
from flightless.exercises.reasons import Escape, How, Parry, Shut

__all__ = ["best_answer", "escape_of", "man_on", "men_on", "nearest_check", "parry_of"]


def man_on(board: chess.Board, square: chess.Square) -> Man:
    """The man on a square that has one."""
    piece = board.piece_at(square)
    if piece is None:
        raise ValueError(f"no man stands on {chess.square_name(square)}: {board.fen()}")
    return Man(square, piece)


def men_on(board: chess.Board, squares: Iterable[chess.Square]) -> tuple[Man, ...]:
    """The men on squares that have one, in square order."""
    return tuple(man_on(board, square) for square in sorted(squares))


def best_answer(board: chess.Board, moves: Iterable[chess.Move]) -> chess.Move:
    """Of several answers to a check the one that teaches most: whoever can take the checker
    (the king first), else a flight, else a man between; then by squares."""
    checkers = board.checkers_mask()

    def rank(move: chess.Move) -> tuple[int, int, int, int, int]:
        how = how_it_answers(board, move)
        king = how == "flight"
        takes_checker = bool(chess.BB_SQUARES[move.to_square] & checkers) or how == "capture"
        order = (0 if king else 1) if takes_checker else {"flight": 2}.get(how, 3)
        takes = board.is_capture(move)
        return order, takes, move.from_square, move.to_square, move.promotion or 0

    return min(moves, key=rank)


def escape_of(board: chess.Board, move: chess.Move | None = None) -> Escape:
    """An answer to the check on `board`: `move`, or the one that teaches most."""
    answers = list(board.legal_moves)
    if move is None:
        move = best_answer(board, answers)
    how = how_it_answers(board, move)
    taken = None
    if board.is_capture(move):
        at = move.to_square
        if board.is_en_passant(move):
            at += -8 if board.turn else 8
        taken = man_on(board, at)
    shut: tuple[Shut, ...] = ()
    if how == "flight" and board.is_check():
        flights = [f for f in near_check(board, None).flights if f.move == move]
        shut = tuple(
            Shut(man_on(board, s.man), man_on(board, s.shut_by)) for f in flights for s in f.shut
        )
    return Escape(
        board.fen(),
        move,
        how,
        man_on(board, move.from_square),
        taken,
        shut,
        len({(m.from_square, m.to_square) for m in answers}) - 1,
    )


def nearest_check(board: chess.Board) -> tuple[chess.Move, Escape] | None:
    """The check that leaves the fewest answers (by UCI text among equals), and its answer."""
    best: tuple[int, str, chess.Move] | None = None
    for move in board.legal_moves:
        if not board.gives_check(move):
            continue
        board.push(move)
        count = board.legal_moves.count()
        board.pop()
        if count and (best is None or (count, move.uci()) < best[:2]):
            best = count, move.uci(), move
    if best is None:
        return None
    after = board.copy(stack=False)
    after.push(best[2])
    return best[2], escape_of(after)


def parry_of(board: chess.Board, reply: chess.Move, threat: chess.Move, moves: int) -> Parry:
    """How `reply`, by the side to move on `board`, stops `threat`, which was to mate in `moves`."""
    after = board.copy(stack=False)
    after.push(reply)
    how, answer = _parried(board, after, reply, threat, moves)
    same = answer is not None and answer.from_square == reply.to_square
    return Parry(board.fen(), reply, threat, how, man_on(board, reply.from_square), answer, same)


def _parried(
    board: chess.Board, after: chess.Board, reply: chess.Move, threat: chess.Move, moves: int
) -> tuple[How, chess.Move | None]:
    taken = reply.to_square
    if board.is_en_passant(reply):
        taken += -8 if board.turn else 8
    if taken == threat.from_square:
        return "takes him", None
    if not after.is_legal(threat):
        if after.is_check():
            return "check", None
        pinned = after.is_pseudo_legal(threat) and after.is_pinned(after.turn, threat.from_square)
        return ("pinned" if pinned else "not possible"), None
    then = after.copy(stack=False)
    then.push(threat)
    if moves > 1 or not then.is_check() or then.is_checkmate():
        return "later", None
    return _answered(then, reply)


_MET: dict[str, How] = {
    "capture": "takes there",
    "interposition": "stands between",
    "flight": "flight",
}


def _answered(then: chess.Board, reply: chess.Move) -> tuple[How, chess.Move]:
    """The threatened check came, and is answered: by the man who replied, if he can."""
    answers = list(then.legal_moves)
    own = [m for m in answers if m.from_square == reply.to_square]
    answer = best_answer(then, own or answers)
    return _MET[how_it_answers(then, answer)], answer
