"""Positions from text: FEN and EPD lines in, `chess.Board` and plain-worded notices out.

This room refuses what cannot be a position and says every reason; it mends what coaches'
files commonly get wrong (castling rights without king or rook at home, an en-passant
square that no pawn can use) and says so.  It judges no chess beyond that, and it loads
nothing compiled, so that a refusal is quick.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

import chess

from flightless.errors import PositionError

__all__ = ["MAX_LINE", "Position", "board_refusals", "looks_like_fen", "read_position"]

MAX_LINE = 2000
"""Longest accepted line in characters.  A FEN needs under 100, an EPD line with several
operations rarely 500; anything longer is some other kind of file."""

_COLOUR = {chess.WHITE: "White", chess.BLACK: "Black"}
_EPD_OPERATION = re.compile(
    r"""\s*([A-Za-z][A-Za-z0-9_]{0,14})((?:\s+(?:"[^"]*"|[^;"\s]+))*)\s*;"""
)
_EPD_OPERAND = re.compile(r"""\s*(?:"([^"]*)"|([^;"\s]+))""")


@dataclass(frozen=True, slots=True)
class Position:
    """A position as it was read.

    `board` is valid by the rules (both kings, no pawn on an end rank, the side that is not
    to move not in check), `notices` are sentences about what was mended or is unusual, and
    `operations` are the EPD operations of the line, opcode to operands as text.
    """

    board: chess.Board
    notices: tuple[str, ...] = ()
    operations: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: MappingProxyType({}))


def looks_like_fen(text: str) -> bool:
    """Whether an argument is meant as a FEN rather than a file.

    It has seven slashes, and neither begins like a path nor has a dot in its first word.

    >>> looks_like_fen("4k3/8/8/8/8/8/8/4K3 w")
    True
    >>> looks_like_fen("/home/coach/chess/2026/autumn/mates/drawer.epd")
    False
    """
    first = text.strip().partition(" ")[0]
    return text.count("/") == 7 and "." not in first and not first.startswith(("/", "~"))


def read_position(text: str) -> Position:
    """Read one FEN (two to six fields) or EPD line.

    Missing castling, en-passant and counter fields are taken as none, as FEN writers of
    diagrams leave them out.  Raises `PositionError` naming every reason at once.

    >>> read_position("6k1/5ppp/8/8/8/8/8/4R1K1 w - - 0 1").board.turn
    True
    """
    text = text.strip().lstrip("\ufeff").strip()
    _refuse_unreadable(text)
    fields, rest = _split(text)
    board = _placement(fields[0])
    if len(fields) == 1:
        raise PositionError(f"the side to move is missing after the squares: {fields[0]!r}")
    board.turn = _side_to_move(fields[1])
    notices: list[str] = []
    _castling(board, fields[2] if len(fields) > 2 else "-", notices)
    _en_passant(board, fields[3] if len(fields) > 3 else "-", notices)
    refusals = board_refusals(board)
    if refusals:
        raise PositionError("; ".join(refusals) + f": {' '.join(fields[:2])}")
    notices.extend(_unusual(board))
    operations: dict[str, tuple[str, ...]] = {}
    if rest:
        counters = _counters(rest)
        if counters is None:
            operations = _operations(rest)
        else:
            board.halfmove_clock, board.fullmove_number = counters
    _operation_counters(board, operations)
    return Position(board, tuple(notices), MappingProxyType(operations))


def board_refusals(board: chess.Board) -> list[str]:
    """Every reason for which `board` is not a legal position, as clauses; empty if legal.

    The reasons are those of the FIDE Laws that a position alone can break: one king a side
    (article 2.2), at most eight pawns and sixteen men a side, no pawn on the first or last
    rank (3.7), and the side that has just moved not in check (3.9.2).
    """
    reasons = []
    for colour, name in _COLOUR.items():
        kings = len(board.pieces(chess.KING, colour))
        if kings != 1:
            reasons.append(f"{name} has {'no king' if not kings else f'{kings} kings'}")
        pawns = len(board.pieces(chess.PAWN, colour))
        if pawns > 8:
            reasons.append(f"{name} has {pawns} pawns, and eight are the most")
        men = chess.popcount(board.occupied_co[colour])
        if men > 16:
            reasons.append(f"{name} has {men} men, and sixteen are the most")
    misplaced = board.pawns & chess.BB_BACKRANKS
    if misplaced:
        names = [chess.square_name(square) for square in chess.scan_forward(misplaced)]
        stands = "a pawn stands" if len(names) == 1 else "pawns stand"
        reasons.append(f"{stands} on {_and(names)}, where no pawn can be")
    if not reasons and board.was_into_check():
        waiting, moving = _COLOUR[not board.turn], _COLOUR[board.turn]
        reasons.append(f"{waiting} is in check and it is {moving}'s move")
    return reasons


def _refuse_unreadable(text: str) -> None:
    if not text:
        raise PositionError("there is no position in the text: it is empty")
    if len(text) > MAX_LINE:
        raise PositionError(
            f"the line has {len(text)} characters, and a position needs fewer than {MAX_LINE}"
        )
    if "\x00" in text:
        raise PositionError("this is not text but binary data")
    head = text.split(";", 1)[0] if ";" in text else text
    placement = head.split(None, 1)[0]
    strange = next((c for c in " ".join(head.split()[:4]) if not c.isascii()), None)
    if strange is not None:
        raise PositionError(
            f"a FEN has plain letters and figures only, and this one has {strange!r}: "
            f"{_short(head)!r}"
        )
    if placement.count("/") != 7:
        raise PositionError(
            f"expected a FEN, whose squares are eight ranks with seven slashes between: "
            f"{_short(text)!r}"
        )


def _short(text: str, most: int = 80) -> str:
    return text if len(text) <= most else text[:most] + "…"


def _split(text: str) -> tuple[list[str], str]:
    """The first four fields, and whatever follows them."""
    parts = text.split(None, 4)
    return parts[:4], parts[4] if len(parts) > 4 else ""


def _placement(text: str) -> chess.Board:
    board = chess.Board(None)
    for rank, row in zip(range(7, -1, -1), text.split("/"), strict=True):
        file = 0
        for symbol in row:
            if symbol in "12345678":
                file += int(symbol)
            elif symbol in "PNBRQKpnbrqk":
                if file < 8:
                    board.set_piece_at(chess.square(file, rank), chess.Piece.from_symbol(symbol))
                file += 1
            else:
                raise PositionError(
                    f"{symbol!r} on rank {rank + 1} is neither a man nor a number of empty "
                    f"squares: {_short(text)!r}"
                )
        if file != 8:
            raise PositionError(
                f"rank {rank + 1} has {file} squares instead of eight: {_short(text)!r}"
            )
    return board


def _side_to_move(text: str) -> chess.Color:
    if text not in ("w", "b"):
        raise PositionError(f"the side to move must be 'w' or 'b', and is {_short(text)!r}")
    return text == "w"


_ROOK_HOME = {"K": chess.H1, "Q": chess.A1, "k": chess.H8, "q": chess.A8}


def _castling(board: chess.Board, text: str, notices: list[str]) -> None:
    if text == "-":
        return
    if not re.fullmatch(r"[KQkq]{1,4}", text):
        raise PositionError(f"castling rights must be '-' or letters of KQkq, not {_short(text)!r}")
    stale = []
    for flag in dict.fromkeys(text):
        colour = flag.isupper()
        king_home = chess.E1 if colour else chess.E8
        rook = chess.Piece(chess.ROOK, colour)
        if (
            board.piece_at(king_home) == chess.Piece(chess.KING, colour)
            and board.piece_at(_ROOK_HOME[flag]) == rook
        ):
            board.castling_rights |= chess.BB_SQUARES[_ROOK_HOME[flag]]
        else:
            stale.append(flag)
    if stale:
        notices.append(
            f"castling right {''.join(stale)} was dropped: king and rook are not both at home"
        )


def _en_passant(board: chess.Board, text: str, notices: list[str]) -> None:
    if text == "-":
        return
    if not re.fullmatch(r"[a-h][36]", text):
        raise PositionError(
            f"the en-passant square must be '-' or a square of rank 3 or 6, not {_short(text)!r}"
        )
    square = chess.parse_square(text)
    board.ep_square = square
    behind_rank = 5 if board.turn else 2
    pawn = square + (-8 if board.turn else 8)
    passed = square + (8 if board.turn else -8)
    possible = (
        chess.square_rank(square) == behind_rank
        and board.piece_at(pawn) == chess.Piece(chess.PAWN, not board.turn)
        and board.piece_at(square) is None
        and board.piece_at(passed) is None
    )
    if not possible:
        board.ep_square = None
        notices.append(f"en-passant square {text} was dropped: no pawn has just passed over it")


def _unusual(board: chess.Board) -> list[str]:
    status = board.status()
    if status & chess.STATUS_TOO_MANY_CHECKERS:
        return ["no game can reach this: more than two men give check at once"]
    if status & chess.STATUS_IMPOSSIBLE_CHECK:
        return ["no game can reach this: no last move gives check in this way"]
    return []


def _counters(rest: str) -> tuple[int, int] | None:
    match = re.fullmatch(r"(\d{1,6})(?:\s+(\d{1,6}))?", rest.strip())
    if match is None:
        return None
    return int(match[1]), max(int(match[2] or "1"), 1)


def _operations(rest: str) -> dict[str, tuple[str, ...]]:
    counters = re.match(r"\d{1,6}\s+\d{1,6}\s+(?=[A-Za-z])", rest)
    if counters:  # a FEN with operations after it, as some suites are written
        rest = rest[counters.end() :]
    operations: dict[str, tuple[str, ...]] = {}
    at = 0
    body = rest.rstrip()
    if body and not body.endswith(";"):
        body += ";"
    while at < len(body):
        match = _EPD_OPERATION.match(body, at)
        if match is None:
            raise PositionError(
                f"after the position expected counters or EPD operations like 'dm 2;', "
                f"found {_short(body[at:].strip())!r}"
            )
        operands = tuple(a or b for a, b in _EPD_OPERAND.findall(match[2]))
        operations[match[1]] = operands
        at = match.end()
    return operations


def _operation_counters(board: chess.Board, operations: Mapping[str, tuple[str, ...]]) -> None:
    """Take the counters from the EPD operations `hmvc` and `fmvn` of the PGN standard."""
    for opcode, attribute, least in (("hmvc", "halfmove_clock", 0), ("fmvn", "fullmove_number", 1)):
        operands = operations.get(opcode, ())
        if operands and operands[0].isdigit():
            setattr(board, attribute, max(int(operands[0]), least))


def _and(names: list[str]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]
