"""`flightless problem`: a position, or many, as composed problems, set as a solution page."""

from __future__ import annotations

from typing import Any

from flightless.cli.answering import Answerer, answer_all
from flightless.cli.console import say, say_json
from flightless.cli.exits import Exit
from flightless.errors import UsageError
from flightless.harvest.inputs import Asked, asked_positions
from flightless.positions import Position

__all__ = ["run_problem"]


def run_problem(
    source: str,
    within: int,
    stipulated: int | None,
    nodes: int | None,
    language: str,
    *,
    as_json: bool,
) -> Exit:
    """Analyse every position of `source`; a refused line gets an answer too."""
    from flightless.words.phrasebook import phrasebook

    phrasebook(language)  # refused before anything is searched
    solver = _Solver(within, stipulated, nodes, language, as_json)
    return answer_all(source, asked_positions(source), solver, as_json=as_json)


class _Solver(Answerer):
    def __init__(
        self, within: int, stipulated: int | None, nodes: int | None, language: str, as_json: bool
    ) -> None:
        self.within = within
        self.stipulated = stipulated
        self.nodes = nodes
        self.language = language
        self.as_json = as_json
        self.first = True

    def answer(self, asked: Asked, position: Position) -> str:
        from flightless.cases.problem import problem_of
        from flightless.cases.problem_record import problem_document
        from flightless.prove import DEFAULT_NODES
        from flightless.words.problem import problem_page

        problem = problem_of(
            position.board,
            self.within,
            stipulated=self.stipulated or _stipulated(position),
            budget=self.nodes or DEFAULT_NODES,
        )
        page = problem_page(problem, self.language)
        if self.as_json:
            said: dict[str, Any] = problem_document(problem) | {"page": list(page)}
            if position.notices:
                said["notices"] = list(position.notices)
            say_json(said)
            return problem.verdict
        if not self.first:
            say()
        self.first = False
        if asked.place:
            say(f"{asked.place}:")
        say("\n".join(page))
        return problem.verdict


def _stipulated(position: Position) -> int | None:
    """The length that an EPD line claims with `dm`; a mate against the mover is none."""
    operands = position.operations.get("dm", ())
    if not operands:
        return None
    try:
        length = int(operands[0])
    except ValueError:
        raise UsageError(f"dm must be a number of moves, and is {operands[0]!r}") from None
    return length if length > 0 else None
