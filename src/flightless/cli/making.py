"""`vary` and `contrast`: what can be made of one position, printed or as JSON lines."""

from __future__ import annotations

from collections import Counter

import chess

from flightless.cli.console import note, say, say_json
from flightless.cli.exits import Exit
from flightless.positions import read_position

__all__ = ["run_contrast", "run_vary"]


def run_vary(text: str, within: int, longer: int, *, as_json: bool) -> Exit:
    """Print every member of the family; what was dropped is counted by its reason."""
    from flightless.exercises.vary import vary

    family = vary(read_position(text).board, within, longer)
    for member in family.members:
        key = _san(member.fen, member.key)
        if as_json:
            say_json({"fen": member.fen, "how": member.how, "moves": member.moves, "key": key})
        else:
            length = f"mate in {member.moves}, 1.{key}" if key else "mate"
            say(f"{member.fen}  {member.how}; {length}")
    for reason, count in Counter(d.reason for d in family.dropped).most_common():
        note(f"{count} dropped: {reason}")
    return Exit.DONE


def run_contrast(text: str, within: int, most: int, *, as_json: bool) -> Exit:
    """Print the pairs, each with the sentence that says what the change does."""
    from flightless.exercises.contrast import contrasts
    from flightless.words.what_if import break_sentence

    material, pairs = contrasts(read_position(text).board, within, most)
    if not as_json:
        say(f"{material.fen}  mate")
    for pair in pairs:
        why = break_sentence(material.case, pair.broken)
        if as_json:
            say_json(
                {
                    "mate": pair.mate,
                    "no_mate": pair.no_mate,
                    "moves": pair.moves,
                    "key": _san(pair.mate, pair.key),
                    "why": why,
                }
            )
        else:
            say(f"{pair.no_mate}  no mate: {why}")
    if not pairs:
        note("no single change of a man breaks this mate and leaves a natural position")
    return Exit.DONE


def _san(fen: str, move: chess.Move | None) -> str | None:
    return None if move is None else chess.Board(fen).san(move)
