"""Minimal pairs: the same position with one thing changed, mate on the left and none on the right.

The changes come from `cases.breaks`; here they are brought to the position that the pupil
sees, proved, and put in order of what they teach.  `words` speaks them.
"""

from __future__ import annotations

from dataclasses import dataclass

import chess

from flightless.cases.breaks import Break, breaks_of
from flightless.errors import PositionError
from flightless.exercises.boards import fresh
from flightless.exercises.material import Material, NotFit, material_of
from flightless.exercises.vary_natural import unnatural

__all__ = ["Pair", "contrasts", "pair_of"]

_NODES = 200_000
_KINDS = ("luft", "blocker moved", "guard moved", "pin released", "blocker gone", "moved earlier")


@dataclass(frozen=True, slots=True)
class Pair:
    """`mate` and `no_mate` are FENs that differ by `broken.change`.

    `moves` is the length of the mate on the left (0: mated on the board) and `key` its first
    move, legal on both sides; there is no mate within `moves` on the right, where `reply` is a
    defence to the key.  `size` is how far the man went, in king's steps (3 for a man taken
    off), `of_pattern` whether he stands in the skeleton.  `broken` belongs to the mated position
    of `material`'s case.
    """

    mate: str
    no_mate: str
    moves: int
    key: chess.Move | None
    reply: chess.Move | None
    broken: Break
    size: int
    of_pattern: bool


def contrasts(board: chess.Board, within: int = 3, most: int = 8) -> tuple[Material, list[Pair]]:
    """The most instructive pairs of a position, the best first, with the material they are of.

    Better is: the man stands in the skeleton, the change is small, the kind of change (luft,
    a blocker, a guard, a pin, a man gone), few answers.  Common practice, no source.  Both
    positions are natural in the sense of `unnatural`.  Raises `PositionError` if `board` is
    not a mate with one key within `within` moves.
    """
    material = material_of(board, within=within)
    if isinstance(material, NotFit):
        raise PositionError(material.reason)
    start = material.board
    if material.proof is not None and len(material.proof.keys) > 1:
        raise PositionError(f"{len(material.proof.keys)} first moves mate: {start.fen()}")
    reason = unnatural(start)
    if reason is not None:
        raise PositionError(f"the position is not natural: {reason}: {start.fen()}")
    found = [pair for b in breaks_of(material.case) if (pair := pair_of(material, start, b))]
    found.sort(key=_order)
    kept: dict[str, Pair] = {}
    for pair in found:
        kept.setdefault(pair.no_mate, pair)
    return material, list(kept.values())[:most]


def _order(pair: Pair) -> tuple[int, int, int, int, str]:
    return (
        not pair.of_pattern,
        pair.size,
        _KINDS.index(pair.broken.kind),
        len(pair.broken.answers),
        pair.no_mate,
    )


def pair_of(material: Material, start: chess.Board, broken: Break) -> Pair | None:
    """The pair that one change makes, if both positions are natural and the change leaves the key
    legal and no mate as long; None otherwise."""
    change, case, proof = broken.change, material.case, material.proof
    if broken.check_gone or broken.first is None or start.piece_at(change.square) != change.piece:
        return None
    if proof is not None and any(
        square in (change.square, change.to)
        for move in proof.line
        for square in (move.from_square, move.to_square)
    ):
        return None
    if change.to is not None and start.piece_at(change.to) is not None:
        return None
    after = fresh(change.applied(start))
    after.castling_rights = after.clean_castling_rights()
    if unnatural(after) is not None:
        return None
    reply: chess.Move | None = broken.first
    key = proof.keys[0] if proof is not None else None
    if key is not None and proof is not None and proof.moves is not None:
        if not after.is_legal(key) or not _no_mate(after, proof.moves):
            return None
        reply = _defence(after, key, proof.moves)
        if reply is None:
            return None
    size = 3 if change.to is None else chess.square_distance(change.square, change.to)
    return Pair(
        start.fen(),
        after.fen(),
        0 if proof is None or proof.moves is None else proof.moves,
        key,
        reply,
        broken,
        size,
        change.square in case.skeleton.men,
    )


def _no_mate(board: chess.Board, moves: int) -> bool:
    from flightless.prove import shortest_mate

    find = shortest_mate(board, moves, moves, _NODES)
    return find.moves is None and not find.exhausted


def _defence(board: chess.Board, key: chess.Move, moves: int) -> chess.Move | None:
    from flightless.prove import refutations

    return next(iter(refutations(board, key, moves)), None)
