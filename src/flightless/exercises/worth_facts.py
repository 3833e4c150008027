"""The five facts that `worth` adds up, each from 0 to 1.  All numbers in here are common
practice, no source.

Everything is read from one proof, one case and a bounded look for a contrast; nothing depends
on what else a casebook holds, so that a position keeps its worth whatever is added later.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Literal

import chess

from flightless.cases.breaks import Break, breaks_of
from flightless.cases.build import case_of
from flightless.exercises.boards import fresh
from flightless.exercises.contrast import Pair, pair_of
from flightless.exercises.material import Material, NotFit, material_of
from flightless.exercises.vary_natural import unnatural
from flightless.exercises.worth import Criterion, Reason
from flightless.patterns.geometry import geometry_of_position
from flightless.patterns.likeness import likeness
from flightless.patterns.recognise import Name, names
from flightless.patterns.vocabulary import Pattern

__all__ = ["Seen", "reasons_of", "seen", "taking_part"]

_POINTS = {chess.PAWN: 1, chess.KNIGHT: 3, chess.BISHOP: 3, chess.ROOK: 5, chess.QUEEN: 9}
_SMALL, _OWN_ODDS = 3, 12
"""Points by which a side may be ahead without hurt, and those at which nothing is left."""

_SOLVED_ON_PAPER = 3
"""Of longer mates the contrast is looked for in the final position alone."""
_TRIES = {0: 16, 1: 16, 2: 12, 3: 6}
"""Changes that are tried, the most instructive first, by the length of the mate."""

_KINDS = ("luft", "blocker moved", "guard moved", "pin released", "blocker gone", "moved earlier")


@dataclass(frozen=True, slots=True)
class Seen:
    """A position with what was proved of it.

    `board` is as a diagram shows it, `line` goes from there to the mate; `asked` is "mate" if
    the side to move mates, "mated" if it is mated by force, "over" if it is mate on the board.
    `material` is the position from which the mating side mates.
    """

    board: chess.Board
    line: tuple[chess.Move, ...]
    asked: Literal["mate", "mated", "over"]
    material: Material

    @property
    def moves(self) -> int:
        """The length as EPD's `dm` has it, 0 for a mated position."""
        proof = self.material.proof
        length = 0 if proof is None or proof.moves is None else proof.moves
        return -length if self.asked == "mated" else length

    @property
    def quiet(self) -> bool | None:
        """Whether the key is neither check nor capture; None without a key to find."""
        if self.asked != "mate":
            return None
        key = self.line[0]
        return not self.board.gives_check(key) and not self.board.is_capture(key)


def seen(board: chess.Board, within: int, budget: int) -> Seen | NotFit:
    """The position, proved within so many moves and nodes."""
    start = fresh(board)
    material = material_of(start, within=within, budget=budget)
    if isinstance(material, NotFit):
        return material
    if material.proof is None:
        return Seen(start, (), "over", material)
    line = material.proof.line
    if material.board.turn == start.turn:
        return Seen(start, line, "mate", material)
    for move in start.legal_moves:
        after = start.copy(stack=False)
        after.push(move)
        if fresh(after).fen() == material.fen:
            return Seen(start, (move, *line), "mated", material)
    return NotFit(f"the longest defence was not found again: {start.fen()}")


def reasons_of(look: Seen, *, from_game: bool) -> tuple[Reason, ...]:
    """The five facts, in the order of `worth.WEIGHTS`."""
    return (_key(look), _clean(look), _natural(look, from_game), _typical(look), _contrast(look))


def _reason(criterion: Criterion, value: float, **facts: Any) -> Reason:
    return Reason(criterion, round(max(0.0, min(1.0, value)), 4), MappingProxyType(facts))


# --- single key -------------------------------------------------------------------------------


def _key(look: Seen) -> Reason:
    """One first move that mates, and no second solution later.

    0 where there is no key to find; 0.6 divided by their number for several keys; else 1, less
    0.4 times the share of later turns in the main line that have a dual, less 0.2 times that
    share after all other defences.  Facts: `asked`, `moves`, `keys`, `duals_in_line`,
    `duals_elsewhere`, `all_duals` (false if some may be missing, which costs 0.1).
    """
    proof = look.material.proof
    if look.asked != "mate" or proof is None:
        return _reason("key", 0.0, asked=look.asked, moves=look.moves)
    main, others = _duals(look)
    value = 0.6 / len(proof.keys) if len(proof.keys) > 1 else 1.0 - 0.4 * _share(main)
    if len(proof.keys) == 1:
        value -= 0.2 * _share(others) + (0.0 if proof.duals_complete else 0.1)
    return _reason(
        "key",
        value,
        asked=look.asked,
        moves=look.moves,
        keys=len(proof.keys),
        duals_in_line=sum(main),
        duals_elsewhere=sum(others),
        all_duals=proof.duals_complete,
    )


def _duals(look: Seen) -> tuple[list[bool], list[bool]]:
    """For each later turn of the mating side, in the main line and after other defences,
    whether it has a second solution."""
    proof = look.material.proof
    assert proof is not None
    board, on_line = look.material.board, set()
    for number, move in enumerate(proof.line):
        if number % 2 == 0:
            on_line.add(board.epd())
        board.push(move)
    start = look.material.board.epd()
    main = [len(m) > 1 for at, m in proof.tree.items() if at != start and at in on_line]
    others = [len(m) > 1 for at, m in proof.tree.items() if at != start and at not in on_line]
    return main, others


def _share(turns: list[bool]) -> float:
    return sum(turns) / len(turns) if turns else 0.0


# --- clean ------------------------------------------------------------------------------------


def _clean(look: Seen) -> Reason:
    """Few men, and above all few who take no part.

    0.7 times the share of men who take part, and 0.3 times how few there are (1 for three, 0
    for thirty-two).  Facts: `men`, `taking_part`.
    """
    men = chess.popcount(look.board.occupied)
    part = len(taking_part(look))
    return _reason("clean", 0.7 * part / men + 0.3 * (32 - men) / 29, men=men, taking_part=part)


def taking_part(look: Seen) -> frozenset[chess.Square]:
    """The men, by their squares in the diagram, who take part: the kings, those in a skeleton
    of the mate, and those who move or are taken in the main line."""
    board = look.board.copy(stack=False)
    came_from = {square: square for square in chess.scan_forward(board.occupied)}
    part = set(chess.scan_forward(board.kings))
    for move in look.line:
        rook = None
        if board.is_castling(move):
            side = chess.square_file(move.to_square) > chess.square_file(move.from_square)
            rank = chess.square_rank(move.from_square)
            rook = chess.square(7 if side else 0, rank), chess.square(5 if side else 3, rank)
        taken = move.to_square
        if board.is_en_passant(move):
            taken += -8 if board.turn else 8
        board.push(move)
        if rook is None and taken in came_from:
            part.add(came_from.pop(taken))
        part.add(came_from[move.from_square])
        came_from[move.to_square] = came_from.pop(move.from_square)
        if rook is not None:
            came_from[rook[1]] = came_from.pop(rook[0])
    for square, how in look.material.case.takes_part.items():
        if how != "none":
            part.add(came_from[square])
    return frozenset(part)


# --- natural ----------------------------------------------------------------------------------


def _natural(look: Seen, from_game: bool) -> Reason:
    """It comes from a game, or looks so, and nobody is far ahead.

    0.7 if it comes from a game; else 0.4, or nothing at all if `vary_natural.unnatural` has a
    reason against it.  And 0.3 for a material balance of up to three points (pawn 1, knight and
    bishop 3, rook 5, queen 9), less by degrees up to twelve.  Facts: `against`, `from_game`,
    `ahead` (White's points less Black's).
    """
    board = look.board
    against = None if from_game else unnatural(board)
    ahead = sum(
        points * (len(board.pieces(kind, chess.WHITE)) - len(board.pieces(kind, chess.BLACK)))
        for kind, points in _POINTS.items()
    )
    odds = min(max(0, abs(ahead) - _SMALL) / (_OWN_ODDS - _SMALL), 1.0)
    value = 0.0 if against else 0.4 + 0.3 * from_game + 0.3 * (1.0 - odds)
    return _reason("natural", value, against=against, from_game=from_game, ahead=ahead)


# --- typical ----------------------------------------------------------------------------------


def _typical(look: Seen) -> Reason:
    """Like the model of its pattern, or like one of the variations in the pattern's file.

    The greatest likeness (`patterns.likeness`) of the skeleton in which the most specific name
    was found to the skeletons of the file; 0.5 and less count nothing, and 0 without a name.
    Facts: `pattern`, `likeness`.
    """
    if not look.material.names:
        return _reason("typical", 0.0, pattern=None, likeness=None)
    name = look.material.names[0]
    key = _key_of(name)
    value = max(likeness(key, model).value for model in _models(name.pattern))
    return _reason("typical", 2 * value - 1, pattern=name.name, likeness=round(value, 4))


@lru_cache(maxsize=256)
def _models(pattern: Pattern) -> tuple[str, ...]:
    """The geometry keys of the positions in the pattern's file."""
    keys = []
    for example in (pattern.model, *pattern.variations):
        found = names(case_of(chess.Board(example.fen)))
        keys += [_key_of(name) for name in found if name.name == pattern.name]
    return tuple(dict.fromkeys(keys))


def _key_of(name: Name) -> str:
    return geometry_of_position(chess.Board(name.skeleton.fen)).key


# --- a contrast nearby ------------------------------------------------------------------------


def _contrast(look: Seen) -> Reason:
    """One man changed, and no mate any more (see `exercises.contrast`).

    1 for a man of the skeleton one step away, 0.85 for two steps, 0.7 for more or taken off;
    0.6 times that for a man who is not in the skeleton, 0.85 times if the mate has more than one
    answer then, half of all that if there is such a change in the final position only, which
    the pupil does not see at first.  0 if none of the changes that are tried does it.  Facts:
    `man` (a letter as in FEN), `square`, `to` (None: taken off), `answers` (to the mate),
    `at_end`, `no_mate` (FEN of the other position); without a change only `tried`, which is
    false where the position does not look natural and none was tried.
    """
    material, at_end = look.material, False
    pair = None
    if 0 <= look.moves <= _SOLVED_ON_PAPER:
        pair = _nearest(material, look.moves)
    if pair is None and material.proof is not None:
        case = material.case
        final = Material(fresh(case.board).fen(), None, case, material.names)
        pair, at_end = _nearest(final, 0), True
    if pair is None:
        return _reason("contrast", 0.0, tried=unnatural(material.board) is None)
    change, answers = pair.broken.change, len(pair.broken.answers)
    value = {1: 1.0, 2: 0.85}.get(pair.size, 0.7) * (1.0 if pair.of_pattern else 0.6)
    value *= 1.0 if answers == 1 else 0.85
    return _reason(
        "contrast",
        value / 2 if at_end else value,
        man=change.piece.symbol(),
        square=chess.square_name(change.square),
        to=None if change.to is None else chess.square_name(change.to),
        answers=answers,
        at_end=at_end,
        no_mate=pair.no_mate,
    )


def _nearest(material: Material, moves: int) -> Pair | None:
    """The best pair among the first changes, in the order of `contrast.contrasts`."""
    start = material.board
    if unnatural(start) is not None:
        return None
    able = [b for b in breaks_of(material.case) if not b.check_gone and b.first is not None]
    able.sort(key=lambda broken: _order(material, broken))
    pairs = (pair_of(material, start, broken) for broken in able[: _TRIES[moves]])
    return next((pair for pair in pairs if pair is not None), None)


def _order(material: Material, broken: Break) -> tuple[bool, int, int, int, int, int, int]:
    """As in `contrast`; among equals the outermost file first, which is where luft is made."""
    change = broken.change
    size = 3 if change.to is None else chess.square_distance(change.square, change.to)
    return (
        change.square not in material.case.skeleton.men,
        size,
        _KINDS.index(broken.kind),
        len(broken.answers),
        -abs(2 * chess.square_file(change.square) - 7),
        change.square,
        -1 if change.to is None else change.to,
    )
