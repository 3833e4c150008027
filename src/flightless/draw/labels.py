"""The few words that stand in a drawing or are read out for it, as data.

English and German are given here; another language is another `Labels`.  Sentences about chess
are not made in this room.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

import chess

__all__ = ["ENGLISH", "GERMAN", "Labels"]


def _kinds() -> Mapping[chess.PieceType, str]:
    return MappingProxyType({kind: chess.piece_name(kind) for kind in chess.PIECE_TYPES})


@dataclass(frozen=True, slots=True)
class Labels:
    """Words for drawings in one language.  In `{…}` the drawing puts what the name says."""

    language: str = "en"
    kinds: Mapping[chess.PieceType, str] = field(default_factory=_kinds)
    white: str = "White"
    black: str = "Black"
    to_move: str = "{colour} to move."
    men_of: str = "{colour}: {men}."
    nobody: str = "no men"
    board_title: str = "Chess diagram, {colour} to move"
    seen_from: str = "Seen from {colour}'s side."
    # the marks
    blocked: str = "blocked by his own man"
    guarded: str = "guarded"
    off_board: str = "off the board"
    checks: str = "gives check"
    supports: str = "protects the man who checks"
    needed: str = "needed"
    not_needed: str = "not needed"
    one_only: str = "held by one man only"
    held_off: str = "could help, but is held off"
    changed: str = "changed"
    gone: str = "taken away"
    free: str = "a way out for the king"
    defended: str = "a defender can come here"
    legend_title: str = "The marks"
    mark_on: str = "{mark}: {squares}."
    # the atlas
    of_all: str = "{count} of {total}"
    times: str = "{count} times"
    once: str = "once"
    # the ledger
    king_on: str = "the king on {square}"
    own_man: str = "his own man"
    guarded_by: str = "guarded by"
    the_man: str = "(the {kind})"
    one_guard: str = "one guard only"
    one_blocker: str = "one man only"
    ledger_title: str = "Ledger of {king}"


ENGLISH = Labels()

GERMAN = Labels(
    language="de",
    kinds=MappingProxyType(
        {
            chess.PAWN: "Bauer",
            chess.KNIGHT: "Springer",
            chess.BISHOP: "Läufer",
            chess.ROOK: "Turm",
            chess.QUEEN: "Dame",
            chess.KING: "König",
        }
    ),
    white="Weiß",
    black="Schwarz",
    to_move="{colour} am Zug.",
    men_of="{colour}: {men}.",
    nobody="keine Steine",
    board_title="Schachdiagramm, {colour} am Zug",
    seen_from="Gesehen von {colour}.",
    blocked="vom eigenen Stein versperrt",
    guarded="beherrscht",
    off_board="außerhalb des Brettes",
    checks="gibt Schach",
    supports="deckt den schachgebenden Stein",
    needed="nötig",
    not_needed="nicht nötig",
    one_only="nur von einem Stein gehalten",
    held_off="könnte helfen, ist aber verhindert",
    changed="verändert",
    gone="weggenommen",
    free="ein Ausweg für den König",
    defended="hierher kann ein Verteidiger kommen",
    legend_title="Die Zeichen",
    mark_on="{mark}: {squares}.",
    of_all="{count} von {total}",
    times="{count}-mal",
    once="einmal",
    king_on="der König auf {square}",
    own_man="eigener Stein",
    guarded_by="beherrscht von",
    the_man="({kind})",
    one_guard="nur ein Wächter",
    one_blocker="nur ein Stein",
    ledger_title="Tabelle: {king}",
)
