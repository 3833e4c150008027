"""The geometry key of a skeleton: equal for mates that are the same but for how they lie.

The key is a short text, the same on every machine and in every run.  It is made here from a
case or from a skeleton's position; `geometry_words` reads it back, and `likeness` compares
keys that differ.

What the key says, seen from the mated king:

- which squares of his field are off the board;
- which are blocked by his own men, and by what kind;
- each man of the mating side: whether he checks, and which field squares he attacks (the king
  lifted off).  A line man who stands off the field is put down by the lines on which he
  attacks, not by his square; any other man by his square;
- the mating king only where he alone shuts a square;
- a man off the field who is there for one thing, to protect a man next to the king, is not put
  down: the other is *supported*;
- men who only pin, shut a line or are in the way of a line, by their squares.

So two mates have the same key if one can be turned into the other by

1. exchanging the colours and mirroring the files, and, unless a pawn of the mating side checks,
   guards or holds a line, by any turn or reflection of the board;
2. sliding a line man along a line on which he works, also to the king's other side, as long as
   he stays off the field and every man attacks the same field squares as before;
3. exchanging a supporter (whose one duty is to protect a man next to the king, and who stands
   off the field) for any other, the king included, who leaves the others' duties as they are;
4. shifting the whole along the board, as long as the same field squares are off the board.

Everything is read off the skeleton's own position: its men and the two kings.
"""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import blake2s

import chess

from flightless.cases.case import Case
from flightless.patterns.frames import ALL, FIELD, Frame, Step, frames_for, step_between

__all__ = [
    "AXES",
    "STEP_NAMES",
    "Geometry",
    "geometry_key",
    "geometry_of",
    "geometry_of_position",
    "key_hash",
]

STEP_NAMES: dict[Step, str] = {
    (-1, -1): "sw",
    (0, -1): "s",
    (1, -1): "se",
    (-1, 0): "w",
    (1, 0): "e",
    (-1, 1): "nw",
    (0, 1): "n",
    (1, 1): "ne",
}
"""Field squares and directions as compass points, the frame's eighth rank in the north."""

AXES: dict[Step, str] = {
    (1, 0): "ew",
    (-1, 0): "ew",
    (0, 1): "ns",
    (0, -1): "ns",
    (1, 1): "nesw",
    (-1, -1): "nesw",
    (1, -1): "nwse",
    (-1, 1): "nwse",
}
"""The four lines through a square, by a step along them."""

_UPRIGHT = ("-n,ne,nw ", "-e,n,ne,nw,se ")
"""How the key of a king on the edge or in a corner begins: the edge lies in the north, the
corner in the north-east.  Of the allowed turns such a one is taken, if there is one."""

_LETTERS = ".PNBRQK"
_LINE_MEN = (chess.BISHOP, chess.ROOK, chess.QUEEN)


@dataclass(frozen=True, slots=True)
class Geometry:
    """A key, the skeleton's position in which it was read, and the number of the frame (in
    `frames.ALL`) that takes the board to the key's picture."""

    key: str
    fen: str
    frame: int

    @property
    def hash(self) -> str:
        """Sixteen hexadecimal digits for the key."""
        return key_hash(self.key)


def key_hash(key: str) -> str:
    """Sixteen hexadecimal digits that stand for a key (BLAKE2s of its text, 64 bits)."""
    return blake2s(key.encode("ascii"), digest_size=8).hexdigest()


def geometry_key(case: Case) -> str:
    """The key of a mate; see `geometry_of`."""
    return geometry_of(case).key


def geometry_of(case: Case) -> Geometry:
    """The geometry of a mate: that of its skeleton.

    Where a mate has several skeletons, those with the fewest men count, of these those with
    the most needed men, and of these the one whose key comes first: a choice that, unlike the
    order of squares, does not change when the board is turned.
    """
    needed = frozenset(case.needed)
    ranks = [(len(s.men), -len(needed.intersection(s.men))) for s in case.skeletons]
    best = min(ranks)
    return min(
        (
            geometry_of_position(chess.Board(skeleton.fen))
            for skeleton, rank in zip(case.skeletons, ranks, strict=True)
            if rank == best
        ),
        key=lambda geometry: (geometry.key, geometry.fen),
    )


def geometry_of_position(board: chess.Board) -> Geometry:
    """The geometry of a skeleton given by its position: the side to move is mated."""
    seen = _look(board)
    frames = ALL if not seen.pawn_works else frames_for("files", board.turn)
    texts = [(_text(seen, frame), frame.number) for frame in frames]
    text, number = min(texts, key=lambda found: (not found[0].startswith(_UPRIGHT), *found))
    return Geometry(text, board.fen(), number)


@dataclass(slots=True)
class _Man:
    """A man of the mating side in the key.

    `at` is where he stands, None for a line man put down by his lines.  `duties` are pairs of
    a field square and a step along the line on which he attacks it, (0, 0) for a man put down
    by `at`.
    """

    kind: chess.PieceType
    at: Step | None
    checks: bool
    supported: bool
    duties: list[tuple[int, Step]]


@dataclass(slots=True)
class _Seen:
    """What the key puts down, on the board as it is."""

    off: list[int]
    own: list[tuple[chess.PieceType, int]]
    men: list[_Man]
    extra: list[tuple[chess.PieceType, Step]]
    pawn_works: bool


def _look(board: chess.Board) -> _Seen:
    king, mating_king = board.king(board.turn), board.king(not board.turn)
    assert king is not None
    assert mating_king is not None
    mating, own = board.occupied_co[not board.turn], board.occupied_co[board.turn]
    king_mask, lifted = chess.BB_SQUARES[mating_king], board.occupied & ~chess.BB_SQUARES[king]
    squares = [_target(king, step) for step in FIELD]
    there = [(i, square) for i, square in enumerate(squares) if square is not None]
    guards = {i: board.attackers_mask(not board.turn, square, lifted) for i, square in there}
    reasons = {i: guards[i] | (chess.BB_SQUARES[square] & own) for i, square in there}
    field_mask = sum(chess.BB_SQUARES[square] for _, square in there)
    stations = [i for i, square in there if mating >> square & 1]
    supporters = _supporters(reasons, stations, board.checkers_mask() | field_mask)
    men = [
        _man(board, square, king, guards, field_mask)
        for square in chess.scan_forward(mating & ~supporters & ~king_mask)
    ]
    for man in men:
        man.supported = man.at in FIELD and bool(reasons[FIELD.index(man.at)] & supporters)
    alone = [i for i, _ in there if reasons[i] & ~supporters == king_mask]
    if alone:
        at = step_between(king, mating_king)
        men.append(_Man(chess.KING, at, False, False, [(i, (0, 0)) for i in alone]))
    return _Seen(
        off=[i for i, square in enumerate(squares) if square is None],
        own=[(_kind(board, square), i) for i, square in there if own >> square & 1],
        men=men,
        extra=[
            (_kind(board, square), step_between(king, square))
            for square in chess.scan_forward(own & lifted & ~field_mask)
        ],
        pawn_works=bool(mating & ~supporters & board.pawns),
    )


def _target(square: chess.Square, step: Step) -> chess.Square | None:
    file, rank = (square & 7) + step[0], (square >> 3) + step[1]
    return 8 * rank + file if 0 <= file < 8 and 0 <= rank < 8 else None


def _kind(board: chess.Board, square: chess.Square) -> chess.PieceType:
    kind = board.piece_type_at(square)
    assert kind is not None
    return kind


def _supporters(
    reasons: dict[int, chess.Bitboard], stations: list[int], others: chess.Bitboard
) -> chess.Bitboard:
    """Those whose one duty is to protect a man next to the king.  `others` are squares whose
    men are never taken for such: checkers, and men on the field."""
    only: dict[chess.Bitboard, list[int]] = {}
    for i, mask in reasons.items():
        if mask and not mask & (mask - 1) and not mask & others:
            only.setdefault(mask, []).append(i)
    found = 0
    for mask, duties in only.items():
        if all(i in stations for i in duties):
            found |= mask
    # a square that only such men guard would be nobody's: then those men have that duty too
    while True:
        shared = 0
        for i, mask in reasons.items():
            if i not in stations and mask & found == mask:
                shared |= mask
        if not shared & found:
            return found
        found &= ~shared


def _man(
    board: chess.Board,
    square: chess.Square,
    king: chess.Square,
    guards: dict[int, chess.Bitboard],
    field_mask: chess.Bitboard,
) -> _Man:
    kind, mask = _kind(board, square), chess.BB_SQUARES[square]
    attacked = [i for i, guarded_by in guards.items() if guarded_by & mask]
    at = step_between(king, square)
    checks = bool(board.checkers_mask() & mask)
    if kind in _LINE_MEN and not mask & field_mask and attacked:
        duties = [(i, _direction(at, FIELD[i])) for i in attacked]
        return _Man(kind, None, checks, False, duties)
    return _Man(kind, at, checks, False, [(i, (0, 0)) for i in attacked])


def _direction(start: Step, end: Step) -> Step:
    f, r = end[0] - start[0], end[1] - start[1]
    return (f > 0) - (f < 0), (r > 0) - (r < 0)


def _text(seen: _Seen, frame: Frame) -> str:
    parts = []
    if seen.off:
        parts.append("-" + _compass(seen.off, frame))
    if seen.own:
        parts.append("=" + ",".join(sorted(_own(kind, i, frame) for kind, i in seen.own)))
    parts += sorted(_man_text(man, frame) for man in seen.men)
    parts += sorted(f"{_LETTERS[kind].lower()}@{_place(step, frame)}" for kind, step in seen.extra)
    return " ".join(parts)


def _own(kind: chess.PieceType, number: int, frame: Frame) -> str:
    return _LETTERS[kind].lower() + STEP_NAMES[FIELD[frame.to_field[number]]]


def _man_text(man: _Man, frame: Frame) -> str:
    text = _LETTERS[man.kind] + ("+" if man.checks else "")
    if man.at is not None:
        text += "@" + _place(man.at, frame) + ("*" if man.supported else "")
        if man.duties:
            text += ":" + _compass([i for i, _ in man.duties], frame)
        return text
    lines: dict[str, list[int]] = {}
    for i, direction in man.duties:
        lines.setdefault(AXES[frame.step(direction)], []).append(i)
    return text + "".join(f"~{axis}:{_compass(lines[axis], frame)}" for axis in sorted(lines))


def _place(step: Step, frame: Frame) -> str:
    f, r = frame.step(step)
    return STEP_NAMES.get((f, r)) or f"{f}/{r}"


def _compass(numbers: list[int], frame: Frame) -> str:
    return ",".join(sorted(STEP_NAMES[FIELD[frame.to_field[i]]] for i in numbers))
