"""All skeletons of a mate: the sets of men that, with the two kings, are still this mate.

The definition is that of docs/patterns.md.  Removal is not monotone, so the sets are found
by a search over the men who can matter, not by taking men away one after another.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import chess

from flightless.cases.anatomy import accesses, lines_to, squares
from flightless.cases.case import FieldSquare, Skeleton

__all__ = ["STEPS", "skeletons_of"]

STEPS = 1_000_000
"""Where the search for skeletons gives up and says so.  Mates of games take a few hundred
steps; fifty men strewn about at random have taken up to half of this."""


@dataclass(slots=True)
class _Lines:
    """What can go wrong when only some men are left; all masks are bitboards.

    `checks`: (line man, men between) where a mating line man off the check bears on the king.
    `exposures`: the same for the mated side's line men and the mating king.
    `ways`: (man, checker, men between, en passant) of each way to answer a check.
    """

    checkers: chess.Bitboard
    reasons: list[chess.Bitboard]
    checks: list[tuple[chess.Square, chess.Bitboard]]
    exposures: list[tuple[chess.Square, chess.Bitboard]]
    ways: list[tuple[chess.Square, chess.Square, chess.Bitboard, bool]]
    passed: chess.Bitboard
    ep_clear: set[chess.Square]


def skeletons_of(
    board: chess.Board, field: tuple[FieldSquare, ...], needed: Iterable[chess.Square]
) -> tuple[tuple[Skeleton, ...], bool, bool]:
    """All skeletons, the preferred first; whether the mating king takes part; and whether the
    list is complete (at least one skeleton is given even if not)."""
    lines = _lines(board, field)
    sets, complete = _Search(lines, *_relevant(lines, board.occupied & ~board.kings)).run()
    wanted = frozenset(needed)
    found = [squares(s) for s in sets]
    found.sort(key=lambda men: (len(men), -len(wanted.intersection(men)), men))
    king_mask = board.kings & board.occupied_co[not board.turn]
    king_alone = any(not mask & s for s in sets for mask in _king_guarded(field, king_mask))
    return tuple(Skeleton(men, _fen(board, men)) for men in found), king_alone, complete


def _king_guarded(field: tuple[FieldSquare, ...], king: chess.Bitboard) -> list[chess.Bitboard]:
    masks = [_mask(f.reasons) for f in field if f.square is not None]
    return [mask & ~king for mask in masks if mask & king]


def _mask(men: Iterable[chess.Square]) -> chess.Bitboard:
    mask = 0
    for man in men:
        mask |= chess.BB_SQUARES[man]
    return mask


def _fen(board: chess.Board, men: tuple[chess.Square, ...]) -> str:
    left = chess.Board(None)
    for square in (*men, *chess.scan_forward(board.kings)):
        left.set_piece_at(square, board.piece_at(square))
    left.turn = board.turn
    return left.fen()


def _lines(board: chess.Board, field: tuple[FieldSquare, ...]) -> _Lines:
    kings = board.kings
    king, mating_king = board.king(board.turn), board.king(not board.turn)
    assert king is not None
    assert mating_king is not None
    checkers = board.checkers_mask()
    reasons = [_mask(f.reasons) for f in field if f.square is not None]
    passed, clear = 0, set()
    if board.ep_square is not None:
        passed = chess.BB_SQUARES[board.ep_square + (-8 if board.turn else 8)]
        clear = {
            man
            for man, between in lines_to(board, king, not board.turn)
            if between & chess.BB_SQUARES[board.ep_square]
        }
    return _Lines(
        checkers,
        [mask for mask in reasons if not mask & kings],
        [
            (man, between & board.occupied)
            for man, between in lines_to(board, king, not board.turn)
            if not between & kings and not checkers & chess.BB_SQUARES[man]
        ],
        [
            (man, between & board.occupied)
            for man, between in lines_to(board, mating_king, board.turn)
            if not between & kings
        ],
        [
            (way.man, way.checker, way.way, way.en_passant)
            for way in accesses(board)
            if not way.way & kings
        ],
        passed,
        clear,
    )


def _holders(lines: _Lines) -> dict[chess.Square, chess.Bitboard]:
    """For each man who could spoil the mate, those who can hold him: men in his way, and
    line men behind whom he is pinned."""
    holders: dict[chess.Square, chess.Bitboard] = {}
    for man, between in lines.checks + lines.exposures:
        holders[man] = holders.get(man, 0) | between
    for man, _, between, en_passant in lines.ways:
        mask = between
        hit = chess.BB_SQUARES[man] | (lines.passed if en_passant else 0)
        for pinner, over in lines.checks:
            if over & hit:
                mask |= chess.BB_SQUARES[pinner]
        holders[man] = holders.get(man, 0) | mask
    return holders


def _relevant(lines: _Lines, men: chess.Bitboard) -> tuple[chess.Bitboard, dict[int, int]]:
    """The men who can be in a skeleton: each must be a checker, a reason, or hold a spoiler who
    is himself in it.  The largest such set, since two men may hold each other."""
    core = lines.checkers
    for mask in lines.reasons:
        core |= mask
    holders = _holders(lines)
    kept = men
    while True:
        useful = core
        for spoiler, mask in holders.items():
            if kept & chess.BB_SQUARES[spoiler]:
                useful |= mask
        if kept & useful == kept:
            break
        kept &= useful
    held: dict[int, int] = {}
    for spoiler, mask in holders.items():
        if kept & chess.BB_SQUARES[spoiler]:
            for man in chess.scan_forward(mask & kept):
                held[man] = held.get(man, 0) | chess.BB_SQUARES[spoiler]
    return kept, held


def _valid(lines: _Lines, s: chess.Bitboard) -> bool:
    check = lines.checkers & s
    if not check or any(not mask & s for mask in lines.reasons):
        return False
    squares_of = chess.BB_SQUARES
    for man, between in lines.checks:
        if s & squares_of[man] and not between & s:
            return False
    for man, between in lines.exposures:
        if s & squares_of[man] and not between & s:
            return False
    if check & (check - 1):
        return True
    for man, checker, between, en_passant in lines.ways:
        if not (s & squares_of[man] and check == squares_of[checker]) or between & s:
            continue
        lifted = squares_of[man]
        if en_passant:
            if not lines.passed & s:
                continue
            lifted |= lines.passed
        if not any(
            s & squares_of[pinner]
            and over & s & ~lifted == 0
            and not (en_passant and pinner in lines.ep_clear)
            for pinner, over in lines.checks
        ):
            return False
    return True


class _Search:
    """A search over the sets of men who can matter, a man in or out at each step.

    A branch is cut when some field square or the check has no one left, or when it holds a
    man who can no longer be of use: he has no field square and no check to himself and every
    spoiler whom he could hold is out.
    """

    def __init__(
        self, lines: _Lines, kept: chess.Bitboard, held: dict[chess.Square, chess.Bitboard]
    ) -> None:
        self._lines, self._kept, self._held = lines, kept, held
        weight = {
            man: sum(1 for mask in lines.reasons if mask & chess.BB_SQUARES[man])
            for man in chess.scan_forward(kept)
        }
        self._order = [
            chess.BB_SQUARES[man]
            for man in sorted(
                weight, key=lambda m: (not lines.checkers & chess.BB_SQUARES[m], -weight[m], m)
            )
        ]
        self._rest = [0] * (len(self._order) + 1)
        for i in range(len(self._order) - 1, -1, -1):
            self._rest[i] = self._rest[i + 1] | self._order[i]
        # One of two checkers is of use to the other: no one move answers both.
        self._pair = lines.checkers if lines.checkers & (lines.checkers - 1) else 0
        self._needs = [*lines.reasons, lines.checkers]
        self._found: list[chess.Bitboard] = []
        self._steps = 0

    def run(self) -> tuple[list[chess.Bitboard], bool]:
        """All skeletons as bitboards, and whether they are all."""
        self._go(0, 0)
        complete = self._steps <= STEPS
        if not complete and not self._found:
            self._found.append(self._first())
        return self._found, complete

    def _go(self, i: int, s: chess.Bitboard) -> None:
        self._steps += 1
        if self._steps > STEPS or self._hopeless(s, s | self._rest[i]):
            return
        if i == len(self._order):
            if self._minimal(s):
                self._found.append(s)
            return
        self._go(i + 1, s | self._order[i])
        self._go(i + 1, s)

    def _hopeless(self, s: chess.Bitboard, at_most: chess.Bitboard) -> bool:
        private = self._pair
        for mask in self._needs:
            if not mask & at_most:
                return True
            hit = mask & s
            if hit and not hit & (hit - 1):
                private |= hit
        return any(not self._held.get(man, 0) & at_most for man in chess.scan_forward(s & ~private))

    def _minimal(self, s: chess.Bitboard) -> bool:
        return _valid(self._lines, s) and not any(
            _valid(self._lines, s & ~chess.BB_SQUARES[man]) for man in chess.scan_forward(s)
        )

    def _first(self) -> chess.Bitboard:
        """One skeleton, by taking men away while it stays mate."""
        s = self._kept
        while True:
            smaller = (s & ~chess.BB_SQUARES[man] for man in chess.scan_reversed(s))
            after = next((x for x in smaller if _valid(self._lines, x)), None)
            if after is None:
                return s
            s = after
