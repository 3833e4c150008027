"""Marking a line of moves: every move of the mating side is judged, the replies need be legal."""

from __future__ import annotations

import chess

from flightless.exercises.illegal import Refused, read_move, split_line
from flightless.exercises.judging import Question, judge
from flightless.exercises.mark import Mark
from flightless.exercises.reasons import Unreadable

__all__ = ["mark_line"]


def mark_line(board: chess.Board, asked: int, keys: tuple[chess.Move, ...], text: str) -> Mark:
    """The mark of a line that should mate in `asked`; `keys` are the right first moves, if known.

    The first move that is not right decides; a line that breaks off is right as far as it
    goes.  Where the only reply was left out, it is filled in.
    """
    moves, refused = _read(board, text)
    mark: Mark | None = None
    for at in range(0, len(moves), 2):
        known = keys if at == 0 else ()
        mark = judge(Question(board, asked - at // 2, moves[:at], known), moves[at])
        if not mark.right:
            return mark
    if refused is not None:
        return Mark("unreadable", refused)
    if mark is None:
        return Mark("unreadable", Unreadable(text.strip()[:80], "a move"))
    return mark


def _read(board: chess.Board, text: str) -> tuple[tuple[chess.Move, ...], Refused | None]:
    """The moves as far as they can be read.  What follows a mate is passed over."""
    at = board.copy(stack=False)
    attacker = board.turn
    moves: list[chess.Move] = []
    for word in split_line(text):
        if not any(at.legal_moves):
            break
        move = read_move(at, word)
        if not isinstance(move, chess.Move) and at.turn != attacker:
            replies = list(at.legal_moves)
            if len(replies) == 1:  # the pupil wrote the moves of one side only
                moves.append(replies[0])
                at.push(replies[0])
                move = read_move(at, word)
        if not isinstance(move, chess.Move):
            return tuple(moves), move
        moves.append(move)
        at.push(move)
    return tuple(moves), None
