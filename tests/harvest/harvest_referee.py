"""A second opinion on finds, by exhaustive search with python-chess alone.

Slow and plain on purpose: it shares nothing with the harvest but the rules of python-chess
(FIDE Laws of Chess, articles 1.4.1 and 3.9: mate is check without a legal move).
"""

from __future__ import annotations

import io

import chess
import chess.pgn


def mates_in(board: chess.Board, moves: int, *, checks_only: bool = False) -> bool:
    """Whether the side to move mates in at most `moves`, whatever the other side does."""
    return bool(keys_in(board, moves, checks_only=checks_only, first=True))


def keys_in(
    board: chess.Board, moves: int, *, checks_only: bool = False, first: bool = False
) -> list[chess.Move]:
    """Every first move that mates in at most `moves` (only one of them if `first`)."""
    keys: list[chess.Move] = []
    if moves < 1:
        return keys
    for move in list(board.legal_moves):
        if (checks_only or moves == 1) and not board.gives_check(move):
            continue
        board.push(move)
        good = is_mated_in(board, moves - 1, checks_only=checks_only)
        board.pop()
        if good:
            keys.append(move)
            if first:
                break
    return keys


def is_mated_in(board: chess.Board, moves: int, *, checks_only: bool = False) -> bool:
    """Whether the side to move is mated in at most `moves` more moves of the other side."""
    replies = list(board.legal_moves)
    if not replies:
        return board.is_check()
    if moves == 0:
        return False
    for reply in replies:
        board.push(reply)
        good = mates_in(board, moves, checks_only=checks_only)
        board.pop()
        if not good:
            return False
    return True


def read_all(text: str) -> list[chess.pgn.Game]:
    """The games of a text, by python-chess's own reader."""
    handle = io.StringIO(text)
    games = []
    while (game := chess.pgn.read_game(handle)) is not None:
        games.append(game)
    return games


def positions(game: chess.pgn.Game) -> list[tuple[chess.Board, chess.Move | None]]:
    """Every position of the main line with the move played there (None in the last)."""
    board = game.board()
    found: list[tuple[chess.Board, chess.Move | None]] = []
    for move in game.mainline_moves():
        found.append((board.copy(stack=False), move))
        board.push(move)
    found.append((board.copy(stack=False), None))
    return found
