"""`flightless explain`: the words, the diagram and the ledger of a mate."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import chess

from flightless.cli.answering import Answerer, answer_all
from flightless.cli.console import note, say, say_json, terminal_width
from flightless.cli.exits import Exit
from flightless.cli.whole import write_text
from flightless.harvest.inputs import Asked, asked_games, asked_positions, kind_of
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
        self.written += 1
        name = f"{self.written:03d}"
        if ids := position.operations.get("id"):
            name += "-" + re.sub(r"[^a-z0-9]+", "-", ids[0].lower()).strip("-")[:40]
        write_text(folder / f"{name}.txt", _page(position.board, explanation) + "\n")
        for what, svg in _pictures(position.board, explanation):
            write_text(folder / f"{name}{what}.svg", svg)


def _pictures(board: chess.Board, explanation: Explanation) -> Iterator[tuple[str, str]]:
    """The diagram; the mate with its marks, its ledger, and one man taken away, side by side."""
    from flightless.draw.board import board_svg
    from flightless.draw.ledger import ledger
    from flightless.draw.ledger_svg import ledger_svg
    from flightless.draw.marks import marks_of
    from flightless.draw.side_by_side import pair_svg
    from flightless.draw.whatif import removal_pair
    from flightless.words.what_if import break_sentence

    yield "", board_svg(board)
    case = explanation.case
    if case is None:
        return
    yield "-mate", board_svg(case.board, marks=marks_of(case))
    yield "-ledger", ledger_svg(ledger(case))
    gone = next((b for b in explanation.extras.breaks if b.change.action == "removed"), None)
    if gone is not None:
        removal = next(r for r in case.removals if r.square == gone.change.square)
        captions = ("Mate.", break_sentence(case, gone))
        yield "-without", pair_svg(removal_pair(case, removal), captions, title="What if")


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
