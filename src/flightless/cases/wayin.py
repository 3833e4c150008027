"""The way in: the forced line before a mate, move by move, each with its nature.

The line and the tree come from a `Proof`; `natures` decides what each move is.  Other first
moves, and those that nearly work, are in `tries`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import chess

from flightless.cases.answers import Answer, how_it_answers
from flightless.cases.material import Offer, captured_value, offers_of
from flightless.cases.natures import Nature, Situation, natures_of
from flightless.certify import position_key
from flightless.prove.proof import Proof, Threat

__all__ = ["AttackStep", "DefenceStep", "Reply", "WayIn", "way_in"]


@dataclass(frozen=True, slots=True)
class Reply:
    """A legal reply to a move of the mating side.

    `answers` says how it meets a check: the king goes ("flight", his captures too), another
    man takes a checker ("capture") or steps between ("interposition"); "free move" if there is
    no check.  `mate_in` is the number of moves to mate after it, None if the proof does not
    hold it.  `delay`: a defence that only delays (see the proof).
    """

    move: chess.Move
    answers: Answer
    mate_in: int | None
    delay: bool = False


@dataclass(frozen=True, slots=True)
class AttackStep:
    """A move of the mating side in the line.

    `fen` is the position before it, `mate_in` counts from it (1 for the mating move), `duals`
    are the other moves that mate as fast, `natures` what the move is, `offers` the men it
    gives, `replies` all legal replies, those that hold out longest first.  `balance` is the
    material won by the mating side since the start of the line, this move included, in pawns.
    """

    fen: str
    move: chess.Move
    mate_in: int
    duals: tuple[chess.Move, ...]
    natures: tuple[Nature, ...]
    offers: tuple[Offer, ...]
    replies: tuple[Reply, ...]
    balance: int

    def is_a(self, kind: str) -> bool:
        """Whether the move has a nature of this kind."""
        return any(nature.kind == kind for nature in self.natures)


@dataclass(frozen=True, slots=True)
class DefenceStep:
    """A reply in the line: `fen` before it, how it answers a check, and whether it only
    delays.  `others` is the number of other legal replies; `balance` as in `AttackStep`."""

    fen: str
    move: chess.Move
    answers: Answer
    delay: bool
    others: int
    balance: int


@dataclass(frozen=True, slots=True)
class WayIn:
    """A forced line, step by step, to `mated` (the FEN of its last position).

    `profile` is the forcing profile: the number of legal replies to each move of the mating
    side, 0 for the mating move.  `checks_only`: each of these moves is a check.  `wins` is the
    most that the mating side is ahead, against the start of the line, after any of its moves
    before the mate: what is left if the mate itself is then parried.
    """

    fen: str
    attacker: chess.Color
    steps: tuple[AttackStep | DefenceStep, ...]
    mated: str
    profile: tuple[int, ...]
    checks_only: bool
    wins: int

    @property
    def attacks(self) -> tuple[AttackStep, ...]:
        """The moves of the mating side."""
        return tuple(step for step in self.steps if isinstance(step, AttackStep))


def way_in(proof: Proof) -> WayIn:
    """The main line of a proof of "mate" or "mated", each move with its nature.

    Raises `ValueError` if the proof has no line to mate.
    """
    if not proof.line or proof.moves is None:
        raise ValueError(f"the proof of {proof.fen} has no line to mate")
    board = chess.Board(proof.fen)
    attacker = board.turn if proof.verdict == "mate" else not board.turn
    steps: list[AttackStep | DefenceStep] = []
    balance = 0
    last: tuple[chess.Board, chess.Move] | None = None
    for ply, move in enumerate(proof.line):
        won = captured_value(board, move)
        balance += won if board.turn == attacker else -won
        rest = proof.line[ply + 1 :]
        if board.turn == attacker:
            steps.append(_attack(Situation(proof, board, move, rest, (), last), balance))
        else:
            steps.append(
                DefenceStep(
                    board.fen(),
                    move,
                    how_it_answers(board, move),
                    move in proof.delays,
                    board.legal_moves.count() - 1,
                    balance,
                )
            )
        last = board.copy(stack=False), move
        board.push(move)
    attacks = [step for step in steps if isinstance(step, AttackStep)]
    return WayIn(
        fen=proof.fen,
        attacker=attacker,
        steps=tuple(steps),
        mated=board.fen(),
        profile=tuple(len(step.replies) for step in attacks),
        checks_only=all(step.is_a("check") for step in attacks),
        wins=max((step.balance for step in attacks[:-1]), default=0),
    )


def _attack(at: Situation, balance: int) -> AttackStep:
    after = at.board.copy(stack=False)
    after.push(at.move)
    replies = [
        Reply(
            reply,
            how_it_answers(after, reply),
            _distance(at.proof, after, reply),
            reply in at.proof.delays,
        )
        for reply in after.legal_moves
    ]
    replies.sort(key=lambda r: (-(r.mate_in or 0), r.move.uci()))
    at = replace(at, offers=offers_of(at.board, at.move), threat=_threat(at, after))
    known = at.proof.tree.get(position_key(at.board), ())
    return AttackStep(
        fen=at.board.fen(),
        move=at.move,
        mate_in=at.mate_in,
        duals=tuple(dual for dual in known if dual != at.move),
        natures=natures_of(at),
        offers=at.offers,
        replies=tuple(replies),
        balance=balance,
    )


def _threat(at: Situation, after: chess.Board) -> Threat | None:
    """What a move that is no check threatens: from the proof for a quiet key, else by a search
    of its own."""
    if at.last is None and at.move in at.proof.threats:
        return at.proof.threats[at.move]
    from flightless.prove import threat_of

    if after.is_check() or at.mate_in == 1:
        return None
    return threat_of(after, at.mate_in - 1)


def _distance(proof: Proof, board: chess.Board, move: chess.Move) -> int | None:
    board.push(move)
    known: Mapping[str, int] = proof.distance
    found = known.get(position_key(board))
    board.pop()
    return found
