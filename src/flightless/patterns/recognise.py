"""The recogniser: all names that fit a mate, the most specific first.

A name is given if one of the pattern's forms holds in one skeleton of the case; the answer
says in which, and who plays which role.  The catalogue is read once; a coach's own folders
are put beside the built-in one by `load_catalogue`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType

import chess

from flightless.cases.case import Case, Skeleton
from flightless.errors import FileError
from flightless.patterns.facts import facts_of
from flightless.patterns.matching import match
from flightless.patterns.reading import read_folder
from flightless.patterns.vocabulary import Pattern

__all__ = ["Catalogue", "Name", "catalogue", "load_catalogue", "names"]

_BUILT_IN = Path(__file__).with_name("catalogue")


@dataclass(frozen=True, slots=True)
class Name:
    """A name that fits a mate.

    `men` maps each role of the pattern's file to the squares of those who play it in
    `skeleton`; own men in the way have the role 'blockers' unless the file says otherwise.
    """

    name: str
    pattern: Pattern
    skeleton: Skeleton
    men: Mapping[str, tuple[chess.Square, ...]]

    @property
    def shown(self) -> str:
        """The description and then the name, for a screen or a sheet."""
        return self.pattern.shown


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Patterns in the order in which their names are given: children before parents."""

    patterns: tuple[Pattern, ...]

    def __getitem__(self, name: str) -> Pattern:
        """The pattern of that name; capitals do not matter where no name is written so."""
        for pattern in self.patterns:
            if pattern.name == name:
                return pattern
        for pattern in self.patterns:
            if pattern.name.casefold() == name.strip().casefold():
                return pattern
        raise KeyError(name)


@lru_cache(maxsize=1)
def catalogue() -> Catalogue:
    """The built-in catalogue."""
    return load_catalogue()


def load_catalogue(*folders: Path) -> Catalogue:
    """The built-in catalogue and the patterns of `folders`, which may not repeat its names.

    Raises `FileError` for a file with an error, a name given twice or an unknown parent.
    """
    found: dict[str, Pattern] = {}
    for folder in (_BUILT_IN, *folders):
        for pattern in read_folder(folder):
            if pattern.name in found:
                first = found[pattern.name].file
                raise FileError(
                    f"{pattern.file}, name: {pattern.name!r} is already the name in {first}"
                )
            found[pattern.name] = pattern
    depths = {name: _depth(found, name, ()) for name in found}
    ordered = sorted(found.values(), key=lambda p: (-depths[p.name], -_detail(p), p.name))
    return Catalogue(tuple(ordered))


def _depth(found: Mapping[str, Pattern], name: str, below: tuple[str, ...]) -> int:
    pattern = found[name]
    if name in below:
        raise FileError(f"{pattern.file}, parents: {name!r} is among its own parents")
    for parent in pattern.parents:
        if parent not in found:
            raise FileError(f"{pattern.file}, parents: {parent!r} is not in the catalogue")
    return 1 + max((_depth(found, p, (*below, name)) for p in pattern.parents), default=-1)


def _detail(pattern: Pattern) -> int:
    """How much a pattern asks for, in the form that asks least: roles and squares."""
    return min(
        len(form.men)
        + sum(bool(r.stands) + len(r.guards) + (r.supports is not None) for r in form.men)
        + sum(clause.at_least for clause in form.blocked)
        + (form.place == "here")
        for form in pattern.forms
    )


def names(case: Case, among: Catalogue | None = None) -> tuple[Name, ...]:
    """All names that fit the case, the most specific first (a parent after its children)."""
    facts = facts_of(case)
    found = []
    for pattern in (among or catalogue()).patterns:
        for form in pattern.forms:
            hit = match(form, facts)
            if hit is not None:
                number, roles = hit
                men = {role: tuple(chess.scan_forward(mask)) for role, mask in roles.items()}
                found.append(
                    Name(pattern.name, pattern, case.skeletons[number], MappingProxyType(men))
                )
                break
    return tuple(found)
