"""Making a set: from many candidates a graded, varied, reproducible set of exercises.

Chooses candidates, tries kinds on them, keeps no two alike, mixes sides and flanks, and puts
look-alikes and positions without a mate between; what an exercise is lies in `kinds`, the
order in `ordering`.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import zip_longest
from types import MappingProxyType

import chess

from flightless.errors import UsageError
from flightless.exercises.choice import Candidate
from flightless.exercises.difficulty import LEVELS, Difficulty, level_of, prior
from flightless.exercises.exercise import Exercise, Role
from flightless.exercises.file import ExerciseSet
from flightless.exercises.kinds.find_mate import FindMate
from flightless.exercises.lookalikes import alike
from flightless.exercises.material import Material, NotFit, material_of
from flightless.exercises.ordering import arranged
from flightless.exercises.registry import KINDS
from flightless.exercises.toml import Value
from flightless.exercises.turning import turned
from flightless.patterns.geometry import geometry_key
from flightless.patterns.recognise import catalogue
from flightless.positions import read_position

__all__ = ["MadeSet", "Wish", "make_set"]

_WEIGHTS = {"find-mate": 4, "two-positions": 2}
"""How often a kind comes, against once for each other."""

_LONG = 3
"""Longer mates are tried last, unless hard ones are wanted."""

_KINDS_TRIED = 5
_UNEVEN = 2
"""A side or flank that is so many ahead is exchanged for the other."""

_PATIENCE = 60
"""Candidates tried for each exercise wanted before a pool is given up."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What a set should be.

    `patterns` are names of the catalogue (none: whatever comes), `level` one of `LEVELS` or
    None, `kinds` words of `KINDS` (none: all).  `blocked` is the share of the set that comes
    first, in blocks; the rest is mixed.  `look_alikes` and `no_mates` are the shares of
    positions of other patterns and of those without a mate; there are none of the first
    without `patterns`, and none of the second without the kind 'find-mate'.  Raises
    `UsageError` for a value that makes no sense.
    """

    patterns: tuple[str, ...] = ()
    count: int = 24
    level: str | None = None
    kinds: tuple[str, ...] = ()
    seed: int = 1
    blocked: float = 0.0
    look_alikes: float = 0.2
    no_mates: float = 0.15
    title: str = ""

    def __post_init__(self) -> None:
        try:
            names = tuple(catalogue()[name].name for name in self.patterns)
        except KeyError as error:
            raise UsageError(f"there is no pattern {error.args[0]!r} in the catalogue") from None
        object.__setattr__(self, "patterns", names)  # as the catalogue writes them
        for kind in self.kinds:
            if kind not in KINDS:
                raise UsageError(
                    f"there is no kind of exercise {kind!r}; there are {', '.join(KINDS)}"
                )
        if self.level is not None and self.level not in LEVELS:
            raise UsageError(f"the level is one of {', '.join(LEVELS)}, not {self.level!r}")
        if not 1 <= self.count <= 500:
            raise UsageError(f"a set has 1 to 500 exercises, not {self.count}")
        for share in (self.blocked, self.look_alikes, self.no_mates):
            if not 0 <= share <= 1:
                raise UsageError(f"a share lies between 0 and 1, not at {share}")

    @property
    def all_kinds(self) -> tuple[str, ...]:
        """The kinds that may come."""
        return tuple(kind for kind in KINDS if not self.kinds or kind in self.kinds)


@dataclass(frozen=True, slots=True)
class MadeSet:
    """A set, and notes for the coach: what could not be as wished, as sentences."""

    exercises: ExerciseSet
    notes: tuple[str, ...] = ()


def make_set(
    candidates: Sequence[Candidate],
    wish: Wish,
    difficulty: Difficulty = prior,
    progress: Callable[[int, int], None] | None = None,
) -> MadeSet:
    """Make a set.  The same candidates (in any order) and the same wish give the same set.

    `difficulty` grades; `progress` is told (made, wanted).  Every exercise is checked from
    scratch before it is taken.
    """
    maker = _Maker(wish, difficulty, progress)
    pools = _pools(candidates, wish)
    for role, wanted in _quotas(wish).items():
        most = len(pools[role]) // 3 if role == "no mate" else wanted
        maker.fill(role, pools[role], min(wanted, most))
    maker.make_up(pools["pattern"])
    blocked, mixed = arranged(
        maker.made, round(wish.blocked * wish.count), random.Random(f"order {wish.seed}")
    )
    if any(e.about.role == "no mate" for e in mixed):
        mixed = [replace(e, perhaps=True) if isinstance(e, FindMate) else e for e in mixed]
    title = wish.title or _title(wish)
    made: Mapping[str, Value] = MappingProxyType(
        {
            "seed": wish.seed,
            "patterns": list(wish.patterns),
            "kinds": list(wish.kinds),
            "level": wish.level or "",
            "blocked": wish.blocked,
            "look_alikes": wish.look_alikes,
            "no_mates": wish.no_mates,
        }
    )
    return MadeSet(ExerciseSet(title, (*blocked, *mixed), made), tuple(maker.notes()))


def _title(wish: Wish) -> str:
    names = [(catalogue()[p].known_as or catalogue()[p].description) for p in wish.patterns[:2]]
    text = " and ".join(names)
    return text[:1].upper() + text[1:] if text else "Mates"


def _quotas(wish: Wish) -> dict[Role, int]:
    look_alikes = round(wish.look_alikes * wish.count) if wish.patterns else 0
    no_mates = round(wish.no_mates * wish.count) if "find-mate" in wish.all_kinds else 0
    return {  # in this order, so that a short pool is not used up for the pattern alone
        "no mate": min(no_mates, wish.count - look_alikes),
        "look-alike": look_alikes,
        "pattern": max(wish.count - look_alikes - no_mates, 0),
    }


def _pools(candidates: Sequence[Candidate], wish: Wish) -> dict[Role, list[Candidate]]:
    """The candidates for each role, in the order in which they are tried."""
    ordered = sorted({c.fen: c for c in candidates}.values(), key=lambda c: c.fen)
    random.Random(f"candidates {wish.seed}").shuffle(ordered)
    if wish.level not in LEVELS[3:]:
        ordered.sort(key=lambda c: abs(c.moves or 0) > _LONG)
    if not wish.patterns:
        return {"pattern": ordered, "look-alike": [], "no mate": ordered}
    target = _in_turn([c for c in ordered if _is_of(c, wish.patterns)], wish.patterns)
    ranks = {
        name: rank
        for pattern in wish.patterns
        for rank, name in reversed(list(enumerate(alike(pattern))))
        if name not in wish.patterns
    }
    others = [c for c in ordered if not _is_of(c, wish.patterns) and c.pattern in ranks]
    others.sort(key=lambda c: ranks[c.pattern] // 3)
    return {"pattern": target, "look-alike": others, "no mate": target}


def _in_turn(candidates: Sequence[Candidate], patterns: Sequence[str]) -> list[Candidate]:
    """The candidates with the wished patterns in turn."""
    groups: dict[str, list[Candidate]] = {name: [] for name in patterns}
    for candidate in candidates:
        names = (candidate.pattern, *candidate.patterns)
        groups[next(name for name in patterns if name in names)].append(candidate)
    return [c for row in zip_longest(*groups.values()) for c in row if c is not None]


def _is_of(candidate: Candidate, patterns: Sequence[str]) -> bool:
    return any(name in patterns for name in (candidate.pattern, *candidate.patterns))


class _Maker:
    """A set in the making: what it has, and what may not come again."""

    def __init__(
        self,
        wish: Wish,
        difficulty: Difficulty,
        progress: Callable[[int, int], None] | None,
    ) -> None:
        self.wish = wish
        self.made: list[Exercise] = []
        self._difficulty = difficulty
        self._progress = progress
        self._kinds: Counter[str] = Counter()
        self._patterns: Counter[str] = Counter()
        self._sides: Counter[bool] = Counter()
        self._flanks: Counter[bool] = Counter()
        self._geometries: set[str] = set()
        self._skeletons: set[str] = set()
        self._games: set[str] = set()
        self._tried: set[str] = set()
        self._shared = 0

    def fill(
        self, role: Role, pool: Sequence[Candidate], wanted: int, *, strict: bool = True
    ) -> None:
        """Make up to `wanted` exercises of a role from a pool."""
        patience = _PATIENCE * max(wanted, 1)
        for candidate in self._fresh(pool, strict):
            if wanted <= 0 or patience <= 0:
                return
            patience -= 1
            if self._make(role, candidate, strict):
                wanted -= 1

    def make_up(self, pool: Sequence[Candidate]) -> None:
        """What is still missing: more of the pattern, then such as share their geometry."""
        self.fill("pattern", pool, self.wish.count - len(self.made))
        missing = self.wish.count - len(self.made)
        if missing > 0:
            self._tried.clear()
            before = len(self.made)
            self.fill("pattern", pool, missing, strict=False)
            self._shared = len(self.made) - before

    def notes(self) -> Iterator[str]:
        """What could not be as wished."""
        short = self.wish.count - len(self.made)
        if short:
            yield f"Only {len(self.made)} of {self.wish.count} exercises could be made."
        if self._shared:
            yield (
                f"{self._shared} of them {'has' if self._shared == 1 else 'have'} the geometry "
                f"of another one in the set, for there were no more different ones."
            )

    def _fresh(self, pool: Sequence[Candidate], strict: bool) -> Iterator[Candidate]:
        """Candidates that do not repeat a position, skeleton, game or geometry."""
        for candidate in pool:
            if candidate.fen in self._tried or (candidate.game and candidate.game in self._games):
                continue
            if candidate.skeleton and candidate.skeleton in self._skeletons:
                continue
            if strict and candidate.geometry and candidate.geometry in self._geometries:
                continue
            yield candidate

    def _make(self, role: Role, candidate: Candidate, strict: bool) -> bool:
        self._tried.add(candidate.fen)
        material = self._material(candidate, role)
        if material is None:
            return False
        key = geometry_key(material.case)
        skeleton = material.case.skeleton.fen
        if skeleton in self._skeletons or (strict and key in self._geometries):
            return False
        chance = random.Random(f"{self.wish.seed} {candidate.fen}")
        exercise = self._exercise(role, material, chance)
        if exercise is None:
            return False
        self._take(exercise, material, candidate, key)
        return True

    def _material(self, candidate: Candidate, role: Role) -> Material | None:
        """The candidate's material, turned if one side or flank comes too often."""
        board = read_position(candidate.fen).board
        within = max(1, min(abs(candidate.moves or 5), 5))
        found = material_of(board, candidate.source, candidate.game, within)
        if isinstance(found, NotFit) or not self._fits_role(found, role):
            return None
        colours = self._too_many(self._sides, found.case.mated)
        files = self._too_many(self._flanks, _flank(found))
        if not (colours or files):
            return found
        other, word = turned(found.board, colours=colours, files=files)
        again = material_of(other, candidate.source, candidate.game, within)
        same_length = isinstance(again, Material) and (
            (again.proof.moves if again.proof else 0) == (found.proof.moves if found.proof else 0)
        )
        if not same_length or isinstance(again, NotFit) or not self._fits_role(again, role):
            return found
        return replace(again, turned=word)

    def _fits_role(self, material: Material, role: Role) -> bool:
        names = {name.name for name in material.names}
        wished = set(self.wish.patterns)
        if not wished:
            return True
        return not names & wished if role == "look-alike" else bool(names & wished)

    def _too_many(self, counts: Counter[bool], value: bool) -> bool:
        return counts[value] - counts[not value] >= _UNEVEN

    def _exercise(self, role: Role, material: Material, chance: random.Random) -> Exercise | None:
        if role == "no mate":
            return self._finished(FindMate.generate_none(material, chance), role, material)
        for kind in self._kinds_wanted()[:_KINDS_TRIED]:
            made = self._finished(KINDS[kind].generate(material, chance), role, material)
            if made is not None:
                return made
        return None

    def _kinds_wanted(self) -> list[str]:
        """The kinds, those first that are furthest behind."""
        kinds = self.wish.all_kinds
        return sorted(
            kinds, key=lambda k: ((self._kinds[k] + 1) / _WEIGHTS.get(k, 1), kinds.index(k))
        )

    def _finished(self, made: Exercise | NotFit, role: Role, material: Material) -> Exercise | None:
        """Graded and checked; None if it is not sound or not of the wished level."""
        if isinstance(made, NotFit):
            return None
        grade = self._difficulty(made)
        level = level_of(grade)
        if self.wish.level is not None and level != self.wish.level:
            return None
        wished = [n.name for n in material.names if n.name in self.wish.patterns]
        about = replace(
            made.about,
            pattern=wished[0] if wished else material.pattern,
            turned=material.turned,
            difficulty=grade,
            level=level,
            role=role if self.wish.patterns or role == "no mate" else "",
        )
        made = replace(made, about=about)
        return None if made.malformed() or made.unsound() else made

    def _take(self, exercise: Exercise, material: Material, candidate: Candidate, key: str) -> None:
        self.made.append(exercise)
        self._kinds[exercise.kind] += 1
        self._sides[material.case.mated] += 1
        self._flanks[_flank(material)] += 1
        self._geometries |= {key, candidate.geometry} - {""}
        self._skeletons |= {material.case.skeleton.fen, candidate.skeleton} - {""}
        self._games |= {candidate.game} - {""}
        if self._progress is not None:
            self._progress(len(self.made), self.wish.count)


def _flank(material: Material) -> bool:
    """Whether the mated king stands on the king's side of the board."""
    return chess.square_file(material.case.king) > 3
