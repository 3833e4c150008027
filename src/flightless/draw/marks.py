"""Which square or man carries which mark: the roles of a case, ready to be drawn.

Only what the case says is looked up here; the shapes of the marks are in `markshapes`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from enum import Enum

import chess

from flightless.cases.case import Case, FieldSquare, HeldOff, Man
from flightless.draw.labels import ENGLISH, Labels

__all__ = ["EVERY_ROLE", "FIELD_ROLES", "NOTHING", "Marks", "Role", "held_by_one", "marks_of"]


class Role(Enum):
    """What a mark says.  The value is the name of the field in `Marks` and in `Labels`."""

    BLOCKED = "blocked"
    GUARDED = "guarded"
    OFF_BOARD = "off_board"
    ONE_ONLY = "one_only"
    CHECKS = "checks"
    SUPPORTS = "supports"
    NEEDED = "needed"
    NOT_NEEDED = "not_needed"
    HELD_OFF = "held_off"
    CHANGED = "changed"
    GONE = "gone"
    FREE = "free"
    DEFENDED = "defended"

    def label(self, labels: Labels = ENGLISH) -> str:
        """The mark's meaning in words."""
        return str(getattr(labels, self.value))


EVERY_ROLE = frozenset(Role)
FIELD_ROLES = frozenset(
    {
        Role.BLOCKED,
        Role.GUARDED,
        Role.OFF_BOARD,
        Role.ONE_ONLY,
        Role.CHECKS,
        Role.SUPPORTS,
        Role.HELD_OFF,
    }
)
"""What holds the king: the marks of the ledger, without the verdict on each man."""


@dataclass(frozen=True, slots=True)
class Marks:
    """Squares by role, each tuple in square order.

    `off_board` are steps (file, rank) from the king that leave the board; `king` is the
    square they count from and the target of `checks`.  `held_off` are men of the king's side
    who could take the checker or stand between, but for a pin or a man in their way.  `gone`
    are men who no longer stand where they stood; `changed` the squares that differ in a pair
    of diagrams; `free` squares to which the king can go, `defended` those where another man
    answers the check.
    """

    king: chess.Square | None = None
    blocked: tuple[chess.Square, ...] = ()
    guarded: tuple[chess.Square, ...] = ()
    off_board: tuple[tuple[int, int], ...] = ()
    one_only: tuple[chess.Square, ...] = ()
    checks: tuple[chess.Square, ...] = ()
    supports: tuple[chess.Square, ...] = ()
    needed: tuple[chess.Square, ...] = ()
    not_needed: tuple[chess.Square, ...] = ()
    held_off: tuple[chess.Square, ...] = ()
    changed: tuple[chess.Square, ...] = ()
    gone: tuple[Man, ...] = ()
    free: tuple[chess.Square, ...] = ()
    defended: tuple[chess.Square, ...] = ()

    def roles(self) -> tuple[Role, ...]:
        """The roles that occur, in the order of the legend."""
        return tuple(role for role in Role if getattr(self, role.value))

    def only(self, roles: Iterable[Role]) -> Marks:
        """The same marks with every other role left out."""
        kept = {role.value for role in roles} | {"king"}
        dropped = {f.name: () for f in fields(self) if f.name not in kept}
        return replace(self, **dropped)  # type: ignore[arg-type]

    def squares(self, role: Role) -> tuple[chess.Square, ...]:
        """The squares that carry `role`; none for off the board."""
        if role is Role.OFF_BOARD:
            return ()
        if role is Role.GONE:
            return tuple(man.square for man in self.gone)
        found: tuple[chess.Square, ...] = getattr(self, role.value)
        return found

    def in_words(self, labels: Labels = ENGLISH) -> str:
        """The marks read out, role by role; empty if there are none."""
        said = []
        for role in self.roles():
            names = ", ".join(chess.square_name(square) for square in self.squares(role))
            if role is Role.OFF_BOARD:
                names = str(len(self.off_board))
            said.append(labels.mark_on.format(mark=role.label(labels), squares=names))
        return " ".join(line[:1].upper() + line[1:] for line in said)


NOTHING = Marks()


def held_by_one(case: Case, square: FieldSquare) -> bool:
    """Whether one man alone answers for `square`, and it is worth saying.

    What the only checker holds is not counted: without him there is no check, so his squares
    teach nothing.  With two checkers they count like all others.
    """
    if square.square is None or len(square.reasons) != 1:
        return False
    return case.checkers != square.reasons


def marks_of(case: Case, roles: Iterable[Role] = EVERY_ROLE) -> Marks:
    """The marks that `case` asks for, limited to `roles`.

    Men that are not needed are marked only where a pupil would think that they matter: those
    who answer for a square of the field or stand on one; men who are shut off only where a
    needed man does it, and none for a double check, which says it all.
    """
    on_board = [s for s in case.field if s.square is not None]
    near = {s.square for s in on_board} | {man for s in on_board for man in s.reasons}
    contact = [c for c in case.checkers if chess.square_distance(c, case.king) == 1]
    supports = {man for c in contact for man in case.checker_protectors.get(c, ())}
    marks = Marks(
        king=case.king,
        blocked=_squares(s.square for s in on_board if s.state == "blocked"),
        guarded=_squares(s.square for s in on_board if s.state == "guarded" or s.also_guarded_by),
        off_board=tuple(sorted(s.step for s in case.field if s.square is None)),
        one_only=_squares(s.square for s in on_board if held_by_one(case, s)),
        checks=case.checkers,
        supports=_squares(supports),
        needed=_squares(case.needed),
        not_needed=_squares(man for man in case.not_needed if man in near),
        held_off=_squares({off.man for off in case.held_off if _is_held(case, off)}),
    )
    return marks.only(roles)


def _is_held(case: Case, off: HeldOff) -> bool:
    if off.why == "shut off":
        return any(man in case.needed for man in off.by)
    return off.why != "double check"


def _squares(squares: Iterable[chess.Square | None]) -> tuple[chess.Square, ...]:
    return tuple(sorted(square for square in squares if square is not None))
