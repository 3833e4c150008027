"""What is said of the mate itself: the check, the king's squares, the work, what is wrong.

Reads a `Scene`; chooses and groups, and says nothing twice.
"""

from __future__ import annotations

import chess

from flightless.cases.case import Man
from flightless.words.facts.scene import Scene
from flightless.words.facts.statements import (
    AfterKey,
    Check,
    Contact,
    DoubleCheck,
    Duty,
    Enough,
    Hindrance,
    InTheWay,
    LoneGuard,
    Safe,
    ShutOut,
    Squares,
    Statement,
    TwoThings,
)
from flightless.words.notation import Step
from flightless.words.places import by_name, line_through

__all__ = ["check_of", "in_the_way", "other_end", "squares_of", "work_of", "wrong_of"]


# --- the check -----------------------------------------------------------------------------


def check_of(scene: Scene, after: tuple[Step, ...] = ()) -> list[Statement]:
    """Who checks, and why neither capture nor interposition answers.

    `after` is the line that leads here, if it has not been told.
    """
    two = _two_things(scene)
    told: list[Statement]
    if len(scene.case.checkers) > 1:
        told = [_double_check(scene, two, after)]
    else:
        told = [_single_check(scene, two, after)]
    if two is not None:
        told.append(TwoThings(two))
    if len(scene.case.checkers) == 1:
        checker = scene.case.checkers[0]
        between = tuple(sorted(scene.case.interposition_squares, key=by_name))
        out_of_reach = not scene.next_to_king(checker)
        pins = two.pins if two is not None else ()
        hindrances = tuple(h for h in scene.hindrances if h not in pins)
        if out_of_reach or hindrances:
            told.append(Safe(scene.man(checker), out_of_reach, between, hindrances))
    return told


def _double_check(scene: Scene, two: Duty | None, after: tuple[Step, ...]) -> DoubleCheck:
    said = {m.square for m in two.protects} if two is not None else set()
    adjacent = tuple(
        (scene.man(c), scene.man(scene.guard_of[c]))
        for c in scene.case.checkers
        if scene.next_to_king(c) and c not in said
    )
    return DoubleCheck(scene.men(scene.case.checkers), scene.king, adjacent, after)


def _single_check(scene: Scene, two: Duty | None, after: tuple[Step, ...]) -> Check:
    checker = scene.case.checkers[0]
    contact = _contact(scene, checker)
    line = None
    if contact == "far":
        line = line_through(checker, scene.case.king, scene.home_rank)
    protector, mutual = None, False
    if scene.next_to_king(checker):
        guards = scene.guard_of
        guard = guards[checker]
        protector = None if two is not None and two.man.square == guard else scene.man(guard)
        mutual = guards.get(guard) == checker
    return Check(
        scene.man(checker),
        scene.king,
        contact,
        line,
        protector,
        mutual,
        after,
        discovered=bool(scene.case.discovered),
    )


def _contact(scene: Scene, checker: chess.Square) -> Contact:
    kind = scene.board.piece_type_at(checker)
    if kind == chess.KNIGHT:
        return "knight"
    if kind == chess.PAWN:
        return "pawn"
    if not scene.next_to_king(checker):
        return "far"
    return "before" if _stands_before(checker, scene.case.king) else "beside"


def _stands_before(checker: chess.Square, king: chess.Square) -> bool:
    """Straight next to a king on the edge, on the side of the board."""
    file, rank = chess.square_file(king), chess.square_rank(king)
    step = (chess.square_file(checker) - file, chess.square_rank(checker) - rank)
    inward = {(1, 0): file == 0, (-1, 0): file == 7, (0, 1): rank == 0, (0, -1): rank == 7}
    in_corner = file in (0, 7) and rank in (0, 7)
    return inward.get(step, False) and (not in_corner or step[0] == 0)


# --- the king's squares --------------------------------------------------------------------


def squares_of(scene: Scene) -> list[Statement]:
    """The king's squares grouped by reason."""
    two = _two_things(scene)
    near = {scene.man(c) for c in scene.case.checkers if scene.next_to_king(c)}
    duties = []
    for duty in _duties(scene):
        if two is not None and duty.man == two.man:
            continue
        left = Duty(duty.man, duty.guards, _still_to_say(scene, duty, near))
        if left.kinds:
            duties.append(left)
    all_held = len(scene.blocked) == len(scene.field)
    held = _held(scene)
    return [Squares(scene.case.mated, held, all_held, tuple(duties))] if held or duties else []


def _still_to_say(scene: Scene, duty: Duty, near: set[Man]) -> tuple[Man, ...]:
    """Whom a man protects, without what the check said: the checker, and the other of two who
    protect each other."""
    guards = scene.guard_of
    mutual = {c for c in scene.case.checkers if guards.get(guards.get(c, c)) == c}
    return tuple(
        m
        for m in duty.protects
        if m not in near and not (duty.man.square in mutual and guards[duty.man.square] == m.square)
    )


def _duties(scene: Scene) -> list[Duty]:
    """The mating men who answer for something, checkers first."""
    by_man: dict[chess.Square, list[chess.Square]] = {}
    for square, guard in scene.guard_of.items():
        by_man.setdefault(guard, []).append(square)
    pins: dict[chess.Square, list[Hindrance]] = {}
    for hindrance in scene.hindrances:
        if hindrance.why == "pinned" and len(hindrance.by) == 1:
            pins.setdefault(hindrance.by[0].square, []).append(hindrance)
    order = sorted(by_man, key=lambda g: (g not in scene.case.checkers, *by_name(g)))
    duties = []
    for guard in order:
        occupied = [s for s in by_man[guard] if scene.board.piece_at(s)]
        empty = tuple(s for s in by_man[guard] if s not in occupied)
        pinned = tuple(pins.get(guard, ()))
        duties.append(Duty(scene.man(guard), empty, scene.men(occupied), pinned))
    return duties


def _two_things(scene: Scene) -> Duty | None:
    """The first man besides the checkers with two kinds of duty that make a lesson: he
    protects the checker or pins a defender, and he guards."""
    for duty in _duties(scene):
        square = duty.man.square
        if square in scene.case.checkers or scene.guard_of.get(square) in scene.case.checkers:
            continue  # two who protect each other are told of together
        lesson = duty.pins or any(m.square in scene.case.checkers for m in duty.protects)
        if lesson and duty.kinds > 1:
            return duty
    return None


def _held(scene: Scene) -> tuple[tuple[chess.PieceType, tuple[chess.Square, ...]], ...]:
    by_kind: dict[chess.PieceType, list[chess.Square]] = {}
    for f in scene.blocked:
        assert f.square is not None
        by_kind.setdefault(scene.man(f.square).piece.piece_type, []).append(f.square)
    groups = [(kind, tuple(squares)) for kind, squares in by_kind.items()]
    return tuple(sorted(groups, key=lambda g: (-len(g[1]), g[0])))


def other_end(scene: Scene, told: Scene, line: tuple[Step, ...]) -> AfterKey:
    """Another final position, by what differs in it from the one told before."""
    before = {f.square: f for f in told.field}
    held, guarded = [], []
    for f in scene.field:
        assert f.square is not None
        old = before.get(f.square)
        if f.square in scene.case.checkers:
            continue
        if f.state == "blocked":
            if old is None or old.state != "blocked":
                held.append(f.square)
            continue
        guards = [s for s in f.by if s in scene.part] or list(f.by)
        if old is None or old.state != "guarded" or not set(guards) & set(old.by):
            guarded.append((f.square, scene.man(guards[0])))
    return AfterKey(line, scene.men(scene.case.checkers), tuple(guarded), scene.men(held))


def work_of(scene: Scene) -> list[Statement]:
    """The men that are enough, if others stand about; the one square on one guard."""
    told: list[Statement] = []
    idle = [m for m in scene.cast if m.square not in scene.part]
    if len(idle) >= 2 and len(scene.blocked) < len(scene.field):
        told.append(_enough(scene))
    lone = [
        (f.square, f.by[0])
        for f in scene.field
        if f.square is not None
        and len(f.reasons) == 1
        and f.state == "guarded"
        and f.by[0] not in (*scene.case.checkers, scene.case.mating_king)
    ]
    if len(lone) == 1:
        square, guard = lone[0]
        two = _two_things(scene)
        if two is not None and two.man.square == guard:
            return told
        told.append(LoneGuard(square, scene.man(guard)))
    return told


def _enough(scene: Scene) -> Enough:
    """The men of the skeleton, and those who must keep a defender off.  One who only shields his
    own king is no part of the lesson."""
    own = [s for s in scene.part if scene.is_own(s)]
    theirs = [s for s in {*scene.part, *scene.case.needed} if not scene.is_own(s)]
    busy = {d.man.square for d in _duties(scene)} | set(scene.case.checkers)
    busy |= {man.square for h in scene.hindrances for man in h.by}
    for f in scene.blocked:
        if f.square not in scene.part:
            busy |= set(f.also_guarded_by)
    mating = [scene.man(s) for s in theirs if s in busy]
    mating.sort(key=lambda m: (m.piece.piece_type == chess.KING, -m.piece.piece_type, m.square))
    plainly = bool(in_the_way(scene)) or len(own) > 2 or len(mating) < len(theirs)
    return Enough(tuple(mating), scene.men(own), plainly)


def in_the_way(scene: Scene) -> list[chess.Square]:
    """Needed own men whose square the king goes to without them."""
    return [
        f.square
        for f in scene.blocked
        if f.square is not None
        and f.square in scene.case.needed
        and chess.Move(scene.case.king, f.square) in scene.removal(f.square).answers
    ]


def wrong_of(scene: Scene) -> list[Statement]:
    """The king's own men in his way, or in a defender's."""
    told: list[Statement] = []
    in_way = in_the_way(scene)
    if in_way:
        told.append(InTheWay(scene.men(in_way), len(in_way) == len(scene.blocked)))
    for held in scene.case.held_off:
        if (
            held.why == "shut off"
            and all(scene.is_own(s) for s in held.by)
            and held.by[0] not in in_way
            and scene.is_shut_by_needed(held)
        ):
            told.append(
                ShutOut(scene.man(held.by[0]), scene.man(held.man), held.target, held.action)
            )
            break
    return told
