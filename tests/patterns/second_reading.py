"""The definitions of the names read a second time, naively: one function for each name.

An independent check of the catalogue and the recogniser.  It knows nothing of catalogue files
or frames: it lays the mate out on coordinates, turns it in all ways that a name allows, and
asks each name's sentence of each skeleton.  Slow and plain on purpose.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import chess

from flightless.cases.case import Case

Square = tuple[int, int]
Turn = Callable[[int, int], Square]

HEAVY = "QR"


@dataclass
class View:
    """A mate with one of its skeletons, turned so that it may be compared with the sentences,
    which are written for a black king at the top.  `kind` has capitals for the mating side."""

    king: Square
    kind: dict[Square, str]
    reasons: dict[Square, set[Square]]
    checkers: set[Square]
    part: set[Square]
    """The skeleton's men and the mating king."""
    everyone: set[Square]
    """All men who take part in any skeleton; the mating king only if he does."""
    protectors: dict[Square, set[Square]]

    def men(self, letters: str) -> list[Square]:
        return [s for s in sorted(self.part) if self.kind[s] in letters]

    def checks(self, letters: str) -> list[Square]:
        return [s for s in self.men(letters) if s in self.checkers]

    def next_to_king(self, s: Square) -> bool:
        return distance(s, self.king) == 1

    def supporters(self, s: Square, letters: str) -> list[Square]:
        return [m for m in self.men(letters) if m in self.protectors[s]]

    def guards(self, man: Square, s: Square) -> bool:
        return s in self.reasons and man in self.reasons[s]

    def blocked(self, s: Square) -> bool:
        """By an own man of this skeleton."""
        return s in self.part and self.kind[s].islower()

    def field(self) -> list[Square]:
        return sorted(self.reasons)

    def own_takes_part(self) -> bool:
        return any(self.kind[s].islower() for s in self.everyone)

    def pieces_taking_part(self) -> list[str]:
        return sorted(self.kind[s] for s in self.everyone if self.kind[s] in "KQRBN")

    def holds(self, man: Square, s: Square) -> bool:
        return s not in self.reasons or self.guards(man, s) or man == s


def distance(a: Square, b: Square) -> int:
    return max(abs(a[0] - b[0]), abs(a[1] - b[1]))


def at(name: str) -> Square:
    return "abcdefgh".index(name[0]), int(name[1]) - 1


def on_long_diagonal(s: Square) -> bool:
    return s[0] == s[1]


def edge(s: Square) -> bool:
    return 0 in s or 7 in s


def straight(a: Square, b: Square) -> bool:
    return a[0] == b[0] or a[1] == b[1]


COLOURS_ONLY: list[Turn] = [lambda f, r: (f, r)]
FILES: list[Turn] = [*COLOURS_ONLY, lambda f, r: (7 - f, r)]
EVERY: list[Turn] = [
    *FILES,
    lambda f, r: (f, 7 - r),
    lambda f, r: (7 - f, 7 - r),
    lambda f, r: (r, f),
    lambda f, r: (7 - r, f),
    lambda f, r: (r, 7 - f),
    lambda f, r: (7 - r, 7 - f),
]

Sentence = Callable[[View], bool]
SENTENCES: dict[str, list[tuple[list[Turn], Sentence]]] = {}


def name(text: str, turns: list[Turn]) -> Callable[[Sentence], Sentence]:
    def put(sentence: Sentence) -> Sentence:
        SENTENCES.setdefault(text, []).append((turns, sentence))
        return sentence

    return put


@name("back rank", FILES)
def _(v: View) -> bool:
    if v.king[1] != 7:
        return False
    for c in v.checks(HEAVY):
        if c[1] != 7 or (v.next_to_king(c) and not v.supporters(c, HEAVY)):
            continue
        if any(v.blocked(s) for s in v.field() if s[1] == 6):
            return True
    return False


@name("corridor", EVERY)
def _(v: View) -> bool:
    for c in v.checks(HEAVY):
        if v.next_to_king(c) or c[1] != v.king[1]:
            continue
        if any(v.blocked(s) for s in v.field() if s[1] != v.king[1]):
            return True
    return False


@name("two-rook ladder", EVERY)
def _(v: View) -> bool:
    if v.king[1] != 7 or v.own_takes_part():
        return False
    line = [s for s in v.field() if s[1] == 6]
    return any(
        c[1] == 7
        and not v.next_to_king(c)
        and any(
            g != c
            and (g[1] == 6 or v.kind[g] == "Q")
            and all(v.guards(g, s) or g == s for s in line)
            for g in v.men(HEAVY)
        )
        for c in v.checks(HEAVY)
    )


@name("heavy pieces on the seventh", EVERY)
def _(v: View) -> bool:
    return v.king[1] == 7 and len([s for s in v.men(HEAVY) if s[1] == 6]) >= 2


@name("epaulette", EVERY)
def _(v: View) -> bool:
    f, r = v.king
    return (f, r - 2) in v.checks("Q") and v.blocked((f - 1, r)) and v.blocked((f + 1, r))


@name("swallow's tail", EVERY)
def _(v: View) -> bool:
    f, r = v.king
    return (f, r - 1) in v.checks("Q") and v.blocked((f - 1, r + 1)) and v.blocked((f + 1, r + 1))


@name("Cozio", EVERY)
def _(v: View) -> bool:
    f, r = v.king
    return (
        not edge(v.king)
        and (f + 1, r - 1) in v.checks("Q")
        and v.blocked((f - 1, r))
        and v.blocked((f, r + 1))
    )


@name("queen before the king", EVERY)
def _(v: View) -> bool:
    f, r = v.king
    return r == 7 and (f, 6) in v.checks("Q") and bool(v.supporters((f, 6), "KQRBNP"))


@name("supported queen beside the king", EVERY)
def _(v: View) -> bool:
    for c in v.checks("Q"):
        if not v.next_to_king(c) or not v.supporters(c, "KQRBNP"):
            continue
        if not straight(c, v.king) or (v.king[1] == 7 and c[1] == 7):
            return True
    return False


@name("queen on the edge, rook behind", EVERY)
def _(v: View) -> bool:
    return any(
        v.next_to_king(q) and q[1] == 7 and r[1] == 7
        for q in v.checks("Q")
        for r in v.supporters(q, "R")
    )


@name("king and rook", EVERY)
def _(v: View) -> bool:
    if v.king[1] != 7 or v.own_takes_part():
        return False
    (mating_king,) = v.men("K")
    for c in v.checks(HEAVY):
        line = [s for s in v.field() if s[1] == 6]
        if (
            c[1] == 7
            and not v.next_to_king(c)
            and all(v.guards(mating_king, s) or v.guards(c, s) for s in line)
            and any(v.guards(mating_king, s) for s in line)
        ):
            return True
    return False


@name("king and queen", EVERY)
def _(v: View) -> bool:
    return (
        v.king[1] == 7
        and not v.own_takes_part()
        and any(v.next_to_king(q) and v.supporters(q, "K") for q in v.checks("Q"))
    )


@name("Lolli", FILES)
def _(v: View) -> bool:
    return (
        v.king in (at("g8"), at("h8"))
        and at("g7") in v.checks("Q")
        and any(p in (at("f6"), at("h6")) for p in v.supporters(at("g7"), "P"))
    )


@name("Damiano", FILES)
def _(v: View) -> bool:
    checkers = "Q" if v.king == at("g8") else HEAVY
    return (
        v.king in (at("g8"), at("h8"))
        and at("h7") in v.checks(checkers)
        and at("g6") in v.supporters(at("h7"), "P")
    )


@name("Anderssen", FILES)
def _(v: View) -> bool:
    return (
        v.king == at("g8")
        and at("h8") in v.checks(HEAVY)
        and at("g7") in v.supporters(at("h8"), "P")
        and bool(v.reasons[at("g7")])
    )


@name("Anderssen", EVERY)
def _(v: View) -> bool:
    return (
        v.king == at("g8")
        and at("h8") in v.checks(HEAVY)
        and any(on_long_diagonal(b) for b in v.supporters(at("h8"), "B"))
    )


@name("pawn mate", FILES)
def _(v: View) -> bool:
    return bool(v.checks("P"))


@name("queen and bishop at the castled king", EVERY)
def _(v: View) -> bool:
    return (
        v.king == at("g8")
        and at("h7") in v.checks("Q")
        and any(b[0] - b[1] == 1 for b in v.supporters(at("h7"), "B"))
    )


@name("Greco", EVERY)
def _(v: View) -> bool:
    return (
        v.king == at("h8")
        and any(c[0] == 7 for c in v.checks(HEAVY))
        and any(v.guards(b, at("g8")) for b in v.men("B"))
        and v.blocked(at("g7"))
    )


@name("Morphy", EVERY)
def _(v: View) -> bool:
    return (
        v.king == at("h8")
        and any(on_long_diagonal(c) for c in v.checks("B"))
        and any(r[0] == 6 and v.guards(r, at("g8")) for r in v.men("R"))
        and v.blocked(at("h7"))
    )


@name("Pillsbury", EVERY)
def _(v: View) -> bool:
    return (
        v.king == at("g8")
        and any(c[0] == 6 for c in v.checks(HEAVY))
        and any(
            on_long_diagonal(b) and v.guards(b, at("h8")) and v.guards(b, at("g7"))
            for b in v.men("B")
        )
        and v.blocked(at("f8"))
    )


@name("Mayet", EVERY)
def _(v: View) -> bool:
    return v.king[1] == 7 and any(
        c[1] == 7 and v.next_to_king(c) and any(distance(b, c) >= 2 for b in v.supporters(c, "B"))
        for c in v.checks("R")
    )


@name("rook and bishop at the home square", COLOURS_ONLY)
def _(v: View) -> bool:
    return (
        v.king == at("e8")
        and any(c in (at("d8"), at("f8")) and v.supporters(c, "B") for c in v.checks(HEAVY))
        and any(v.blocked(s) for s in v.field())
    )


@name("Réti", EVERY)
def _(v: View) -> bool:
    return (
        not edge(v.king)
        and any(
            v.next_to_king(b) and any(h[0] == b[0] for h in v.supporters(b, HEAVY))
            for b in v.checks("B")
        )
        and sum(v.blocked(s) for s in v.field()) >= 3
    )


@name("smothered", COLOURS_ONLY)
def _(v: View) -> bool:
    return bool(v.checks("N")) and all(v.kind.get(s, "X").islower() for s in v.field())


def _slope(a: Square, b: Square) -> int:
    return 1 if (a[0] - b[0]) * (a[1] - b[1]) > 0 else -1


@name("Boden", COLOURS_ONLY)
def _(v: View) -> bool:
    if v.pieces_taking_part() != ["B", "B"] or not any(v.blocked(s) for s in v.field()):
        return False
    return any(
        _slope(c, v.king) != _slope(g, s)
        for c in v.checks("B")
        for g in v.men("B")
        if g != c
        for s in v.field()
        if v.guards(g, s)
    )


@name("two bishops side by side", COLOURS_ONLY)
def _(v: View) -> bool:
    if v.pieces_taking_part() != ["B", "B"]:
        return False
    for c in v.checks("B"):
        slope = _slope(c, v.king)
        for g in v.men("B"):
            beside = abs((c[1] - slope * c[0]) - (g[1] - slope * g[0])) == 1
            held = [s for s in v.field() if v.guards(g, s) and _slope(g, s) == slope]
            if g != c and beside and held:
                return True
    return False


@name("Blackburne", EVERY)
def _(v: View) -> bool:
    if v.king != at("g8") or not v.blocked(at("f8")):
        return False
    for c in v.checks("B"):
        if c != at("h7") and c[1] - c[0] != 1:
            continue
        for b in v.men("B"):
            rakes = on_long_diagonal(b) and all(v.holds(b, at(s)) for s in ("g7", "h8"))
            if b != c and rakes:
                for n in v.men("N"):
                    if n in v.protectors[c] or any(v.guards(n, s) for s in v.field()):
                        return True
    return False


@name("Légal", FILES)
def _(v: View) -> bool:
    return (
        v.king == at("e7")
        and v.pieces_taking_part() == ["B", "N", "N"]
        and len(v.men("N")) == 2
        and len(v.men("B")) == 1
    )


@name("bishop and knight at the castled king", EVERY)
def _(v: View) -> bool:
    return (
        v.king == at("g8")
        and bool(v.checks("N"))
        and any(
            on_long_diagonal(b) and v.guards(b, at("h8")) and v.guards(b, at("g7"))
            for b in v.men("B")
        )
        and v.blocked(at("f8"))
        and v.blocked(at("h7"))
    )


@name("Anastasia", EVERY)
def _(v: View) -> bool:
    held = {at("h7"): ["g8", "g6"], at("h8"): ["g8"]}.get(v.king)
    return (
        held is not None
        and any(c[0] == 7 for c in v.checks(HEAVY))
        and at("e7") in v.men("N")
        and all(v.guards(at("e7"), at(s)) for s in held)
        and v.blocked(at("g7"))
    )


@name("Arabian", EVERY)
def _(v: View) -> bool:
    return (
        v.king == at("h8")
        and at("h7") in v.checks("R")
        and any(v.guards(n, at("g8")) for n in v.supporters(at("h7"), "N"))
    )


@name("rook, knight and pawn in a chain", COLOURS_ONLY)
def _(v: View) -> bool:
    return any(v.blocked(s) for s in v.field()) and any(
        v.next_to_king(c) and any(v.supporters(n, "P") for n in v.supporters(c, "N"))
        for c in v.checks("R")
    )


@name("knight mate in the corner", EVERY)
def _(v: View) -> bool:
    return (
        v.king == at("h8")
        and bool(v.checks("N"))
        and any(all(v.holds(h, at(s)) for s in ("g8", "g7")) for h in v.men(HEAVY))
        and v.blocked(at("h7"))
    )


@name("queen and knight at the castled king", COLOURS_ONLY)
def _(v: View) -> bool:
    return any(v.blocked(s) for s in v.field()) and any(
        v.next_to_king(q) and v.supporters(q, "N") for q in v.checks("Q")
    )


def views(case: Case, turns: list[Turn]) -> Iterator[View]:
    """The case's skeletons, each turned in every way; White's mates with the colours first
    exchanged."""
    board = case.board
    lifted = board.copy(stack=False)
    lifted.remove_piece_at(case.king)
    protectors = {s: set(lifted.attackers(case.mating, s)) for s in board.piece_map()}
    everyone = {m for skeleton in case.skeletons for m in skeleton.men}
    if case.king_takes_part:
        everyone.add(case.mating_king)
    for turn in turns:

        def place(s: chess.Square, turn: Turn = turn) -> Square:
            rank = chess.square_rank(s)
            return turn(chess.square_file(s), 7 - rank if case.mated else rank)

        def placed(men: object, place: Callable[[chess.Square], Square] = place) -> set[Square]:
            assert isinstance(men, (set, tuple))
            return {place(m) for m in men}

        kind = {
            place(s): p.symbol().upper() if p.color == case.mating else p.symbol().lower()
            for s, p in board.piece_map().items()
        }
        reasons = {}
        for s in chess.SQUARES:
            if chess.square_distance(s, case.king) == 1:
                own = {s} if board.color_at(s) == case.mated else set()
                reasons[place(s)] = placed(own | set(lifted.attackers(case.mating, s)))
        for skeleton in case.skeletons:
            yield View(
                king=place(case.king),
                kind=kind,
                reasons=reasons,
                checkers=placed(set(board.checkers())),
                part=placed({*skeleton.men, case.mating_king}),
                everyone=placed(everyone),
                protectors={place(s): placed(men) for s, men in protectors.items()},
            )


def second_names(case: Case) -> set[str]:
    """The names that fit, by the second reading."""
    every = [list(views(case, [turn])) for turn in EVERY]
    return {
        name
        for name, sentences in SENTENCES.items()
        if any(
            sentence(view)
            for turns, sentence in sentences
            for seen in every[: len(turns)]
            for view in seen
        )
    }
