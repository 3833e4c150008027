"""The statements that an account is made of: what is said, before any language.

Each is one fact or a few that belong in one breath.  A phrasebook has one rule for each.
Men are `cases.case.Man`, squares python-chess squares.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import chess

from flightless.cases.case import Man
from flightless.words.notation import Step
from flightless.words.places import Line, Places

__all__ = [
    "AfterKey",
    "Check",
    "Contact",
    "Delay",
    "DoubleCheck",
    "Duty",
    "EndsWith",
    "Enough",
    "FirstMoves",
    "Hindrance",
    "Idea",
    "InTheWay",
    "Instead",
    "IsMated",
    "KeyMove",
    "LoneGuard",
    "LuftMissing",
    "MateIn",
    "MatedIn",
    "NoDefender",
    "NoMate",
    "NotNeeded",
    "OtherKind",
    "PatternName",
    "Replies",
    "Safe",
    "Saved",
    "ShutOut",
    "Squares",
    "Statement",
    "TwoThings",
    "Undecided",
]

Contact = Literal["far", "before", "beside", "knight", "pawn"]
"""How a checker stands to the king: from afar on a line; straight before a king on the edge,
from the board's side; otherwise next to him; a knight's leap; a pawn."""


class Statement:
    """Base of all statements."""

    __slots__ = ()


# --- the verdict ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class IsMated(Statement):
    """The king is mated on the board."""

    mated: chess.Color
    king: chess.Square


@dataclass(frozen=True, slots=True)
class PatternName(Statement):
    """What kind of mate it is: a description, and the name that literature gives, if any.

    Both are as the catalogue has them.  `also` is a second pattern that fits, shown in short.
    """

    description: str
    known_as: str | None
    also: str | None = None


@dataclass(frozen=True, slots=True)
class MateIn(Statement):
    """The side to move mates in `moves`, in `ways` ways; `shortest` if that is proved."""

    attacker: chess.Color
    moves: int
    ways: int
    shortest: bool


@dataclass(frozen=True, slots=True)
class FirstMoves(Statement):
    """The first moves that mate, where they are more than are told one by one."""

    keys: tuple[Step, ...]
    named: int


@dataclass(frozen=True, slots=True)
class MatedIn(Statement):
    """The side to move is mated in `moves` whatever it does."""

    defender: chess.Color
    moves: int
    line: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class NoMate(Statement):
    """No mate within `moves`."""

    attacker: chess.Color
    moves: int


@dataclass(frozen=True, slots=True)
class Undecided(Statement):
    """The search ended first; there is no mate within `searched`."""

    attacker: chess.Color
    searched: int
    stopped_by: Literal["nodes", "seconds"] | None
    budget: int


# --- the moves -----------------------------------------------------------------------------

CheckNature = Literal["check", "discovered check", "double check", "quiet", "no check"]
"""A quiet move is neither check nor capture nor promotion; "no check" is one of the latter."""


@dataclass(frozen=True, slots=True)
class KeyMove(Statement):
    """A first move: alone or one of several (`only`), its nature and what it threatens.

    `steps` are moves of the same nature that are told in one breath.  `checkers` are the men
    who check after the first of them.  `threat` is the line that follows if the defender
    passes, its numbers as if it were the attacker's second move.
    """

    steps: tuple[Step, ...]
    only: bool
    nature: CheckNature
    checkers: tuple[Man, ...] = ()
    threat: tuple[Step, ...] = ()
    king_must: tuple[chess.Square, ...] = ()
    """Where the king can go, if only he can move and has one square."""
    no_defence: bool = False


ReplyNature = Literal["takes", "king takes", "king", "between", "promotion", "other"]


@dataclass(frozen=True, slots=True)
class Replies(Statement):
    """What the defender can do after a move, and how it ends or goes on.

    `replies` is how many legal replies there are.  Each branch is (the replies, the answer to
    them): one branch if one answer meets them all.  `how` is the nature of a sole reply.
    `back` says that the answer takes back on the square of the capture, and `other` that it
    does so with a second man of the kind.  `at_once` are the other replies where only the
    main one is told (`main`) and each of them is mated at once.
    """

    after: Step
    replies: int
    how: ReplyNature
    branches: tuple[tuple[tuple[Step, ...], Step], ...]
    back: bool = False
    other: bool = False
    main: bool = False
    """Only the main line is told, though there are other replies."""
    longest: bool = False
    """The main reply holds out longer than every other."""
    at_once: tuple[tuple[tuple[Step, ...], Step], ...] = ()
    lead: bool = False
    """The first move must be named again: this begins a part of its own."""
    again: bool = False
    """The move before had one reply of the same nature as well."""
    said: bool = False
    """That the king must move, and where, has been said with the move."""


@dataclass(frozen=True, slots=True)
class Delay(Statement):
    """Replies that only put the mate off, each with the attacker's answer, or where the
    threat is gone with the line to the mate."""

    defender: chess.Color
    lines: tuple[tuple[Step, ...], ...]
    threat_stays: bool


@dataclass(frozen=True, slots=True)
class EndsWith(Statement):
    """The mating move of the main line, where the line itself is told later."""

    step: Step


@dataclass(frozen=True, slots=True)
class AfterKey(Statement):
    """Leads over to another final position: the line that ends there.

    `guarded` and `held` are squares answered for by other men than in the mate told before:
    each with its guard, or the king's own men who stand there.
    """

    line: tuple[Step, ...]
    checkers: tuple[Man, ...]
    guarded: tuple[tuple[chess.Square, Man], ...]
    held: tuple[Man, ...]


# --- the check -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Check(Statement):
    """Who gives check and how.

    `protector`: who protects a checker next to the king, if it is said here; `mutual`: the
    two protect each other.  `after` is the line that leads here, if it was not told before.
    """

    checker: Man
    king: Man
    contact: Contact
    line: Line | None
    protector: Man | None = None
    mutual: bool = False
    after: tuple[Step, ...] = ()
    discovered: bool = False
    """Known to be a discovered check: another man made the last move."""


@dataclass(frozen=True, slots=True)
class DoubleCheck(Statement):
    """Two men give check, so that nothing but a move of the king could answer."""

    checkers: tuple[Man, ...]
    king: Man
    adjacent: tuple[tuple[Man, Man], ...]
    """Checkers on the king's field, each with the man who protects him."""
    after: tuple[Step, ...] = ()


@dataclass(frozen=True, slots=True)
class Hindrance:
    """A man who could take or stand between, and what keeps him from it."""

    man: Man
    action: Literal["capture", "interposition"]
    target: chess.Square
    why: Literal["pinned", "shut off", "exposes"]
    by: tuple[Man, ...]


@dataclass(frozen=True, slots=True)
class Safe(Statement):
    """Why the checker is not taken and the check not shut off.

    `takeable`: someone but the king would have to take him (he is out of the king's reach).
    """

    checker: Man
    out_of_reach: bool
    between: tuple[chess.Square, ...]
    hindrances: tuple[Hindrance, ...]


# --- the king's squares --------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Duty:
    """What one man of the mating side answers for: empty squares that he guards, men next to
    the king whom he protects, and whom he pins so that they do not answer the check."""

    man: Man
    guards: tuple[chess.Square, ...] = ()
    protects: tuple[Man, ...] = ()
    pins: tuple[Hindrance, ...] = ()

    @property
    def kinds(self) -> int:
        """How many different things he does."""
        return bool(self.guards) + bool(self.protects) + bool(self.pins)


@dataclass(frozen=True, slots=True)
class TwoThings(Statement):
    """A man who does not check and has two kinds of duty."""

    duty: Duty


@dataclass(frozen=True, slots=True)
class Squares(Statement):
    """The king's squares grouped by reason.

    `held`: kinds of his own men and the squares they hold; `all_held` if that is every one.
    `duties`: the mating men, each with what he answers for.
    """

    mated: chess.Color
    held: tuple[tuple[chess.PieceType, tuple[chess.Square, ...]], ...]
    all_held: bool
    duties: tuple[Duty, ...]


# --- what does the work, what is wrong -----------------------------------------------------


@dataclass(frozen=True, slots=True)
class Enough(Statement):
    """The men of the skeleton, where others stand round the king and take no part.

    `own` are the king's own men among them.  `plainly`: it is only said who does the work,
    not that it is done alone or with which own men in the way, as that is told next.
    """

    mating: tuple[Man, ...]
    own: tuple[Man, ...]
    plainly: bool


@dataclass(frozen=True, slots=True)
class LoneGuard(Statement):
    """The one square that hangs on one guard who does not check."""

    square: chess.Square
    man: Man


@dataclass(frozen=True, slots=True)
class InTheWay(Statement):
    """Needed men of the king's own: without any of them he gets out over his square.

    `all_of_kind`: they are all the men who hold his squares, and of one kind.
    """

    men: tuple[Man, ...]
    all_held: bool


@dataclass(frozen=True, slots=True)
class ShutOut(Statement):
    """A needed man of the king's own who shuts a defender's line to the checker or the check."""

    man: Man
    defender: Man
    target: chess.Square
    action: Literal["capture", "interposition"]


@dataclass(frozen=True, slots=True)
class NoDefender(Statement):
    """All that matters near the king lies on one colour, and no man of his covers it."""

    dark: bool
    squares: tuple[chess.Square, ...]
    post: chess.Square
    """Where a bishop of that colour would stand and end the mate."""


# --- what else would do --------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class OtherKind:
    """Another kind of man, and where he would do."""

    kind: chess.PieceType
    places: Places


@dataclass(frozen=True, slots=True)
class Instead(Statement):
    """What would do in place of a needed man.

    `same_square`: other kinds on his square alone; `elsewhere`: his own kind on other
    squares; `others`: other kinds with their squares (his own square among them).
    """

    man: Man
    same_square: tuple[chess.PieceType, ...]
    elsewhere: Places
    others: tuple[OtherKind, ...]


@dataclass(frozen=True, slots=True)
class NotNeeded(Statement):
    """Men that seem to matter and do not.

    They seem to answer for `squares`; `by` answer for all of these without them (empty if it
    takes more than one).  `own`: they are the king's own men, each on one of the squares.
    """

    men: tuple[Man, ...]
    own: bool
    squares: tuple[chess.Square, ...]
    by: tuple[Man, ...]


# --- what would have saved him -------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LuftMissing(Statement):
    """A pawn one step ahead would have let the king out over the square he left."""

    pawn: Man
    to: chess.Square
    flight: chess.Square
    back_rank: bool
    """Whether it is the back rank that needed it."""
    in_the_way: bool
    """Whether it has been said that this pawn alone stands in the king's way."""


IdeaKind = Literal["guards", "takes", "stands on", "shuts"]


@dataclass(frozen=True, slots=True)
class Idea:
    """One idea of defence: what an added man would do, and natural examples of him.

    "shuts": any kind of man on the one square of `squares`, in the way of `target`.
    """

    kind: IdeaKind
    squares: tuple[chess.Square, ...]
    target: Man | None
    examples: tuple[tuple[chess.PieceType, chess.Square], ...]


@dataclass(frozen=True, slots=True)
class Saved(Statement):
    """The ideas that would have saved the king; `first` if luft has not been told before."""

    ideas: tuple[Idea, ...]
    after_luft: bool
