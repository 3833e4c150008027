"""`flightless explain`: the words, the diagram and the ledger of a mate."""

from __future__ import annotations

import re
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

import chess

from flightless.cli.answering import Answerer, answer_all
from flightless.cli.console import note, say, say_json, terminal_width
from flightless.cli.draw import write_text
from flightless.cli.exits import Exit
from flightless.cli.inputs import Asked, asked_games, asked_positions, kind_of
from flightless.positions import Position

if TYPE_CHECKING:
    from flightless.explain import Explanation

__all__ = ["run_explain"]


def run_explain(
    source: str,
    within: int,
    nodes: int | None,
    seconds: float | None,
    folder: Path | None,
    *,
    vary_start: bool,
    as_json: bool,
) -> Exit:
    """Explain every position of `source`; with `folder` also as picture and text files."""
    explainer = _Explainer(within, nodes, seconds, folder, vary_start, as_json)
    asked = asked_games(source) if kind_of(source) == "games" else asked_positions(source)
    code = answer_all(source, asked, explainer, as_json=as_json)
    if folder is not None:
        note(f"{explainer.written} positions explained in {folder}.")
    return code


class _Explainer(Answerer):
    def __init__(
        self,
        within: int,
        nodes: int | None,
        seconds: float | None,
        folder: Path | None,
        vary_start: bool,
        as_json: bool,
    ) -> None:
        self.within = within
        self.nodes = nodes
        self.seconds = seconds
        self.folder = folder
        self.vary_start = vary_start
        self.as_json = as_json
        self.asked = 0
        self.written = 0

    def answer(self, asked: Asked, position: Position) -> str:
        from flightless.explain import explain, explanation_document

        explanation = explain(
            position.board, self.within, self.nodes, self.seconds, start=self.vary_start
        )
        if self.as_json:
            document = explanation_document(explanation)
            if position.notices:
                document["notices"] = list(position.notices)
            say_json(document)
        else:
            if self.asked:
                say()
            if asked.place:
                say(f"{asked.place}: {position.board.fen()}")
                say()
            say(_page(position.board, explanation))
        self.asked += 1
        if self.folder is not None:
            self._write(self.folder, position, explanation)
        return explanation.proof.verdict if explanation.proof else "over"

    def _write(self, folder: Path, position: Position, explanation: Explanation) -> None:
        from flightless.draw.board import board_svg
        from flightless.draw.marks import marks_of

        self.written += 1
        name = f"{self.written:03d}"
        if ids := position.operations.get("id"):
            name += "-" + re.sub(r"[^a-z0-9]+", "-", ids[0].lower()).strip("-")[:40]
        write_text(folder / f"{name}.txt", _page(position.board, explanation) + "\n")
        write_text(folder / f"{name}.svg", board_svg(position.board))
        if explanation.case is not None and explanation.proof is not None:
            case = explanation.case
            write_text(folder / f"{name}-mate.svg", board_svg(case.board, marks=marks_of(case)))


def _page(board: chess.Board, explanation: Explanation) -> str:
    """Diagram, words, and the mate with its marks and ledger, as text for a terminal."""
    from flightless.draw.ledger import ledger, ledger_text
    from flightless.draw.marks import marks_of
    from flightless.draw.terminal import terminal_board, terminal_legend

    width = terminal_width()
    parts = []
    case = explanation.case
    if case is None or explanation.proof is not None:
        parts.append(terminal_board(board))
    parts.extend(textwrap.fill(text, width) for text in explanation.account.paragraphs)
    if case is not None:
        marks = marks_of(case)
        parts.append(terminal_board(case.board, marks))
        parts.append(ledger_text(ledger(case)))
        parts.append(terminal_legend(marks))
    return "\n\n".join(parts)
