"""Why an answer is right or wrong, as frozen facts in no language.

Each class is one reason; all of it is computed by the modules that mark.  `words.reasons` has
a rule for each and speaks it in one or two sentences.  Positions are FENs whose move number
is the one that a sentence should use.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import chess

from flightless.cases.answers import Answer
from flightless.cases.case import Man

__all__ = [
    "AsGiven",
    "BadSquare",
    "CannotMove",
    "CannotPlace",
    "CheckAnswered",
    "Escape",
    "GivesMate",
    "Holds",
    "IsThreat",
    "LedgerDone",
    "LedgerFault",
    "Mates",
    "MatesLater",
    "NameFits",
    "NameMissing",
    "NoCheck",
    "NoMateFound",
    "NoneThere",
    "NotHeld",
    "NotPawn",
    "Parry",
    "QuietAnswered",
    "Reason",
    "Removal",
    "Shut",
    "Stalemates",
    "Standing",
    "ThereIsOne",
    "Trial",
    "Unreadable",
    "WorksIn",
    "WrongChoice",
]


class Reason:
    """Base of all reasons."""

    __slots__ = ()


# --- parts of reasons ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Shut:
    """`man` would guard the square, but `by` stands in his way."""

    man: Man
    by: Man


@dataclass(frozen=True, slots=True)
class Escape:
    """One legal answer to a check: the one that a coach would show first.

    `fen` is the position in check, `man` who answers, `taken` whom he takes.  For a flight,
    `shut` are the line men who would guard the square but for one man.  `others` is the number
    of further answers.
    """

    fen: str
    move: chess.Move
    how: Answer
    man: Man
    taken: Man | None
    shut: tuple[Shut, ...]
    others: int


How = Literal[
    "takes him",
    "check",
    "takes there",
    "stands between",
    "flight",
    "not possible",
    "pinned",
    "later",
]


@dataclass(frozen=True, slots=True)
class Parry:
    """How a reply stops a threat.

    `fen` is the position before the reply, `threat` the threatened move, `man` who replied (on
    the square he left), `answer` the move that meets the threat when it is carried out after
    all.  `how`: the reply takes the man who threatens; gives check; or after it the same man
    can take him there, or stand between; or the king has a square; or the threat is no longer
    possible, or its man is pinned; or it comes too late ("later").  `same`: it is the man who
    replied who gives the answer.
    """

    fen: str
    reply: chess.Move
    threat: chess.Move
    how: How
    man: Man
    answer: chess.Move | None = None
    same: bool = False


# --- answers that cannot be taken ------------------------------------------------------------

Expected = Literal[
    "a move",
    "a line",
    "mate, check or stalemate",
    "a man",
    "a man on a square",
    "two men on squares",
    "a ledger",
    "a kind of man",
    "a name",
    "A or B",
]


@dataclass(frozen=True, slots=True)
class Unreadable(Reason):
    """The text is no answer of the kind that is asked for."""

    text: str
    expected: Expected


CannotWhy = Literal[
    "no such man",
    "empty",
    "other side",
    "cannot reach",
    "in the way",
    "own man",
    "pinned",
    "in check",
    "into check",
    "several",
    "promotion",
    "castling",
]


@dataclass(frozen=True, slots=True)
class CannotMove(Reason):
    """The text means a move that the Laws do not allow in `fen`.

    `kind` is the kind of man meant, `men` those of that kind who could be meant, `to` the
    target, `by` the men who forbid it (in his way, pinning, checking, guarding, or the own man
    on the target).
    """

    fen: str
    text: str
    why: CannotWhy
    kind: chess.PieceType
    to: chess.Square | None = None
    men: tuple[Man, ...] = ()
    by: tuple[Man, ...] = ()


@dataclass(frozen=True, slots=True)
class CannotPlace(Reason):
    """A man cannot be put there: the square is "taken" (`by` stands there), it is an "end rank"
    for a pawn, or the man is "not offered"."""

    man: Man
    why: Literal["taken", "end rank", "not offered"]
    by: Man | None = None


@dataclass(frozen=True, slots=True)
class WrongChoice(Reason):
    """Something that is not among the choices."""

    text: str
    choices: tuple[str, ...]


# --- moves -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Mates(Reason):
    """The move mates in `moves`, as was asked.

    `played` are the moves given, the last of them the pupil's, `rest` how it goes on against
    the longest defence.  `threat` is the mating line that a quiet move threatens.  `ways` is how
    many first moves do it, `another` that the answer is not the first of the key.
    """

    fen: str
    played: tuple[chess.Move, ...]
    moves: int
    rest: tuple[chess.Move, ...]
    threat: tuple[chess.Move, ...]
    ways: int
    another: bool


@dataclass(frozen=True, slots=True)
class MatesLater(Reason):
    """The move mates, but in `moves` instead of `asked`; no reply holds out longer than `reply`.

    `played` ends with the move; positions are counted from `fen`.
    """

    fen: str
    played: tuple[chess.Move, ...]
    moves: int
    asked: int
    reply: chess.Move | None


@dataclass(frozen=True, slots=True)
class Stalemates(Reason):
    """The last of `played` leaves the other side no legal move and gives no check."""

    fen: str
    played: tuple[chess.Move, ...]
    king: chess.Square


@dataclass(frozen=True, slots=True)
class CheckAnswered(Reason):
    """The last of `played` checks, and `escape` answers; `left` moves are left for the mate then
    and do not suffice.  With one left, `nearest` is the check that leaves fewest answers, and
    `met` the first of them."""

    fen: str
    played: tuple[chess.Move, ...]
    escape: Escape
    left: int
    nearest: chess.Move | None = None
    met: Escape | None = None


@dataclass(frozen=True, slots=True)
class QuietAnswered(Reason):
    """The last of `played` threatens the mate `threat`, but `parry` stops it; `left` moves are
    left and do not suffice."""

    fen: str
    played: tuple[chess.Move, ...]
    threat: tuple[chess.Move, ...]
    parry: Parry
    left: int


@dataclass(frozen=True, slots=True)
class NoCheck(Reason):
    """The last of `played` neither checks nor threatens mate within `left` moves; the other side
    can play on, for instance `reply`."""

    fen: str
    played: tuple[chess.Move, ...]
    reply: chess.Move | None
    left: int


@dataclass(frozen=True, slots=True)
class NoneThere(Reason):
    """Rightly said that there is no mate within `asked`.  `nearest` says why the move that comes
    nearest fails."""

    asked: int
    nearest: Reason | None = None


@dataclass(frozen=True, slots=True)
class ThereIsOne(Reason):
    """Wrongly said that there is no mate: there is one in `moves`, for `side`."""

    side: chess.Color
    moves: int


@dataclass(frozen=True, slots=True)
class NoMateFound(Reason):
    """The move does not mate within `asked`; the search ended before it found the defence."""

    fen: str
    played: tuple[chess.Move, ...]
    asked: int


@dataclass(frozen=True, slots=True)
class AsGiven(Reason):
    """The answer is the way that the task gives; another is asked for."""

    fen: str
    move: chess.Move


@dataclass(frozen=True, slots=True)
class IsThreat(Reason):
    """The move is the threat: it mates in `moves` if the defender passes.  `quiet` is the move
    that makes it, played in `fen`; `rest` goes on after `move`."""

    fen: str
    quiet: chess.Move
    move: chess.Move
    rest: tuple[chess.Move, ...]
    moves: int


# --- defence ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Holds(Reason):
    """The move prevents the mate.  `parry` says how it meets what was threatened; `only` that no
    other move (of those asked for) does."""

    fen: str
    move: chess.Move
    parry: Parry | None
    moves: int
    only: bool


@dataclass(frozen=True, slots=True)
class NotHeld(Reason):
    """After the move the mate comes all the same: `line` goes on from it to the mate."""

    fen: str
    move: chess.Move
    line: tuple[chess.Move, ...]
    threatened: bool
    """Whether the line begins with what was threatened anyway."""


@dataclass(frozen=True, slots=True)
class NotPawn(Reason):
    """A pawn move is asked for, and this is another man's."""

    man: Man


# --- the mated position ----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Standing(Reason):
    """How the side to move stands in `fen`: mated, in check, or stalemated; `said` is what the
    pupil took it for.  `checkers` give the check, `escape` is an answer to it."""

    fen: str
    standing: Literal["mate", "check", "stalemate"]
    said: Literal["mate", "check", "stalemate"]
    side: chess.Color
    king: chess.Square
    checkers: tuple[Man, ...]
    escape: Escape | None


@dataclass(frozen=True, slots=True)
class Removal(Reason):
    """What happens without the man: `escape` (then he is needed), no check any more
    (`check_gone`), or it is still mate; then `held` says who else answers for his squares."""

    man: Man
    escape: Escape | None
    check_gone: bool
    held: tuple[tuple[chess.Square, Man], ...]
    own_square: bool
    """Whether the man is of the king's side, so that his square is a square of the field."""


@dataclass(frozen=True, slots=True)
class Trial(Reason):
    """Men put on the board, and what comes of it: it is not mate.

    `fen` is the position with them.  `trouble`: there is "no check"; the mating side's "own
    king" is in check; or the check is "answered" by `escape`.  `target` is the man whom the
    placed one was to protect, and `reaches` whether he does; if not, `shut_by` may stand in
    his way.
    """

    fen: str
    men: tuple[Man, ...]
    trouble: Literal["no check", "own king", "answered", "stalemate"]
    escape: Escape | None = None
    target: Man | None = None
    reaches: bool = False
    shut_by: Man | None = None


@dataclass(frozen=True, slots=True)
class GivesMate(Reason):
    """With the men put on the board it is mate.

    `checks`, `protects` and `guards` are what the placed men do: who of them checks, whom they
    protect, which squares of the field they alone guard.  `others` are further right answers.
    """

    fen: str
    men: tuple[Man, ...]
    checks: tuple[Man, ...]
    protects: tuple[tuple[Man, Man], ...]
    guards: tuple[tuple[Man, tuple[chess.Square, ...]], ...]
    others: int


@dataclass(frozen=True, slots=True)
class LedgerDone(Reason):
    """Every square of the field has a true reason.  `lone` are the squares that hang on one man
    only, other than the checker."""

    squares: int
    lone: tuple[tuple[chess.Square, Man], ...]


@dataclass(frozen=True, slots=True)
class LedgerFault(Reason):
    """The first thing that is wrong in a ledger.

    "missing": `square` is not accounted for.  "false": `said` does not answer for it.
    In both, `by` are the men who do and `blocked` says that the first stands on it.  `right` of
    `all` squares are right.
    """

    problem: Literal["missing", "false"]
    square: chess.Square
    said: Man | None
    by: tuple[Man, ...]
    blocked: bool
    right: int
    all: int


@dataclass(frozen=True, slots=True)
class BadSquare(Reason):
    """A square in a ledger that is no square of the king's field, or on which the said man does
    not stand (`empty`)."""

    square: chess.Square
    king: chess.Square
    empty: bool


# --- names -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class NameFits(Reason):
    """The name fits: `description` and `known_as` are the catalogue's, `men` play its roles."""

    description: str
    known_as: str | None
    men: tuple[tuple[str, tuple[Man, ...]], ...]


Missing = Literal["man", "kind", "blocked", "place", "own man", "other piece", "other"]


@dataclass(frozen=True, slots=True)
class NameMissing(Reason):
    """The name does not fit, and why.

    `missing` is the one requirement but for which it would: a "man" in `role` (of `kinds`)
    who `does` something; a "kind": there is such a man (`found`) but of another kind; own men
    in the way ("blocked"); the king's "place"; "own man" or "other piece": one takes part who
    should not.  "other": it differs in more than one thing.  `right` are the names that fit.
    """

    description: str
    known_as: str | None
    missing: Missing
    role: str = ""
    kinds: tuple[chess.PieceType, ...] = ()
    does: Literal["checks", "protects", "guards", "stands"] = "stands"
    found: Man | None = None
    squares: tuple[chess.Square, ...] = ()
    fits: tuple[str, str | None] | None = None


# --- two positions ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class WorksIn(Reason):
    """The move works in one of two positions.

    `works` and `fails` are A or B, `said` what the pupil chose.  In `good` the move mates in
    `moves`, in `bad` it does not, for `why`.  `reply` is the defence that the pupil named, if
    any, and `reply_holds` whether it is one.
    """

    works: str
    fails: str
    said: str
    good: str
    move: chess.Move
    moves: int
    why: Reason
    reply: chess.Move | None = None
    reply_holds: bool | None = None
