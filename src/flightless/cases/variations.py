"""Variations that keep a mate: what could be otherwise and it would still be mate.

Each list is complete under the definition at its function.  Those of a forced line's starting
position ask the search whether the mate in n still holds.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import chess

from flightless.cases.anatomy import squares
from flightless.cases.case import Case, Man, Substitute
from flightless.cases.changes import Change, is_mate, moved, removed, replaced

__all__ = [
    "BlockerVariation",
    "StartVariations",
    "Variations",
    "start_variations",
    "variations_of",
]

_BUDGET = 200_000
_STRAIGHT = ((0, 1), (0, -1), (1, 0), (-1, 0))
_DIAGONAL = ((1, 1), (1, -1), (-1, 1), (-1, -1))


@dataclass(frozen=True, slots=True)
class BlockerVariation:
    """A needed man of the mated side in his king's way, and who could be there in his place.

    `own`: every other kind of own man on his square with whom it is still mate.  `guards`:
    every man of the mating side who makes it mate when the blocker is gone and he is added
    (on any square that is empty then).
    """

    blocker: chess.Square
    own: tuple[Change, ...]
    guards: tuple[Man, ...]


@dataclass(frozen=True, slots=True)
class Variations:
    """All that keeps a mated position mate.

    - `supporters`: the substitutes of needed men who protect a checker next to the king.
    - `slid`: each line man of the mating side who takes part in a skeleton, put on another square
      of one of his lines, past empty squares only.
    - `blockers`: each needed blocker and what could stand for him.
    - `shifted`: the net moved along rank or file as a whole.  The net is the mated king with
      the men of the preferred skeleton; the mating king moves with it if he takes part, else he
      stays where he is if that is possible, and moves with it if not.  FENs.
    - `mirrored`: the net in its other symmetries (with a pawn: files mirrored; without: all
      seven), `exchanged`: the whole position with colours exchanged.  FENs.
    """

    supporters: tuple[Substitute, ...]
    slid: tuple[Change, ...]
    blockers: tuple[BlockerVariation, ...]
    shifted: tuple[str, ...]
    mirrored: tuple[str, ...]
    exchanged: str


@dataclass(frozen=True, slots=True)
class StartVariations:
    """Changes to the starting position of a forced line after which the mate is as long.

    Each man of the attacker but his king as another kind on his square (`kinds`), and each of
    his line men elsewhere on one of his lines, past empty squares (`slid`); kept if the side to
    move then mates in exactly `moves`.  Changed positions in which the side not to move is in
    check, or whose first move is already none, are left out.  `undecided` are those that the
    search did not settle within its budget.
    """

    moves: int
    kinds: tuple[Change, ...]
    slid: tuple[Change, ...]
    undecided: tuple[Change, ...]


def variations_of(case: Case) -> Variations:
    """All variations of a mated position that keep it mate."""
    board = case.board
    near = [c for c in case.checkers if chess.square_distance(c, case.king) == 1]
    supporters = {man for c in near for man in case.checker_protectors[c]}
    line_men = board.occupied_co[case.mating] & (board.bishops | board.rooks | board.queens)
    slid = [
        moved(board, man, to)
        for man in squares(line_men)
        if case.takes_part[man] != "none"
        for to in _along_lines(board, man)
    ]
    return Variations(
        supporters=tuple(s for s in case.substitutes if s.instead_of in supporters),
        slid=tuple(change for change in slid if is_mate(change.applied(board))),
        blockers=tuple(_blocker_variations(case, board)),
        shifted=tuple(_shifted(case)),
        mirrored=tuple(_mirrored(case)),
        exchanged=board.mirror().fen(),
    )


def _along_lines(board: chess.Board, man: chess.Square) -> Iterator[chess.Square]:
    """Empty squares that a line man reaches along his lines."""
    yield from chess.scan_forward(board.attacks_mask(man) & ~board.occupied)


def _blocker_variations(case: Case, board: chess.Board) -> Iterator[BlockerVariation]:
    from flightless.cases.kernels import additions  # compiled, so loaded late

    blockers = {f.square for f in case.field if f.state == "blocked"}
    for blocker in case.needed:
        if blocker not in blockers:
            continue
        kind_here = board.piece_type_at(blocker)
        own = [replaced(board, blocker, kind) for kind in _kinds_on(blocker) if kind != kind_here]
        left = removed(board, blocker).applied(board)
        yield BlockerVariation(
            blocker,
            tuple(change for change in own if is_mate(change.applied(board))),
            tuple(
                Man(number & 63, chess.Piece(number >> 6, case.mating))
                for number in additions(left, case.mating)
            ),
        )


def _kinds_on(square: chess.Square) -> tuple[chess.PieceType, ...]:
    """The kinds that may stand on a square, the king apart."""
    first = chess.KNIGHT if chess.BB_SQUARES[square] & chess.BB_BACKRANKS else chess.PAWN
    return tuple(range(first, chess.KING))


# --- the net moved or turned as a whole -----------------------------------------------------


def _shifted(case: Case) -> Iterator[str]:
    steps = [(d, 0) for d in range(-7, 8) if d] + [(0, d) for d in range(-7, 8) if d]
    for step in steps:
        for king_moves in (True,) if case.king_takes_part else (False, True):
            net = _moved_net(case, step, king_moves)
            if net is not None and is_mate(net):
                yield net.fen()
                break


def _moved_net(case: Case, step: tuple[int, int], king_moves: bool) -> chess.Board | None:
    """The net with every man moved by the step, or None if it leaves the board."""
    board = case.board
    net = chess.Board(None)
    net.turn = case.mated
    moving = [*case.skeleton.men, case.king]
    if king_moves:
        moving.append(case.mating_king)
    for man in moving:
        file = chess.square_file(man) + step[0]
        rank = chess.square_rank(man) + step[1]
        piece = board.piece_at(man)
        if not (0 <= file < 8 and 0 <= rank < 8) or piece is None:
            return None
        if piece.piece_type == chess.PAWN and rank in (0, 7):
            return None
        net.set_piece_at(chess.square(file, rank), piece)
    if not king_moves:
        if net.piece_at(case.mating_king) is not None:
            return None
        net.set_piece_at(case.mating_king, chess.Piece(chess.KING, case.mating))
    kings = net.king(True), net.king(False)
    if None in kings or chess.square_distance(kings[0] or 0, kings[1] or 0) < 2:
        return None
    return net


def _mirrored(case: Case) -> Iterator[str]:
    net = chess.Board(case.skeleton.fen)
    turns = [chess.flip_horizontal]
    if not net.pawns:
        turns += [
            chess.flip_vertical,
            chess.flip_diagonal,
            chess.flip_anti_diagonal,
            lambda bb: chess.flip_vertical(chess.flip_horizontal(bb)),
            lambda bb: chess.flip_vertical(chess.flip_diagonal(bb)),
            lambda bb: chess.flip_horizontal(chess.flip_diagonal(bb)),
        ]
    seen = {net.board_fen()}
    for turn in turns:
        turned = net.transform(turn)
        turned.turn = net.turn
        if turned.board_fen() not in seen and is_mate(turned):
            seen.add(turned.board_fen())
            yield turned.fen()


# --- the starting position of a forced line -------------------------------------------------


def start_variations(board: chess.Board, moves: int, budget: int = _BUDGET) -> StartVariations:
    """What could be otherwise at the start of a forced line of `moves` moves.

    `budget` is in nodes for each changed position.
    """
    attacker = board.turn
    men = squares(board.occupied_co[attacker] & ~board.kings)
    kinds = [
        replaced(board, man, kind)
        for man in men
        for kind in _kinds_on(man)
        if kind != board.piece_type_at(man)
    ]
    line_men = board.bishops | board.rooks | board.queens
    slid = [
        moved(board, man, to)
        for man in men
        if line_men & chess.BB_SQUARES[man]
        for to in _along_lines(board, man)
    ]
    undecided: list[Change] = []
    return StartVariations(
        moves,
        tuple(c for c in kinds if _still(board, c, moves, budget, undecided)),
        tuple(c for c in slid if _still(board, c, moves, budget, undecided)),
        tuple(undecided),
    )


def _still(
    board: chess.Board, change: Change, moves: int, budget: int, undecided: list[Change]
) -> bool:
    from flightless.prove import prove

    after = change.applied(board)
    after.castling_rights = after.clean_castling_rights()
    if after.was_into_check() or not any(after.legal_moves):
        return False
    proof = prove(after, moves, budget)
    if proof.verdict == "undecided":
        undecided.append(change)
    return proof.verdict == "mate" and proof.moves == moves
