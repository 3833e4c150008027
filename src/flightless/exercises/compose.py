"""From a skeleton to a full position that could have come from a game, with a mate to find.

Men are added where they stand in real games as long as the mate stays, then moves are taken
back.  Everything is decided by the seed; the result is proved with a single key.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from itertools import islice

import chess

from flightless.cases.build import case_of
from flightless.cases.changes import is_mate
from flightless.errors import PositionError, UsageError
from flightless.exercises.compose_squares import PHASES, weights
from flightless.exercises.vary import Member, lengthened
from flightless.exercises.vary_natural import unnatural
from flightless.patterns.recognise import names

__all__ = ["Composed", "compose"]

_ATTEMPTS = 60
_VALUES = {chess.PAWN: 1, chess.KNIGHT: 3, chess.BISHOP: 3, chess.ROOK: 5, chess.QUEEN: 9}
_SET = {chess.QUEEN: 1, chess.ROOK: 2, chess.BISHOP: 2, chess.KNIGHT: 2}
_SHARE = {"opening": 0.95, "middlegame": 0.6, "ending": 0.25}
_PAWNS = {"opening": (6, 8), "middlegame": (5, 7), "ending": (3, 5)}
_NEAR = 2
_LOOKED_AT = 400


@dataclass(frozen=True, slots=True)
class Composed:
    """A composed position: the side to move in `fen` mates in `moves` by `key` alone, and the
    composing began from the mated position `mated` with the seed `seed`."""

    fen: str
    moves: int
    key: chess.Move
    mated: str
    seed: int


def compose(
    board: chess.Board,
    moves: int = 1,
    seed: int = 0,
    phase: str = "middlegame",
    *,
    balanced: bool = True,
) -> Composed:
    """A full position that ends in the skeleton of `board`, a mated position.

    `phase` decides how many men there are and where; `balanced` keeps the sides within two
    pawns of each other in the position to be solved (queen 9, rook 5, minor piece 3).  The
    mate keeps the names that fit the skeleton, and the position is not `unnatural`.

    Raises `PositionError` if `board` is not mate, or if no attempt of sixty succeeds, and
    `UsageError` for an unknown phase or a length other than 1 to 3.
    """
    if phase not in PHASES:
        raise UsageError(f"the phase is one of {', '.join(PHASES)}, not {phase!r}")
    if not 1 <= moves <= 3:
        raise UsageError(f"the length must lie between 1 and 3 moves, and is {moves}")
    case = case_of(board)
    wanted = {name.name for name in names(case)}
    net = chess.Board(case.skeleton.fen)
    free_king = None if case.king_takes_part else case.mating
    for attempt in range(_ATTEMPTS):
        chance = random.Random(f"{seed} {attempt}")
        full = _filled(net, free_king, phase, chance)
        if full is None or not _keeps(full, wanted):
            continue
        made = _taken_back(full, moves, chance, balanced)
        if made is not None and made.key is not None:
            return Composed(made.fen, moves, made.key, full.fen(), seed)
    raise PositionError(
        f"no natural position was found in {_ATTEMPTS} attempts with seed {seed}: {net.fen()}"
    )


def _keeps(board: chess.Board, wanted: set[str]) -> bool:
    if unnatural(board) is not None:
        return False
    return wanted <= {name.name for name in names(case_of(board))}


def _filled(
    net: chess.Board, free_king: chess.Color | None, phase: str, chance: random.Random
) -> chess.Board | None:
    board = net.copy(stack=False)
    board.halfmove_clock, board.fullmove_number = 0, 1
    if free_king is not None:
        king = board.king(free_king)
        assert king is not None
        board.remove_piece_at(king)
        if not _put(board, chess.Piece(chess.KING, free_king), phase, chance):
            return None
    men = [piece for colour in chess.COLORS for piece in _more(board, colour, phase, chance)]
    chance.shuffle(men)
    for piece in men:
        _put(board, piece, phase, chance)
    return board


def _more(
    board: chess.Board, colour: chess.Color, phase: str, chance: random.Random
) -> list[chess.Piece]:
    """The men to add to one side: as many as the phase has, less those who are there."""
    share = _SHARE[phase]
    wanted = {kind: sum(chance.random() < share for _ in range(n)) for kind, n in _SET.items()}
    wanted[chess.PAWN] = chance.randint(*_PAWNS[phase])
    return [
        chess.Piece(kind, colour)
        for kind, number in wanted.items()
        for _ in range(number - len(board.pieces(kind, colour)))
    ]


def _put(board: chess.Board, piece: chess.Piece, phase: str, chance: random.Random) -> bool:
    """Put a man on a square of the statistics where the mate stays; False if none is found."""
    likely = list(weights(phase, piece.piece_type, piece.color))
    own = board.pieces(piece.piece_type, piece.color)
    for square in chess.SQUARES:
        if board.piece_type_at(square):
            likely[square] = 0
        elif piece.piece_type == chess.PAWN and own & chess.BB_FILES[chess.square_file(square)]:
            likely[square] //= 10  # doubled pawns are rare
        elif piece.piece_type == chess.BISHOP and any(_same_colour(square, s) for s in own):
            likely[square] = 0
    for _ in range(8):
        if not any(likely):
            return False
        square = chance.choices(chess.SQUARES, likely)[0]
        likely[square] = 0
        board.set_piece_at(square, piece)
        if board.king(True) is None or board.king(False) is None or is_mate(board):
            return True
        board.remove_piece_at(square)
    return False


def _same_colour(one: chess.Square, other: chess.Square) -> bool:
    return bool(chess.BB_LIGHT_SQUARES >> one & 1) == bool(chess.BB_LIGHT_SQUARES >> other & 1)


def _taken_back(
    full: chess.Board, moves: int, chance: random.Random, balanced: bool
) -> Member | None:
    """The mate with `moves` moves taken back, each step proved."""
    board, made = full, None
    for length in range(moves):
        last = length == moves - 1
        found = [
            member
            for member in islice(lengthened(board, length, _LOOKED_AT), 8 if not length else 2)
            if not last or not balanced or _balance(chess.Board(member.fen)) <= _NEAR
        ]
        if not found:
            return None
        made = chance.choice(found)
        board = chess.Board(made.fen)
    return made


def _balance(board: chess.Board) -> int:
    return abs(
        sum(
            value * (len(board.pieces(kind, True)) - len(board.pieces(kind, False)))
            for kind, value in _VALUES.items()
        )
    )
