"""Whether one form of a pattern holds in one skeleton, and with which men in which roles.

A search over the few men of the skeleton: each role in turn takes a man who can play it,
then the clauses between roles are tried.  Which forms exist, and what to do with a find, is
left to `recognise`.
"""

from __future__ import annotations

from collections.abc import Iterator

import chess

from flightless.patterns.facts import Facts
from flightless.patterns.frames import FIELD, Frame, Step, frames_for
from flightless.patterns.vocabulary import Blocked, Diagonals, Form, Line, ManRule, Shut

__all__ = ["Roles", "match"]

Roles = dict[str, chess.Bitboard]
"""The men who play each role, as masks."""

_FREEDOM = {"every edge": "all", "mirror of the files": "files", "as written": "as written"}
_NUMBER = {step: number for number, step in enumerate(FIELD)}


def match(form: Form, facts: Facts) -> tuple[int, Roles] | None:
    """The first skeleton (its number) in which the form holds, with the men in their roles."""
    if form.no_own_man_takes_part and facts.own_taking_part:
        return None
    frames = [
        frame
        for frame in frames_for(_FREEDOM[form.freedom], facts.case.mated)
        if _king_stands(form, frame.square[facts.case.king])
    ]
    if not frames:
        return None
    for number, skeleton in enumerate(facts.skeletons):
        if not _kinds_present(form, facts, skeleton):
            continue
        for frame in frames:
            roles = _match_in(form, facts, skeleton, frame)
            if roles is not None:
                return number, roles
    return None


def _king_stands(form: Form, king: chess.Square) -> bool:
    file, rank = king & 7, king >> 3
    match form.place:
        case "here":
            return king == form.king
        case "along the edge" | "along the home rank":
            return rank == 7
        case "off the edge":
            return 0 < file < 7 and 0 < rank < 7
        case "anywhere":
            return True


def _kinds_present(form: Form, facts: Facts, skeleton: chess.Bitboard) -> bool:
    men = skeleton & facts.mating
    kinds = {facts.kind[square] for square in chess.scan_forward(men)}
    if not all(rule.kinds & kinds for rule in form.men):
        return False
    checking = {facts.kind[s] for s in chess.scan_forward(men & facts.checkers)}
    return all(rule.kinds & checking for rule in form.men if rule.checks)


def _match_in(form: Form, facts: Facts, skeleton: chess.Bitboard, frame: Frame) -> Roles | None:
    roles: Roles = {}
    for clause in form.blocked:
        men = _blockers(clause, facts, skeleton, frame)
        if men is None:
            return None
        roles[clause.role] = roles.get(clause.role, 0) | men
    candidates = []
    for rule in form.men:
        fit = _candidates(rule, facts, skeleton, frame)
        if not fit:
            return None
        candidates.append(fit)
    for cast in _castings(candidates, 0):
        named = dict(zip((rule.role for rule in form.men), cast, strict=True))
        if (
            all(
                _relations_hold(rule, man, named, facts)
                for rule, man in zip(form.men, cast, strict=True)
            )
            and all(_shut(clause, named, facts, frame) for clause in form.shut)
            and all(_diagonals(clause, named, facts) for clause in form.diagonals)
            and not (form.no_other_piece_takes_part and _others(cast, facts))
        ):
            for rule, man in zip(form.men, cast, strict=True):
                roles[rule.role] = roles.get(rule.role, 0) | chess.BB_SQUARES[man]
            return roles
    return None


def _castings(
    candidates: list[list[chess.Square]], taken: chess.Bitboard
) -> Iterator[tuple[chess.Square, ...]]:
    if not candidates:
        yield ()
        return
    for man in candidates[0]:
        if not taken & chess.BB_SQUARES[man]:
            for rest in _castings(candidates[1:], taken | chess.BB_SQUARES[man]):
                yield (man, *rest)


def _candidates(
    rule: ManRule, facts: Facts, skeleton: chess.Bitboard, frame: Frame
) -> list[chess.Square]:
    men = skeleton & facts.mating
    if rule.checks:
        men &= facts.checkers
    for step in rule.guards:
        number = frame.from_field[_NUMBER[step]]
        if facts.on_board[number]:
            men &= facts.guards[number]
    steps = facts.steps(frame)
    return [
        man
        for man in chess.scan_forward(men)
        if facts.kind[man] in rule.kinds and _fits_alone(rule, man, steps[man], facts, frame)
    ]


def _fits_alone(rule: ManRule, man: chess.Square, step: Step, facts: Facts, frame: Frame) -> bool:
    if rule.distance is not None:
        near = max(abs(step[0]), abs(step[1])) == 1
        if near != (rule.distance == "next"):
            return False
    if rule.stands and not any(
        place.has(step) if isinstance(place, Line) else place == step for place in rule.stands
    ):
        return False
    mask = chess.BB_SQUARES[man]
    for held in rule.holds:
        number = frame.from_field[_NUMBER[held]]
        if facts.on_board[number] and not facts.guards[number] & mask and held != step:
            return False
    if rule.guards_any:
        numbers = [frame.from_field[_NUMBER[guarded]] for guarded in rule.guards_any]
        return any(facts.guards[number] & mask for number in numbers)
    return True


def _blockers(
    clause: Blocked, facts: Facts, skeleton: chess.Bitboard, frame: Frame
) -> chess.Bitboard | None:
    men, count = 0, 0
    for step in clause.squares:
        number = frame.from_field[_NUMBER[step]]
        if not facts.on_board[number]:
            count += clause.or_off_board
            continue
        man = facts.blocker[number]
        if not man or (not man & skeleton and not clause.need_not_take_part):
            continue
        if facts.kind[facts.squares[number]] in clause.kinds:
            count += 1
            men |= man
    return men if count >= clause.at_least else None


def _relations_hold(
    rule: ManRule, man: chess.Square, named: dict[str, chess.Square], facts: Facts
) -> bool:
    if rule.supports is not None:
        supported = named[rule.supports]
        if not facts.protectors(supported) & chess.BB_SQUARES[man]:
            return False
    if rule.apart_from is not None and chess.square_distance(man, named[rule.apart_from]) < 2:
        return False
    if rule.on_edge_with is not None:
        other = named[rule.on_edge_with]
        both = chess.BB_SQUARES[man] | chess.BB_SQUARES[other]
        edges = (chess.BB_FILE_A, chess.BB_FILE_H, chess.BB_RANK_1, chess.BB_RANK_8)
        return any(both & edge == both for edge in edges)
    return True


def _shut(clause: Shut, named: dict[str, chess.Square], facts: Facts, frame: Frame) -> bool:
    men = 0
    for role in clause.by:
        men |= chess.BB_SQUARES[named[role]]
    for step in clause.squares:
        number = frame.from_field[_NUMBER[step]]
        if facts.on_board[number] and not facts.guards[number] & men:
            return False
    return True


def _diagonals(clause: Diagonals, named: dict[str, chess.Square], facts: Facts) -> bool:
    first, second = named[clause.of[0]], named[clause.of[1]]
    slope = _slope(first, facts.case.king)
    beside = abs(_offset(first, slope) - _offset(second, slope)) == 1
    for number, square in enumerate(facts.squares):
        if square >= 0 and facts.guards[number] & chess.BB_SQUARES[second]:
            same = _slope(second, square) == slope
            if (clause.are == "crossing" and not same) or (
                clause.are == "neighbouring" and same and beside
            ):
                return True
    return False


def _slope(start: chess.Square, end: chess.Square) -> int:
    """1 for a diagonal that rises to the right, -1 for one that falls."""
    return 1 if ((end & 7) > (start & 7)) == ((end >> 3) > (start >> 3)) else -1


def _offset(square: chess.Square, slope: int) -> int:
    """Which of the parallel diagonals of a slope the square is on."""
    return (square >> 3) - slope * (square & 7)


def _others(cast: tuple[chess.Square, ...], facts: Facts) -> bool:
    named = 0
    for man in cast:
        named |= chess.BB_SQUARES[man]
    return bool(facts.pieces_taking_part & ~named)
