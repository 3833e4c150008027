"""First moves beside the main line: other keys and how they differ, and moves that nearly work.

A *try* is a first move that would mate in time but for one of several replies.  The search is
asked for every one of them; what the reply does to the mate is then read off the board.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Literal

import chess

from flightless.cases.answers import Answer, how_it_answers
from flightless.cases.missing import NearCheck, near_check
from flightless.cases.natures import Kind
from flightless.cases.wayin import WayIn, way_in
from flightless.certify import position_key
from flightless.prove.proof import Proof

__all__ = ["LONGEST", "OtherKey", "Tries", "Try", "Why", "other_keys", "tries_of"]

LONGEST = 3
"""Up to this length all first moves are looked at; beyond it only checks, for time's sake."""

_BUDGET = 2_000_000

Why = Literal[
    "stalemate", "counter-check", "taken", "not possible", "no check", "answered", "too slow"
]


@dataclass(frozen=True, slots=True)
class OtherKey:
    """Another first move that mates in the shortest number, with its own line.

    `only_here` and `only_there` are the natures that one of the lines has and the other (the
    main line) has not, anywhere.  `same_mate`: both end in the same position; `same_square`:
    the mating man comes to the same square.
    """

    key: chess.Move
    way: WayIn
    only_here: tuple[Kind, ...]
    only_there: tuple[Kind, ...]
    same_mate: bool
    same_square: bool


@dataclass(frozen=True, slots=True)
class Try:
    """A first move that fails to one defence only, while another reply would let it mate.

    `refutation` is that defence (None if the move stalemates), `how` what it does if the try
    checks.  `meant` is the move that mates after most of the other replies, or the one that
    was threatened.  `why` the refutation stops it:

    - stalemate: the try leaves no legal move.
    - counter-check: the refutation gives a check that `meant` does not answer.
    - taken: it takes the man who was to move.
    - not possible: `meant` is no longer legal for another reason.
    - no check: it should mate at once, and gives no check.
    - answered: it checks, and `answers` are what the defender then has.
    - too slow: none of these could be read off, but no mate in time is left.
    """

    move: chess.Move
    check: bool
    refutation: chess.Move | None
    how: Answer | None
    meant: chess.Move | None
    why: Why
    answers: NearCheck | None = None


@dataclass(frozen=True, slots=True)
class Tries:
    """All tries of a position for a mate in `moves`; `complete` says that every first move was
    looked at (else only those that check)."""

    moves: int
    tries: tuple[Try, ...]
    complete: bool


def other_keys(proof: Proof, budget: int = _BUDGET) -> tuple[OtherKey, ...]:
    """Every key but the one that the main line follows, in the order of the proof.

    A key whose line the search does not find within `budget` nodes is left out.
    """
    if proof.verdict != "mate" or not proof.line:
        return ()
    main = way_in(proof)
    proofs = ((k, _proof_of(proof, k, budget)) for k in proof.keys if k != proof.line[0])
    return tuple(_compared(key, way_in(other), main) for key, other in proofs if other is not None)


def _proof_of(proof: Proof, key: chess.Move, budget: int) -> Proof | None:
    """The same proof with its line and tree following another key."""
    from flightless.prove import prove

    board = chess.Board(proof.fen)
    root = position_key(board)
    board.push(key)
    tree = {root: (key, *(k for k in proof.keys if k != key))}
    distance = {root: proof.moves or 0}
    line: tuple[chess.Move, ...] = ()
    delays: tuple[chess.Move, ...] = ()
    if not board.is_checkmate():
        after = prove(board, max((proof.moves or 1) - 1, 1), budget)
        if after.verdict != "mated":
            return None
        tree |= after.tree
        distance |= after.distance
        line, delays = after.line, after.delays
    return replace(
        proof,
        line=(key, *line),
        tree=MappingProxyType(tree),
        distance=MappingProxyType(distance),
        delays=delays,
    )


def _compared(key: chess.Move, way: WayIn, main: WayIn) -> OtherKey:
    here = {n.kind: None for step in way.attacks for n in step.natures}
    there = {n.kind: None for step in main.attacks for n in step.natures}
    return OtherKey(
        key,
        way,
        tuple(kind for kind in here if kind not in there),
        tuple(kind for kind in there if kind not in here),
        chess.Board(way.mated).board_fen() == chess.Board(main.mated).board_fen(),
        way.attacks[-1].move.to_square == main.attacks[-1].move.to_square,
    )


def tries_of(board: chess.Board, moves: int) -> Tries:
    """Every first move after which exactly one of several replies, or stalemate, prevents mate
    in `moves`.

    `moves` is the length of the mate that is looked for, 2 or more; for 1 there are none.
    """
    found = []
    complete = moves <= LONGEST
    for move in sorted(board.legal_moves, key=lambda m: m.uci()):
        if moves > 1 and (complete or board.gives_check(move)):
            one = _try(board, move, moves)
            if one is not None:
                found.append(one)
    return Tries(moves, tuple(found), complete)


def _try(board: chess.Board, move: chess.Move, moves: int) -> Try | None:
    from flightless.prove import refutations

    after = board.copy(stack=False)
    after.push(move)
    check = after.is_check()
    replies = after.legal_moves.count()
    if not replies:
        return None if check else Try(move, False, None, None, None, "stalemate")
    held = refutations(board, move, moves) if replies > 1 else ()
    if len(held) != 1:
        return None
    refutation = held[0]
    meant = _meant(after, refutation, moves)
    how = how_it_answers(after, refutation) if check else None
    then = after.copy(stack=False)
    then.push(refutation)
    why, answers = _why(then, meant, moves)
    return Try(move, check, refutation, how, meant, why, answers)


def _meant(after: chess.Board, refutation: chess.Move, moves: int) -> chess.Move | None:
    """The threat, if there is one; else the move that mates in time after most other replies."""
    from flightless.prove import shortest_mate, threat_of

    if not after.is_check():
        threat = threat_of(after, moves - 1)
        if threat is not None:
            return threat.keys[0]
    count: Counter[chess.Move] = Counter()
    for reply in sorted(after.legal_moves, key=lambda m: m.uci()):
        if reply != refutation:
            then = after.copy(stack=False)
            then.push(reply)
            count.update(shortest_mate(then, moves - 1, 1).keys)
    if not count:
        return None
    return min(count, key=lambda m: (-count[m], m.uci()))


def _why(then: chess.Board, meant: chess.Move | None, moves: int) -> tuple[Why, NearCheck | None]:
    if meant is None:
        return "too slow", None
    if not then.is_legal(meant):
        if then.color_at(meant.from_square) != then.turn:
            return "taken", None
        return ("counter-check" if then.is_check() else "not possible"), None
    final = then.copy(stack=False)
    final.push(meant)
    if final.is_check():
        return "answered", near_check(final, meant)
    return ("no check" if moves == 2 else "too slow"), None
