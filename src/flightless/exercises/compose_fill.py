"""Men round a skeleton, as they stand in games: a castled king behind his pawns, pawns a file
each, pieces where such pieces stand and not left hanging.

The mate stays at every step.  Moves are taken back elsewhere.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

import chess

from flightless.cases.changes import is_mate
from flightless.exercises.compose_squares import weights
from flightless.exercises.vary_natural import unmoves

__all__ = ["VALUES", "balance", "filled", "hanging"]

VALUES = {chess.PAWN: 1, chess.KNIGHT: 3, chess.BISHOP: 3, chess.ROOK: 5, chess.QUEEN: 9}
"""The usual values, in pawns (common practice, no source)."""

_SET = {chess.QUEEN: 1, chess.ROOK: 2, chess.BISHOP: 2, chess.KNIGHT: 2}
_SHARE = {"opening": 0.95, "middlegame": 0.6, "ending": 0.25}
_PAWNS = {"opening": (6, 8), "middlegame": (5, 7), "ending": (3, 5)}
_TRIES = 8
_FEW = 3

_SHELTERS: tuple[tuple[chess.Square, tuple[chess.Square, ...]], ...] = (
    (chess.G1, (chess.F2, chess.G2, chess.H2)),
    (chess.G1, (chess.F2, chess.G2, chess.H2)),
    (chess.G1, (chess.F2, chess.G2, chess.H3)),
    (chess.G1, (chess.F2, chess.G3, chess.H2)),
    (chess.H1, (chess.F2, chess.G2, chess.H2)),
    (chess.H1, (chess.G2, chess.H3)),
    (chess.H2, (chess.F2, chess.G2, chess.H3)),
    (chess.B1, (chess.A2, chess.B2, chess.C2)),
    (chess.B1, (chess.A3, chess.B2, chess.C2)),
    (chess.C1, (chess.A2, chess.B2, chess.C2)),
)
"""Castled kings and their pawns, White's; those that come twice are twice as likely (common
practice, no source)."""


def hanging(board: chess.Board) -> chess.SquareSet:
    """Men, kings apart, whom a man of less value attacks, or who are attacked and not defended.
    Pins and who is to move are not looked at."""
    found = chess.SquareSet()
    for square, piece in board.piece_map().items():
        if piece.piece_type == chess.KING:
            continue
        attackers = board.attackers_mask(not piece.color, square)
        if not attackers:
            continue
        least = min(
            VALUES.get(board.piece_type_at(s) or chess.PAWN, 99)
            for s in chess.scan_forward(attackers)
        )
        defended = board.attackers_mask(piece.color, square)
        if least < VALUES[piece.piece_type] or not defended:
            found.add(square)
    return found


def balance(board: chess.Board) -> int:
    """White's men less Black's, in pawns."""
    white, black = board.occupied_co[chess.WHITE], board.occupied_co[chess.BLACK]
    men = (board.pawns, board.knights, board.bishops, board.rooks, board.queens)
    return sum(
        value * (chess.popcount(kind & white) - chess.popcount(kind & black))
        for value, kind in zip(VALUES.values(), men, strict=True)
    )


def filled(
    net: chess.Board, free_king: chess.Color | None, phase: str, chance: random.Random
) -> chess.Board | None:
    """A full position round a skeleton that is still mate; None if a king finds no place.

    `free_king` is the side whose king takes no part and may stand anywhere.
    """
    board = net.copy(stack=False)
    board.halfmove_clock, board.fullmove_number = 0, 1
    last_moves = {move.from_square for _, move in unmoves(net)}
    kept = chess.SquareSet(last_moves if len(last_moves) <= _FEW else ())
    work = _Filling(board, phase, chance, chess.SquareSet(board.occupied), kept)
    if free_king is not None and not work.place_king(free_king):
        return None
    work.shelter(net.turn)
    work.pawns()
    work.pieces()
    return board


@dataclass(slots=True)
class _Filling:
    """A position that is being filled; `given` are the squares of the skeleton, `kept` those
    that stay empty, because the mating man can have come from nowhere else."""

    board: chess.Board
    phase: str
    chance: random.Random
    given: chess.SquareSet
    kept: chess.SquareSet

    def place_king(self, colour: chess.Color) -> bool:
        """The free king, castled as a rule; his pawns come with him."""
        king = self.board.king(colour)
        assert king is not None
        self.board.remove_piece_at(king)
        self.given.discard(king)
        shelters = list(_SHELTERS)
        self.chance.shuffle(shelters)
        if self.phase == "ending" and self.chance.random() < 0.5:
            shelters = []
        for home, pawns in shelters:
            square = home if colour else home ^ 56
            if self._put(chess.Piece(chess.KING, colour), square):
                for pawn in pawns:
                    if self.chance.random() < 0.95:
                        self._put_pawn(colour, pawn if colour else pawn ^ 56)
                return True
        return self._somewhere(chess.Piece(chess.KING, colour), 8)

    def shelter(self, mated: chess.Color) -> None:
        """Pawns before the mated king, if he stands where kings castle."""
        king = self.board.king(mated)
        assert king is not None
        file, rank = chess.square_file(king), chess.square_rank(king if mated else king ^ 56)
        if rank > 1 or file in (3, 4):
            return
        files = (5, 6, 7) if file > 4 else (0, 1, 2)
        for at in files:
            near = (1, 1, 1, 2) if self.phase != "ending" else (1, 2)
            square = chess.square(at, self.chance.choice(near))
            if self.chance.random() < 0.85:
                self._put_pawn(mated, square if mated else square ^ 56)

    def pawns(self) -> None:
        """As many pawns for both sides, one more or less, each on a file of its own."""
        wanted = self.chance.randint(*_PAWNS[self.phase])
        for colour in chess.COLORS:
            here = wanted + self.chance.choice((0, 0, 0, -1))
            for _ in range(here - len(self.board.pieces(chess.PAWN, colour))):
                likely = [
                    n if self._free_for_pawn(square, colour) else 0
                    for square, n in enumerate(weights(self.phase, chess.PAWN, colour))
                ]
                self._by_weight(chess.Piece(chess.PAWN, colour), likely)

    def pieces(self) -> None:
        """The same pieces for both sides, but for what the skeleton has more."""
        share = _SHARE[self.phase]
        wanted = {
            kind: sum(self.chance.random() < share for _ in range(n)) for kind, n in _SET.items()
        }
        for kind in wanted:
            both = (len(self.board.pieces(kind, colour)) for colour in chess.COLORS)
            wanted[kind] = max(wanted[kind], *both)
        men = [
            chess.Piece(kind, colour)
            for kind, number in wanted.items()
            for colour in chess.COLORS
            for _ in range(number - len(self.board.pieces(kind, colour)))
        ]
        self.chance.shuffle(men)
        for man in men:
            self._somewhere(man, _TRIES)

    def _somewhere(self, man: chess.Piece, tries: int) -> bool:
        likely = list(weights(self.phase, man.piece_type, man.color))
        if man.piece_type == chess.BISHOP:
            for own in self.board.pieces(chess.BISHOP, man.color):
                likely = [0 if _alike(own, s) else n for s, n in enumerate(likely)]
        return self._by_weight(man, likely, tries)

    def _by_weight(self, man: chess.Piece, likely: list[int], tries: int = _TRIES) -> bool:
        likely = [0 if self.board.piece_type_at(s) else n for s, n in enumerate(likely)]
        for _ in range(tries):
            if not any(likely):
                return False
            square = self.chance.choices(chess.SQUARES, likely)[0]
            likely[square] = 0
            if self._put(man, square):
                return True
        return False

    def _put_pawn(self, colour: chess.Color, square: chess.Square) -> None:
        if self._free_for_pawn(square, colour):
            self._put(chess.Piece(chess.PAWN, colour), square)

    def _free_for_pawn(self, square: chess.Square, colour: chess.Color) -> bool:
        """No pawn of the side on the file, and none of the other side behind."""
        if self.board.piece_type_at(square) or not 0 < chess.square_rank(square) < 7:
            return False
        file = chess.BB_FILES[chess.square_file(square)]
        if self.board.pieces_mask(chess.PAWN, colour) & file:
            return False
        others = self.board.pieces_mask(chess.PAWN, not colour) & file
        ahead = others >> square if colour else others & (chess.BB_SQUARES[square] - 1)
        return not others or bool(ahead)

    def _put(self, man: chess.Piece, square: chess.Square) -> bool:
        """Put a man on an empty square if the mate stays and nobody new is left hanging."""
        if self.board.piece_type_at(square) or square in self.kept:
            return False
        before = len(hanging(self.board) - self.given)
        self.board.set_piece_at(square, man)
        kings = self.board.king(True) is not None and self.board.king(False) is not None
        if (not kings or is_mate(self.board)) and (len(hanging(self.board) - self.given) <= before):
            return True
        self.board.remove_piece_at(square)
        return False


def _alike(one: chess.Square, other: chess.Square) -> bool:
    return bool(chess.BB_LIGHT_SQUARES >> one & 1) == bool(chess.BB_LIGHT_SQUARES >> other & 1)
