"""`flightless prove`: one position or many, decided and proved."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from flightless.cli.answering import Answerer, answer_all
from flightless.cli.console import refuse, say, say_json
from flightless.cli.exits import Exit
from flightless.harvest.inputs import Asked, asked_positions
from flightless.positions import Position

if TYPE_CHECKING:
    from flightless.prove import Proof
    from flightless.uci.opinion import Adviser

__all__ = ["Search", "run_prove"]

_ENGINE = "FLIGHTLESS_ENGINE"


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


def run_prove(source: str, search: Search, ask: str | None = None, *, as_json: bool) -> Exit:
    """Prove every position of `source`; a refused line gets an answer too.

    `ask` is an engine whose second opinion is shown beside the proof; left out, the one that
    the environment names, if any.
    """
    ask = os.environ.get(_ENGINE) or None if ask is None else ask
    if ask is None:
        prover = _Prover(search, as_json)
        return answer_all(source, asked_positions(source), prover, as_json=as_json)
    from flightless.uci.opinion import Adviser

    with Adviser(ask) as adviser:
        prover = _Prover(search, as_json, adviser)
        code = answer_all(source, asked_positions(source), prover, as_json=as_json)
    return Exit.INPUT if prover.adviser is None else code


class _Prover(Answerer):
    def __init__(self, search: Search, as_json: bool, adviser: Adviser | None = None) -> None:
        self.search = search
        self.as_json = as_json
        self.adviser = adviser

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
            say_json(said | self._second_opinion(proof, position))
        else:
            from flightless.words.explain import account

            words = " ".join(account(proof, None).sentences)
            say(f"{asked.place}: {words}" if asked.place else words)
            self._second_opinion(proof, position)
        return proof.verdict

    def _second_opinion(self, proof: Proof, position: Position) -> dict[str, Any]:
        """Say what the engine says, or give it as a field; one that fails is not asked again."""
        if self.adviser is None:
            return {}
        from flightless.uci.opinion import USUAL_SECONDS, AdviserError, opinion_record

        enough = None if proof.moves is None else abs(proof.moves)
        try:
            opinion = self.adviser.ask(position.board, self.search.seconds or USUAL_SECONDS, enough)
        except AdviserError as error:
            refuse(str(error))
            self.adviser = None
            return {}
        if not self.as_json:
            from flightless.words.second_opinion import opinion_text

            say(opinion_text(proof, opinion))
        return {"second_opinion": opinion_record(opinion, proof)}
