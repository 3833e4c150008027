"""`flightless prove`: one position or many, decided and proved."""

from __future__ import annotations

from typing import Any

from flightless.cli.answering import Answerer, answer_all
from flightless.cli.console import say, say_json
from flightless.cli.exits import Exit
from flightless.cli.inputs import Asked, asked_positions
from flightless.positions import Position

__all__ = ["run_prove"]


def run_prove(
    source: str, within: int, nodes: int | None, seconds: float | None, *, as_json: bool
) -> Exit:
    """Prove every position of `source`; a refused line gets an answer too."""
    return answer_all(
        source, asked_positions(source), _Prover(within, nodes, seconds, as_json), as_json=as_json
    )


class _Prover(Answerer):
    def __init__(
        self, within: int, nodes: int | None, seconds: float | None, as_json: bool
    ) -> None:
        from flightless.prove import DEFAULT_NODES

        self.within = within
        self.nodes = nodes or DEFAULT_NODES
        self.seconds = seconds
        self.as_json = as_json

    def answer(self, asked: Asked, position: Position) -> str:
        from flightless.prove import document, prove

        with self.progress() as report:
            proof = prove(position.board, self.within, self.nodes, self.seconds, report)
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
