"""What is said of a proof: the verdict, the first moves, and the way to the mate.

Reads a `Proof`.  Which replies are legal and what gives check is looked up on the board;
which moves mate is taken from the proof alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import chess

from flightless.cases.case import Man
from flightless.certify import position_key
from flightless.prove.proof import Proof
from flightless.words.facts.statements import (
    CheckNature,
    Delay,
    EndsWith,
    FirstMoves,
    KeyMove,
    MatedIn,
    MateIn,
    NoMate,
    Replies,
    ReplyNature,
    Statement,
    Undecided,
)
from flightless.words.notation import Step, steps

__all__ = ["Way"]

_TELL_AT_ONCE = 3
"""Longest mate whose line is told with the verdict; longer ones get a part of their own."""
_MOST_KEYS = 4
_MOST_BRANCHES = 3
_MOST_DELAYS = 2
_FEW_REPLIES = 2
"""Replies to one answer that are still named; more are 'anything else'."""


@dataclass(frozen=True)
class Way:
    """One proof, looked at."""

    proof: Proof

    _replies_to: dict[chess.Move, tuple[list[chess.Move], list[chess.Move]]] = field(
        default_factory=dict
    )

    @cached_property
    def start(self) -> chess.Board:
        """The position in question, its moves counted from one."""
        board = chess.Board(self.proof.fen)
        board.fullmove_number = 1
        return board

    @cached_property
    def line(self) -> tuple[Step, ...]:
        """The main line."""
        return steps(self.start, self.proof.line)

    @property
    def told_at_once(self) -> bool:
        """Whether the line is told with the verdict, to its end."""
        return len(self.proof.keys) == 1 and (self.proof.moves or 0) <= _TELL_AT_ONCE

    def verdict(self) -> list[Statement]:
        """The verdict, the first moves, and for a short mate the line."""
        proof, side = self.proof, self.start.turn
        if proof.verdict == "no mate":
            return [NoMate(side, proof.searched or proof.within)]
        if proof.verdict == "undecided":
            return [Undecided(side, proof.searched, proof.stopped_by, proof.budget)]
        assert proof.moves is not None
        if proof.verdict == "mated":
            return [MatedIn(side, -proof.moves, self.line)]
        told: list[Statement] = [MateIn(side, proof.moves, len(proof.keys), proof.shortest)]
        told += self._first_moves()
        if self.told_at_once:
            told += self._play()
        elif proof.moves > _TELL_AT_ONCE:
            told.append(EndsWith(self.line[-1]))
        return told

    @property
    def untold(self) -> tuple[Step, ...]:
        """The main line, if the account must still say how the final position is reached."""
        several = len(self.proof.keys) > 1 and (self.proof.moves or 0) <= _TELL_AT_ONCE
        return self.line if several else ()

    def ends(self) -> list[tuple[Step, ...]]:
        """For each other key that is told, the line from it to its mate.

        The defender replies as in the main line where he can, else by the longest defence.
        """
        if not self.untold or len(self.proof.keys) > _MOST_KEYS:
            return []
        return [self._line_from(key) for key in self._keys[1:]]

    def _line_from(self, key: chess.Move) -> tuple[Step, ...]:
        (first,) = steps(self.start, [key])
        return self._line_on(first, None)

    def _line_on(self, key: Step, first_reply: chess.Move | None) -> tuple[Step, ...]:
        """The line from a key to its mate, with the given reply or else the longest defence,
        as in the main line where that is one of the longest."""
        board = key.after
        moves = [key.move]
        usual = {move: -i for i, move in enumerate(self.proof.line[1::2])}
        while not board.is_checkmate():
            replies = sorted(board.legal_moves, key=lambda m: m.uci())
            lasts = {r: (self._distance(board, r), usual.get(r, -99)) for r in replies}
            reply = max(replies, key=lasts.__getitem__)
            if first_reply is not None:
                reply, first_reply = first_reply, None
            board.push(reply)
            answer = self.answers(board)[0]
            board.push(answer)
            moves += [reply, answer]
        return steps(key.board, moves)

    def _distance(self, board: chess.Board, reply: chess.Move) -> int:
        board.push(reply)
        distance = self.proof.distance.get(position_key(board), 0)
        board.pop()
        return distance

    def way_in(self) -> list[Statement]:
        """The main line move by move, if it has not been told with the verdict."""
        if self.proof.verdict != "mate" or (self.proof.moves or 0) <= _TELL_AT_ONCE:
            return []
        told = self._play()
        if told and isinstance(told[0], Replies):
            told[0] = replace(told[0], lead=True)
        return told

    # --- first moves -----------------------------------------------------------------------

    def _first_moves(self) -> list[Statement]:
        keys = [steps(self.start, [key])[0] for key in self._keys]
        if len(keys) > _MOST_KEYS or (len(keys) > 1 and self.proof.moves == 1):
            return [FirstMoves(tuple(keys), len(keys) if len(keys) <= _MOST_KEYS else 3)]
        if self.proof.moves == 1:
            return [KeyMove((keys[0],), self._only, "check")]
        told: list[KeyMove] = []
        for key in keys:
            statement = self._key_move(key, only=self._only)
            same = next((i for i, k in enumerate(told) if _alike(k, statement)), None)
            if same is None:
                told.append(statement)
            else:
                told[same] = _joined(told[same], statement)
        return list(told)

    @property
    def _only(self) -> bool:
        """Whether it is proved that there is one key and no more."""
        complete = getattr(self.proof, "keys_complete", True)
        return len(self.proof.keys) == 1 and self.proof.shortest and bool(complete)

    @property
    def _keys(self) -> tuple[chess.Move, ...]:
        """The keys, the one of the main line first."""
        first = self.proof.line[0]
        return (first, *(k for k in self.proof.keys if k != first))

    def _key_move(self, key: Step, only: bool) -> KeyMove:
        after = key.after
        checkers = tuple(
            Man(s, piece)
            for s in sorted(after.checkers(), key=lambda s: s != key.move.to_square)
            if (piece := after.piece_at(s)) is not None
        )
        replies = list(after.legal_moves)
        king = after.king(after.turn)
        king_must: tuple[chess.Square, ...] = ()
        if len(checkers) > 1 and replies and all(r.from_square == king for r in replies):
            king_must = tuple(sorted(r.to_square for r in replies))
        return KeyMove(
            (key,),
            only,
            nature(key),
            checkers,
            self._threat(key),
            king_must if len(king_must) == 1 else (),
            self._no_defence(key),
        )

    def _threat(self, key: Step) -> tuple[Step, ...]:
        threat = self.proof.threats.get(key.move)
        if threat is None:
            return ()
        passed = key.after
        passed.push(chess.Move.null())
        return steps(passed, threat.line)

    def _no_defence(self, key: Step) -> bool:
        """Whether the threat is carried out against every reply but one or two that only put
        the mate off."""
        if key.move not in self.proof.threats:
            return False
        others, longer = self._other_replies(key)
        return not others and len(longer) <= _MOST_DELAYS

    def _other_replies(self, key: Step) -> tuple[list[chess.Move], list[chess.Move]]:
        """Replies to a quiet key that are met by something else than the threat, in no more
        moves; and replies that hold out longer than the threat would take."""
        if key.move in self._replies_to:
            return self._replies_to[key.move]
        threat = self.proof.threats[key.move]
        others, longer = [], []
        after = key.after
        for reply in list(after.legal_moves):
            after.push(reply)
            name = position_key(after)
            after.pop()
            if self.proof.distance.get(name, 0) > threat.moves:
                longer.append(reply)
            elif not set(threat.keys) & set(self.proof.tree.get(name, ())):
                others.append(reply)
        self._replies_to[key.move] = others, longer
        return others, longer

    # --- the play --------------------------------------------------------------------------

    def answers(self, board: chess.Board) -> tuple[chess.Move, ...]:
        """The attacker's mating moves in a position of the proof; empty if it is not in it."""
        return self.proof.tree.get(position_key(board), ())

    def _play(self) -> list[Statement]:
        line, key = self.line, self.line[0]
        told: list[Statement] = []
        if key.move in self.proof.threats and self._no_defence(key):
            delay = self._delays(key)
            return [delay] if delay is not None else []
        before: Replies | None = None
        for i in range(0, len(line) - 1, 2):
            here = self._replies(line[i], line[i + 1], line[i + 2])
            if before is not None and before.replies == here.replies == 1:
                here = replace(here, again=before.how == here.how)
            told.append(here)
            before = here
        return told

    def _delays(self, key: Step) -> Delay | None:
        """The replies that only put the threat off, if any."""
        threat = self.proof.threats[key.move]
        lines, stay = [], []
        for delay in self._other_replies(key)[1]:
            (reply,) = steps(key.after, [delay])
            (answer,) = steps(reply.after, self.answers(reply.after)[:1])
            stay.append(self._still_threatened(answer.after, threat.keys))
            lines.append((reply, answer) if stay[-1] else self._line_on(key, delay)[1:])
        return Delay(not key.white, tuple(lines), all(stay)) if lines else None

    def _still_threatened(self, board: chess.Board, keys: Sequence[chess.Move]) -> bool:
        for reply in list(board.legal_moves):
            board.push(reply)
            carried = set(keys) & set(self.answers(board))
            board.pop()
            if not carried:
                return False
        return True

    def _replies(self, after: Step, main: Step, answer: Step) -> Replies:
        board = after.after
        legal = list(board.legal_moves)
        how = reply_nature(after, main)
        back = (
            len(legal) == 1
            and main.board.is_capture(main.move)
            and answer.move.to_square == main.move.to_square
        )
        other = back and _kind(answer) == _kind(after)
        only_king = after.move == self.line[0].move and nature(after) == "double check"
        branches = self._branches(board, legal) if len(legal) > 1 else None
        if branches is not None or len(legal) == 1:
            branches = branches or (((main,), answer),)
            return Replies(after, len(legal), how, branches, back, other, said=only_king)
        lasts = {reply: self._distance(board, reply) for reply in legal}
        rest = [reply for reply in legal if reply != main.move]
        longest = all(lasts[reply] < lasts[main.move] for reply in rest)
        short = self._branches(board, rest) if all(lasts[r] == 1 for r in rest) else None
        return Replies(
            after,
            len(legal),
            how,
            (((main,), answer),),
            main=True,
            longest=longest,
            at_once=short if short is not None and len(short) < _MOST_BRANCHES else (),
            said=only_king,
        )

    def _branches(
        self, board: chess.Board, legal: list[chess.Move]
    ) -> tuple[tuple[tuple[Step, ...], Step], ...] | None:
        """Replies grouped by the mating move that answers them; None if they are too many or
        if some need more than one move."""
        meets: dict[chess.Move, list[chess.Move]] = {}
        for reply in legal:
            board.push(reply)
            for answer in self.answers(board):
                board.push(answer)
                if board.is_checkmate():
                    meets.setdefault(answer, []).append(reply)
                board.pop()
            board.pop()
        left = list(legal)
        branches: list[tuple[tuple[Step, ...], Step]] = []
        while left:
            if not meets or len(branches) == _MOST_BRANCHES:
                return None
            answer = max(meets, key=lambda a: (len(set(meets[a]) & set(left)), -a.from_square))
            met = [r for r in left if r in meets[answer]]
            if not met:
                return None
            left = [r for r in left if r not in met]
            replies = tuple(steps(board, [r])[0] for r in met)
            last = replies[0]
            branches.append((replies, steps(last.after, [answer])[0]))
        branches.sort(key=lambda b: len(b[0]) if len(b[0]) > _FEW_REPLIES else 0)
        return tuple(branches)


def nature(step: Step) -> CheckNature:
    """What kind of check a move gives."""
    if not step.check:
        forcing = step.board.is_capture(step.move) or step.move.promotion
        return "no check" if forcing else "quiet"
    after = step.after
    checkers = after.checkers()
    if len(checkers) > 1:
        return "double check"
    return "check" if step.move.to_square in checkers else "discovered check"


def reply_nature(after: Step, reply: Step) -> ReplyNature:
    """What a reply does about the move before it."""
    board = reply.board
    kind = board.piece_type_at(reply.move.from_square)
    capture = board.is_capture(reply.move)
    if kind == chess.KING:
        return "king takes" if capture else "king"
    if reply.move.to_square == after.move.to_square:
        return "takes"
    if board.is_check() and not capture:
        return "between"
    return "other"


def _kind(step: Step) -> chess.PieceType | None:
    return step.board.piece_type_at(step.move.from_square)


def _alike(a: KeyMove, b: KeyMove) -> bool:
    if a.nature != b.nature:
        return False
    if a.nature == "check":
        return True
    kinds = [[m.piece.piece_type for m in k.checkers] for k in (a, b)]
    threats = [[s.san for s in k.threat] for k in (a, b)]
    return kinds[0] == kinds[1] and threats[0] == threats[1] and a.king_must == b.king_must


def _joined(a: KeyMove, b: KeyMove) -> KeyMove:
    return replace(a, steps=a.steps + b.steps, no_defence=a.no_defence and b.no_defence)
