"""The full play of short direct mates: every reply, every continuation, set play and tries.

Asks the compiled search for the moves that mate in time, and sorts the replies into defences
and idle moves.  What the parts mean is told in `problem`.
"""

from __future__ import annotations

from collections.abc import Iterable

import chess

from flightless.cases.problem import DualKind, Play, Refuted, Variation
from flightless.core.state import move_to_chess
from flightless.prove.build import threat_after_pass
from flightless.prove.engine import ATTACKS, DEFENDS, Engine, state_of

__all__ = ["Solver", "by_man", "dual_kind", "signature"]

_Met = tuple[chess.Move, Play, tuple[chess.Move, ...]]
"""A reply, the continuation, and its duals."""


class Solver:
    """Answers about mates of up to `longest` moves, from one search that remembers."""

    def __init__(self, longest: int) -> None:
        self._engine = Engine(longest)
        self._engine.allow(None)

    @property
    def nodes(self) -> int:
        """Positions made so far."""
        return self._engine.nodes

    def soonest(self, board: chess.Board, within: int) -> tuple[int, tuple[chess.Move, ...]]:
        """The number of moves to mate and every move that keeps to it; (0, ()) beyond `within`."""
        state = state_of(board)
        for moves in range(1, within + 1):
            found = self._engine.solutions(state, moves, ATTACKS)
            if found:
                return moves, tuple(map(move_to_chess, found))
        return 0, ()

    def mates(self, board: chess.Board, move: chess.Move, within: int) -> bool:
        """Whether a move mates within so many, itself counted, if it is legal at all."""
        if not board.is_legal(move):
            return False
        after = _after(board, move)
        return not self._engine.search(state_of(after), within - 1, DEFENDS)

    def play(self, board: chess.Board, move: chess.Move, moves: int) -> Play:
        """A move that mates in `moves`, with all that follows."""
        after = _after(board, move)
        check = after.is_check()
        if moves == 1:
            return Play(move, 1, check)
        threats: tuple[Play, ...] = ()
        if not check:
            passed = _after(after, chess.Move.null())
            length, found = self.soonest(passed, moves - 1)
            threats = tuple(self.play(passed, threat, length) for threat in found)
        met: list[_Met] = []
        idle: list[_Met] = []
        for reply in by_man(after):
            then = _after(after, reply)
            length, found = self.soonest(then, moves - 1)
            if threats and all(self.mates(then, threat.move, threat.moves) for threat in threats):
                idle.append((reply, _unfollowed(then, found[0], length), found[1:]))
            else:
                met.append((reply, self.play(then, found[0], length), found[1:]))
        return Play(move, moves, check, threats, _grouped(after, met), _grouped(after, idle))

    def set_play(self, board: chess.Board, within: int) -> tuple[tuple[Variation, ...], bool]:
        """What would follow if the defender had the move: the replies that are met within so
        many moves, and whether these are all he has (and he has one)."""
        passed = _after(board, chess.Move.null())
        met: list[_Met] = []
        replies = by_man(passed)
        for reply in replies:
            then = _after(passed, reply)
            length, found = self.soonest(then, within)
            if found:
                met.append((reply, self.play(then, found[0], length), found[1:]))
        return _grouped(passed, met), bool(replies) and len(met) == len(replies)

    def tries(self, board: chess.Board, moves: int) -> tuple[Refuted, ...]:
        """Every first move that exactly one of several replies keeps from mating in `moves`."""
        found = []
        for move in by_man(board):
            after = _after(board, move)
            rows = self._engine.replies(state_of(after), moves - 1)
            holding = [move_to_chess(reply) for _, distance, reply in rows if not distance]
            if len(rows) < 2 or len(holding) != 1:
                continue
            check = after.is_check()
            threat = None
            if not check:
                threat = threat_after_pass(self._engine, state_of(after), moves - 1)
            found.append(Refuted(move, check, holding[0], threat.keys if threat else ()))
        return tuple(found)


def by_man(board: chess.Board) -> list[chess.Move]:
    """The legal moves: the king's, the queen's and so on down to the pawns', then by their
    text."""

    def place(move: chess.Move) -> tuple[int, str]:
        return -(board.piece_type_at(move.from_square) or 0), move.uci()

    return sorted(board.legal_moves, key=place)


def dual_kind(board: chess.Board, moves: Iterable[chess.Move]) -> DualKind | None:
    """What sort of dual several continuations are; None for a single one."""
    every = tuple(moves)
    if len(every) < 2:
        return None
    first = every[0]
    if all((m.from_square, m.to_square) == (first.from_square, first.to_square) for m in every):
        return "promotion"
    if any(m.from_square != first.from_square or m.promotion for m in every):
        return "dual"
    if board.piece_type_at(first.from_square) not in (chess.BISHOP, chess.ROOK, chess.QUEEN):
        return "dual"
    farthest = max(every, key=lambda m: chess.square_distance(m.from_square, m.to_square))
    way = chess.between(first.from_square, farthest.to_square)
    way |= chess.BB_SQUARES[farthest.to_square]
    return "same line" if all(way & chess.BB_SQUARES[m.to_square] for m in every) else "dual"


def signature(board: chess.Board, play: Play) -> tuple[object, ...]:
    """A play as its moves in SAN, to tell whether two look alike on the page."""
    after = _after(board, play.move)
    passed = _after(after, chess.Move.null()) if play.threats else after
    return (
        board.san(play.move),
        tuple(signature(passed, threat) for threat in play.threats),
        tuple(
            (tuple(map(after.san, v.defences)), signature(_after(after, v.defences[0]), v.play))
            for v in play.variations
        ),
    )


def _grouped(board: chess.Board, met: list[_Met]) -> tuple[Variation, ...]:
    """Replies that are met by the same moves, put together; in the order of the first."""
    groups: dict[tuple[object, ...], list[_Met]] = {}
    for one in met:
        reply, play, duals = one
        then = _after(board, reply)
        key = (signature(then, play), tuple(map(then.san, duals)))
        groups.setdefault(key, []).append(one)
    out = []
    for group in groups.values():
        reply, play, duals = group[0]
        kind = dual_kind(_after(board, reply), (play.move, *duals))
        out.append(Variation(tuple(r for r, _, _ in group), play, duals, kind))
    return tuple(out)


def _unfollowed(board: chess.Board, move: chess.Move, moves: int) -> Play:
    return Play(move, moves, board.gives_check(move), followed=moves == 1)


def _after(board: chess.Board, move: chess.Move) -> chess.Board:
    after = board.copy(stack=False)
    after.push(move)
    return after
