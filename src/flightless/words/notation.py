"""Moves for the eye and for the ear.

For the eye: SAN (PGN standard, section 8.2.3) with move numbers counted from the diagram,
'…' before Black's move, and the word for mate instead of a sign.  For the ear: the move as
it is spoken across a table.  Letters and words come from the phrasebook; nothing is judged.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import chess

__all__ = ["ENGLISH_EAR", "Ear", "Step", "ear", "eye", "figure_line", "steps"]


@dataclass(frozen=True, slots=True)
class Step:
    """One move of a line, with all that notation needs.

    `fen` is the position before it, `number` its move number.
    `check` and `mate` are what the move gives.
    """

    fen: str
    move: chess.Move
    number: int
    san: str
    check: bool
    mate: bool

    @property
    def board(self) -> chess.Board:
        """A fresh board of the position before the move."""
        return chess.Board(self.fen)

    @property
    def after(self) -> chess.Board:
        """A fresh board of the position after the move."""
        board = self.board
        board.push(self.move)
        return board

    @property
    def white(self) -> bool:
        """Whether White makes the move."""
        return self.board.turn


def steps(board: chess.Board, moves: Iterable[chess.Move]) -> tuple[Step, ...]:
    """The moves of a line from `board` on, numbered by the board's own move number."""
    at = board.copy(stack=False)
    out = []
    for move in moves:
        fen, number = at.fen(), at.fullmove_number
        san = at.san(move).rstrip("+#")
        at.push(move)
        out.append(Step(fen, move, number, san, at.is_check(), at.is_checkmate()))
    return tuple(out)


def eye(
    step: Step,
    *,
    numbered: bool = True,
    letters: Mapping[str, str] | None = None,
    mate_word: str = " mate",
) -> str:
    """A move for the eye: '1.Re8+', '1…Rxe8', '2.Rxe8 mate'.

    `mate_word` may be empty where the sentence says mate itself.
    """
    san = step.san
    if letters:
        san = "".join(letters.get(symbol, symbol) for symbol in san)
    number = ""
    if numbered:
        number = f"{step.number}." if step.white else f"{step.number}…"
    return number + san + (mate_word if step.mate else "+" if step.check else "")


def figure_line(line: Iterable[Step], letters: Mapping[str, str] | None = None) -> str:
    """A run of moves for the eye: '1.Re8+ Rxe8 2.Rxe8 mate'."""
    out = []
    for i, step in enumerate(line):
        out.append(eye(step, numbered=step.white or i == 0, letters=letters))
    return " ".join(out)


@dataclass(frozen=True, slots=True)
class Ear:
    """The words of spoken moves in one language."""

    men: Mapping[chess.PieceType, str]
    takes: str
    to: str
    check: str
    mate: str
    short_castling: str
    long_castling: str
    promotes: str
    en_passant: str
    origin: str


ENGLISH_EAR = Ear(
    men={
        chess.PAWN: "pawn",
        chess.KNIGHT: "knight",
        chess.BISHOP: "bishop",
        chess.ROOK: "rook",
        chess.QUEEN: "queen",
        chess.KING: "king",
    },
    takes="takes",
    to="to",
    check="check",
    mate="mate",
    short_castling="castles short",
    long_castling="castles long",
    promotes="and becomes a",
    en_passant="in passing",
    origin="from",
)


def ear(step: Step, words: Ear = ENGLISH_EAR) -> str:
    """A move for the ear: 'rook takes e8, mate', 'pawn takes d8 and becomes a queen, check'.

    Where two men of a kind could go there, the one is told by what SAN would tell him by:
    'the rook from a1 to d1'.
    """
    board = step.board
    spoken = _spoken(board, step, words)
    if step.mate:
        spoken += f", {words.mate}"
    elif step.check:
        spoken += f", {words.check}"
    return spoken


def _spoken(board: chess.Board, step: Step, words: Ear) -> str:
    if board.is_castling(step.move):
        long = board.is_queenside_castling(step.move)
        return words.long_castling if long else words.short_castling
    kind = board.piece_type_at(step.move.from_square)
    assert kind is not None
    target = chess.square_name(step.move.to_square)
    capture = board.is_capture(step.move)
    name = words.men[kind]
    if kind == chess.PAWN:
        if capture:
            name = f"{chess.FILE_NAMES[chess.square_file(step.move.from_square)]}-{name}"
    elif step.san[1:].removesuffix(target).removesuffix("x"):  # SAN, too, says which one
        name = f"{name} {words.origin} {chess.square_name(step.move.from_square)}"
    spoken = f"{name} {words.takes if capture else words.to} {target}"
    if board.is_en_passant(step.move):
        spoken += f" {words.en_passant}"
    if step.move.promotion:
        spoken += f" {words.promotes} {words.men[step.move.promotion]}"
    return spoken
