"""How alike two skeletons are, and why: a measure from 0 to 1 on their geometry keys.

Six parts are compared, each from 0 to 1, and added with the weights of `WEIGHTS` (common
practice, no source: set so that mates of one name come before mates of another).  Two of them
look at the field square by square, in that one of the eight turns and reflections in which
most squares agree.  `LikenessIndex` answers for a million keys in a fraction of a second.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import chess

from flightless.patterns.frames import ALL, FIELD, Step
from flightless.patterns.keys import KeyMan, ParsedKey, parse_key

__all__ = ["WEIGHTS", "Features", "Likeness", "Part", "SquarePair", "features_of", "likeness"]

PartName = Literal["check", "place", "tandem", "own men", "squares", "reasons"]

WEIGHTS: dict[PartName, float] = {
    "check": 0.25,
    "place": 0.10,
    "tandem": 0.20,
    "own men": 0.10,
    "squares": 0.15,
    "reasons": 0.20,
}
"""`squares` compares only what kind of answer a field square has (off the board, own man,
mating man on it, guarded); `reasons` also who it is."""

_STATES = (
    "off the board",
    "own pawn",
    "own minor piece",
    "own heavy piece",
    "the checker",
    "a man of the mating side",
    "guarded along a rank or file",
    "guarded along a diagonal",
    "guarded by a knight",
    "guarded by a pawn",
    "guarded by the king",
    "guarded in several ways",
)
_COARSE = (0, 1, 1, 1, 2, 2, 3, 3, 3, 3, 3, 3)

CHECKS = (
    "queen next to the king, straight",
    "queen next to the king, diagonally",
    "queen from afar, straight",
    "queen from afar, diagonally",
    "rook next to the king",
    "rook from afar",
    "bishop next to the king",
    "bishop from afar",
    "knight",
    "pawn",
)
PLACES = (
    "off the edge",
    "on the edge, checked along it",
    "on the edge, checked from the board's side",
    "on the edge, checked from a diagonal",
    "on the edge, checked by a knight",
    "in a corner, checked along the edge",
    "in a corner, checked from the diagonal",
    "in a corner, checked by a knight",
)
TANDEM = ("queen", "rook", "bishop", "knight", "pawn", "king", "any supporter")
OWN = ("pawn", "minor piece", "heavy piece")


@dataclass(frozen=True, slots=True)
class Features:
    """A key as small numbers.

    `fine` and `coarse` hold four bits for each field square (square 0 of `FIELD` lowest);
    `check` has a bit for each of `CHECKS`; `place` numbers `PLACES`; `tandem` has two bits
    (a count up to 3) for each of `TANDEM`, `own` three bits (up to 7) for each of `OWN`.
    """

    fine: int
    coarse: int
    check: int
    place: int
    tandem: int
    own: int


@dataclass(frozen=True, slots=True)
class SquarePair:
    """A field square of the first key and the one that answers to it in the second, with what
    holds them."""

    first: Step
    second: Step
    first_state: str
    second_state: str


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a likeness: its weight, its value, and what each side has there."""

    name: PartName
    weight: float
    value: float
    first: tuple[str, ...]
    second: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Likeness:
    """`value` from 0 to 1; the `parts` that make it; the field squares put beside each other.

    `turn` is the number (in `frames.ALL`) of the turn of the first key's picture in which the
    squares were compared.
    """

    value: float
    parts: tuple[Part, ...]
    squares: tuple[SquarePair, ...]
    turn: int


def likeness(first: str, second: str) -> Likeness:
    """The likeness of two geometry keys, with its reasons.  `UsageError` for another text.

    It is 1 for equal keys and the same in both directions.
    """
    one, two = features_of(first), features_of(second)
    turn, squares, reasons = _best_turn(one, two)
    values: dict[PartName, float] = {
        "check": check_likeness(one.check, two.check),
        "place": place_likeness(one.place, two.place),
        "tandem": shared(one.tandem, two.tandem, 2, len(TANDEM)),
        "own men": shared(one.own, two.own, 3, len(OWN)),
        "squares": squares / 8,
        "reasons": reasons / 8,
    }
    words = [_words(features) for features in (one, two)]
    parts = tuple(
        Part(name, WEIGHTS[name], value, words[0][name], words[1][name])
        for name, value in values.items()
    )
    total = sum(part.weight * part.value for part in parts)
    return Likeness(total, parts, _pairs(one, two, turn), turn)


@lru_cache(maxsize=4096)
def features_of(key: str) -> Features:
    """The features of a key.  `UsageError` if the text is none."""
    parsed = parse_key(key)
    fine = coarse = 0
    for number, state in enumerate(_field_states(parsed)):
        fine |= state << 4 * number
        coarse |= _COARSE[state] << 4 * number
    check = 0
    for man in parsed.men:
        if man.checks:
            check |= 1 << _check_atom(man)
    return Features(fine, coarse, check, _place_code(parsed), _tandem(parsed), _own(parsed))


def turned(nibbles: int, number: int) -> int:
    """Four bits for each field square, after one of the eight turns."""
    result = 0
    for square, target in enumerate(ALL[number].to_field):
        result |= (nibbles >> 4 * square & 15) << 4 * target
    return result


def check_likeness(first: int, second: int) -> float:
    """Of two sets of checks: the mean, over all checks, of the most alike on the other side."""
    one, two = _bits(first), _bits(second)
    if not one or not two:
        return float(one == two)
    best = [max(_atoms_alike(a, b) for b in two) for a in one]
    best += [max(_atoms_alike(a, b) for a in one) for b in two]
    return sum(best) / len(best)


def place_likeness(first: int, second: int) -> float:
    """1 for the same place, 0.6 if only the direction of the check differs, 0.3 for an edge
    beside a corner, else 0."""
    if first == second:
        return 1.0
    one, two = _place_class(first), _place_class(second)
    return 0.6 if one == two else 0.3 if one and two else 0.0


def shared(first: int, second: int, width: int, many: int) -> float:
    """Counts of `width` bits: the sum of the lesser ones by the sum of the greater ones
    (1 if there are none): men in common, by all men of either side."""
    both = either = 0
    for i in range(many):
        a, b = first >> width * i & (1 << width) - 1, second >> width * i & (1 << width) - 1
        both += min(a, b)
        either += max(a, b)
    return both / either if either else 1.0


def _field_states(parsed: ParsedKey) -> list[int]:
    own = {step: kind for kind, step in parsed.own}
    standing = {man.at: man for man in parsed.men if man.at in FIELD}
    guards: dict[Step, set[int]] = {}
    for man in parsed.men:
        for step, ray in man.attacks:
            guards.setdefault(step, set()).add(_guard_state(man, step, ray))
    states = []
    for step in FIELD:
        if step in parsed.off:
            states.append(0)
        elif step in own:
            states.append(1 if own[step] == chess.PAWN else 2 if own[step] < chess.ROOK else 3)
        elif step in standing:
            states.append(4 if standing[step].checks else 5)
        else:
            ways = guards.get(step, set())
            states.append(ways.pop() if len(ways) == 1 else 11)
    return states


def _guard_state(man: KeyMan, step: Step, ray: Step | None) -> int:
    if man.kind in (chess.KNIGHT, chess.PAWN, chess.KING):
        return {chess.KNIGHT: 8, chess.PAWN: 9, chess.KING: 10}[man.kind]
    if ray is None and man.at is not None:
        ray = (step[0] - man.at[0], step[1] - man.at[1])
    return 6 if ray is not None and 0 in ray else 7


def _check_atom(man: KeyMan) -> int:
    if man.kind == chess.KNIGHT:
        return 8
    if man.kind == chess.PAWN:
        return 9
    near = man.at is not None
    if man.kind == chess.ROOK:
        return 4 if near else 5
    if man.kind == chess.BISHOP:
        return 6 if near else 7
    return (0 if near else 2) + (0 not in _check_ray(man))


def _check_ray(man: KeyMan) -> Step:
    """A step along the line of a check.  Of the lines of a man known by them it is the one
    through the king: there he attacks a square in its very direction from the king."""
    if man.at is not None:
        return (-man.at[0], -man.at[1])
    for step, along in man.attacks:
        if along is not None and step in (along, (-along[0], -along[1])):
            return along
    return (0, 0)


def _place_code(parsed: ParsedKey) -> int:
    if not parsed.off:
        return 0
    corner = len(parsed.off) == 5
    checkers = [man for man in parsed.men if man.checks]
    lines = [man for man in checkers if man.kind not in (chess.KNIGHT,)]
    if not lines:
        return 7 if corner else 4
    ray = _check_ray(lines[0])
    if 0 not in ray:
        return 6 if corner else 3
    if corner:
        return 5
    # the edge runs at right angles to the middle one of the three squares off the board
    (out,) = (step for step in parsed.off if 0 in step)
    return 1 if ray[0] * out[0] + ray[1] * out[1] == 0 else 2


def _place_class(place: int) -> int:
    return 0 if not place else 1 if place < 5 else 2


def _tandem(parsed: ParsedKey) -> int:
    order = (chess.QUEEN, chess.ROOK, chess.BISHOP, chess.KNIGHT, chess.PAWN, chess.KING)
    counts = [sum(man.kind == kind for man in parsed.men) for kind in order]
    counts.append(sum(man.supported for man in parsed.men))
    return sum(min(count, 3) << 2 * i for i, count in enumerate(counts))


def _own(parsed: ParsedKey) -> int:
    counts = [0, 0, 0]
    for kind, _ in (*parsed.own, *parsed.extra):
        counts[0 if kind == chess.PAWN else 1 if kind < chess.ROOK else 2] += 1
    return sum(min(count, 7) << 3 * i for i, count in enumerate(counts))


def _bits(mask: int) -> list[int]:
    return [i for i in range(len(CHECKS)) if mask >> i & 1]


def _atoms_alike(first: int, second: int) -> float:
    """1 for the same check, 0.6 for queen and rook or queen and bishop doing the same, 0.4 for
    the same man from near and from afar, or a queen straight and diagonally; else 0."""
    if first == second:
        return 1.0
    if {first, second} in ({0, 4}, {2, 5}, {1, 6}, {3, 7}):
        return 0.6
    if {first, second} in ({0, 1}, {2, 3}, {0, 2}, {1, 3}, {4, 5}, {6, 7}):
        return 0.4
    return 0.0


def _best_turn(one: Features, two: Features) -> tuple[int, int, int]:
    """The turn with the highest sum, the number of squares alike in it, and of reasons."""
    best = (-1.0, 0, 0, 0)
    for number in range(8):
        squares = 8 - _different(turned(one.coarse, number) ^ two.coarse)
        reasons = 8 - _different(turned(one.fine, number) ^ two.fine)
        value = WEIGHTS["squares"] * squares + WEIGHTS["reasons"] * reasons
        if value > best[0] + 1e-9:
            best = (value, number, squares, reasons)
    return best[1:]


def _different(nibbles: int) -> int:
    return sum(bool(nibbles >> 4 * i & 15) for i in range(8))


def _pairs(one: Features, two: Features, turn: int) -> tuple[SquarePair, ...]:
    pairs = []
    for square, target in enumerate(ALL[turn].to_field):
        states = (one.fine >> 4 * square & 15, two.fine >> 4 * target & 15)
        pairs.append(
            SquarePair(FIELD[square], FIELD[target], _STATES[states[0]], _STATES[states[1]])
        )
    return tuple(pairs)


def _words(features: Features) -> dict[PartName, tuple[str, ...]]:
    def counted(value: int, width: int, names: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(
            name
            for i, name in enumerate(names)
            for _ in range(value >> width * i & (1 << width) - 1)
        )

    states = [_STATES[features.fine >> 4 * i & 15] for i in range(8)]
    return {
        "check": tuple(CHECKS[i] for i in _bits(features.check)),
        "place": (PLACES[features.place],),
        "tandem": counted(features.tandem, 2, TANDEM),
        "own men": counted(features.own, 3, OWN),
        "squares": tuple(states),
        "reasons": tuple(states),
    }
