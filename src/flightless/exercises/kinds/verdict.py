"""Mate, check or stalemate?"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar, Literal, Self

import chess

from flightless.cases.breaks import breaks_of
from flightless.cases.case import Case
from flightless.exercises.boards import fresh
from flightless.exercises.escapes import escape_of, men_on
from flightless.exercises.exercise import About, Exercise, Fault
from flightless.exercises.hints import Hint
from flightless.exercises.mark import Mark
from flightless.exercises.material import Material, NotFit
from flightless.exercises.reasons import Standing, Unreadable
from flightless.exercises.rendering import Choice, Diagram, Rendering, Space
from flightless.exercises.texts import words_of

__all__ = ["Verdict", "standing"]

Stands = Literal["mate", "check", "stalemate"]
_WORDS: dict[str, Stands] = {
    "mate": "mate",
    "checkmate": "mate",
    "#": "mate",
    "check": "check",
    "+": "check",
    "stalemate": "stalemate",
    "=": "stalemate",
    "matt": "mate",
    "schach": "check",
    "patt": "stalemate",
}
_MOST_ANSWERS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict(Exercise):
    """Is the side to move mated, only in check, or stalemated?"""

    kind: ClassVar[str] = "verdict"

    @classmethod
    def generate(cls, material: Material, chance: random.Random) -> Self | NotFit:
        """From the mate: itself, or changed by one man into a check or a stalemate."""
        wanted: Stands = chance.choices(("mate", "check", "stalemate"), (4, 4, 3))[0]
        found = [material.case.board]
        if wanted == "check":
            found = list(_checks(material.case)) or found
        elif wanted == "stalemate":
            found = list(_stalemates(material.case)) or list(_checks(material.case)) or found
        board = fresh(chance.choice(found))
        answer = standing(board)
        if answer is None:
            return NotFit("the position is neither mate, check nor stalemate")
        return cls(
            position=board.fen(),
            answers=(answer,),
            about=About(pattern=material.pattern, source=material.source),
        )

    def solve(self) -> tuple[str, ...]:
        """The one word that is right."""
        found = standing(self.board)
        return (found,) if found else ()

    def canonical(self, answer: str) -> str | None:
        """'mate', 'check' or 'stalemate'."""
        return _WORDS.get(words_of(answer))

    def mark(self, answer: str) -> Mark:
        """Right or wrong, with what makes it so."""
        said = _WORDS.get(words_of(answer))
        if said is None:
            return Mark("unreadable", Unreadable(answer.strip()[:80], "mate, check or stalemate"))
        board = self.board
        found = standing(board)
        king = board.king(board.turn)
        assert found is not None
        assert king is not None
        checkers = men_on(board, chess.scan_forward(board.checkers_mask()))
        escape = escape_of(board) if found == "check" else None
        reason = Standing(board.fen(), found, said, board.turn, king, checkers, escape)
        return Mark("right" if said == found else "wrong", reason)

    def hints(self) -> tuple[Hint, ...]:
        """Who might check, then where the king might go."""
        board = self.board
        king = board.king(board.turn)
        ladder = []
        checkers = men_on(board, chess.scan_forward(board.checkers_mask()))
        if checkers:
            ladder.append(Hint("man", man=checkers[0], role="checks"))
        ladder.append(Hint("square", square=king, role="from here"))
        return tuple(ladder)

    def rendering(self) -> Rendering:
        """One diagram and three boxes."""
        words = ("mate", "check", "stalemate")
        space = Space("choices", 1, tuple(Choice(word, word=word) for word in words))
        fen = self.board.fen()
        return Rendering((Diagram(fen),), space, final=fen, mated=self.board.is_checkmate())

    def expected(self) -> str:
        """One of the three words."""
        return "mate, check or stalemate"

    def why_right(self, answer: str) -> str:
        """What it really is."""
        return f"the side to move is in {answer}" if answer == "check" else f"it is {answer}"

    def _malformed(self) -> Fault | None:
        if standing(self.board) is None:
            return Fault("position", "the side to move is neither in check nor stalemated")
        return None


def standing(board: chess.Board) -> Stands | None:
    """How the side to move stands, None if it can move and is not in check."""
    if any(board.legal_moves):
        return "check" if board.is_check() else None
    return "mate" if board.is_check() else "stalemate"


def _checks(case: Case) -> Iterator[chess.Board]:
    """The mate spoilt by one man of its own kind of move, with few answers left."""
    for spoilt in breaks_of(case):
        if spoilt.check_gone or not 1 <= len(spoilt.answers) <= _MOST_ANSWERS:
            continue
        board = spoilt.change.applied(case.board)
        if board.is_valid():
            yield board


def _stalemates(case: Case) -> Iterator[chess.Board]:
    """The skeleton with one mating man elsewhere, so that there is no check and no move."""
    skeleton = chess.Board(case.skeleton.fen)
    for man in case.skeleton.men:
        piece = skeleton.piece_at(man)
        if piece is None or piece.color == case.mated:
            continue
        for square in chess.SQUARES:
            if skeleton.piece_at(square) or (
                piece.piece_type == chess.PAWN and chess.square_rank(square) in (0, 7)
            ):
                continue
            board = skeleton.copy(stack=False)
            board.remove_piece_at(man)
            board.set_piece_at(square, piece)
            if board.is_stalemate() and board.is_valid():
                yield board
