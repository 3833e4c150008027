"""Taking moves back so that a mate becomes one move longer, with one first move that does it.

Asks the compiled search the cheapest question first: whether the defender is lost whatever he
plays, then whether another first move would do.  What it yields is for `vary` and `compose` to
judge; they prove it once more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

import chess

from flightless.exercises.vary_natural import unmoves

__all__ = ["Keys", "Kinds", "Longer", "Order", "Retraction", "Retractor"]

Keys = Literal["checks", "quiet", "any"]
"""What the first move of the longer mate may be.  A quiet one neither checks nor takes."""

Retraction = tuple[chess.Board, chess.Move]
"""A position, and the move that leads on from it."""

Wanted = Callable[[chess.Board], bool]

Kinds = tuple[chess.PieceType, ...]

Order = Callable[[list[Retraction]], Iterable[Retraction]]
"""Puts retractions in the order in which they are tried."""

_NODES = 60_000
_TABLE = 12
_LONGEST = 5
_ANY: Kinds = (chess.QUEEN, chess.ROOK, chess.BISHOP, chess.KNIGHT, chess.PAWN)


@dataclass(frozen=True, slots=True)
class Longer:
    """A position one move earlier: the side to move mates in one more, by `key` alone."""

    board: chess.Board
    key: chess.Move
    quiet: bool


class Retractor:
    """Takes moves back from one mate.

    `order` decides what is tried first, `taken` what each retracted move may have taken, and
    `most` how many positions the search is asked about.  The search's table is kept from
    question to question, which changes no answer.
    """

    def __init__(
        self, order: Order = list, taken: Callable[[], Kinds] = lambda: _ANY, most: int = 20_000
    ) -> None:
        from flightless.prove.engine import Engine

        self._engine = Engine(_LONGEST, bits=_TABLE)
        self._order = order
        self._taken = taken
        self._left = most

    @property
    def spent(self) -> bool:
        """Whether `most` positions have been asked about."""
        return self._left <= 0

    def longer(
        self,
        board: chess.Board,
        moves: int,
        keys: Keys = "any",
        *,
        single: bool = True,
        wanted: Wanted | None = None,
    ) -> Iterator[Longer]:
        """Positions before `board` in which the mate takes one move more, of those `wanted`.

        `board` is mated (`moves` 0), or its side to move mates in `moves`.  The defender's last
        move is taken back first (he may have taken a man with it), then the attacker's.
        Without `single` the mate may have other first moves.
        """
        if not moves:
            if keys != "quiet":
                yield from self._keys_to(board, 1, False, single, wanted)
            return
        for defends in self._lost(board, moves, keys):
            yield from self._keys_to(defends, moves + 1, not defends.is_check(), single, wanted)

    def _lost(self, board: chess.Board, moves: int, keys: Keys) -> Iterator[chess.Board]:
        """Positions with the defender to move, one of whose moves leads to `board`, and who is
        mated in `moves` whatever he plays."""
        taken = () if keys == "quiet" else self._taken()
        found = list(unmoves(board, taken, from_check=keys == "checks"))
        if keys == "quiet":
            found = [one for one in found if not one[0].is_check()]
        for before, _ in self._order(found):
            if self.spent:
                return
            if self._is_lost(before, moves):
                yield before

    def _is_lost(self, board: chess.Board, moves: int) -> bool:
        from flightless.prove.engine import DEFENDS, state_of

        if not any(board.generate_legal_moves()):
            return False
        self._left -= 1
        self._engine.allow(_NODES)
        held = self._engine.search(state_of(board), moves, DEFENDS)
        return not held and not self._engine.stopped

    def _keys_to(
        self,
        after: chess.Board,
        moves: int,
        quiet: bool,
        single: bool,
        wanted: Wanted | None,
    ) -> Iterator[Longer]:
        """Positions before `after` from which the move to it mates in `moves`."""
        taken = () if quiet else self._taken()
        found = [one for one in unmoves(after, taken) if not (quiet and one[1].promotion)]
        if wanted is not None:
            found = [one for one in found if wanted(one[0])]
        for before, move in self._order(found):
            if self.spent:
                return
            self._left -= 1
            if self._is_key(before, moves, single):
                yield Longer(before, move, quiet)

    def _is_key(self, board: chess.Board, moves: int, single: bool) -> bool:
        """Whether there is no shorter mate and, with `single`, no other move that does it."""
        from flightless.prove.engine import state_of

        state = state_of(board)
        self._engine.allow(_NODES)
        if moves > 1 and self._engine.solutions(state, moves - 1):
            return False
        alone = not single or len(self._engine.solutions(state, moves)) == 1
        return alone and not self._engine.stopped
