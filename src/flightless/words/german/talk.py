"""Who has been named already, in German: so that 'der Turm auf e8' can be 'der Turm'."""

from __future__ import annotations

from collections.abc import Iterable

import chess

from flightless.cases.case import Man
from flightless.words.german.grammar import Case, listed, sqs, the, the_several

__all__ = ["Talk"]

_ADJECTIVE: dict[chess.Color, dict[Case, str]] = {
    chess.WHITE: {
        "nom": "der weiße König",
        "acc": "den weißen König",
        "dat": "dem weißen König",
        "gen": "des weißen Königs",
    },
    chess.BLACK: {
        "nom": "der schwarze König",
        "acc": "den schwarzen König",
        "dat": "dem schwarzen König",
        "gen": "des schwarzen Königs",
    },
}


class Talk:
    """The state of one telling: the cast, the side whose king it is about, who was named."""

    def __init__(self, cast: Iterable[Man] = (), mated: chess.Color | None = None) -> None:
        self.cast = tuple(cast)
        self.mated = mated
        self.introduced: set[Man] = set()

    def the(self, man: Man, case: Case = "nom") -> str:
        """'den Turm auf e8' the first time, 'den Turm' when no other could be meant."""
        kind = man.piece.piece_type
        if kind == chess.KING:
            return the(kind, case) if man.piece.color == self.mated else self.king_of(man, case)
        others = any(o != man and o.piece.piece_type == kind for o in self.cast)
        short = man in self.introduced and not others
        self.introduced.add(man)
        return the(kind, case) if short else f"{the(kind, case)} auf {sqs([man.square])}"

    @staticmethod
    def king_of(man: Man, case: Case) -> str:
        """'den weißen König'."""
        return _ADJECTIVE[man.piece.color][case]

    def afresh(self, men: Iterable[Man], case: Case = "nom") -> str:
        """Several men named in full."""
        chosen = tuple(men)
        self.introduced.difference_update(chosen)
        return self.all(chosen, case)

    def all(self, men: Iterable[Man], case: Case = "nom") -> str:
        """Several men, those of a kind together: 'die Bauern auf f7 und h7 und den Turm'."""
        groups: dict[tuple[chess.PieceType, chess.Color], list[Man]] = {}
        for man in men:
            groups.setdefault((man.piece.piece_type, man.piece.color), []).append(man)
        out = []
        for (kind, _), members in groups.items():
            if len(members) == 1:
                out.append(self.the(members[0], case))
            else:
                self.introduced.update(members)
                out.append(f"{the_several(kind, case)} auf {sqs(m.square for m in members)}")
        return listed(out)
