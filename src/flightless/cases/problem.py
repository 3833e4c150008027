"""A position as a composed direct mate: key, threat, variations, set play, tries, duals, cooks.

`problem_of` computes all of it and gives frozen data; its JSON is in `problem_record`, its
notation in `words/`.  Mates of up to three moves are analysed in full; of longer ones there is
what their proof shows, and `left_out` names the rest.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import chess

from flightless.prove.asking import DEFAULT_NODES
from flightless.prove.proof import Proof

__all__ = [
    "FULL",
    "DualKind",
    "LeftOut",
    "Play",
    "Problem",
    "Refuted",
    "Variation",
    "Verdict",
    "problem_of",
]

FULL = 3
"""Mates of up to so many moves are analysed in full."""

Verdict = Literal["sound", "cooked", "short solution", "no solution", "undecided"]
LeftOut = Literal["set play", "tries", "duals", "later variations", "keys", "threats", "shorter"]
DualKind = Literal["dual", "same line", "promotion"]


@dataclass(frozen=True, slots=True)
class Play:
    """A move of the mating side and what follows.

    It mates in `moves`, itself counted.  `threats`: if it gives no check, every move that mates
    soonest if the defender passes.  `variations`: the defences and how they are met.  `idle`:
    the replies after which all threats still mate as soon as they threatened to, with every move
    that mates soonest.  In both, replies that are met in the same way are put together.  `followed`
    is false where nothing of this was looked for.
    """

    move: chess.Move
    moves: int
    check: bool
    threats: tuple[Play, ...] = ()
    variations: tuple[Variation, ...] = ()
    idle: tuple[Variation, ...] = ()
    followed: bool = True

    @property
    def is_zugzwang(self) -> bool:
        """Whether it neither mates, nor checks, nor threatens to mate in time."""
        return self.followed and self.moves > 1 and not self.check and not self.threats


@dataclass(frozen=True, slots=True)
class Variation:
    """Replies of the defender that are met in the same way.

    `play` is the continuation, and `duals` are the other moves that mate as soon.  `kind` says
    what sort of dual it is: "promotion" if the moves differ only in the man that is promoted
    to, "same line" if one man only chooses among squares on one line from where he stands (both
    are minor), else "dual"; None if there is none.
    """

    defences: tuple[chess.Move, ...]
    play: Play
    duals: tuple[chess.Move, ...] = ()
    kind: DualKind | None = None

    @property
    def continuations(self) -> tuple[chess.Move, ...]:
        """Every move that mates soonest."""
        return (self.play.move, *self.duals)


@dataclass(frozen=True, slots=True)
class Refuted:
    """A try: a first move that mates in time against all replies but one, the `refutation`.

    `threats` are the moves that mate soonest, and in time, if the defender passes.
    """

    move: chess.Move
    check: bool
    refutation: chess.Move
    threats: tuple[chess.Move, ...] = ()


@dataclass(frozen=True, slots=True)
class Problem:
    """A direct mate as problem literature describes one.

    `moves` is the length of the shortest mate of the side to move, None if none was found
    within `within`.  `stipulated` is the length that the problem claims, if it claims one.
    `verdict`: sound (one key), cooked (several), a shorter or no solution (of the length that is
    stipulated), or undecided within the budget.  `keys` are all first moves that mate in
    `moves`: a second one is a cook.  `set_play`: what
    would follow if the defender had the move; None if the side to move is in check and cannot
    pass, and `complete_block` says that every move of his would be met.  `tries` is empty for
    mates in one.  `left_out` names what was not looked for, or not to the end.
    """

    fen: str
    within: int
    moves: int | None
    verdict: Verdict
    stipulated: int | None = None
    keys: tuple[Play, ...] = ()
    set_play: tuple[Variation, ...] | None = ()
    complete_block: bool = False
    tries: tuple[Refuted, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    nodes: int = 0

    @property
    def board(self) -> chess.Board:
        """A fresh board of the diagram."""
        return chess.Board(self.fen)

    @property
    def men(self) -> tuple[int, int]:
        """How many men White and Black have."""
        board = self.board
        white, black = (chess.popcount(board.occupied_co[side]) for side in (True, False))
        return white, black

    @property
    def duals(self) -> tuple[Variation, ...]:
        """Every variation of the keys, at any depth, that has a dual, minor ones included."""
        return tuple(v for key in self.keys for v in _below(key) if v.duals)


def problem_of(
    board: chess.Board,
    within: int = 5,
    *,
    stipulated: int | None = None,
    budget: int = DEFAULT_NODES,
) -> Problem:
    """The problem that a position is, with a mate within `within` moves.

    `stipulated`, if given, is the length that the problem claims; if it is the longer, it is
    looked as far as that.  `budget` bounds the search for the shortest mate, in nodes; the
    analysis of mates up to `FULL` moves always runs to its end.  Raises `PositionError` and
    `UsageError` as `prove` does.
    """
    from flightless.prove import prove

    within = max(within, stipulated or 0)
    proof = prove(board, within, budget)
    if proof.verdict != "mate" or proof.moves is None:
        none: Verdict = "undecided" if proof.verdict == "undecided" else "no solution"
        return Problem(board.fen(), within, None, none, stipulated, nodes=proof.nodes)
    verdict = _verdict(proof, stipulated)
    if proof.moves <= FULL and proof.shortest:
        return _in_full(board, proof, verdict, stipulated, within)
    return _from_proof(board, proof, verdict, stipulated, within)


def _verdict(proof: Proof, stipulated: int | None) -> Verdict:
    """What is said of a position in which there is a mate."""
    assert proof.moves is not None
    if stipulated is not None and proof.moves < stipulated:
        return "short solution"
    if stipulated is not None and proof.moves > stipulated and proof.shortest:
        return "no solution"
    if len(proof.keys) > 1:
        return "cooked"
    return "sound" if proof.shortest and proof.keys_complete else "undecided"


def _in_full(
    board: chess.Board, proof: Proof, verdict: Verdict, stipulated: int | None, within: int
) -> Problem:
    from flightless.cases.problem_play import Solver

    assert proof.moves is not None
    solver = Solver(proof.moves)
    moves = proof.moves
    keys = tuple(solver.play(board, key, moves) for key in proof.keys)
    set_play: tuple[Variation, ...] | None = ()
    block = False
    if board.is_check():
        set_play = None
    elif moves > 1:
        set_play, block = solver.set_play(board, moves - 1)
    return Problem(
        fen=board.fen(),
        within=within,
        moves=moves,
        verdict=verdict,
        stipulated=stipulated,
        keys=keys,
        set_play=set_play,
        complete_block=block,
        tries=solver.tries(board, moves) if moves > 1 else (),
        left_out=() if proof.keys_complete else ("keys",),
        nodes=proof.nodes + solver.nodes,
    )


def _from_proof(
    board: chess.Board, proof: Proof, verdict: Verdict, stipulated: int | None, within: int
) -> Problem:
    from flightless.cases.problem_tree import play_of

    left_out: list[LeftOut] = ["set play", "tries", "duals", "later variations"]
    if not proof.shortest:
        left_out.append("shorter")
    if not proof.keys_complete:
        left_out.append("keys")
    if "threats" in proof.left_open:
        left_out.append("threats")
    return Problem(
        fen=board.fen(),
        within=within,
        moves=proof.moves,
        verdict=verdict,
        stipulated=stipulated,
        keys=tuple(play_of(proof, key) for key in proof.keys),
        set_play=None if board.is_check() else (),
        left_out=tuple(left_out),
        nodes=proof.nodes,
    )


def _below(play: Play) -> Iterator[Variation]:
    for variation in play.variations:
        yield variation
        yield from _below(variation.play)
