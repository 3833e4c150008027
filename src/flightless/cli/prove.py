"""`flightless prove`: one position or many, decided and proved."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from flightless.cli.answering import Answerer, answer_all
from flightless.cli.console import say, say_json
from flightless.cli.exits import Exit
from flightless.cli.inputs import Asked, asked_positions
from flightless.positions import Position

__all__ = ["Search", "run_prove"]


@dataclass(frozen=True, slots=True)
class Search:
    """How far, for how long and with how much each position is searched.

    `nodes` None is the usual budget; `memory` is in megabytes.
    """

    within: int
    nodes: int | None
    seconds: float | None
    threads: int
    memory: int


def run_prove(source: str, search: Search, *, as_json: bool) -> Exit:
    """Prove every position of `source`; a refused line gets an answer too."""
    return answer_all(source, asked_positions(source), _Prover(search, as_json), as_json=as_json)


class _Prover(Answerer):
    def __init__(self, search: Search, as_json: bool) -> None:
        self.search = search
        self.as_json = as_json

    def answer(self, asked: Asked, position: Position) -> str:
        from flightless.prove import DEFAULT_NODES, document, prove

        search = self.search
        with self.progress() as report:
            proof = prove(
                position.board,
                search.within,
                search.nodes or DEFAULT_NODES,
                search.seconds,
                report,
                threads=search.threads,
                memory=search.memory,
            )
        if self.as_json:
            said: dict[str, Any] = document(proof)
            if position.notices:
                said["notices"] = list(position.notices)
            say_json(said)
        else:
            from flightless.words.explain import account

            words = " ".join(account(proof, None).sentences)
            say(f"{asked.place}: {words}" if asked.place else words)
        return proof.verdict
