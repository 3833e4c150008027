"""Who has been named already: so that 'the rook on e8' can be 'the rook' the next time.

Keeps the state of one telling and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterable

import chess

from flightless.cases.case import Man
from flightless.words.english.grammar import COLOUR, KIND, listed, plural, sq, sqs

__all__ = ["Talk"]


class Talk:
    """The state of one telling.

    `cast` are the men who may be named, `mated` the side whose king it is about (None when
    there is no mate on the board).
    """

    def __init__(self, cast: Iterable[Man] = (), mated: chess.Color | None = None) -> None:
        self.cast = tuple(cast)
        self.mated = mated
        self.introduced: set[Man] = set()
        self.king_named = False

    def the(self, man: Man) -> str:
        """'the rook on e8' the first time, 'the rook' when no other rook could be meant."""
        if man.piece.piece_type == chess.KING:
            return self._king(man)
        alone = self._alone(man)
        known = man in self.introduced
        self.introduced.add(man)
        name = KIND[man.piece.piece_type]
        return f"the {name}" if alone and known else f"the {name} on {sq(man.square)}"

    def afresh(self, men: Iterable[Man]) -> str:
        """Several men named in full, though they may have been named before."""
        chosen = tuple(men)
        self.introduced.difference_update(chosen)
        return self.all(chosen)

    def all(self, men: Iterable[Man]) -> str:
        """Several men, those of a kind together: 'the pawns on f7 and h7 and the rook'."""
        groups: dict[tuple[chess.PieceType, chess.Color], list[Man]] = {}
        for man in men:
            groups.setdefault((man.piece.piece_type, man.piece.color), []).append(man)
        out = []
        for (kind, _), members in groups.items():
            if len(members) == 1:
                out.append(self.the(members[0]))
            else:
                self.introduced.update(members)
                out.append(f"the {plural(kind)} on {sqs(m.square for m in members)}")
        return listed(out)

    def own(self) -> str:
        """'the king's own' the first time, then 'his own'."""
        if self.king_named:
            return "his own"
        self.king_named = True
        return "the king's own"

    def king(self) -> str:
        """'the king'; from then on he is 'he'."""
        self.king_named = True
        return "the king"

    def _king(self, man: Man) -> str:
        if man.piece.color == self.mated:
            return self.king()
        return f"{COLOUR[man.piece.color]}'s king"

    def _alone(self, man: Man) -> bool:
        return not any(
            other != man and other.piece.piece_type == man.piece.piece_type for other in self.cast
        )
