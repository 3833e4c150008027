"""A family from one position: turned, shifted, a man exchanged or slid, one taken off, or
lengthened by one move backwards.

Every member is proved to mate in the length asked with a single key; what fails is kept with
its reason.  Changes that keep a mated position mate are those of `cases.variations`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from typing import Literal

import chess

from flightless.cases.changes import is_mate, removed
from flightless.cases.variations import start_variations, variations_of
from flightless.errors import PositionError
from flightless.exercises.backwards import Keys, Retraction, Retractor
from flightless.exercises.boards import fresh
from flightless.exercises.material import Material, NotFit, material_of
from flightless.exercises.turning import turned
from flightless.exercises.vary_natural import unnatural

__all__ = ["Dropped", "Family", "How", "Member", "lengthened", "vary"]

How = Literal[
    "files mirrored",
    "colours exchanged",
    "colours and files",
    "shifted",
    "man exchanged",
    "man slid",
    "man taken off",
    "lengthened",
]

_NODES = 200_000
_MOST_BEFORE, _MOST_QUIET = 3_000, 1_000
_FEW = 5
_SACRIFICED = (chess.QUEEN, chess.ROOK, chess.BISHOP, chess.KNIGHT)


@dataclass(frozen=True, slots=True)
class Member:
    """One of a family: `fen`, how it came from the first position, its proved length (0: mated
    on the board) and its only key."""

    how: How
    fen: str
    moves: int
    key: chess.Move | None


@dataclass(frozen=True, slots=True)
class Dropped:
    """A variation that is not in the family, and why, as a clause."""

    how: How
    fen: str
    reason: str


@dataclass(frozen=True, slots=True)
class Family:
    """What was made of `fen`, a mate in `moves`."""

    fen: str
    moves: int
    members: tuple[Member, ...]
    dropped: tuple[Dropped, ...]


def vary(board: chess.Board, within: int = 3, longer: int = 3) -> Family:
    """All variations of a position with a forced mate, or of a mated one.

    Up to `longer` members are one move longer.  Raises `PositionError` if no mate within
    `within` is proved.
    """
    material = material_of(board, within=within)
    if isinstance(material, NotFit):
        raise PositionError(material.reason)
    moves = 0 if material.proof is None else material.proof.moves or 0
    members: list[Member] = []
    dropped: list[Dropped] = []
    seen = {_placement(material.board)}
    for how, changed in _candidates(material, moves):
        changed = fresh(changed)
        changed.castling_rights = changed.clean_castling_rights()
        if _placement(changed) in seen:
            continue
        seen.add(_placement(changed))
        judged = _judged(how, changed, moves)
        if isinstance(judged, Member):
            members.append(judged)
        else:
            dropped.append(judged)
    members.extend(_longer_members(material.board, moves, longer))
    return Family(material.fen, moves, tuple(members), tuple(dropped))


def lengthened(
    board: chess.Board, moves: int, keys: Keys = "checks", looked_at: int = _MOST_BEFORE
) -> Iterator[Member]:
    """Positions one move earlier in which the side that mates in `moves` mates in one more.

    A mated position gets its mating move back; before another, the defender's last move and
    one of the attacker are taken back, and the defender may have taken a man with it: those
    where a piece was given up come first.  The attacker's move is a check, or a quiet one
    (`keys`), and must be the only key.  At most `looked_at` positions are asked about.
    """
    retractor = Retractor(_given_up_first, most=looked_at)
    for longer in retractor.longer(board, moves, keys if moves else "any"):
        judged = _judged("lengthened", fresh(longer.board), moves + 1)
        if isinstance(judged, Member) and judged.key == longer.key:
            yield judged


def _given_up_first(retractions: list[Retraction]) -> list[Retraction]:
    return sorted(retractions, key=lambda r: r[0].piece_type_at(r[1].to_square) not in _SACRIFICED)


def _longer_members(board: chess.Board, moves: int, most: int) -> Iterator[Member]:
    """Up to `most` members one move longer: two of three by a check, the others by a quiet
    move where there are any."""
    checks = lengthened(board, moves)
    quiet = lengthened(board, moves, "quiet", _MOST_QUIET) if moves else iter(())
    by_quiet = _unlike(quiet, most)
    by_check = _unlike(checks, most)
    share = max(most - most // 3, most - len(by_quiet))
    chosen = by_check[:share]
    yield from chosen
    yield from by_quiet[: most - len(chosen)]


def _unlike(members: Iterator[Member], most: int) -> list[Member]:
    """Up to `most` of the first few, those first whose key is another man's, or goes elsewhere,
    or takes another man."""
    rounds: dict[tuple[int | None, int, int | None], int] = {}
    ranked = []
    for member in islice(members, _FEW * most):
        board, key = chess.Board(member.fen), member.key
        assert key is not None
        kind, victim = map(board.piece_type_at, (key.from_square, key.to_square))
        like = (kind, key.to_square, victim)
        rounds[like] = rounds.get(like, 0) + 1
        ranked.append((rounds[like], member))
    ranked.sort(key=lambda pair: pair[0])
    return [member for _, member in ranked[:most]]


def _placement(board: chess.Board) -> str:
    return f"{board.board_fen()} {board.turn}"


def _candidates(material: Material, moves: int) -> Iterator[tuple[How, chess.Board]]:
    board, case = material.board, material.case
    yield "files mirrored", turned(board, colours=False, files=True)[0]
    yield "colours exchanged", turned(board, colours=True, files=False)[0]
    yield "colours and files", turned(board, colours=True, files=True)[0]
    for step in range(-7, 8):
        for shifted in (_shifted(board, step, 0), _shifted(board, 0, step)):
            if step and shifted is not None:
                yield "shifted", shifted
    if moves:
        start = start_variations(board, moves, _NODES)
        for change in start.kinds:
            yield "man exchanged", change.applied(board)
        for change in start.slid:
            yield "man slid", change.applied(board)
    else:
        variations = variations_of(case)
        for fen in variations.shifted:
            yield "shifted", chess.Board(fen)
        for blocker in variations.blockers:
            for change in blocker.own:
                yield "man exchanged", change.applied(board)
        for other in variations.supporters:
            exchanged = removed(board, other.instead_of).applied(board)
            exchanged.set_piece_at(other.square, chess.Piece(other.kind, case.mating))
            yield "man exchanged", exchanged
        for change in variations.slid:
            yield "man slid", change.applied(board)
    for square in chess.scan_forward(board.occupied & ~board.kings):
        yield "man taken off", removed(board, square).applied(board)


def _shifted(board: chess.Board, files: int, ranks: int) -> chess.Board | None:
    """The whole board moved; None if a man leaves it, or ranks change where pawns stand."""
    if ranks and board.pawns:
        return None
    moved = chess.Board(None)
    moved.turn = board.turn
    for square, piece in board.piece_map().items():
        file, rank = chess.square_file(square) + files, chess.square_rank(square) + ranks
        if not (0 <= file < 8 and 0 <= rank < 8):
            return None
        moved.set_piece_at(chess.square(file, rank), piece)
    return moved


def _judged(how: How, board: chess.Board, moves: int) -> Member | Dropped:
    from flightless.prove import prove

    fen = board.fen()
    reason = unnatural(board)
    if reason is not None:
        return Dropped(how, fen, reason)
    if not moves:
        if is_mate(board):
            return Member(how, fen, 0, None)
        return Dropped(how, fen, "it is not mate any more")
    if not any(board.legal_moves):
        return Dropped(how, fen, "the game is over")
    proof = prove(board, moves, _NODES)
    if proof.verdict == "undecided" or not proof.keys_complete:
        return Dropped(how, fen, f"not decided within {_NODES:,} nodes")
    if proof.verdict != "mate":
        return Dropped(how, fen, f"no mate in {moves} any more")
    if proof.moves != moves:
        return Dropped(how, fen, f"it is mate in {proof.moves} already")
    if len(proof.keys) > 1:
        return Dropped(how, fen, f"{len(proof.keys)} first moves mate")
    return Member(how, fen, moves, proof.keys[0])
