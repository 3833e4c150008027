"""Every exercise against plain python-chess: the right answers are right, and all there are."""

from __future__ import annotations

import random
from collections import Counter

import chess
import exercise_referee as referee

from flightless.exercises.exercise import Exercise
from flightless.exercises.kinds.choose import ChooseMan
from flightless.exercises.kinds.find_mate import NONE, FindMate
from flightless.exercises.kinds.ledger import LedgerTable
from flightless.exercises.kinds.luft import GiveLuft
from flightless.exercises.kinds.name import NamePattern
from flightless.exercises.kinds.net import FinishNet
from flightless.exercises.kinds.not_needed import NotNeeded
from flightless.exercises.kinds.saves import Saves
from flightless.exercises.kinds.second_way import SecondWay
from flightless.exercises.kinds.supporter import Supporter
from flightless.exercises.kinds.threat import SayThreat
from flightless.exercises.kinds.two_positions import TwoPositions
from flightless.exercises.kinds.verdict import Verdict
from flightless.exercises.material import Material, NotFit
from flightless.exercises.registry import KINDS
from flightless.exercises.texts import read_ledger

_DEEP = 2  # plain python-chess takes seconds for a mate in three


def of_kind(exercises: list[Exercise], cls: type, most: int = 1000) -> list:  # type: ignore[type-arg]
    found = [e for e in exercises if isinstance(e, cls)]
    return found if len(found) <= most else random.Random(1).sample(found, most)


def sans(exercise: Exercise) -> set[chess.Move]:
    return {exercise.board.parse_san(answer) for answer in exercise.answers}


def test_every_kind_comes(exercises: list[Exercise]) -> None:
    count = Counter(e.kind for e in exercises)
    assert set(count) == set(KINDS)
    assert min(count.values()) >= 3, count


def test_every_exercise_can_be_read_and_is_sound(exercises: list[Exercise]) -> None:
    for exercise in exercises:
        assert exercise.malformed() is None, exercise
        assert exercise.unsound() is None, exercise


def test_every_right_answer_is_marked_right(exercises: list[Exercise]) -> None:
    for exercise in exercises:
        answers = exercise.answers
        if isinstance(exercise, LedgerTable):
            answers = ("; ".join(answers),)
        for answer in answers:
            assert exercise.mark(answer).verdict == "right", (exercise, answer)


def test_the_same_chance_gives_the_same_exercise(materials: list[Material]) -> None:
    for cls in KINDS.values():
        for material in materials[::9]:
            first = cls.generate(material, random.Random(5))
            assert first == cls.generate(material, random.Random(5))
            assert isinstance(first, NotFit | Exercise)


def test_mates_by_trying_everything(exercises: list[Exercise]) -> None:
    """Keys and shortness up to two moves; beyond that the first moves given do mate."""
    for exercise in of_kind(exercises, FindMate):
        board = exercise.board
        if exercise.moves > _DEEP:
            continue
        if exercise.answers == (NONE,):
            assert not referee.mates_in(board, exercise.moves), exercise
        else:
            assert sans(exercise) == referee.keys(board, exercise.moves), exercise
            assert exercise.moves == 1 or not referee.mates_in(board, exercise.moves - 1)


def test_second_ways(exercises: list[Exercise]) -> None:
    for exercise in of_kind(exercises, SecondWay):
        if exercise.moves <= _DEEP:
            board = exercise.board
            given = {board.parse_san(exercise.given)}
            assert sans(exercise) | given == referee.keys(board, exercise.moves)
            assert not sans(exercise) & given


def test_verdicts(exercises: list[Exercise]) -> None:
    seen = set()
    for exercise in of_kind(exercises, Verdict):
        board = exercise.board
        stands = "mate" if board.is_checkmate() else "stalemate" if board.is_stalemate() else ""
        assert exercise.answers == (stands or "check",)
        assert stands or board.is_check()
        seen.add(exercise.answers[0])
    assert seen == {"mate", "check", "stalemate"}


def test_ledgers(exercises: list[Exercise]) -> None:
    for exercise in of_kind(exercises, LedgerTable):
        rows = read_ledger("; ".join(exercise.answers))
        assert rows is not None
        read = {square: {m.square for m in men} for square, men in rows}
        assert read == referee.ledger(exercise.board)


def test_men_not_needed(exercises: list[Exercise]) -> None:
    for exercise in of_kind(exercises, NotNeeded):
        choices = [chess.parse_square(name) for name in exercise.choices]
        spare = referee.spare(exercise.board, choices)
        assert {chess.parse_square(a) for a in exercise.answers} == spare
        assert 0 < len(spare) < len(choices)


def test_placing_men(exercises: list[Exercise]) -> None:
    for exercise in of_kind(exercises, Supporter):
        assert set(exercise.answers) == referee.placements(exercise.board, exercise.men)
    for exercise in of_kind(exercises, ChooseMan):
        every = referee.placements(exercise.board, exercise.men)
        assert {a + exercise.square for a in exercise.answers} == {
            p for p in every if p[1:] == exercise.square
        }
        assert len(exercise.answers) < len(exercise.men)


def test_finished_nets(exercises: list[Exercise]) -> None:
    for exercise in of_kind(exercises, FinishNet, 12):
        every = referee.pairs(exercise.board, *exercise.men)
        assert {frozenset(a.split()) for a in exercise.answers} == every
        assert len(exercise.answers) == len(every)


def test_moves_that_save(exercises: list[Exercise]) -> None:
    for exercise in of_kind(exercises, Saves, 25):
        if exercise.moves <= _DEEP:
            board = exercise.board
            assert sans(exercise) == referee.holding(board, exercise.moves), exercise
            assert len(exercise.answers) == 1


def test_luft(exercises: list[Exercise]) -> None:
    for exercise in of_kind(exercises, GiveLuft, 25):
        if exercise.moves <= _DEEP:
            board = exercise.board
            pawns = {m for m in board.legal_moves if board.piece_type_at(m.from_square) == 1}
            assert sans(exercise) == pawns & referee.holding(board, exercise.moves), exercise
            passed = board.copy(stack=False)
            passed.push(chess.Move.null())
            assert referee.mates_in(passed, exercise.moves)


def test_two_positions(exercises: list[Exercise]) -> None:
    for exercise in of_kind(exercises, TwoPositions, 60):
        if exercise.moves <= _DEEP:
            works = [
                letter
                for letter, board in zip("AB", exercise.boards, strict=True)
                if referee.mates_with(board, board.parse_san(exercise.move), exercise.moves)
            ]
            assert list(exercise.answers) == works, exercise
        differ = [
            s
            for s in chess.SQUARES
            if exercise.boards[0].piece_at(s) != exercise.boards[1].piece_at(s)
        ]
        assert len(differ) == 2  # one man moved


def test_threats(exercises: list[Exercise]) -> None:
    for exercise in of_kind(exercises, SayThreat):
        board = exercise.board
        quiet = board.parse_san(exercise.move)
        assert not board.gives_check(quiet)
        board.push(quiet)
        board.push(chess.Move.null())
        if exercise.moves <= _DEEP:
            found = {board.parse_san(answer) for answer in exercise.answers}
            assert found == referee.keys(board, exercise.moves)


def test_names_of_the_catalogue(exercises: list[Exercise]) -> None:
    """The positions of the catalogue carry its names; the source is the pattern's name there."""
    for exercise in of_kind(exercises, NamePattern):
        if exercise.about.source in exercise.choices:
            assert exercise.about.source in exercise.answers
