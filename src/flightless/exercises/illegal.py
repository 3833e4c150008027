"""Reading a move that a pupil wrote, and saying why it cannot be played when it cannot.

SAN is read generously (figures, hyphens, signs and a missing x do not matter), UCI too.  For
a move that the Laws do not allow the reason is found on the board; nothing is searched.
"""

from __future__ import annotations

import re
from typing import NamedTuple

import chess

from flightless.exercises.escapes import men_on
from flightless.exercises.reasons import CannotMove, CannotWhy, Unreadable

__all__ = ["Refused", "read_line", "read_move", "split_line"]

Refused = Unreadable | CannotMove
"""Why a text is no legal move."""

_MOVE = re.compile(
    r"(?P<man>[KQRBNP])?(?P<file>[a-h])?(?P<rank>[1-8])?[x:\-]?(?P<to>[a-h][1-8])"
    r"(?:=?\(?(?P<promotion>[QRBNqrbn])\)?)?"
)
_UCI = re.compile(r"([a-h][1-8])([a-h][1-8])([qrbnQRBN])?")
_CASTLES = re.compile(r"([0Oo])[-–]?\1(?:[-–]?(\1))?")
_TAIL = re.compile(r"(?:\s*(?:\+\+?|#|!+|\?+|e\.?p\.?|matt|mate|ch))+$", re.IGNORECASE)
_NUMBER = re.compile(r"^\s*\d+(?:\s*(?:\.{1,3}|…)\s*|\s+)|^\s*(?:\.{2,3}|…)\s*")
_FIGURES = str.maketrans("♔♕♖♗♘♙♚♛♜♝♞♟", "KQRBNPKQRBNP")
_GERMAN = re.compile(r"^[DTLS](?=[a-h1-8x:-])|(?<=[18=(])[DTLS](?=\)?$)")
_OF_GERMAN = {"D": "Q", "T": "R", "L": "B", "S": "N"}
"""The letters of German SAN, which are none of English; B is a bishop in both."""
_LONGEST = 80


class _Said(NamedTuple):
    """What a move text says."""

    kind: chess.PieceType
    file: int | None
    rank: int | None
    to: chess.Square
    promotion: chess.PieceType | None


_BETWEEN = ("mate", "matt", "e.p.", "ep", "and", "then", "und", "dann", "–")


def split_line(text: str) -> list[str]:
    """The move texts of a line, without move numbers, comments or the word mate."""
    text = re.sub(r"\{[^}]*\}", " ", text[: 40 * _LONGEST])
    text = re.sub(r"\d+\s*(?:\.{1,3}|…)|\.{2,3}|…|[,;]", " ", text)
    words = [w for w in text.split() if w.lower() not in _BETWEEN]
    return [w for w in words if w not in ("1-0", "0-1", "+", "#")]


def read_move(board: chess.Board, text: str) -> chess.Move | Refused:
    """The legal move that `text` means, or why it means none."""
    shown = text.strip()[:_LONGEST]
    plain = _NUMBER.sub("", shown).translate(_FIGURES)
    plain = _TAIL.sub("", plain).strip().replace(" ", "")
    plain = _GERMAN.sub(lambda m: _OF_GERMAN[m[0]], plain)
    castles = _CASTLES.fullmatch(plain)
    if castles:
        return _castling(board, shown, long=castles[2] is not None)
    uci = _UCI.fullmatch(plain)
    if uci:
        return _from_uci(board, shown, plain)
    found = _MOVE.fullmatch(plain) or _MOVE.fullmatch(plain[:1].upper() + plain[1:])
    if found is None:
        return Unreadable(shown, "a move")
    letter = found["man"] or "P"
    said = _Said(
        chess.Piece.from_symbol(letter).piece_type,
        chess.FILE_NAMES.index(found["file"]) if found["file"] else None,
        int(found["rank"]) - 1 if found["rank"] else None,
        chess.parse_square(found["to"]),
        chess.Piece.from_symbol(found["promotion"]).piece_type if found["promotion"] else None,
    )
    return _meant(board, shown, said)


def read_line(board: chess.Board, text: str) -> tuple[tuple[chess.Move, ...], Refused | None]:
    """The moves of a line by both sides, as far as they can be read, and why it ends there."""
    words = split_line(text)
    if not words:
        return (), Unreadable(text.strip()[:_LONGEST], "a move")
    board = board.copy(stack=False)
    moves: list[chess.Move] = []
    for word in words:
        move = read_move(board, word)
        if not isinstance(move, chess.Move):
            return tuple(moves), move
        moves.append(move)
        board.push(move)
    return tuple(moves), None


def _from_uci(board: chess.Board, shown: str, plain: str) -> chess.Move | Refused:
    move = chess.Move.from_uci(plain.lower()) if plain[:2] != plain[2:4] else None
    if move is not None and board.is_legal(move):
        return move
    if move is None:
        return Unreadable(shown, "a move")
    piece = board.piece_at(move.from_square)
    if piece is None:
        return CannotMove(board.fen(), shown, "empty", chess.PAWN, move.from_square)
    file, rank = chess.square_file(move.from_square), chess.square_rank(move.from_square)
    if piece.color != board.turn:
        men = men_on(board, [move.from_square])
        return CannotMove(board.fen(), shown, "other side", piece.piece_type, move.to_square, men)
    said = _Said(piece.piece_type, file, rank, move.to_square, move.promotion)
    return _meant(board, shown, said)


def _castling(board: chess.Board, shown: str, *, long: bool) -> chess.Move | Refused:
    for move in board.legal_moves:
        if board.is_castling(move) and board.is_queenside_castling(move) == long:
            return move
    return CannotMove(board.fen(), shown, "castling", chess.KING)


def _meant(board: chess.Board, shown: str, said: _Said) -> chess.Move | Refused:
    legal = [
        m
        for m in board.legal_moves
        if m.to_square == said.to
        and board.piece_type_at(m.from_square) == said.kind
        and _from_fits(said, m.from_square)
        and not (said.kind == chess.KING and board.is_castling(m))
    ]
    exact = [m for m in legal if m.promotion == said.promotion]
    if len(exact) == 1:
        return exact[0]
    men = men_on(board, {m.from_square for m in legal})
    if len(men) > 1:
        return CannotMove(board.fen(), shown, "several", said.kind, said.to, men)
    if legal and legal[0].promotion:
        return CannotMove(board.fen(), shown, "promotion", said.kind, said.to, men)
    if legal and said.promotion:
        return Unreadable(shown, "a move")
    return _forbidden(board, shown, said)


def _from_fits(said: _Said, square: chess.Square) -> bool:
    if said.file is not None and chess.square_file(square) != said.file:
        return False
    return said.rank is None or chess.square_rank(square) == said.rank


# --- why not ---------------------------------------------------------------------------------


class _No(NamedTuple):
    """A reason, and the squares of the men it is about: who was meant, and who forbids it."""

    why: CannotWhy
    men: list[chess.Square]
    by: chess.Bitboard = 0


def _forbidden(board: chess.Board, shown: str, said: _Said) -> CannotMove:
    """No legal move is meant: the nearest thing to one, and what stands against it."""
    no = _why_not(board, said)
    men, by = men_on(board, no.men), men_on(board, chess.scan_forward(no.by))
    return CannotMove(board.fen(), shown, no.why, said.kind, said.to, men, by)


def _why_not(board: chess.Board, said: _Said) -> _No:
    own = [s for s in board.pieces(said.kind, board.turn) if _from_fits(said, s)]
    if not own:
        theirs = [s for s in board.pieces(said.kind, not board.turn) if _from_fits(said, s)]
        at = [s for s in theirs if _reaches(board, s, said.to)]
        return _No("other side", at[:1]) if at else _No("no such man", [])
    target = chess.BB_SQUARES[said.to]
    if board.occupied_co[board.turn] & target:
        return _No("own man", own, target)
    able = [s for s in own if _pseudo(board, s, said.to)]
    if not able:
        return _unreachable(board, said, own)
    if said.kind == chess.KING:
        lifted = board.occupied & ~chess.BB_SQUARES[able[0]]
        return _No("into check", able, board.attackers_mask(not board.turn, said.to, lifted))
    return _pinned(board, able) or (
        _No("in check", able, board.checkers_mask())
        if board.is_check()
        else _No("cannot reach", able)
    )


def _pinned(board: chess.Board, able: list[chess.Square]) -> _No | None:
    king = board.king(board.turn)
    assert king is not None
    for square in able:
        if board.is_pinned(board.turn, square):
            left = board.copy(stack=False)
            left.remove_piece_at(square)
            by = left.attackers_mask(not board.turn, king) & ~board.checkers_mask()
            if by:
                return _No("pinned", [square], by)
    return None


def _unreachable(board: chess.Board, said: _Said, own: list[chess.Square]) -> _No:
    """No man of the kind moves there: one whose way is blocked by a man, or none at all."""
    for square in own:
        if _reaches(board, square, said.to):
            in_way = chess.between(square, said.to) & board.occupied
            if said.kind == chess.PAWN:
                in_way |= chess.BB_SQUARES[said.to] & board.occupied
            if in_way:
                return _No("in the way", [square], in_way & -in_way)
    return _No("cannot reach", own)


def _pseudo(board: chess.Board, square: chess.Square, to: chess.Square) -> bool:
    """Whether the man moves so, pins and checks apart."""
    return any(
        m.to_square == to and not board.is_castling(m)
        for m in board.generate_pseudo_legal_moves(chess.BB_SQUARES[square], chess.BB_SQUARES[to])
    )


def _reaches(board: chess.Board, square: chess.Square, to: chess.Square) -> bool:
    """Whether the man on `square` would move to `to` on an otherwise empty board."""
    piece = board.piece_at(square)
    assert piece is not None
    if piece.piece_type == chess.PAWN:
        step = 8 if piece.color else -8
        home = 1 if piece.color else 6
        return to == square + step or (
            to == square + 2 * step and chess.square_rank(square) == home
        )
    empty = chess.BaseBoard(None)
    empty.set_piece_at(square, piece)
    return bool(empty.attacks_mask(square) & chess.BB_SQUARES[to])
