"""Statements from the further findings: what the moves of a line are for, tries, the other
king, shared duties; and the tellers that choose them.

Reads the records of the case room; decides what helps a class.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import chess

from flightless.cases.case import Man
from flightless.words.facts.scene import Scene
from flightless.words.facts.statements import Statement
from flightless.words.notation import Step, steps

if TYPE_CHECKING:
    from flightless.cases.duties import EitherWouldDo
    from flightless.cases.natures import Nature
    from flightless.cases.ownking import OwnKing
    from flightless.cases.tries import Try
    from flightless.cases.wayin import AttackStep, WayIn

__all__ = [
    "Either",
    "Meaning",
    "OtherKing",
    "TryFails",
    "either_of",
    "meanings_of",
    "other_king_of",
    "tries_told",
]

_MOST_MEANINGS = 3
_MOST_TRIES = 2
_LUFT_STEPS = 2
"""A pawn further up than a double step is not called luft."""


@dataclass(frozen=True, slots=True)
class Meaning(Statement):
    """What a move of the mating side is for.

    `gives` is the kind that is offered and `gains` the kind taken for it; `taker` is the kind
    that takes.  Then what the capture (or the forced reply) does for the mate: the king is
    drawn to `king_to`; the man `blocks` a square; he `leaves` one where he was needed; he
    `opens` the line of a mating man.  `clears`: the move itself makes room for a man, on a
    square (None: on his line).  `becomes` is an under-promotion; `zugzwang`: it threatens
    nothing, and the defender loses because he must move.
    """

    step: Step
    forced: bool = False
    """The opponent has one reply only."""
    gives: chess.PieceType | None = None
    gains: chess.PieceType | None = None
    taker: chess.PieceType | None = None
    king_to: chess.Square | None = None
    blocks: chess.Square | None = None
    leaves: chess.Square | None = None
    opens: Man | None = None
    clears: tuple[chess.Square | None, Man] | None = None
    becomes: chess.PieceType | None = None
    zugzwang: bool = False

    @property
    def purposes(self) -> int:
        """How many purposes are told, the gift itself left out."""
        done = (self.king_to, self.blocks, self.leaves, self.opens, self.clears, self.becomes)
        return sum(thing is not None for thing in done) + self.zugzwang


@dataclass(frozen=True, slots=True)
class TryFails(Statement):
    """A first move that nearly does it, the one defence, and why that is enough.

    `meant` is the attacker's move that was to mate, played after the defence where it can be.
    `flight` is where the king then goes, `taken_by` or `put_by` the reply of another man.
    """

    step: Step
    defence: Step | None
    why: Literal["stalemate", "counter-check", "not possible", "no check", "answered"]
    meant: str = ""
    answer: Step | None = None
    how: Literal["flight", "capture", "interposition"] | None = None


@dataclass(frozen=True, slots=True)
class OtherKing(Statement):
    """How the mating side's own king stands on his back rank.

    `pawn`: he has luft because his pawn stands there.  `weak`: a rook on his back rank would
    be mate.  Else `guards` are the only men who could answer a check there.  `after_luft`: the
    mated king's want of luft has been told.
    """

    colour: chess.Color
    after_luft: bool
    pawn: chess.Square | None
    weak: bool
    guards: tuple[Man, ...]


@dataclass(frozen=True, slots=True)
class Either(Statement):
    """Two men of whom either would do, and the squares that they share."""

    men: tuple[Man, Man]
    squares: tuple[chess.Square, ...]


# --- what the moves are for ----------------------------------------------------------------


def meanings_of(way: WayIn) -> list[Statement]:
    """The moves of the line whose purpose is not plain from the moves alone."""
    board = chess.Board(way.fen)
    board.fullmove_number = 1
    line = steps(board, [step.move for step in way.steps])
    told: list[Meaning] = []
    for step, attack in zip(line[::2], way.attacks, strict=True):
        meaning = _meaning(step, attack, line)
        again = meaning is not None and meaning.zugzwang and any(t.zugzwang for t in told)
        if meaning is not None and not step.mate and not again:
            told.append(meaning)
    return list(told[:_MOST_MEANINGS])


def _meaning(step: Step, attack: AttackStep, line: Sequence[Step]) -> Meaning | None:
    after = step.after
    by_kind: dict[str, Nature] = {}
    for nature in attack.natures:
        by_kind.setdefault(nature.kind, nature)
    gift = by_kind.get("sacrifice")
    decoy = by_kind.get("decoy")
    drawn = decoy is not None and _kind(after, decoy.man) == chess.KING
    block, left = by_kind.get("self-block"), by_kind.get("deflection")
    opening = by_kind.get("line opening")
    if opening is not None and (opening.move is None and "discovered check" in by_kind):
        opening = None
    reply = next((n.move for n in (decoy, block, left, gift) if n is not None and n.move), None)
    meaning = Meaning(
        step,
        forced=len(attack.replies) == 1,
        gives=_kind(after, gift.man) if gift is not None else None,
        gains=_taken(step) if gift is not None else None,
        taker=_kind(after, reply.from_square) if reply is not None else None,
        king_to=decoy.square if decoy is not None and drawn else None,
        blocks=block.square if block is not None else None,
        leaves=left.square if left is not None else None,
        opens=_man(after, opening.man) if opening is not None else None,
        clears=_cleared(by_kind.get("clearance"), after, line),
        becomes=step.move.promotion if step.move.promotion not in (None, chess.QUEEN) else None,
        zugzwang="zugzwang" in by_kind,
    )
    worth = gift is not None and (gift.value or 0) > 1
    return meaning if meaning.purposes or worth else None


def _cleared(
    nature: Nature | None, after: chess.Board, line: Sequence[Step]
) -> tuple[chess.Square | None, Man] | None:
    """Who gets room: on the square itself if he moves there later in the line."""
    if nature is None:
        return None
    man = _man(after, nature.man)
    if man is None:
        return None
    comes = any(
        s.move.from_square == nature.man and s.move.to_square == nature.square for s in line
    )
    return (nature.square if comes else None, man)


def _kind(board: chess.Board, square: chess.Square | None) -> chess.PieceType | None:
    return board.piece_type_at(square) if square is not None else None


def _man(board: chess.Board, square: chess.Square | None) -> Man | None:
    piece = board.piece_at(square) if square is not None else None
    return Man(square, piece) if piece is not None and square is not None else None


def _taken(step: Step) -> chess.PieceType | None:
    board = step.board
    if board.is_en_passant(step.move):
        return chess.PAWN
    return board.piece_type_at(step.move.to_square)


# --- tries ---------------------------------------------------------------------------------

_TRIES_IN_ORDER = ("stalemate", "counter-check", "answered", "no check", "not possible")


def tries_told(board: chess.Board, tries: Sequence[Try]) -> list[Statement]:
    """The tries with a reason that a class can see: not those whose man is merely taken."""
    board = board.copy(stack=False)
    board.fullmove_number = 1
    told = [
        statement
        for one in tries
        if one.why in _TRIES_IN_ORDER
        and not _is_thrown_away(one)
        and (statement := _try_fails(board, one)) is not None
    ]
    told.sort(key=lambda t: _TRIES_IN_ORDER.index(t.why))
    return list(told[:_MOST_TRIES])


def _is_thrown_away(one: Try) -> bool:
    """Whether the defence is just to take the man who moved."""
    return one.refutation is not None and one.refutation.to_square == one.move.to_square


def _try_fails(board: chess.Board, one: Try) -> TryFails | None:
    (step,) = steps(board, [one.move])
    if one.refutation is None:
        return TryFails(step, None, "stalemate")
    after = step.after
    (defence,) = steps(after, [one.refutation])
    if one.why == "counter-check":
        return TryFails(step, defence, "counter-check")
    if one.meant is None:
        return None
    then = defence.after
    if one.why == "not possible":
        (would,) = steps(_passed(after), [one.meant]) if not after.is_check() else (None,)
        return TryFails(step, defence, "not possible", would.san) if would is not None else None
    (meant,) = steps(then, [one.meant])
    if one.why == "no check":
        return TryFails(step, defence, "no check", meant.san, meant)
    answers = one.answers
    if answers is None:
        return None
    if answers.flights:
        (reply,) = steps(meant.after, [answers.flights[0].move])
        return TryFails(step, defence, "answered", meant.san, reply, "flight")
    group = answers.captures or answers.interpositions
    (reply,) = steps(meant.after, group[:1])
    how: Literal["capture", "interposition"] = "capture" if answers.captures else "interposition"
    return TryFails(step, defence, "answered", meant.san, reply, how)


def _passed(board: chess.Board) -> chess.Board:
    passed = board.copy(stack=False)
    passed.push(chess.Move.null())
    return passed


# --- the other king, shared duties ---------------------------------------------------------


def other_king_of(scene: Scene, own: OwnKing, after_luft: bool) -> list[Statement]:
    """One sentence on the mating side's own king, where the mate was on the back rank."""
    rank = chess.square_rank(scene.case.king)
    far = [c for c in scene.case.checkers if chess.square_rank(c) == rank == scene.home_rank]
    if not far or not own.on_back_rank:
        return []
    colour = scene.case.mating
    luft = [pair for pair in own.luft if chess.square_distance(*pair) <= _LUFT_STEPS]
    if luft:
        pawn = min(luft, key=lambda pair: (chess.square_distance(*pair), pair))[1]
        return [OtherKing(colour, after_luft, pawn, False, ())]
    if any(man.piece.piece_type == chess.ROOK for man in own.mates):
        return [OtherKing(colour, after_luft, None, True, ())]
    if own.shut_in and 1 <= len(own.defenders) <= 2:
        return [OtherKing(colour, after_luft, None, False, scene.men(own.defenders))]
    return []


def either_of(scene: Scene, pairs: Sequence[EitherWouldDo]) -> list[Statement]:
    """Pairs of men who share a square, either of whom would do, both taking part."""
    told: list[Statement] = []
    for pair in pairs:
        if pair.squares and all(scene.case.takes_part[m] == "some" for m in pair.men):
            first, second = sorted(pair.men, key=lambda m: not scene.is_own(m))
            told.append(Either((scene.man(first), scene.man(second)), pair.squares))
    return told[:_MOST_TRIES]
