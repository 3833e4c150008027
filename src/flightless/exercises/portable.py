"""Exercises in the open formats PGN and EPD, for other programs.

Both keep the position and the solution.  What they have no field for (a ledger, men to place)
goes into comments, as words that the caller gives.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator

import chess
import chess.pgn

from flightless.exercises.exercise import Exercise
from flightless.exercises.file import ExerciseSet
from flightless.exercises.kinds.find_mate import NONE, FindMate
from flightless.exercises.kinds.luft import GiveLuft
from flightless.exercises.kinds.saves import Saves
from flightless.exercises.kinds.second_way import SecondWay
from flightless.exercises.kinds.two_positions import TwoPositions

__all__ = ["epd_text", "pgn_text"]

Tell = Callable[[Exercise], str]


def pgn_text(exercises: ExerciseSet, task: Tell, solution: Tell) -> str:
    """A game for each exercise, from its position on (PGN standard, sections 8.1 and 9.7: tags
    SetUp and FEN).  The task is the comment before the moves; where the solution is a line,
    the moves are that line, with other solutions as variations."""
    games = [
        _game(exercises.title, number, exercise, task, solution)
        for number, exercise in enumerate(exercises.exercises, 1)
    ]
    return "\n\n".join(games) + "\n"


def _game(title: str, number: int, exercise: Exercise, task: Tell, solution: Tell) -> str:
    game = chess.pgn.Game()
    shown = exercise.rendering()
    start = chess.Board(shown.line_from) if shown.line_from else exercise.board
    whole = start.fen() == exercise.board.fen()
    board = start if whole else exercise.board
    game.setup(board)
    game.headers["Event"] = _tag(title)
    game.headers["Site"] = "?"
    game.headers["Round"] = str(number)
    game.headers["White"] = _tag(exercise.about.source) or "?"
    game.headers["Black"] = "?"
    game.headers["Result"] = "*"
    comment = task(exercise)
    if whole and shown.line:
        _add_lines(game, exercise, shown.line)
    else:
        comment = f"{comment} {solution(exercise) or '; '.join(exercise.answers)}"
    if isinstance(exercise, TwoPositions):
        comment = f"{comment} [B: {exercise.other}]"
    game.comment = _comment(comment)
    out = io.StringIO()
    print(game, file=out)
    return out.getvalue().strip()


def _add_lines(game: chess.pgn.Game, exercise: Exercise, line: tuple[chess.Move, ...]) -> None:
    node: chess.pgn.GameNode = game
    for move in line:
        node = node.add_variation(move)
    for key in _keys(exercise):
        if key != line[0]:
            game.add_variation(key)


def _tag(text: str) -> str:
    """A PGN tag is one line of printable text."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())[:200]


def _comment(text: str) -> str:
    """A PGN comment has no closing brace inside."""
    return _tag(text.replace("{", "(").replace("}", ")"))


def epd_text(exercises: ExerciseSet, task: Tell, solution: Tell) -> str:
    """A line for each exercise, two for two positions: `id`, `bm` and `dm` where the solution is
    a first move (EPD opcodes of the PGN standard, section 16.2.5), `c0` the task, `c1` the
    answers in words, `c9` the kind."""
    lines: list[str] = []
    for number, exercise in enumerate(exercises.exercises, 1):
        lines += _epd_lines(number, exercise, task, solution)
    return "\n".join(lines) + "\n"


def _epd_lines(number: int, exercise: Exercise, task: Tell, solution: Tell) -> Iterator[str]:
    answer = solution(exercise) or "; ".join(exercise.answers)
    boards = [(exercise.board, "")]
    if isinstance(exercise, TwoPositions):
        a, b = exercise.boards
        boards = [(a, " A"), (b, " B")]
    for board, letter in boards:
        words = {
            "id": f"{number}{letter}",
            "c0": _text(task(exercise)),
            "c1": _text(answer),
            "c9": exercise.kind,
        }
        operations: dict[str, object] = {}
        keys = list(_keys(exercise))
        if keys:
            operations["bm"] = keys
        if isinstance(exercise, FindMate | SecondWay) and exercise.answers != (NONE,):
            operations["dm"] = exercise.moves
        text = board.epd(**operations)  # type: ignore[arg-type]
        text = text if text.endswith(";") else f"{text} "
        texts = "".join(f' {opcode} "{value}";' for opcode, value in words.items())
        yield f"{text.rstrip()}{texts}"


def _keys(exercise: Exercise) -> Iterator[chess.Move]:
    """The right first moves, where moves are asked for."""
    if not isinstance(exercise, FindMate | SecondWay | Saves | GiveLuft):
        return
    board = exercise.board
    for answer in exercise.answers:
        if answer != NONE:
            yield board.parse_san(answer)


def _text(text: str) -> str:
    """An EPD string: one line, no quotes inside, at most 255 characters (section 16.1.3)."""
    return _tag(text.replace('"', "'").replace(";", ","))[:240]
