"""From a skeleton to a full position that could have come from a game, with a mate to find.

Men are added where they stand in real games as long as the mate stays, then moves are taken
back.  Everything is decided by the seed; the result is proved with a single key.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

import chess

from flightless.cases.build import case_of
from flightless.cases.case import Case
from flightless.errors import PositionError, UsageError
from flightless.exercises.backwards import Keys, Kinds, Longer, Retraction, Retractor
from flightless.exercises.boards import fresh
from flightless.exercises.compose_fill import VALUES, balance, filled, hanging
from flightless.exercises.compose_squares import PHASES
from flightless.exercises.material import Material, material_of
from flightless.exercises.vary_natural import unnatural
from flightless.patterns.geometry import geometry_key
from flightless.patterns.recognise import names

__all__ = ["Composed", "compose"]

_ATTEMPTS = 150
_NEAR = 2
_WIDTH = {1: (12,), 2: (6, 8), 3: (4, 3, 4)}
"""How many positions of each length are gone on from, or looked at if they are long enough."""
_WIDTH_QUIET = {2: (24, 4), 3: (4, 3, 4)}
_ASKED = {1: 400, 2: 400, 3: 500}
"""Questions to the search before another filling is tried."""
_MOST_VICTIMS = 2
_HANGING = 3
"""So many men may hang in the position to be solved: something must, where men are given up
(common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Composed:
    """A composed position: the side to move in `fen` mates in `moves` by `key` alone, and the
    composing began from the mated position `mated` with the seed `seed`."""

    fen: str
    moves: int
    key: chess.Move
    mated: str
    seed: int


def compose(
    board: chess.Board,
    moves: int = 1,
    seed: int = 0,
    phase: str = "middlegame",
    *,
    balanced: bool = True,
    quiet: bool = False,
) -> Composed:
    """A full position that ends in the skeleton of `board`, a mated position.

    `phase` decides how many men there are and where; `balanced` keeps the sides within two
    pawns of each other in the position to be solved (queen 9, rook 5, minor piece 3).  With
    `quiet` the key neither checks nor takes: whatever the defender plays, he is mated.  The
    mate at the end of the longest defence keeps the names that fit the skeleton (without names,
    its geometry key), and the position is not `unnatural`.

    Raises `PositionError` if `board` is not mate, or if none of 150 attempts succeeds, and
    `UsageError` for an unknown phase, a length other than 1 to 3, or a quiet mate in 1.
    """
    if phase not in PHASES:
        raise UsageError(f"the phase is one of {', '.join(PHASES)}, not {phase!r}")
    if not 1 <= moves <= 3:
        raise UsageError(f"the length must lie between 1 and 3 moves, and is {moves}")
    if quiet and moves == 1:
        raise UsageError("a mate in 1 has no quiet key: ask for 2 or 3 moves")
    case = case_of(board)
    wish = _Wish(
        moves,
        {name.name for name in names(case)},
        geometry_key(case),
        balanced,
        quiet,
    )
    net = chess.Board(case.skeleton.fen)
    free_king = None if case.king_takes_part else case.mating
    for attempt in range(_ATTEMPTS):
        chance = random.Random(f"{seed} {attempt}")
        full = filled(net, free_king, phase, chance)
        if full is None or unnatural(full) is not None or not wish.fits(case_of(full)):
            continue
        made = _Search(wish, chance).best(full)
        if made is not None:
            return Composed(made.board.fen(), moves, made.key, full.fen(), seed)
    what = "with a quiet key " if quiet else ""
    raise PositionError(
        f"no natural position {what}was found in {_ATTEMPTS} attempts with seed {seed}: {net.fen()}"
    )


@dataclass(frozen=True, slots=True)
class _Wish:
    """What the position should be, and what the mate that it ends in."""

    moves: int
    names: set[str]
    geometry: str
    balanced: bool
    quiet: bool

    def fits(self, case: Case) -> bool:
        """Whether a mate has the wished names, or geometry if there are none."""
        if self.names:
            return self.names <= {name.name for name in names(case)}
        return geometry_key(case) == self.geometry

    def is_near(self, board: chess.Board) -> bool:
        """Whether material is near balance, or need not be."""
        return not self.balanced or abs(balance(board)) <= _NEAR

    def keys(self, length: int) -> Keys:
        """What the key of the mate in `length` may be."""
        if length < self.moves:
            return "checks" if length > 1 else "any"
        return "quiet" if self.quiet else "checks" if length > 1 else "any"


class _Search:
    """Taking moves back from one full position, the most promising first."""

    def __init__(self, wish: _Wish, chance: random.Random) -> None:
        self._wish = wish
        self._chance = chance
        self._width = (_WIDTH_QUIET if wish.quiet else _WIDTH)[wish.moves]
        most = _ASKED[wish.moves] * (3 if wish.quiet and wish.moves == 2 else 1)
        self._retractor = Retractor(self._ordered, self._victims, most)

    def best(self, full: chess.Board) -> Longer | None:
        """The best of the first few positions that are as wished."""
        found = list(islice(self._back(full, 0), 3 if self._wish.moves < 3 else 1))
        return min(found, key=lambda f: _cost(f.board), default=None)

    def _back(self, board: chess.Board, length: int) -> Iterator[Longer]:
        """Positions of the wished length that lead to `board`, a mate in `length`."""
        wish = self._wish
        last = length + 1 == wish.moves
        found = self._retractor.longer(
            board,
            length,
            wish.keys(length + 1),
            single=last,
            wanted=self._wish.is_near if last else None,
        )
        for longer in islice(found, self._width[length]):
            if not last:
                yield from self._back(longer.board, length + 1)
            elif self._is_as_wished(longer):
                yield longer

    def _ordered(self, retractions: list[Retraction]) -> list[Retraction]:
        """By chance, those first that look as if they came from a game."""
        self._chance.shuffle(retractions)
        return sorted(retractions, key=lambda r: _promise(*r))

    def _victims(self) -> Kinds:
        """What a retracted move may have taken: a few kinds at a time."""
        return tuple(self._chance.sample(tuple(VALUES), _MOST_VICTIMS))

    def _is_as_wished(self, found: Longer) -> bool:
        board = found.board
        if len(hanging(board)) > _HANGING or unnatural(board) is not None:
            return False
        material = material_of(fresh(board), within=self._wish.moves)
        return (
            isinstance(material, Material)
            and material.proof is not None
            and material.proof.moves == self._wish.moves
            and material.proof.keys == (found.key,)
            and self._wish.fits(material.case)
        )


def _promise(before: chess.Board, move: chess.Move) -> int:
    """How likely a move is in a game, the likeliest first: men are not moved away from where
    they were better placed, and a king in his castle stays there."""
    piece = before.piece_type_at(move.from_square) or chess.PAWN
    taken = before.piece_type_at(move.to_square)
    cost = 0
    if piece == chess.KING:
        cost += 1
    if taken is not None:
        cost += VALUES[taken] > VALUES.get(piece, 9)
    if piece == chess.PAWN and chess.square_file(move.from_square) != chess.square_file(
        move.to_square
    ):
        cost += 1
    return cost


def _cost(board: chess.Board) -> tuple[int, int]:
    """What is unlike a game, the less the better: men left hanging, then the difference."""
    return len(hanging(board)), abs(balance(board))
