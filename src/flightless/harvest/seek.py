"""What a game holds: mates given, mates missed, resignations before a forced mate.

This module turns the verdicts of the search into records with keys, a main line, and the
skeleton and the names of the mate at its end.  How a game is read is left to `movetext`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import chess

from flightless.cases.build import case_of
from flightless.harvest.movetext import Game
from flightless.harvest.records import FoundBy, Limits, Miss, Record, Source, WayIn
from flightless.harvest.search import Search, Verdict
from flightless.patterns.recognise import names

__all__ = ["Seeker", "source_of"]

_WINNERS = {"1-0": chess.WHITE, "0-1": chess.BLACK}


def source_of(game: Game, file: str) -> Source:
    """Where the finds of a game come from."""
    tags = game.tags
    return Source(
        file=file,
        line=game.line,
        white=tags.get("White", ""),
        black=tags.get("Black", ""),
        event=tags.get("Event", ""),
        site=tags.get("Site", ""),
        date=tags.get("Date", ""),
        round=tags.get("Round", ""),
        result=game.result,
    )


class Seeker:
    """Looks through games one after the other; keep one for each thread."""

    def __init__(self, limits: Limits) -> None:
        self._search = Search(limits)
        self.cut_short = 0
        """Games with a position whose search reached the limit of nodes."""

    def finds(self, game: Game, file: str) -> list[Record]:
        """All finds of one game, in the order of their plies."""
        verdicts = self._search.game(game.start, game.moves, _WINNERS.get(game.result))
        self.cut_short += self._search.cut_short
        source = source_of(game, file)
        found = [self._missed(game, run, verdicts, source) for run in _runs(verdicts)]
        last = verdicts.get(len(game.moves))
        if last is not None:
            found.append(self._last(game, last, source))
        return found

    def _missed(
        self, game: Game, run: Sequence[int], verdicts: Mapping[int, Verdict], source: Source
    ) -> Record:
        ply = run[0]
        verdict = verdicts[ply]
        board = _position(game, ply)
        line = self._search.mating_line(board, verdict.moves, by_checks=verdict.by_checks)
        patterns, skeleton = _named(board, line)
        return Record(
            source=source,
            game=game.number,
            ply=ply,
            fen=board.fen(),
            kind="missed",
            moves=verdict.moves,
            keys=self._search.keys(board, verdict.moves, by_checks=verdict.by_checks),
            line=tuple(line),
            patterns=patterns,
            skeleton=skeleton,
            found_by=_found_by(verdict),
            played=game.moves[ply],
            slower=verdicts[ply].follows > 0,
            run=tuple(
                Miss(at, verdicts[at].moves, game.moves[at], verdicts[at].follows > 0) for at in run
            ),
        )

    def _last(self, game: Game, verdict: Verdict, source: Source) -> Record:
        """The final position: mate on the board, or a mate that was spared the loser."""
        board = game.final
        keys: tuple[chess.Move, ...] = ()
        line: list[chess.Move] = []
        if verdict.moves:
            keys = self._search.keys(board, verdict.moves, by_checks=verdict.by_checks)
            line = self._search.mating_line(board, verdict.moves, by_checks=verdict.by_checks)
        elif not verdict.mated:
            line = self._search.mated_line(board)
        patterns, skeleton = _named(board, line)
        return Record(
            source=source,
            game=game.number,
            ply=len(game.moves),
            fen=board.fen(),
            kind="mated" if verdict.mated else "resigned",
            moves=verdict.moves or -verdict.follows,
            keys=keys,
            line=tuple(line),
            patterns=patterns,
            skeleton=skeleton,
            found_by=None if verdict.mated else _found_by(verdict),
            way_in=self._way_in(game) if verdict.mated else None,
        )

    def _way_in(self, game: Game) -> WayIn | None:
        """Back from the mate as long as every move of the mating side was a key."""
        found = None
        limits = self._search.limits
        for length in range(1, max(limits.full, limits.checks) + 1):
            ply = len(game.moves) - 2 * length + 1
            if ply < 0:
                break
            board = _position(game, ply)
            keys = self._search.keys(board, length, by_checks=length > limits.full)
            if game.moves[ply] not in keys:
                break
            found = WayIn(ply, board.fen(), length, keys)
        return found


def _runs(verdicts: Mapping[int, Verdict]) -> Iterator[list[int]]:
    """The plies of each run of misses: consecutive turns of one side with a mate missed."""
    missed = {ply for ply, verdict in verdicts.items() if verdict.missed}
    for first in sorted(missed):
        if first - 2 in missed:
            continue
        run = [first]
        while run[-1] + 2 in missed:
            run.append(run[-1] + 2)
        yield run


def _position(game: Game, ply: int) -> chess.Board:
    board = game.start.copy(stack=False)
    for move in game.moves[:ply]:
        board.push(move)
    return board


def _named(board: chess.Board, line: Sequence[chess.Move]) -> tuple[tuple[str, ...], str]:
    """The names of the mate at the end of a line, and its skeleton."""
    board = board.copy(stack=1)
    for move in line:
        board.push(move)
    case = case_of(board)
    return tuple(name.name for name in names(case)), case.skeleton.fen


def _found_by(verdict: Verdict) -> FoundBy:
    return "checks only" if verdict.by_checks else "full width"
