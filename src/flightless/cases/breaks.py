"""Changes that break a mate, each tried, with what the king or a defender then does.

Every change is made to the mated position by hand, except those of a move made earlier, which
need the position before the mating move.  All lists are complete under their definitions,
which stand at the functions.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

import chess

from flightless.cases.answers import first_answer, how_it_answers, legal_answers
from flightless.cases.case import Case, Saviour
from flightless.cases.changes import Change, lookalike_moves, moved, removed

__all__ = ["Break", "BreakKind", "Rescue", "breaks_of", "rescues_of"]

BreakKind = Literal[
    "luft", "blocker moved", "blocker gone", "guard moved", "pin released", "moved earlier"
]


@dataclass(frozen=True, slots=True)
class Break:
    """A change after which it is no longer mate.

    `answers` are the legal moves of the side that was mated (none if there is no check any
    more: `check_gone`), `first` the one to show.  For "luft" and "moved earlier" with the
    mating move known, `change` is the earlier move; else it is made in the final position.
    For "pin released" `man` is the man who was pinned.
    """

    kind: BreakKind
    change: Change
    check_gone: bool
    answers: tuple[chess.Move, ...]
    first: chess.Move | None
    man: chess.Square | None = None


@dataclass(frozen=True, slots=True)
class Rescue:
    """Added defenders who all save the king by the same act.

    `act`: "capture" of the checker on `target`, "interposition" on `target`, "in between" (he
    stands on `target`, between checker and king, so that there is no check), "shuts a guard"
    (the king goes to `target`, which is no longer guarded), "several" (no one act is common).
    `squares` are those from which each kind does it.
    """

    act: Literal["capture", "interposition", "in between", "shuts a guard", "several"]
    target: chess.Square | None
    squares: tuple[tuple[chess.PieceType, tuple[chess.Square, ...]], ...]


def breaks_of(case: Case, board: chess.Board | None = None) -> tuple[Break, ...]:
    """Every break, by kind.  `board` is the mated position with the moves that led to it; with
    it the earlier moves are legal moves in the position before the mating move."""
    final = case.board
    found = [*_blockers(case, final), *_guards(case, final), *_pins(case, final)]
    if board is not None and board.move_stack:
        found.extend(_earlier(board))
    else:
        found.extend(_displaced(case, final))
    order = list(BreakKind.__args__)  # type: ignore[attr-defined]
    return tuple(sorted(found, key=lambda b: order.index(b.kind)))


def _break(kind: BreakKind, final: chess.Board, change: Change) -> Break | None:
    """The break that a change to the final position makes, if it leaves a legal position that
    is not checkmate."""
    after = change.applied(final)
    if after.is_checkmate() or after.was_into_check():
        return None
    return _told(kind, change, after)


def _told(kind: BreakKind, change: Change, after: chess.Board) -> Break:
    answers = legal_answers(after)
    return Break(kind, change, not after.is_check(), answers, first_answer(after, answers))


def _found(breaks: Iterable[Break | None]) -> Iterator[Break]:
    return (b for b in breaks if b is not None)


def _blockers(case: Case, final: chess.Board) -> Iterator[Break]:
    """Each man of the mated side on a square of the field, taken off, and put on each empty
    square to which a man of his kind moves from there."""
    blockers = [f.square for f in case.field if f.state == "blocked" and f.square is not None]
    for man in sorted(blockers):
        yield from _found([_break("blocker gone", final, removed(final, man))])
        changes = (moved(final, man, to) for to in lookalike_moves(final, man))
        yield from _found(_break("blocker moved", final, change) for change in changes)


def _guards(case: Case, final: chess.Board) -> Iterator[Break]:
    """Each man of the mating side who guards a square of the field or checks (not the king),
    put on each empty square to which his kind moves from there."""
    men = set(case.checkers)
    for f in case.field:
        men.update(m for m in f.reasons if final.color_at(m) == case.mating)
    for man in sorted(men - {case.mating_king}):
        changes = (moved(final, man, to) for to in lookalike_moves(final, man))
        yield from _found(_break("guard moved", final, change) for change in changes)


def _pins(case: Case, final: chess.Board) -> Iterator[Break]:
    """Each man who pins a defender who could else answer the check, taken off, and put on each
    empty square to which his kind moves, where the pinned man then has a legal move."""
    pins = {(by, h.man) for h in case.held_off if h.why == "pinned" for by in h.by}
    for pinner, pinned in sorted(pins):
        changes = [removed(final, pinner)]
        changes.extend(moved(final, pinner, to) for to in lookalike_moves(final, pinner))
        for found in _found(_break("pin released", final, change) for change in changes):
            own = tuple(m for m in found.answers if m.from_square == pinned)
            if own:
                yield Break(
                    "pin released", found.change, found.check_gone, found.answers, own[0], pinned
                )


def _earlier(board: chess.Board) -> Iterator[Break]:
    """Each move of the mated side that was legal before the mating move, had it been his turn
    (a check to the mating side's king does not count), after which the mating move is still
    legal and no longer mate.  Pawn moves are luft; the king's moves are left out."""
    before = board.copy(stack=1)
    mating_move = before.pop()
    before.turn = board.turn
    before.ep_square = None
    theirs = before.kings & before.occupied_co[not board.turn]
    for move in before.generate_legal_moves(~before.kings, ~theirs):
        after = before.copy(stack=False)
        after.push(move)
        if not after.is_legal(mating_move):
            continue
        after.push(mating_move)
        if after.is_checkmate():
            continue
        piece = before.piece_at(move.from_square)
        assert piece is not None
        instead = chess.Piece(move.promotion, piece.color) if move.promotion else None
        change = Change("moved", move.from_square, piece, move.to_square, instead)
        pawn = piece.piece_type == chess.PAWN
        yield _told("luft" if pawn else "moved earlier", change, after)


def _displaced(case: Case, final: chess.Board) -> Iterator[Break]:
    """The same made in the final position: each man of the mated side but the king put on each
    empty square to which his kind moves, without regard to whose turn it is."""
    men = final.occupied_co[case.mated] & ~final.kings
    for man in chess.scan_forward(men):
        pawn = bool(final.pawns & chess.BB_SQUARES[man])
        kind: BreakKind = "luft" if pawn else "moved earlier"
        changes = (moved(final, man, to) for to in lookalike_moves(final, man))
        yield from _found(_break(kind, final, change) for change in changes)


# --- one defender added ---------------------------------------------------------------------


def rescues_of(case: Case) -> tuple[Rescue, ...]:
    """All saviours of the case, grouped by what they do; the largest group first."""
    final = case.board
    groups: dict[tuple[str, chess.Square | None], dict[int, list[chess.Square]]] = {}
    for saviour in case.saviours:
        act = _act(final, saviour)
        groups.setdefault(act, {}).setdefault(saviour.kind, []).append(saviour.square)
    found = [
        Rescue(
            act,  # type: ignore[arg-type]
            target,
            tuple((kind, tuple(sorted(kinds[kind]))) for kind in sorted(kinds)),
        )
        for (act, target), kinds in groups.items()
    ]
    return tuple(
        sorted(
            found,
            key=lambda r: (-sum(len(s) for _, s in r.squares), r.act, r.target or 0),
        )
    )


def _act(final: chess.Board, saviour: Saviour) -> tuple[str, chess.Square | None]:
    if not saviour.answers:
        return "in between", saviour.square
    more = final.copy(stack=False)
    more.set_piece_at(saviour.square, chess.Piece(saviour.kind, final.turn))
    acts = {(how_it_answers(more, move), move.to_square) for move in saviour.answers}
    if len(acts) > 1:
        return "several", None
    act, target = acts.pop()
    return ("shuts a guard" if act == "flight" else act), target
