"""The words for grades."""

from __future__ import annotations

__all__ = ["LEVELS", "level_of"]

LEVELS = ("first steps", "easy", "medium", "hard", "very hard")
"""The words for grades, the easiest first."""

_UPTO = (-1.25, -0.4, 0.5, 1.5)


def level_of(difficulty: float) -> str:
    """The word for a grade: the first of `LEVELS` whose upper bound (-1.25, -0.4, 0.5, 1.5) is
    not passed."""
    return LEVELS[sum(difficulty > bound for bound in _UPTO)]
