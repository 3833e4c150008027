"""Materials and exercises that the tests share: made once, from positions with known sources."""

from __future__ import annotations

import random
from pathlib import Path

import chess
import pytest
from exercise_referee import ROOT, published

from flightless.exercises.exercise import Exercise
from flightless.exercises.kinds.find_mate import FindMate
from flightless.exercises.material import Material, material_of
from flightless.exercises.registry import KINDS
from flightless.patterns.recognise import catalogue
from flightless.positions import read_position


def _boards() -> list[tuple[chess.Board, str]]:
    epd = ROOT / "examples" / "harbour-street" / "coach-positions.epd"
    strewn = ROOT / "tests" / "cases" / "mates_in_two.fen"
    return [
        *((board, source) for board, _, _, _, source in published()),
        *((read_position(line).board, "Harbour Street") for line in _lines(epd)),
        *((chess.Board(line), "by chance") for line in _lines(strewn)[:60]),
        *(
            (chess.Board(example.fen), pattern.name)
            for pattern in catalogue().patterns
            for example in (pattern.model, *pattern.variations)
        ),
    ]


def _lines(path: Path) -> list[str]:
    return [x for x in path.read_text(encoding="utf-8").splitlines() if not x.startswith("#")]


@pytest.fixture(scope="session")
def materials() -> list[Material]:
    """Mates of the literature, of the club's own file, by chance, and of the catalogue."""
    made = (material_of(board, source, within=4) for board, source in _boards())
    return [m for m in made if isinstance(m, Material)]


@pytest.fixture(scope="session")
def exercises(materials: list[Material]) -> list[Exercise]:
    """One exercise of every kind from every material that gives one."""
    made: list[Exercise] = []
    for number, material in enumerate(materials):
        for cls in KINDS.values():
            found = cls.generate(material, random.Random(number))
            if isinstance(found, Exercise):
                made.append(found)
        none = FindMate.generate_none(material, random.Random(number))
        if isinstance(none, Exercise):
            made.append(none)
    return made
