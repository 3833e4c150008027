"""Judging a move against 'mate in n': it mates, it mates later, or why it does not.

Asks the search of `prove` within limits of nodes, so that the same answer gets the same mark
on every machine, and reads the reason off the board.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import chess

from flightless.exercises.escapes import best_answer, escape_of, nearest_check, parry_of
from flightless.exercises.mark import Mark
from flightless.exercises.reasons import (
    CheckAnswered,
    Mates,
    MatesLater,
    NoCheck,
    NoMateFound,
    Parry,
    QuietAnswered,
    Stalemates,
)

if TYPE_CHECKING:
    from flightless.prove.engine import Engine

__all__ = ["LATER", "Question", "distance", "holding_replies", "judge", "threat_line"]

LATER = 2
"""A wrong move is looked at so many moves longer, to tell a slow mate from none."""

_NODES = 3_000_000
_LATER_NODES = 20_000
_ENOUGH = 6
"""Defences collected before the clearest of them is shown."""
_BITS = 14


def distance(after: chess.Board, within: int, nodes: int = _NODES) -> tuple[int | None, bool]:
    """Moves to mate for the side that has just moved, that move counted; None beyond `within`.

    `after` is the position after the move.  The second says whether it was decided in `nodes`.
    """
    from flightless.prove.engine import DEFENDS, state_of

    if not any(after.legal_moves):
        return (1, True) if after.is_check() else (None, True)
    engine = _engine(within, nodes)
    state = state_of(after)
    for left in range(1, within):
        if not engine.search(state, left, DEFENDS):
            return (None, False) if engine.stopped else (left + 1, True)
    return None, not engine.stopped


def holding_replies(
    after: chess.Board, left: int, enough: int = _ENOUGH, nodes: int = _NODES
) -> tuple[chess.Move, ...]:
    """Replies after which the other side has no mate within `left`, up to `enough` of them.

    Those that a pupil should see first come first: takes the man who moved, answers the check
    as `best_answer` has it, then by UCI text.  Fewer if `nodes` end the search.
    """
    from flightless.prove.engine import ATTACKS, state_of

    replies = sorted(after.legal_moves, key=chess.Move.uci)
    if after.is_check():
        ordered = []
        while replies:
            ordered.append(best_answer(after, replies))
            replies.remove(ordered[-1])
    else:
        ordered = sorted(replies, key=lambda m: not after.is_capture(m))
    if left < 1:
        return tuple(ordered[:enough])
    engine = _engine(left, nodes)
    found: list[chess.Move] = []
    for reply in ordered:
        after.push(reply)
        held = not engine.search(state_of(after), left, ATTACKS)
        after.pop()
        if engine.stopped:
            break
        if held:
            found.append(reply)
            if len(found) >= enough:
                break
    return tuple(found)


def threat_line(after: chess.Board, within: int) -> tuple[chess.Move, ...]:
    """The line that mates if the side to move passes, () if there is none within `within`."""
    from flightless.prove import threat_of

    if within < 1 or after.is_check():
        return ()
    threat = threat_of(after, within)
    return threat.line if threat is not None else ()


def _engine(longest: int, nodes: int) -> Engine:
    from flightless.prove.engine import Engine

    engine = Engine(max(longest, 1), bits=_BITS)
    engine.allow(nodes)
    return engine


@dataclass(frozen=True, slots=True)
class Question:
    """What a move is judged against.

    `root` is the position in which the line begins, `before` the moves made since, by both
    sides; the side to move then should mate in `asked`.  `keys` are the moves known to do it
    (none if that is not known), the first of them the one that the key shows.
    """

    root: chess.Board
    asked: int
    before: tuple[chess.Move, ...] = ()
    keys: tuple[chess.Move, ...] = ()

    @property
    def board(self) -> chess.Board:
        """The position in which the move is to be made."""
        board = self.root.copy(stack=False)
        for move in self.before:
            board.push(move)
        return board


def judge(question: Question, move: chess.Move) -> Mark:
    """The mark of a legal move: right, longer or wrong, with the reason."""
    asked = question.asked
    after = question.board
    after.push(move)
    fen, played = question.root.fen(), (*question.before, move)
    if after.is_stalemate():
        king = after.king(after.turn)
        assert king is not None
        return Mark("wrong", Stalemates(fen, played, king))
    found, decided = distance(after, asked)
    if found is not None or (not decided and move in question.keys):
        return Mark("right", _mates(question, move, after))
    later, _ = distance(after, asked + LATER, _LATER_NODES)
    if later is not None:
        longest = holding_replies(after, later - 2, 1, _LATER_NODES)
        reply = longest[0] if longest else None
        return Mark("longer", MatesLater(fen, played, later, asked, reply))
    replies = holding_replies(after, asked - 1)
    if not replies:
        return Mark("wrong", NoMateFound(fen, played, asked))
    if after.is_check():
        return Mark("wrong", _check_answered(fen, played, after, replies[0], asked - 1))
    return Mark("wrong", _quiet_answered(fen, played, after, replies, asked - 1))


def _mates(question: Question, move: chess.Move, after: chess.Board) -> Mates:
    rest: tuple[chess.Move, ...] = ()
    if not after.is_checkmate():
        from flightless.prove import prove

        rest = prove(after, max(question.asked - 1, 1), _NODES).line
    threat: tuple[chess.Move, ...] = ()
    if not after.is_check():
        threat = threat_line(after, question.asked - 1)
    keys = question.keys
    return Mates(
        question.root.fen(),
        (*question.before, move),
        len(rest) // 2 + 1,
        rest,
        threat,
        max(len(keys), 1),
        bool(keys) and move != keys[0],
    )


def _check_answered(
    fen: str,
    played: tuple[chess.Move, ...],
    after: chess.Board,
    reply: chess.Move,
    left: int,
) -> CheckAnswered:
    escape = escape_of(after, reply)
    nearest = met = None
    if left == 1:
        then = after.copy(stack=False)
        then.push(reply)
        found = nearest_check(then)
        if found is not None:
            nearest, met = found
    return CheckAnswered(fen, played, escape, left, nearest, met)


def _quiet_answered(
    fen: str,
    played: tuple[chess.Move, ...],
    after: chess.Board,
    replies: Sequence[chess.Move],
    left: int,
) -> QuietAnswered | NoCheck:
    threat = threat_line(after, max(left, 1))
    if not threat:
        quiet = [r for r in replies if not after.is_capture(r)]
        return NoCheck(fen, played, (quiet or list(replies))[0], left)
    moves = len(threat) // 2 + 1
    parries = [parry_of(after, reply, threat[0], moves) for reply in replies]
    return QuietAnswered(fen, played, threat, min(parries, key=_clearness), left)


_CLEAR = ("takes him", "takes there", "stands between", "flight", "check", "pinned")


def _clearness(parry: Parry) -> tuple[int, bool, str]:
    """How clear a parry is to a pupil: the man who takes first, then who comes between."""
    order = _CLEAR.index(parry.how) if parry.how in _CLEAR else len(_CLEAR)
    later = parry.how == "later"
    return order + later, not parry.same, parry.reply.uci()
