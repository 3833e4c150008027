"""Sets: reproducible, graded, no two alike, mixed or blocked, with look-alikes and no mates."""

from __future__ import annotations

import random
from collections import Counter
from itertools import pairwise

import chess
import exercise_referee as referee
import pytest

from flightless.errors import UsageError
from flightless.exercises.choice import Candidate
from flightless.exercises.difficulty import LEVELS, level_of, prior
from flightless.exercises.exercise import About, Exercise
from flightless.exercises.file import ExerciseSet, check_set, write_set
from flightless.exercises.kinds.find_mate import FindMate
from flightless.exercises.kinds.verdict import Verdict
from flightless.exercises.lookalikes import alike, gap_of
from flightless.exercises.material import Material, material_of
from flightless.exercises.ordering import arranged
from flightless.exercises.sets import Wish, make_set
from flightless.exercises.turning import turned
from flightless.patterns.geometry import geometry_key
from flightless.patterns.recognise import catalogue


@pytest.fixture(scope="module")
def candidates(materials: list[Material]) -> list[Candidate]:
    return [
        Candidate(
            m.fen,
            m.proof.moves if m.proof else 0,
            len(m.proof.keys) if m.proof else 0,
            m.pattern,
            m.case.skeleton.fen,
            f"{m.source} {n}",
            f"game {n}",
            tuple(name.name for name in m.names),
        )
        for n, m in enumerate(materials)
    ]


@pytest.fixture(scope="module")
def mixed(candidates: list[Candidate]) -> ExerciseSet:
    return make_set(candidates, Wish(count=24, seed=4)).exercises


def geometry(exercise: Exercise) -> str | None:
    """The geometry of the mate that a find-mate exercise ends in."""
    material = material_of(exercise.board)
    return geometry_key(material.case) if isinstance(material, Material) else None


def test_a_set_is_full_sound_and_varied(mixed: ExerciseSet) -> None:
    assert len(mixed.exercises) == 24
    assert list(check_set(mixed)) == []
    kinds = Counter(e.kind for e in mixed.exercises)
    assert len(kinds) >= 9
    assert kinds["find-mate"] == max(kinds.values())
    assert len({e.position for e in mixed.exercises}) == 24
    assert len({e.about.source for e in mixed.exercises}) == 24  # no game twice


def test_the_same_seed_gives_the_same_file(candidates: list[Candidate]) -> None:
    """Whatever the order of the candidates; another seed gives another set."""
    wish = Wish(count=10, seed=8)
    first = write_set(make_set(candidates, wish).exercises)
    shuffled = list(candidates)
    random.Random(1).shuffle(shuffled)
    assert write_set(make_set(shuffled, wish).exercises) == first
    assert write_set(make_set(candidates, Wish(count=10, seed=9)).exercises) != first


def test_no_two_are_alike(candidates: list[Candidate]) -> None:
    made = make_set(candidates, Wish(count=15, kinds=("find-mate",), no_mates=0, seed=2))
    keys = [geometry(e) for e in made.exercises.exercises]
    assert len(keys) == 15
    shared = sum(count - 1 for count in Counter(keys).values())
    if shared:
        assert made.notes[-1].startswith(f"{shared} of them")


def test_sides_and_flanks_are_mixed(mixed: ExerciseSet) -> None:
    """Neither colour is mated in more than two thirds, neither flank is left out."""
    mated = Counter()
    flanks = Counter()
    for exercise in mixed.exercises:
        board = exercise.board
        to_solve = exercise.kind in ("find-mate", "second-way", "threat", "two-positions")
        colour = (not board.turn) if to_solve else board.turn
        mated[colour] += 1
        king = board.king(colour)
        assert king is not None
        flanks[chess.square_file(king) > 3] += 1
    assert min(mated.values()) >= 8
    assert min(flanks.values()) >= 4


def test_grades_rise_and_are_words(mixed: ExerciseSet) -> None:
    grades = [e.about.difficulty for e in mixed.exercises]
    assert all(g is not None for g in grades)
    half = len(grades) // 2
    plain = [g for g in grades if g is not None]
    assert sum(plain[:half]) < sum(plain[half:])
    for exercise in mixed.exercises:
        assert exercise.about.level == level_of(prior(exercise))


def test_a_pattern_comes_with_look_alikes_and_no_mates(candidates: list[Candidate]) -> None:
    made = make_set(candidates, Wish(patterns=("back rank",), count=12, seed=3)).exercises
    roles = Counter(e.about.role for e in made.exercises)
    assert set(roles) == {"pattern", "look-alike", "no mate"}
    assert roles["pattern"] > roles["look-alike"]
    for exercise in made.exercises:
        if exercise.about.role == "look-alike":
            assert exercise.about.pattern != "back rank"
        else:
            assert exercise.about.pattern == "back rank"
        if exercise.about.role == "no mate":
            assert isinstance(exercise, FindMate)
            if exercise.moves <= 2:
                assert not referee.mates_in(exercise.board, exercise.moves)


def test_with_no_mates_every_mate_may_be_none(mixed: ExerciseSet) -> None:
    """The task must not give away that there is a mate."""
    finds = [e for e in mixed.exercises if isinstance(e, FindMate)]
    assert any(e.answers == ("none",) for e in finds)
    assert all(e.perhaps for e in finds)


def test_blocked_first_and_mixed_later(candidates: list[Candidate]) -> None:
    wish = Wish(patterns=("back rank", "Lolli"), count=12, blocked=0.5, seed=5)
    made = make_set(candidates, wish).exercises.exercises
    block, rest = made[:6], made[6:]
    assert {e.about.role for e in block} == {"pattern"}
    assert {e.about.role for e in rest} >= {"look-alike", "no mate"}
    changes = sum(a.about.pattern != b.about.pattern for a, b in pairwise(block))
    assert changes <= 1
    assert all(not e.perhaps for e in block if isinstance(e, FindMate))


def test_kinds_and_levels_are_kept_to(candidates: list[Candidate]) -> None:
    wish = Wish(count=8, kinds=("ledger", "supporter"), seed=1)
    made = make_set(candidates, wish).exercises.exercises
    assert {e.kind for e in made} == {"ledger", "supporter"}
    easy = make_set(candidates, Wish(count=8, level="easy", seed=1)).exercises.exercises
    assert {e.about.level for e in easy} == {"easy"}


def test_what_cannot_be_made_is_said(candidates: list[Candidate]) -> None:
    made = make_set(candidates[:3], Wish(count=10))
    assert len(made.exercises.exercises) <= 3
    assert made.notes[0].startswith("Only ")
    assert make_set([], Wish()).exercises.exercises == ()


def test_progress_is_told(candidates: list[Candidate]) -> None:
    told: list[tuple[int, int]] = []
    make_set(candidates, Wish(count=4), progress=lambda a, b: told.append((a, b)))
    assert told == [(1, 4), (2, 4), (3, 4), (4, 4)]


def test_another_grade_can_be_used(candidates: list[Candidate]) -> None:
    made = make_set(candidates, Wish(count=5), lambda _: 9.0).exercises.exercises
    assert {e.about.level for e in made} == {"very hard"}


@pytest.mark.parametrize(
    ("wrong", "wanted"),
    [
        ({"patterns": ("nothing",)}, "there is no pattern 'nothing'"),
        ({"kinds": ("nothing",)}, "there is no kind of exercise 'nothing'"),
        ({"level": "1500"}, "the level is one of first steps"),
        ({"count": 0}, "1 to 500"),
        ({"blocked": 1.5}, "between 0 and 1"),
    ],
)
def test_wishes_that_make_no_sense(wrong: dict[str, object], wanted: str) -> None:
    with pytest.raises(UsageError, match=wanted):
        Wish(**wrong)  # type: ignore[arg-type]


def test_levels_are_in_order() -> None:
    words = [level_of(x / 10) for x in range(-30, 31)]
    assert list(dict.fromkeys(words)) == list(LEVELS)


def test_turned_positions_are_the_same_problem() -> None:
    """By python-chess: as many legal moves, checks and mates, whichever way it is turned."""
    for board, *_ in referee.published():
        plain = board.copy(stack=False)
        plain.castling_rights = chess.BB_EMPTY
        for colours in (False, True):
            for files in (False, True):
                other, word = turned(plain, colours=colours, files=files)
                assert other.is_valid()
                assert other.legal_moves.count() == plain.legal_moves.count()
                assert sum(map(other.gives_check, other.legal_moves)) == sum(
                    map(plain.gives_check, plain.legal_moves)
                )
                assert bool(word) == (colours or files)


def test_look_alikes_lack_one_thing() -> None:
    """A pattern fits its own model, and its nearest look-alike fails there by one requirement."""
    for pattern in catalogue().patterns:
        model = material_of(chess.Board(pattern.model.fen))
        assert isinstance(model, Material)
        assert gap_of(pattern, model.case) is None
        assert pattern.name not in alike(pattern.name)
    assert "Greco" in alike("Anastasia")


def _verdict(pattern: str, grade: float) -> Verdict:
    fen = "5rk1/5pQp/5P2/8/8/8/6PP/6K1 b - - 0 1"
    about = About(pattern=pattern, difficulty=grade, role="pattern")
    return Verdict(position=fen, answers=("mate",), about=about)


def test_mixing_keeps_neighbours_different() -> None:
    found = [_verdict(name, 0.0) for name in ("a", "b", "c") for _ in range(4)]
    _, mixed = arranged(found, 0, random.Random(1))
    same = sum(a.about.pattern == b.about.pattern for a, b in pairwise(mixed))
    assert same <= 2
    block, rest = arranged(found, 12, random.Random(1))
    assert not rest
    changes = sum(a.about.pattern != b.about.pattern for a, b in pairwise(block))
    assert changes == 2
