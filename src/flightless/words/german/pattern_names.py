"""What the patterns are called in German: trade names where German chess books have them, short
plain words where a pattern has no name, and the English name for the others.

The trade names are from memory.
"""

from __future__ import annotations

from flightless.patterns.recognise import catalogue

__all__ = ["name_of_pattern", "pattern_phrase"]

_TRADE = {
    "Anastasia": "Anastasias Matt",
    "Arabian": "das arabische Matt",
    "Boden": "Bodens Matt",
    "Damiano": "Damianos Matt",
    "Légal": "das Seekadettenmatt",
    "back rank": "das Grundreihenmatt",
    "epaulette": "das Epaulettenmatt",
    "smothered": "das erstickte Matt",
    "swallow's tail": "das Schwalbenschwanzmatt",
}
"""Names in German chess books, from memory."""

_PLAIN = {
    "queen and bishop at the castled king": "Dame und Läufer gegen den rochierten König",
    "queen and knight at the castled king": "Dame und Springer gegen den rochierten König",
    "bishop and knight at the castled king": "Läufer und Springer gegen den rochierten König",
    "king and queen": "König und Dame am Rand",
    "king and rook": "König und Turm am Rand",
    "knight mate in the corner": "Springermatt in der Ecke",
    "heavy pieces on the seventh": "Schwerfiguren auf der siebten Reihe",
    "pawn mate": "Bauernmatt",
    "queen before the king": "Dame vor dem König",
    "queen on the edge, rook behind": "Dame am Rand, der Turm hinter ihr",
    "rook, knight and pawn in a chain": "Turm, Springer und Bauer als Kette",
    "supported queen beside the king": "gedeckte Dame neben dem König",
    "two bishops side by side": "zwei Läufer nebeneinander",
    "two-rook ladder": "zwei Türme als Leiter",
}


def name_of_pattern(pattern: str) -> str:
    """The name of a pattern of the catalogue; for others what they are called there."""
    known = _TRADE.get(pattern) or _PLAIN.get(pattern)
    if known is not None:
        return known
    try:
        found = catalogue()[pattern]
    except KeyError:
        return f"„{pattern}“"
    english = (found.known_as or "").removeprefix("the ")
    return english or f"„{found.description}“"


def pattern_phrase(description: str, known_as: str | None) -> str:
    """The name from what a reason or a hint has of a pattern."""
    for pattern in catalogue().patterns:
        if pattern.description == description:
            return name_of_pattern(pattern.name)
    return known_as or f"„{description}“"
