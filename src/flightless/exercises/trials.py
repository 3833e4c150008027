"""Men put on the board: every way that makes it mate, and why another does not.

Shared by the kinds in which the pupil places men.  'Mate' is by the rules, with the mating
side's own king not in check; the men may stand on any empty square, pawns not on the end
ranks.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import chess

from flightless.cases.anatomy import field_of
from flightless.cases.case import Man
from flightless.cases.changes import is_mate
from flightless.exercises.escapes import escape_of, man_on, men_on
from flightless.exercises.reasons import CannotPlace, GivesMate, Trial
from flightless.exercises.texts import placed

__all__ = ["cannot_place", "gives_mate", "mating_pairs", "mating_squares", "trial_of", "with_men"]


def with_men(board: chess.Board, men: Iterable[Man]) -> chess.Board:
    """A copy of `board` with the men put on it."""
    board = board.copy(stack=False)
    for man in men:
        board.set_piece_at(man.square, man.piece)
    return board


def mating_squares(
    board: chess.Board, kinds: Sequence[chess.PieceType]
) -> Iterator[tuple[chess.PieceType, chess.Square]]:
    """Every man of these kinds, of the side not to move, with whom it is mate; kind by kind."""
    from flightless.cases.kernels import additions  # compiled, so loaded late

    found = {(number >> 6 & 7, number & 63) for number in additions(board, not board.turn)}
    for kind in kinds:
        for square in sorted(s for k, s in found if k == kind):
            if is_mate(with_men(board, [Man(square, chess.Piece(kind, not board.turn))])):
                yield kind, square


def mating_pairs(board: chess.Board, kinds: tuple[chess.PieceType, chess.PieceType]) -> list[str]:
    """Every way to put both men so that it is mate, as answers: 'Nf6 Re8', men in that order,
    or by square if they are of one kind."""
    first, second = kinds
    found = []
    piece = chess.Piece(first, not board.turn)
    for square in chess.scan_forward(chess.BB_ALL & ~board.occupied):
        if first == chess.PAWN and chess.square_rank(square) in (0, 7):
            continue
        one = with_men(board, [Man(square, piece)])
        for _, other in mating_squares(one, (second,)):
            if first != second or square < other:
                found.append(f"{placed(first, square)} {placed(second, other)}")
    return found


def cannot_place(board: chess.Board, man: Man) -> CannotPlace | None:
    """Why a man cannot be put where he is said to stand; None if he can."""
    there = board.piece_at(man.square)
    if there is not None:
        return CannotPlace(man, "taken", Man(man.square, there))
    if man.piece.piece_type == chess.PAWN and chess.square_rank(man.square) in (0, 7):
        return CannotPlace(man, "end rank")
    return None


def trial_of(board: chess.Board, men: Sequence[Man], target: chess.Square | None = None) -> Trial:
    """Why it is not mate with the men on the board; `target` is the square of a man whom the
    first of them was meant to protect."""
    after = with_men(board, men)
    fen = after.fen()
    if after.was_into_check():
        return Trial(fen, tuple(men), "own king")
    if not after.is_check():
        stuck = not any(after.legal_moves)
        return Trial(fen, tuple(men), "stalemate" if stuck else "no check")
    escape = escape_of(after)
    if target is None or after.piece_at(target) is None:
        return Trial(fen, tuple(men), "answered", escape)
    man = men[0]
    king = after.king(after.turn)
    lifted = after.occupied & ~chess.BB_SQUARES[king] if king is not None else after.occupied
    protectors = after.attackers_mask(not after.turn, target, lifted)
    reaches = bool(protectors & chess.BB_SQUARES[man.square])
    return Trial(
        fen,
        tuple(men),
        "answered",
        escape,
        man_on(after, target),
        reaches,
        None if reaches else _in_the_way(after, man, target),
    )


def _in_the_way(board: chess.Board, man: Man, target: chess.Square) -> Man | None:
    """The one man who stands between a line man and the square that he would protect."""
    empty = chess.BaseBoard(None)
    empty.set_piece_at(man.square, man.piece)
    if not empty.attacks_mask(man.square) & chess.BB_SQUARES[target]:
        return None
    between = chess.between(man.square, target) & board.occupied
    if not between or between & (between - 1):
        return None
    return man_on(board, chess.msb(between))


def gives_mate(board: chess.Board, men: Sequence[Man], others: int) -> GivesMate:
    """What the placed men do in the mate that they make."""
    after = with_men(board, men)
    own = {man.square for man in men}
    checkers = set(chess.scan_forward(after.checkers_mask()))
    field = field_of(after, after.turn)
    protects = []
    guards = []
    for man in men:
        alone = [f for f in field if f.square is not None and f.reasons == (man.square,)]
        squares = tuple(sorted(f.square for f in alone if f.square is not None))
        held = [s for s in squares if after.color_at(s) == (not after.turn)]
        protects += [(man, man_on(after, s)) for s in held]
        free = tuple(s for s in squares if s not in held)
        if free:
            guards.append((man, free))
    return GivesMate(
        after.fen(),
        tuple(men),
        men_on(after, checkers & own),
        tuple(protects),
        tuple(guards),
        others,
    )
