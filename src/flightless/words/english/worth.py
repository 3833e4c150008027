"""English sentences on what a position is worth in class, one for each fact."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import chess

from flightless.exercises.worth import Criterion
from flightless.words.english.grammar import KIND, capital, number

__all__ = ["RULES", "shown"]

Facts = Mapping[str, Any]

_ALIKE = (
    (0.97, "The mate is that of the model"),
    (0.85, "The mate is close to the model"),
    (0.70, "The mate is some way from the model"),
    (0.0, "The mate is far from the model"),
)


def shown(moves: int, quiet: bool | None) -> str:
    """The length, and whether the key is quiet; no merits."""
    if moves == 0:
        return "Mate on the board."
    if moves < 0:
        return f"Mated in {number(-moves)}."
    return f"Mate in {number(moves)}{', with a quiet key' if quiet else ''}."


def _key(facts: Facts) -> str:
    if facts["asked"] == "over":
        return "It is mate already, so there is no key to find."
    if facts["asked"] == "mated":
        return "The side to move is mated whatever it does, so there is no key to find."
    keys = facts["keys"]
    if keys > 1:
        return f"{capital(number(keys))} first moves mate."
    if not facts["all_duals"]:
        return "One key; not all duals were looked for."
    if facts["duals_in_line"]:
        return "One key, but a dual later in the line."
    if facts["duals_elsewhere"]:
        return "One key, and no dual in the main line."
    return "One key." if facts["moves"] == 1 else "One key and no dual."


def _clean(facts: Facts) -> str:
    men, part = facts["men"], facts["taking_part"]
    if part == men:
        return f"{capital(number(men))} men, and all of them take part."
    return f"{capital(number(men))} men, {number(part)} of them take part."


def _natural(facts: Facts) -> str:
    if facts["against"]:
        return f"It does not look as if it came from a game: {facts['against']}."
    begins = "It comes from a game" if facts["from_game"] else "It could come from a game"
    return f"{begins}; {_balance(facts['ahead'])}."


def _balance(ahead: int) -> str:
    if ahead == 0:
        return "the material is level"
    side = "White" if ahead > 0 else "Black"
    points = "a pawn's worth" if abs(ahead) == 1 else f"{number(abs(ahead))} pawns' worth"
    return f"{side} is {points} ahead"


def _typical(facts: Facts) -> str:
    if facts["pattern"] is None:
        return "No named pattern fits."
    begins = next(words for least, words in _ALIKE if facts["likeness"] >= least)
    return f"{begins} of its pattern, {facts['pattern']}."


def _contrast(facts: Facts) -> str:
    if "man" not in facts:
        if facts["tried"]:
            return "No small change of one man was found that ends the mate."
        return "No neighbouring position looks natural enough for a contrast."
    man = KIND[chess.PIECE_SYMBOLS.index(facts["man"].lower())]
    begins = "At the end, the same" if facts["at_end"] else "The same"
    if facts["to"] is None:
        return f"{begins} without the {man} on {facts['square']}: no mate."
    return f"{begins} with the {man} on {facts['to']} instead of {facts['square']}: no mate."


RULES: Mapping[Criterion, Callable[[Facts], str]] = {
    "key": _key,
    "clean": _clean,
    "natural": _natural,
    "typical": _typical,
    "contrast": _contrast,
}
