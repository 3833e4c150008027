"""Reading the answers that are no moves: men, squares, kinds, letters, ledgers.

Everything a pupil might write for a man on a square is taken: 'Bf6', 'bishop f6', 'the bishop
on f6', '♗f6', 'f6'.  Nothing is judged.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import chess

__all__ = ["Named", "kind_of", "letter_of", "placed", "read_ledger", "read_men", "words_of"]

_KINDS = {
    "pawn": chess.PAWN,
    "knight": chess.KNIGHT,
    "bishop": chess.BISHOP,
    "rook": chess.ROOK,
    "queen": chess.QUEEN,
    "king": chess.KING,
    "bauer": chess.PAWN,
    "springer": chess.KNIGHT,
    "läufer": chess.BISHOP,
    "turm": chess.ROOK,
    "dame": chess.QUEEN,
    "könig": chess.KING,
}
_LETTERS = {"D": chess.QUEEN, "T": chess.ROOK, "L": chess.BISHOP, "S": chess.KNIGHT}
"""The German letters that are none of English."""
_FIGURES = str.maketrans("♔♕♖♗♘♙♚♛♜♝♞♟", "KQRBNPKQRBNP")
_WORD = "|".join(_KINDS)
_MAN = re.compile(
    rf"(?:(?:(?:the|der|die|den)\s+)?(?:white\s+|black\s+)?(?P<word>{_WORD})s?\b|(?P<letter>[KQRBNPDTLS]))?"
    rf"\s*(?:on\s+|at\s+|auf\s+)?(?P<square>[a-h][1-8])\b"
    rf"|(?:the\s+)?(?:white\s+|black\s+)?(?P<alone>{_WORD})\b|\b(?P<single>[KQRBNPDTLS])\b"
    r"|(?P<own>\bown\b|\bblocked\b|\beigene[rn]?\b)",
    re.IGNORECASE,
)
_ROW = re.compile(r"([a-h][1-8])\s*[=:]", re.IGNORECASE)
_LONGEST = 2000


@dataclass(frozen=True, slots=True)
class Named:
    """A man as a text names him: his kind, his square, or both; `own`: the man who stands on
    the square that is talked of."""

    kind: chess.PieceType | None
    square: chess.Square | None
    own: bool = False


def kind_of(text: str) -> chess.PieceType | None:
    """'B', 'bishop', '♗' as a kind; None for anything else."""
    plain = text.strip().translate(_FIGURES)
    if len(plain) == 1 and plain.upper() in "PNBRQK":
        return chess.Piece.from_symbol(plain).piece_type
    if plain.upper() in _LETTERS:
        return _LETTERS[plain.upper()]
    return _KINDS.get(re.sub(r"^(?:an?|the|eine?|der|die)\s+", "", plain.lower()))


def letter_of(kind: chess.PieceType) -> str:
    """The letter of a kind, a capital."""
    return chess.piece_symbol(kind).upper()


def placed(kind: chess.PieceType, square: chess.Square) -> str:
    """A man on a square as answers are written: 'Bf6', 'Pf6'."""
    return letter_of(kind) + chess.square_name(square)


def read_men(text: str) -> tuple[Named, ...] | None:
    """The men that a text names, in its order; None if anything else is in it."""
    text = text[:_LONGEST].translate(_FIGURES)
    found = []
    rest = text
    for match in _MAN.finditer(text):
        rest = rest.replace(match[0], " ", 1)
        found.append(_named(match))
    if re.sub(
        r"\b(?:and|an|a|the|on|to|also|by|und|auf|der|die|den)\b|[\s,;+&.]",
        "",
        rest,
        flags=re.IGNORECASE,
    ):
        return None
    return tuple(found)


def _named(match: re.Match[str]) -> Named:
    if match["own"]:
        return Named(None, None, own=True)
    word = match["word"] or match["letter"] or match["alone"] or match["single"]
    square = chess.parse_square(match["square"].lower()) if match["square"] else None
    return Named(kind_of(word) if word else None, square)


def read_ledger(text: str) -> tuple[tuple[chess.Square, tuple[Named, ...]], ...] | None:
    """The rows of a ledger: 'f7 = pawn f7; h8 = Re8' ...; None if it is none."""
    text = text[:_LONGEST].translate(_FIGURES)
    heads = list(_ROW.finditer(text))
    if not heads or text[: heads[0].start()].strip(" ;,\n"):
        return None
    rows = []
    for head, after in zip(heads, [*heads[1:], None], strict=True):
        body = text[head.end() : after.start() if after else len(text)]
        men = read_men(body)
        if not men:
            return None
        rows.append((chess.parse_square(head[1].lower()), men))
    return tuple(rows)


def words_of(text: str) -> str:
    """A text in lower case with single spaces and without its full stop."""
    return " ".join(text[:200].lower().split()).strip(" .!")
