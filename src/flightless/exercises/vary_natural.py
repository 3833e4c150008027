"""Whether a position could have come from a game: a simple look, and some legal last move.

What is refused may still be possible in a freak game; what is passed may still be impossible
for deeper reasons.  Whether the position is good for anything is not judged here.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, permutations, product

import chess

from flightless.positions import board_refusals

__all__ = ["has_last_move", "unmoves", "unnatural"]

_TAKEN = (chess.QUEEN, chess.ROOK, chess.BISHOP, chess.KNIGHT, chess.PAWN)


def unnatural(board: chess.Board) -> str | None:
    """Why a position does not look as if it came from a game, as a clause; None if it does.

    Illegal (FIDE Laws, and checks that no move gives); a man who must have been promoted; more
    captures by pawns than men of the other side are missing (each pawn from a file of its own,
    without crossing over); no legal last move.
    """
    refusals = board_refusals(board)
    if refusals:
        return refusals[0]
    if not board.is_valid():
        return "no game leads to these checks or rights"
    for colour in chess.COLORS:
        side = "White" if colour else "Black"
        if _promoted(board, colour):
            return f"{side} has a man who must have been promoted"
        captures = _pawn_captures(board, colour)
        missing = 16 - chess.popcount(board.occupied_co[not colour])
        if captures is None or captures > missing:
            return f"{side}'s pawns cannot have come to their files"
    return None if has_last_move(board) else "no last move leads to it"


def has_last_move(board: chess.Board) -> bool:
    """Whether some legal move of the side not to move leads to the position (castling and
    taking en passant are not tried)."""
    return next(unmoves(board), None) is not None


def unmoves(
    board: chess.Board, taken: tuple[chess.PieceType, ...] = _TAKEN, *, from_check: bool = False
) -> Iterator[tuple[chess.Board, chess.Move]]:
    """Every position before, and the move that leads from it to `board`.

    `taken` are the kinds that the move may have captured; captures come last of each origin.
    With `from_check` only moves that answered a check are given.
    Castling and en passant are left out.  Rights are kept as they are, so a king or rook who
    still has the right to castle has not moved.
    """
    mover = not board.turn
    plain = not board.castling_rights and board.ep_square is None and board.is_valid()
    king = board.king(board.turn)
    checkers = board.checkers_mask()
    for to in chess.scan_forward(board.occupied_co[mover]):
        piece = board.piece_at(to)
        assert piece is not None
        others = checkers & ~chess.BB_SQUARES[to]
        for origin, kind, captures in _origins(board, to, piece):
            if not _covers(origin, others, king):
                continue  # the king would have been in check with the other side to move
            for victim in (None, *taken) if captures is None else taken if captures else (None,):
                if victim == chess.PAWN and chess.square_rank(to) in (0, 7):
                    continue
                if from_check and not _may_answer(board, to, victim):
                    continue
                before = _before(board, origin, to, kind, victim)
                promotion = piece.piece_type if kind != piece.piece_type else None
                move = chess.Move(origin, to, promotion)
                if from_check and not before.is_check():
                    continue
                if (_possible if plain else _leads)(before, move, board):
                    yield before, move


def _covers(origin: chess.Square, checkers: chess.Bitboard, king: chess.Square | None) -> bool:
    """Whether a man on `origin` stands between the king and every one of the checkers."""
    if not checkers or king is None:
        return True
    at = chess.BB_SQUARES[origin]
    return all(chess.between(man, king) & at for man in chess.scan_forward(checkers))


def _may_answer(board: chess.Board, to: chess.Square, victim: chess.PieceType | None) -> bool:
    """Whether a move to `to` may have answered a check: the king moved, the checker was taken
    there, or `to` stands in the line of one."""
    king = board.king(not board.turn)
    if king is None or king == to:
        return king is not None
    if victim is None:
        return bool(chess.ray(king, to))
    if victim == chess.PAWN:
        return bool(chess.BB_PAWN_ATTACKS[board.turn][to] & chess.BB_SQUARES[king])
    if victim == chess.KNIGHT:
        return bool(chess.BB_KNIGHT_ATTACKS[to] & chess.BB_SQUARES[king])
    line = chess.ray(king, to)
    straight = chess.square_file(king) == chess.square_file(to) or (
        chess.square_rank(king) == chess.square_rank(to)
    )
    slides = victim == chess.QUEEN or (victim == chess.ROOK) == straight
    return bool(line) and slides


def _origins(
    board: chess.Board, to: chess.Square, piece: chess.Piece
) -> Iterator[tuple[chess.Square, chess.PieceType, bool | None]]:
    """Where the man came from, as what kind, and whether he must have taken a man there
    (None: either)."""
    back = -8 if piece.color else 8
    free = ~board.occupied & chess.BB_ALL
    if piece.piece_type != chess.PAWN:
        for origin in chess.scan_forward(board.attacks_mask(to) & free):
            yield origin, piece.piece_type, None
        if chess.square_rank(to) != (7 if piece.color else 0) or piece.piece_type == chess.KING:
            return
    elif chess.square_rank(to) in ((0, 1) if piece.color else (6, 7)):
        return
    if free & chess.BB_SQUARES[to + back]:
        yield to + back, chess.PAWN, False
        home = 3 if piece.color else 4
        two = to + 2 * back
        if chess.square_rank(to) == home and free & chess.BB_SQUARES[two]:
            yield two, chess.PAWN, False
    for origin in chess.scan_forward(chess.BB_PAWN_ATTACKS[not piece.color][to] & free):
        yield origin, chess.PAWN, True


def _before(
    board: chess.Board,
    origin: chess.Square,
    to: chess.Square,
    kind: chess.PieceType,
    victim: chess.PieceType | None,
) -> chess.Board:
    before = board.copy(stack=False)
    mover = not board.turn
    before.remove_piece_at(to)
    before.set_piece_at(origin, chess.Piece(kind, mover))
    if victim is not None:
        before.set_piece_at(to, chess.Piece(victim, board.turn))
    before.turn, before.ep_square = mover, None
    before.halfmove_clock, before.fullmove_number = 0, 1
    return before


def _leads(before: chess.Board, move: chess.Move, board: chess.Board) -> bool:
    if not before.is_valid() or not before.is_legal(move):
        return False
    after = before.copy(stack=False)
    after.push(move)
    return (
        after.piece_map() == board.piece_map()
        and after.castling_rights == board.castling_rights
        and (board.ep_square is None or after.ep_square == board.ep_square)
    )


def _possible(before: chess.Board, move: chess.Move, board: chess.Board) -> bool:
    """As `_leads`, for a valid position without rights: how the man moves is clear by then, and
    his own king is safe after the move; what is left is the position before."""
    del move
    taken, own = (before.occupied_co[colour] for colour in (board.turn, not board.turn))
    most = chess.popcount(taken) <= 16 and all(
        chess.popcount(before.pawns & men) <= 8 for men in (taken, own)
    )
    if not most or before.was_into_check():
        return False
    return not before.checkers_mask() or before.is_valid()


def _promoted(board: chess.Board, colour: chess.Color) -> int:
    own = board.occupied_co[colour]
    light = board.bishops & own & chess.BB_LIGHT_SQUARES
    dark = board.bishops & own & chess.BB_DARK_SQUARES
    pairs = (
        (board.queens & own, 1),
        (board.rooks & own, 2),
        (board.knights & own, 2),
        (light, 1),
        (dark, 1),
    )
    return sum(max(0, chess.popcount(men) - most) for men, most in pairs)


def _pawn_captures(board: chess.Board, colour: chess.Color) -> int | None:
    """The fewest captures that bring the pawns to their files; None if none do."""
    files: dict[int, list[int]] = {}
    for square in board.pieces(chess.PAWN, colour):
        gone = abs(chess.square_rank(square) - (1 if colour else 6))
        files.setdefault(chess.square_file(square), []).append(gone)
    orders = [set(permutations(files[file])) for file in sorted(files)]
    count = sum(map(len, files.values()))
    best: int | None = None
    for order in product(*orders):  # pawns of one file may have come from either side
        pawns = [(f, g) for f, gone in zip(sorted(files), order, strict=True) for g in gone]
        for homes in combinations(range(8), count):
            steps = [abs(file - home) for (file, _), home in zip(pawns, homes, strict=True)]
            if all(n <= gone for n, (_, gone) in zip(steps, pawns, strict=True)):
                best = sum(steps) if best is None else min(best, sum(steps))
    return best
