"""The compiled search behind boards and moves: verdicts of a game, keys, main lines.

One `Search` holds the arrays that the compiled functions work in; it knows nothing of files
or records.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import chess
import numpy as np

from flightless.core.state import encode, move_from_chess, move_to_chess
from flightless.harvest import kernels
from flightless.harvest import kernels_games as games
from flightless.harvest.records import Limits
from flightless.prove.kernels_full import new_work
from flightless.prove.kernels_table import new_table

__all__ = ["WINNERS", "Search", "Verdict", "Verdicts", "numbers_of", "position"]

WINNERS = {None: 0, chess.WHITE: 1, chess.BLACK: 2}
"""How the compiled search is told who won."""

_START = encode(chess.Board())
_KNOWN_BITS = 21
_TABLE_BITS = 14
_NO_LENGTHS = np.empty(0, np.uint64)


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the search says of one position of a game.

    `moves` is the length of the mate that the side to move has (0 none), `by_checks` that it
    was found, or that `follows` was found, by checks alone.  `missed`: the move played was no
    key.  `follows`: length of the mate that still came after it, its own move counted, or, in
    a final position with the loser to move, of the mate against him; 0 none.  `mated`: the
    position is mate.
    """

    moves: int
    by_checks: bool
    missed: bool
    mated: bool
    follows: int

    @classmethod
    def of(cls, word: int) -> Verdict:
        """Take a verdict of the compiled search apart."""
        return cls(
            word & kernels.LENGTH,
            bool(word & kernels.BY_CHECKS),
            bool(word & games.MISSED),
            bool(word & games.MATED),
            word >> games.FOLLOWS,
        )


def position(start: chess.Board, played: games.Small, plies: int) -> chess.Board:
    """The position after so many moves of a game, with its clocks and without its history."""
    words = np.zeros(7, np.uint64)
    words[6] = start.halfmove_clock
    games.replay(encode(start), played, np.uint64(plies), words)
    p0, p1, p2, white, flags, _, clock = words.tolist()
    board = chess.Board(None)
    board.bishops, board.rooks, board.queens = p0 & ~p1 & ~p2, p1 & ~p0 & ~p2, p0 & p1 & ~p2
    board.pawns, board.knights, board.kings = p2 & ~p0 & ~p1, p2 & p0 & ~p1, p2 & p1 & ~p0
    board.occupied = p0 | p1 | p2
    board.occupied_co = [board.occupied & ~white, white]
    board.turn = bool(flags & 1)
    for bit, corner in ((1, chess.H1), (2, chess.A1), (3, chess.H8), (4, chess.A8)):
        if flags >> bit & 1:
            board.castling_rights |= chess.BB_SQUARES[corner]
    board.ep_square = (flags >> 8 & 63) or None
    board.halfmove_clock = clock
    board.fullmove_number = start.fullmove_number + (plies + (not start.turn)) // 2
    return board


def numbers_of(moves: Sequence[chess.Move]) -> games.Small:
    """Moves as the numbers of the core."""
    return np.array([int(move_from_chess(move)) for move in moves], np.uint16)


Verdicts = dict[int, Verdict]
"""Verdicts by ply, of those plies only that have something to say."""


class Search:
    """Memory for the compiled search; one for each thread."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        longest = max(limits.full, limits.checks, 2) + 1
        self._moves = kernels.new_scratch(longest)
        self._lengths = kernels.new_scratch(0)
        self._store = kernels.new_store(_KNOWN_BITS)
        self._table = new_table(_TABLE_BITS if limits.full > 2 else 1)
        self._works = (new_work(), new_work())
        self._full = np.uint64(limits.full)
        self._checks = np.uint64(limits.checks)
        self._nodes = np.uint64(limits.nodes)

    def game(
        self, start: chess.Board, played: games.Small, winner: chess.Color | None
    ) -> tuple[Verdicts, bool]:
        """The verdicts of a game, and whether a search in it reached the limit of nodes."""
        plies = len(played)
        first, count, won = (np.array([n], np.uint64) for n in (0, plies, WINNERS[winner]))
        return self.games(played, first, count, won, start)[0] or ({}, False)

    def games(
        self,
        played: games.Small,
        firsts: kernels.Words,
        plies: kernels.Words,
        winners: kernels.Words,
        start: chess.Board | None = None,
    ) -> list[tuple[Verdicts, bool] | None]:
        """The same for many games from one starting position (the usual one if none is given);
        None for a game that has nothing to say.  The arrays are those of `search_games`."""
        words = np.zeros(len(played) + len(firsts), np.uint64)
        games.search_games(
            _START if start is None else encode(start),
            played,
            firsts,
            plies,
            winners,
            self._full,
            self._checks,
            self._nodes,
            words,
            self._moves,
            self._store,
            self._table,
            *self._works,
        )
        at = firsts + np.arange(len(firsts), dtype=np.uint64)
        ends = at + plies + np.uint64(1)
        said = np.add.reduceat(words != 0, at.astype(np.int64)) if len(at) else at
        return [
            _taken_apart(words[int(a) : int(b)]) if some else None
            for a, b, some in zip(at, ends, said, strict=True)
        ]

    def keys(self, board: chess.Board, length: int, *, by_checks: bool) -> tuple[chess.Move, ...]:
        """All first moves that mate in `length`, which is the shortest; in UCI order."""
        count = kernels.describe(
            encode(board),
            np.uint64(0 if by_checks else length),
            np.uint64(length if by_checks else 0),
            self._nodes,
            _NO_LENGTHS,
            self._moves,
            self._store,
            self._table,
            self._works[0],
        )
        keys = (move_to_chess(number) for number in self._moves[: int(count)].tolist())
        return tuple(sorted(keys, key=chess.Move.uci))

    def mating_line(self, board: chess.Board, length: int, *, by_checks: bool) -> list[chess.Move]:
        """A key, the longest defence, and so on to mate, for a mate in `length`."""
        board = board.copy(stack=False)
        line: list[chess.Move] = []
        while True:
            key = self.keys(board, length, by_checks=by_checks)[0]
            line.append(key)
            board.push(key)
            if length == 1:
                return line
            full = 0 if by_checks else length - 1
            defence, length, _ = self._defence(board, full, length - 1)
            line.append(defence)
            board.push(defence)

    def mated_line(self, board: chess.Board) -> list[chess.Move]:
        """The longest defence and the mate after it, where the side to move cannot avoid it."""
        board = board.copy(stack=False)
        defence, length, by_checks = self._defence(board, int(self._full), int(self._checks))
        board.push(defence)
        return [defence, *self.mating_line(board, length, by_checks=by_checks)]

    def _defence(self, board: chess.Board, full: int, checks: int) -> tuple[chess.Move, int, bool]:
        """The reply that holds out longest, the length of the mate after it, and whether that
        is by checks.  Among equals captures come first, then UCI order."""
        count = kernels.describe(
            encode(board),
            np.uint64(full),
            np.uint64(checks),
            self._nodes,
            self._lengths,
            self._moves,
            self._store,
            self._table,
            self._works[0],
        )
        replies = [
            (
                -(length & kernels.LENGTH),
                not board.is_capture(move),
                move.uci(),
                move,
                bool(length & kernels.BY_CHECKS),
            )
            for number, length in zip(
                self._moves[: int(count)].tolist(),
                self._lengths[: int(count)].tolist(),
                strict=True,
            )
            for move in (move_to_chess(number),)
        ]
        length, _, _, move, by_checks = min(replies, key=lambda reply: reply[:3])
        return move, -length, by_checks


def _taken_apart(words: kernels.Words) -> tuple[Verdicts, bool]:
    cut = int(words[-1]) & games.CUT
    verdicts = {int(ply): Verdict.of(int(words[ply])) for ply in np.flatnonzero(words)}
    last = len(words) - 1
    if cut and int(words[-1]) == cut:
        del verdicts[last]
    return verdicts, bool(cut)
