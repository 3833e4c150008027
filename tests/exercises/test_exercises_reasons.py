"""Marks over many answers, right and wrong: every claim in every reason is tried, every sentence
can be said."""

from __future__ import annotations

import random
import re
from collections import Counter

import chess
import pytest
import reason_referee

from flightless.exercises import reasons as rs
from flightless.exercises.exercise import Exercise
from flightless.exercises.kinds.find_mate import FindMate
from flightless.exercises.kinds.ledger import LedgerTable
from flightless.exercises.kinds.luft import GiveLuft
from flightless.exercises.kinds.name import NamePattern
from flightless.exercises.kinds.saves import Saves
from flightless.exercises.kinds.second_way import SecondWay
from flightless.exercises.kinds.threat import SayThreat
from flightless.exercises.mark import Mark, mark_document
from flightless.words.reasons import choice_text, hint_text, kind_title, solution, spoken, task

LONGEST = 48
"""Words in a sentence of a reason that quotes a pattern's description."""


def answers(exercise: Exercise, chance: random.Random, most: int = 5) -> list[str]:
    """Some answers that a pupil might give, most of them wrong."""
    board = exercise.passed if isinstance(exercise, SayThreat) else exercise.board
    if isinstance(exercise, FindMate | SecondWay | Saves | GiveLuft | SayThreat):
        moves = [board.san(move) for move in board.legal_moves]
        return [*chance.sample(moves, min(most, len(moves))), "none", "Qh9", "Rb3", "0-0"]
    space = exercise.rendering().space
    if space.form == "men":
        squares = chance.sample(chess.SQUARE_NAMES, 2 * most)
        letters = [piece.symbol().upper() for piece in space.men]
        if exercise.kind == "net":
            found = zip(squares[::2], squares[1::2], strict=True)
            return [f"{letters[0]}{a} {letters[1]}{b}" for a, b in found]
        return [chance.choice(letters) + square for square in squares]
    if isinstance(exercise, LedgerTable):
        rows = list(exercise.answers)
        wrong = f"{rows[0].split(' ')[0]} = {chance.choice(chess.SQUARE_NAMES)}"
        return ["; ".join(rows), "; ".join(rows[1:]), "; ".join([wrong, *rows[1:]]), "nothing"]
    extra = ["A, Kh8", "B: Rg1"] if exercise.kind == "two-positions" else ["what?"]
    return [*(choice.answer for choice in space.choices), *extra]


@pytest.fixture(scope="module")
def marks(exercises: list[Exercise]) -> list[tuple[Exercise, str, Mark]]:
    chance = random.Random(3)
    some = [e for e in exercises if getattr(e, "moves", 1) <= 3]
    return [
        (exercise, answer, exercise.mark(answer))
        for exercise in some
        for answer in answers(exercise, chance)
    ]


def test_every_claim_is_true(marks: list[tuple[Exercise, str, Mark]]) -> None:
    for exercise, answer, mark in marks:
        try:
            reason_referee.check(mark, getattr(exercise, "moves", 1))
        except AssertionError as error:
            raise AssertionError(f"{exercise} {answer!r} {mark}") from error


def test_nearly_every_reason_comes(marks: list[tuple[Exercise, str, Mark]]) -> None:
    """What is not met here is made by hand in the other tests of marking."""
    count = Counter(type(mark.reason) for _, _, mark in marks)
    every = {getattr(rs, name) for name in rs.__all__}
    reasons = {c for c in every if isinstance(c, type) and issubclass(c, rs.Reason)} - {rs.Reason}
    missing = {c.__name__ for c in reasons - set(count)}
    assert missing <= {"NoMateFound", "Stalemates", "NotPawn"}, missing


def test_the_verdict_fits_the_reason(marks: list[tuple[Exercise, str, Mark]]) -> None:
    right = (
        rs.Mates,
        rs.NoneThere,
        rs.IsThreat,
        rs.Holds,
        rs.GivesMate,
        rs.LedgerDone,
        rs.NameFits,
    )
    unreadable = (rs.Unreadable, rs.CannotMove, rs.CannotPlace, rs.WrongChoice, rs.NotPawn)
    either = (rs.Standing, rs.Removal, rs.WorksIn, rs.LedgerFault)
    for _, _, mark in marks:
        if isinstance(mark.reason, either):
            continue
        assert mark.right == isinstance(mark.reason, right), mark
        assert (mark.verdict == "unreadable") == isinstance(mark.reason, unreadable), mark
        assert (mark.verdict == "longer") == isinstance(mark.reason, rs.MatesLater), mark


def test_answers_outside_the_right_ones_are_not_right(
    marks: list[tuple[Exercise, str, Mark]],
) -> None:
    for exercise, answer, mark in marks:
        if isinstance(exercise, LedgerTable):
            continue
        plain = exercise.canonical(answer)
        known = {exercise.canonical(a) for a in exercise.answers}
        assert mark.right <= (plain in known), (exercise, answer, mark)


def test_sentences_can_be_said(marks: list[tuple[Exercise, str, Mark]]) -> None:
    """One to three sentences, each with a capital, a square or a move first and a stop last."""
    for exercise, answer, mark in marks:
        told = spoken(mark.reason)
        assert 1 <= len(told) <= 3, (exercise, answer, told)
        for sentence in told:
            assert re.match(r"[A-Z']|[a-h][1-8]\b|\d+[.…]", sentence), sentence
            assert sentence.endswith("."), sentence
            assert not re.search(r" [,;.:]|,,|;;|\.\.|  ", sentence), sentence
            assert len(sentence.split()) <= LONGEST, sentence
            assert not re.search(r"\b(\w+) \1\b", sentence), sentence
            assert not re.search(r"\b[Aa] (?=[aeio])", sentence.replace("In A ", "")), sentence


def test_tasks_hints_and_solutions_can_be_said(exercises: list[Exercise]) -> None:
    for exercise in exercises:
        assert re.fullmatch(r"[A-Z].*[.?]", task(exercise)), task(exercise)
        assert kind_title(exercise.kind)
        assert solution(exercise), exercise
        for hint in exercise.hints():
            assert re.match(r"[A-Z]|[a-h][1-8]", hint_text(hint))
            assert hint_text(hint)[-1] in ".?"
        for choice in exercise.rendering().space.choices:
            assert choice_text(exercise, choice)


def test_the_pattern_hint_does_not_give_the_name_away(exercises: list[Exercise]) -> None:
    for exercise in exercises:
        if isinstance(exercise, NamePattern):
            assert all(hint.of != "pattern" for hint in exercise.hints())


def test_marks_have_a_json_form(marks: list[tuple[Exercise, str, Mark]]) -> None:
    import json

    for _, _, mark in marks[::7]:
        document = json.loads(json.dumps(mark_document(mark)))
        assert document["verdict"] == mark.verdict
        assert document["reason"]["name"] == type(mark.reason).__name__


def test_the_same_answer_gets_the_same_mark(exercises: list[Exercise]) -> None:
    for exercise in exercises[::11]:
        for answer in answers(exercise, random.Random(9)):
            assert exercise.mark(answer) == exercise.mark(answer)
