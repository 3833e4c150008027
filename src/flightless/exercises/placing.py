"""What the kinds that place men share: the letters of the men, and the ladder of hints."""

from __future__ import annotations

from collections.abc import Sequence

import chess

from flightless.cases.case import Man
from flightless.exercises.escapes import man_on
from flightless.exercises.exercise import Fault
from flightless.exercises.hints import Hint
from flightless.exercises.proofs import names_at
from flightless.exercises.texts import kind_of
from flightless.exercises.trials import with_men

__all__ = ["contact_checker", "kinds_of", "men_fault", "place_hints"]


def kinds_of(letters: Sequence[str]) -> tuple[chess.PieceType, ...]:
    """The kinds of men that letters mean, in their order."""
    return tuple(kind for kind in map(kind_of, letters) if kind is not None)


def men_fault(letters: Sequence[str], least: int, *, distinct: bool = True) -> Fault | None:
    """What is wrong with the men that are offered."""
    for letter in letters:
        if letter not in "QRBNP" or len(letter) != 1:
            return Fault("men", f"{letter[:20]!r} is not one of the letters Q R B N P")
    if len(letters) < least:
        return Fault("men", f"there must be at least {least} of them")
    if distinct and len(set(letters)) < len(letters):
        return Fault("men", "a letter is there twice")
    return None


def contact_checker(board: chess.Board) -> chess.Square | None:
    """The checker next to the king, if there is one."""
    king = board.king(board.turn)
    assert king is not None
    near = (
        s for s in chess.scan_forward(board.checkers_mask()) if chess.square_distance(s, king) == 1
    )
    return next(near, None)


def place_hints(board: chess.Board, men: Sequence[Man]) -> tuple[Hint, ...]:
    """The pattern that the mate is of, the man who needs help or the king, a right square."""
    ladder: list[Hint] = []
    found = names_at(with_men(board, men).fen()) if men else ()
    if found:
        ladder.append(Hint("pattern", found[0].pattern.description, found[0].pattern.known_as))
    checker = contact_checker(board)
    king = board.king(board.turn)
    if checker is not None:
        ladder.append(Hint("man", man=man_on(board, checker), role="protected"))
    elif king is not None:
        ladder.append(Hint("square", square=king, role="from here"))
    if men:
        ladder.append(Hint("square", square=men[0].square, role="target"))
    return tuple(ladder)
