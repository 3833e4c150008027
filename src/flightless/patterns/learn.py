"""A pattern of the coach's own from one mated position: its skeleton, freed step by step.

Four levels, each freer than the one before: *exact*, *lines slid*, *supporter free*, *place
free*.  Each is a whole catalogue file; `catches` says what it would find among given cases,
`write_level` writes it to the coach's folder.  What each word of a file means is in
docs/patterns.md.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import chess

from flightless.cases.case import Case, Skeleton
from flightless.errors import FileError, UsageError
from flightless.patterns.facts import facts_of
from flightless.patterns.frames import FIELD, Frame, frames_for, step_between
from flightless.patterns.matching import match
from flightless.patterns.reading import pattern_from_text
from flightless.patterns.recognise import catalogue
from flightless.patterns.vocabulary import Pattern

__all__ = ["LEVELS", "Level", "catches", "learn", "write_level"]

LevelName = Literal["exact", "lines slid", "supporter free", "place free"]

LEVELS: tuple[LevelName, ...] = ("exact", "lines slid", "supporter free", "place free")
"""*exact*: every man of the skeleton where he stands, turned as the rules allow.  *lines slid*:
a line man off the field anywhere on his line, as long as he does what he alone does here.
*supporter free*: a man who only protects another may be any man anywhere.  *place free*: the
king anywhere on the edge, or anywhere off it (in a corner nothing is freed)."""

_LINE_MEN = (chess.BISHOP, chess.ROOK, chess.QUEEN)


@dataclass(frozen=True, slots=True)
class Level:
    """One level: the text of the file, the pattern that it is, and whether it frees anything
    beyond the level before."""

    name: LevelName
    text: str
    pattern: Pattern
    frees: bool


@dataclass(frozen=True, slots=True)
class _Worker:
    """A man of the mating side in the skeleton, on the board as it is."""

    square: chess.Square
    kind: chess.PieceType
    checks: bool
    alone: tuple[chess.Square, ...]
    """Field squares for which he is the one reason in the skeleton, men's squares left out."""
    protects: tuple[chess.Square, ...]
    """Men of his side on the field whom he alone protects."""

    @property
    def only_supports(self) -> bool:
        return bool(self.protects) and not self.alone and not self.checks


def learn(case: Case, name: str, description: str, *, skeleton: int = 0) -> tuple[Level, ...]:
    """The four levels of a pattern with the case as its model.

    `skeleton` is the number of the case's skeleton to take.  Raises `UsageError` for a name
    that is empty or in the built-in catalogue, or a number that is not there.
    """
    name, description = " ".join(name.split()), " ".join(description.split())
    if not name or not description:
        raise UsageError("a pattern needs a name and a description")
    if any(pattern.name == name for pattern in catalogue().patterns):
        raise UsageError(f"{name!r} is the name of a pattern that is there already")
    if not 0 <= skeleton < len(case.skeletons):
        raise UsageError(f"the mate has {len(case.skeletons)} skeletons, there is no {skeleton}")
    head = f"name = {_quoted(name)}\ndescription = {_quoted(description)}\n"
    model = f'\n[model]\nfen = {_quoted(case.fen)}\nnote = "The example it was learned from."\n'
    levels: list[Level] = []
    before = ""
    for level in LEVELS:
        form = "\n".join(_form(case, case.skeletons[skeleton], level))
        text = (
            f"{head}notes = {_quoted('Learned from an example: ' + level + '.')}\n{form}\n{model}"
        )
        pattern = pattern_from_text(text, f"{_slug(name)}.toml")
        levels.append(Level(level, text, pattern, form != before))
        before = form
    return tuple(levels)


def catches(level: Level, cases: Iterable[Case]) -> tuple[int, ...]:
    """The numbers (from 0) of the cases that the level's pattern fits."""
    forms = level.pattern.forms
    return tuple(
        number
        for number, case in enumerate(cases)
        if any(match(form, facts_of(case)) is not None for form in forms)
    )


def write_level(level: Level, folder: Path, *, replace: bool = False) -> Path:
    """Write the level's file to the coach's folder, which is made if it is not there.

    Raises `FileError` if a file of that name is there and is not to be replaced, or if the
    folder cannot be written.
    """
    path = folder / level.pattern.file
    if path.exists() and not replace:
        raise FileError(f"{path} is there already")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path.write_text(level.text, encoding="utf-8")
    except OSError as error:
        raise FileError(f"{path} cannot be written: {error.strerror}") from error
    return path


def _quoted(text: str) -> str:
    """A TOML basic string: JSON's, in which no control character is left as it is."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _slug(name: str) -> str:
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode("ascii")
    return re.sub(r"[^a-z0-9]+", "_", plain.lower()).strip("_") or "pattern"


def _workers(case: Case, skeleton: Skeleton, board: chess.Board) -> list[_Worker]:
    """The mating side's men of the skeleton, and their king if he alone holds something."""
    men = {*skeleton.men, case.mating_king}
    alone: dict[chess.Square, list[chess.Square]] = {}
    protects: dict[chess.Square, list[chess.Square]] = {}
    for f in case.field:
        reasons = [man for man in f.reasons if man in men]
        if f.square is not None and len(reasons) == 1 and reasons[0] != f.square:
            stands = board.color_at(f.square) == case.mating and f.square in men
            (protects if stands else alone).setdefault(reasons[0], []).append(f.square)
    workers = []
    for square in sorted(men):
        kind = board.piece_type_at(square)
        if kind is None or board.color_at(square) != case.mating:
            continue
        worker = _Worker(
            square,
            kind,
            square in case.checkers,
            tuple(alone.get(square, ())),
            tuple(protects.get(square, ())),
        )
        if kind != chess.KING or worker.alone or worker.protects:
            workers.append(worker)
    workers.sort(key=lambda w: (not w.checks, w.only_supports, w.square))
    return workers


def _form(case: Case, skeleton: Skeleton, level: LevelName) -> Iterator[str]:
    board = case.board
    at_least = LEVELS.index(level)
    workers = _workers(case, skeleton, board)
    free = [w for w in workers if at_least >= 2 and w.only_supports and not _near(case, w)]
    pawns = any(w.kind == chess.PAWN for w in workers if w not in free)
    frame = _frame(case, pawns)
    roles = _roles(workers)
    king = frame.square[case.king]
    yield "\n[[form]]"
    yield f"king = {_name(king)}"
    yield from _place(king, at_least)
    for worker in workers:
        yield f"[[form.man]]\nrole = {_quoted(roles[worker.square])}"
        if worker in free:
            yield 'kind = "any man"'
        else:
            yield f"kind = {_quoted(chess.piece_name(worker.kind))}"
            yield from _duties(case, worker, frame, at_least)
        for square in worker.protects:
            if square in roles:
                yield f"supports = {_quoted(roles[square])}"
                break
    for f in case.field:
        if f.square is not None and f.state == "blocked" and f.square in skeleton.men:
            kind = board.piece_type_at(f.square)
            assert kind is not None
            yield f"[[form.blocked]]\nsquares = {_name(frame.square[f.square])}"
            yield f"kind = {_quoted(chess.piece_name(kind))}"


def _frame(case: Case, pawns: bool) -> Frame:
    """The first allowed frame in which the king stands on the eighth rank, else the first."""
    frames = frames_for("files" if pawns else "all", case.mated)
    # a colour's own frame comes first, so that White's mate is written upside down
    ordered = sorted(frames, key=lambda frame: frame not in frames_for("files", case.mated))
    return next((f for f in ordered if f.square[case.king] >> 3 == 7), ordered[0])


def _place(king: chess.Square, at_least: int) -> Iterator[str]:
    if at_least < 3 or king in (chess.A8, chess.H8):
        return
    file, rank = king & 7, king >> 3
    if rank == 7:
        yield 'place = "along the edge"'
    elif 0 < file < 7 and rank:
        yield 'place = "off the edge"'


def _duties(case: Case, worker: _Worker, frame: Frame, at_least: int) -> Iterator[str]:
    if worker.checks:
        yield "checks = true"
    attacked = [f.square for f in case.field if f.square is not None and worker.square in f.reasons]
    lines = worker.kind in _LINE_MEN and not _near(case, worker) and bool(attacked)
    if at_least < 1 or not lines:
        yield f"stands = {_name(frame.square[worker.square])}"
    else:
        yield 'distance = "far"'
        line = _line(case, worker, attacked, frame)
        if line is not None:
            yield f"stands = {_quoted(line)}"
    if worker.alone:
        names = ", ".join(_name(frame.square[square]) for square in worker.alone)
        yield f"guards = [{names}]"


def _line(
    case: Case, worker: _Worker, attacked: Sequence[chess.Square], frame: Frame
) -> str | None:
    """The one line on which a line man works, from edge to edge; None if he works on several."""
    targets = [case.king] if worker.checks else list(worker.alone or worker.protects or attacked)
    first = targets[0]
    if any(not chess.ray(worker.square, first) & chess.BB_SQUARES[t] for t in targets):
        return None
    ends = [frame.square[square] for square in chess.scan_forward(chess.ray(worker.square, first))]
    ends.sort()
    return f"{chess.square_name(ends[0])}-{chess.square_name(ends[-1])}"


def _near(case: Case, worker: _Worker) -> bool:
    return step_between(case.king, worker.square) in FIELD


def _roles(workers: Sequence[_Worker]) -> dict[chess.Square, str]:
    """A role for each man, every role once."""
    roles: dict[chess.Square, str] = {}
    counts: dict[str, int] = {}
    for worker in workers:
        role = (
            "checker"
            if worker.checks
            else "king"
            if worker.kind == chess.KING
            else "supporter"
            if worker.only_supports
            else "guard"
            if worker.alone or worker.protects
            else "helper"
        )
        counts[role] = counts.get(role, 0) + 1
        roles[worker.square] = role if counts[role] == 1 else f"{role} {counts[role]}"
    return roles


def _name(square: chess.Square) -> str:
    return _quoted(chess.square_name(square))
