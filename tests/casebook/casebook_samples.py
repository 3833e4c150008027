"""Harvest records to put into casebooks, and plain-Python readings of them to compare with.

Positions are mates from the literature, checked by python-chess when they are made, and their
images by reflection; games and players are invented.  Nothing here uses the casebook.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from typing import Any

import chess

Record = dict[str, Any]

# Mates on the board.  Scores from memory: Morphy, Paris 1858; Légal, Paris about 1750; the
# scholar's mate; Greco's manuscripts about 1620; the others are textbook finals.
MATED = [
    ("1n1Rkb1r/p4ppp/4q3/4p1B1/4P3/8/PPP2PPP/2K5 b k - 1 17", ["Mayet"], ["rook", "bishop"]),
    ("rn1q1bnr/ppp1kBpp/3p4/3NN3/4P3/8/PPPP1PPP/R1BbK2R b KQ - 2 7", ["Légal"], ["knight"]),
    ("r1bqkb1r/pppp1Qpp/2n2n2/4p3/2B1P3/8/PPPP1PPP/RNB1K1NR b KQkq - 0 4", [], ["queen"]),
    ("4R1k1/5ppp/8/8/8/8/5PPP/6K1 b - - 0 30", ["back rank", "corridor"], ["rook"]),
    ("6rk/5Npp/8/8/8/8/8/6K1 b - - 0 1", ["smothered"], ["knight"]),
    ("R6k/1R6/8/8/8/8/8/K7 b - - 0 1", [], ["rook"]),
    ("6k1/5pQp/5P2/8/8/8/8/6K1 b - - 0 1", ["Lolli"], ["queen", "pawn"]),
    ("R2k4/8/3K4/8/8/8/8/8 b - - 0 1", ["king and rook"], ["rook", "king"]),
]

# Mates in n with the side to move, their keys and one line: found by hand and by exhaustive
# search with python-chess (see `test_samples_are_what_they_say`).
TO_MATE = [
    ("6k1/5ppp/8/8/8/8/8/K3R3 w - - 0 1", 1, ["e1e8"], ["Re8#"], ["back rank"], ["rook"]),
    (
        "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1",
        2,
        ["e2e8"],
        ["Re8+", "Rxe8", "Rxe8#"],
        ["back rank", "corridor"],
        ["rook"],
    ),
    ("7k/5N2/6pp/8/8/8/5Q2/6K1 b - - 0 1", None, [], [], [], None),
    ("7k/8/5K2/8/8/8/8/6R1 w - - 0 1", 2, None, None, ["king and rook"], ["king", "rook"]),
    ("5rkr/5ppp/8/6N1/8/8/8/K2Q4 w - - 5 40", None, [], [], [], ["queen", "knight"]),
]

PLAYERS = ["Moreau, Léa", "O'Brien, Pat", "Ivić, Željko", "Sand, Ann", "Sand, Bo", "100%_\\", "?"]
EVENTS = ["Harbour Street open", "Club evening", "Match for the lamp", "?"]


def mates_in(board: chess.Board, moves: int) -> bool:
    """Exhaustively: whether the side to move mates in `moves` or fewer."""
    for move in list(board.legal_moves):
        board.push(move)
        good = board.is_checkmate() or (
            moves > 1 and not board.is_stalemate() and _all_lose(board, moves)
        )
        board.pop()
        if good:
            return True
    return False


def _all_lose(board: chess.Board, moves: int) -> bool:
    for reply in list(board.legal_moves):
        board.push(reply)
        good = mates_in(board, moves - 1)
        board.pop()
        if not good:
            return False
    return True


def keys_of(board: chess.Board, moves: int) -> list[str]:
    """Every first move that mates in `moves` or fewer, by exhaustive search."""
    keys = []
    for move in list(board.legal_moves):
        board.push(move)
        if board.is_checkmate() or (
            moves > 1 and not board.is_stalemate() and _all_lose(board, moves)
        ):
            keys.append(move.uci())
        board.pop()
    return sorted(keys)


def _image(fen: str, keys: Iterable[str], image: int) -> tuple[str, list[str]]:
    """The position seen in a mirror of the files (bit 0) or with colours exchanged (bit 1)."""
    board = chess.Board(fen)
    moves = [chess.Move.from_uci(key) for key in keys]
    if image & 1:
        board.castling_rights = chess.BB_EMPTY
        board.apply_transform(chess.flip_horizontal)
        moves = [_moved(move, lambda square: square ^ 7) for move in moves]
    if image & 2:
        board = board.mirror()
        moves = [_moved(move, chess.square_mirror) for move in moves]
    return board.fen(), [move.uci() for move in moves]


def _moved(move: chess.Move, to: Callable[[chess.Square], chess.Square]) -> chess.Move:
    return chess.Move(to(move.from_square), to(move.to_square), move.promotion)


def records() -> list[Record]:
    """Some hundred and fifty records, a number of them of the same position in other games."""
    made: list[Record] = []
    for turn in range(3):
        for at, (fen, patterns, tandem) in enumerate(MATED):
            for image in range(4):
                if turn and (at + image + turn) % 3:
                    continue
                where, _ = _image(fen, [], image)
                made.append(_record(len(made), where, "mated", 0, [], [], patterns, tandem))
        for at, (fen, moves, keys, line, patterns, tandem) in enumerate(TO_MATE):
            for image in range(4):
                if turn and (at + image + turn) % 2:
                    continue
                if keys is None:
                    keys = keys_of(chess.Board(fen), moves or 1)
                where, there = _image(fen, keys, image)
                said = line if image == 0 and line else []
                kind = "missed" if moves else "resigned"
                made.append(_record(len(made), where, kind, moves, there, said, patterns, tandem))
    return made


def _record(
    number: int,
    fen: str,
    kind: str,
    moves: int | None,
    keys: list[str],
    line: list[str],
    patterns: list[str],
    tandem: list[str] | None,
) -> Record:
    year = 1880 + (number * 37) % 140
    return {
        "format": "flightless find",
        "version": 1,
        "source": {
            "file": "harbour-street.pgn",
            "line": 10 * number + 1,
            "white": PLAYERS[number % len(PLAYERS)],
            "black": PLAYERS[(number * 3 + 1) % len(PLAYERS)],
            "event": EVENTS[number % len(EVENTS)],
            "site": "Harbour Street",
            "date": "????.??.??" if number % 11 == 0 else f"{year}.05.17",
            "round": str(number % 5),
            "result": "*",
        },
        "game": number + 1,
        "ply": 20 + number,
        "fen": fen,
        "kind": kind,
        "moves": moves,
        "keys": keys,
        "line": line,
        "patterns": patterns,
        "skeleton": None,
        "tandem": tandem,
        "found_by": "full width",
    }


def key_of(record: Record) -> str:
    """The identity of a position by python-chess alone: FEN's first four fields."""
    return chess.Board(record["fen"]).epd()


def comparable(lines: Iterable[str]) -> list[str]:
    """Exported JSON Lines without regard to their order."""
    return sorted(json.dumps(json.loads(line), sort_keys=True) for line in lines)
