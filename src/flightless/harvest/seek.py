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
from flightless.harvest.search import Search, Verdict, Verdicts, numbers_of, position
from flightless.patterns.recognise import names

__all__ = ["Seeker", "source_of", "winner_of"]

_MOST_SOLUTIONS = 10_000
"""Positions of which the solution is remembered (about a kilobyte each)."""

Solution = tuple[tuple[chess.Move, ...], tuple[chess.Move, ...], tuple[str, ...], str]
"""Keys, main line, names, skeleton."""


def winner_of(result: str) -> chess.Color | None:
    """Who won by a result of the PGN standard, if anybody."""
    return {"1-0": chess.WHITE, "0-1": chess.BLACK}.get(result)


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
        self.search = Search(limits)
        self._solutions: dict[str, Solution] = {}

    def finds(self, game: Game, file: str) -> tuple[list[Record], bool]:
        """All finds of one game, and whether a search in it reached the limit of nodes."""
        played = numbers_of(game.moves)
        verdicts, cut = self.search.game(game.start, played, winner_of(game.result))
        return self.describe(game, file, verdicts), cut

    def describe(self, game: Game, file: str, verdicts: Verdicts) -> list[Record]:
        """The finds of a game that has been searched, in the order of their plies."""
        if not verdicts:
            return []
        source = source_of(game, file)
        found = [self._missed(game, run, verdicts, source) for run in _runs(verdicts)]
        if len(game.moves) in verdicts:
            found.append(self._last(game, verdicts, source))
        return found

    def _missed(
        self, game: Game, run: Sequence[int], verdicts: Mapping[int, Verdict], source: Source
    ) -> Record:
        ply = run[0]
        verdict = verdicts[ply]
        board = _position(game, ply)
        fen = board.fen()
        keys, line, patterns, skeleton = self._solution(board, fen, verdict)
        return Record(
            source=source,
            game=game.number,
            ply=ply,
            fen=fen,
            kind="missed",
            moves=verdict.moves,
            keys=keys,
            line=line,
            patterns=patterns,
            skeleton=skeleton,
            found_by=_found_by(verdict),
            played=game.moves[ply],
            slower=verdicts[ply].follows > 0,
            run=tuple(
                Miss(at, verdicts[at].moves, game.moves[at], verdicts[at].follows > 0) for at in run
            ),
        )

    def _last(self, game: Game, verdicts: Mapping[int, Verdict], source: Source) -> Record:
        """The final position: mate on the board, or a mate that was spared the loser."""
        verdict = verdicts[len(game.moves)]
        fen = game.final.fen()
        keys, line, patterns, skeleton = self._solution(game.final, fen, verdict)
        return Record(
            source=source,
            game=game.number,
            ply=len(game.moves),
            fen=fen,
            kind="mated" if verdict.mated else "resigned",
            moves=verdict.moves or -verdict.follows,
            keys=keys,
            line=line,
            patterns=patterns,
            skeleton=skeleton,
            found_by=None if verdict.mated else _found_by(verdict),
            way_in=self._way_in(game, verdicts) if verdict.mated else None,
        )

    def _solution(self, board: chess.Board, fen: str, verdict: Verdict) -> Solution:
        """Keys and main line of a position, names and skeleton of the mate at its end; the same
        positions come again and again."""
        key = f"{fen.rsplit(' ', 2)[0]} {verdict.moves} {verdict.by_checks}"
        known = self._solutions.get(key)
        if known is None:
            known = self._solve(board, verdict)
            if len(self._solutions) >= _MOST_SOLUTIONS:
                self._solutions.clear()
            self._solutions[key] = known
        return known

    def _solve(self, board: chess.Board, verdict: Verdict) -> Solution:
        keys: tuple[chess.Move, ...] = ()
        line: list[chess.Move] = []
        if verdict.moves:
            keys = self.search.keys(board, verdict.moves, by_checks=verdict.by_checks)
            line = self.search.mating_line(board, verdict.moves, by_checks=verdict.by_checks)
        elif not verdict.mated:
            line = self.search.mated_line(board)
        mated = board.copy(stack=False)
        for move in line:
            mated.push(move)
        mated.clear_stack()
        case = case_of(mated)
        patterns = tuple(name.name for name in names(case))
        return keys, tuple(line), patterns, case.skeleton.fen

    def _way_in(self, game: Game, verdicts: Mapping[int, Verdict]) -> WayIn | None:
        """Back from the mate as long as every move of the mating side was a key."""
        first = None
        ply = len(game.moves) - 1
        while (verdict := verdicts.get(ply)) is not None and verdict.moves and not verdict.missed:
            first = ply
            ply -= 2
        if first is None:
            return None
        board = _position(game, first)
        found = verdicts[first]
        fen = board.fen()
        return WayIn(first, fen, found.moves, self._solution(board, fen, found)[0])


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
    return position(game.start, numbers_of(game.moves[:ply]), ply)


def _found_by(verdict: Verdict) -> FoundBy:
    return "checks only" if verdict.by_checks else "full width"
