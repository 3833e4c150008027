"""Which patterns look like one another, and why a mate is of one and not of the other.

A pattern is tried on a mate with one requirement at a time let go.  If it fits then, that
requirement is the reason why it does not: the mate is a near miss, and the two are alike.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import chess

from flightless.cases.build import case_of
from flightless.cases.case import Case, Man
from flightless.exercises.reasons import Missing
from flightless.patterns.facts import Facts, facts_of
from flightless.patterns.matching import match
from flightless.patterns.recognise import catalogue
from flightless.patterns.vocabulary import KINDS, Form, ManRule, Pattern

__all__ = ["Gap", "alike", "gap_of", "nearest_names"]

Does = Literal["checks", "protects", "guards", "stands"]


@dataclass(frozen=True, slots=True)
class Gap:
    """What a mate lacks for a pattern: see `reasons.NameMissing`."""

    missing: Missing
    role: str = ""
    kinds: tuple[chess.PieceType, ...] = ()
    does: Does = "stands"
    found: Man | None = None

    @property
    def size(self) -> int:
        """How far off: 0 for a man of another kind, up to 6 for more than one thing."""
        return _ORDER.index(self.missing)


_ORDER: tuple[Missing, ...] = (
    "kind",
    "man",
    "blocked",
    "own man",
    "other piece",
    "place",
    "other",
)


def gap_of(pattern: Pattern, case: Case, facts: Facts | None = None) -> Gap | None:
    """The one requirement that keeps the case from being of the pattern; None if it is."""
    facts = facts or facts_of(case)
    if any(match(form, facts) for form in pattern.forms):
        return None
    found = [gap for form in pattern.forms for gap in _gaps(form, facts)]
    return min(found, key=lambda gap: gap.size, default=Gap("other"))


def _gaps(form: Form, facts: Facts) -> Iterator[Gap]:
    for number, rule in enumerate(form.men):
        gap = _without_rule(form, number, rule, facts)
        if gap is not None:
            yield gap
    for number in range(len(form.blocked)):
        left = form.blocked[:number] + form.blocked[number + 1 :]
        if match(replace(form, blocked=left), facts):
            yield Gap("blocked", form.blocked[number].role)
    if form.no_own_man_takes_part and match(replace(form, no_own_man_takes_part=False), facts):
        yield Gap("own man")
    if form.no_other_piece_takes_part and match(
        replace(form, no_other_piece_takes_part=False), facts
    ):
        yield Gap("other piece")
    if form.place != "anywhere" and match(replace(form, place="anywhere"), facts):
        yield Gap("place")


def _without_rule(form: Form, number: int, rule: ManRule, facts: Facts) -> Gap | None:
    before, after = form.men[:number], form.men[number + 1 :]
    kinds = tuple(sorted(rule.kinds, reverse=True)) if rule.kinds != KINDS["any man"] else ()
    loose = replace(rule, kinds=KINDS["any man"])
    hit = match(replace(form, men=(*before, loose, *after)), facts)
    if hit is not None and kinds:
        square = chess.msb(hit[1][rule.role])
        piece = facts.case.board.piece_at(square)
        assert piece is not None
        return Gap("kind", rule.role, kinds, _does(rule), Man(square, piece))
    if _is_named(form, rule.role):
        return None
    if match(replace(form, men=(*before, *after)), facts):
        return Gap("man", rule.role, kinds, _does(rule))
    return None


def _does(rule: ManRule) -> Does:
    if rule.checks:
        return "checks"
    if rule.supports is not None:
        return "protects"
    return "guards" if rule.guards or rule.guards_any or rule.holds else "stands"


def _is_named(form: Form, role: str) -> bool:
    """Whether another clause speaks of the man in this role."""
    for rule in form.men:
        if role in (rule.supports, rule.apart_from, rule.on_edge_with):
            return True
    return any(role in clause.by for clause in form.shut) or any(
        role in clause.of for clause in form.diagonals
    )


def nearest_names(case: Case) -> tuple[tuple[Pattern, Gap], ...]:
    """The patterns that do not fit a mate, those that nearly do first.

    Those that ask for one man and no more come last: they are told apart at a glance.
    """
    facts = facts_of(case)
    found = []
    for order, pattern in enumerate(catalogue().patterns):
        gap = gap_of(pattern, case, facts)
        if gap is not None:
            plain = all(len(form.men) == 1 and not form.blocked for form in pattern.forms)
            found.append((gap.size + plain * len(_ORDER), order, pattern, gap))
    found.sort(key=lambda entry: entry[:2])
    return tuple((pattern, gap) for _, _, pattern, gap in found)


@lru_cache(maxsize=64)
def alike(name: str) -> tuple[str, ...]:
    """Names of the patterns that a pupil may take for this one, the most alike first.

    Two are alike if the model of one lacks one requirement of the other, or, after these, if
    they are of one family.  Parents and children of the pattern are left out.
    """
    patterns = catalogue()
    pattern = patterns[name]
    case = _model(name)
    found = []
    for order, other in enumerate(patterns.patterns):
        if other.name == name or other.name in pattern.parents or name in other.parents:
            continue
        sizes = [
            gap.size if gap is not None else 0
            for gap in (gap_of(other, case), gap_of(pattern, _model(other.name)))
        ]
        size = min(sizes)
        same_family = other.family == pattern.family
        if size < _ORDER.index("other") or same_family:
            found.append((size, not same_family, order, other.name))
    return tuple(entry[-1] for entry in sorted(found))


@lru_cache(maxsize=128)
def _model(name: str) -> Case:
    return case_of(chess.Board(catalogue()[name].model.fen))
