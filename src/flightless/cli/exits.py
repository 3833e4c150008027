"""Exit codes, in one place, as documented in docs/commands.md."""

from __future__ import annotations

from enum import IntEnum

__all__ = ["Exit"]


class Exit(IntEnum):
    """What the process answers the shell."""

    DONE = 0
    """The question was answered."""
    NOT_VERIFIED = 1
    """`check`: a proof does not hold."""
    INPUT = 2
    """Usage or input: nothing could be done with what was given, or a line was refused."""
    UNDECIDED = 3
    """The budget was spent before a position was decided."""
    FAULT = 70
    """A fault of the program's own (EX_SOFTWARE of sysexits.h)."""
    INTERRUPTED = 130
    """Ctrl-C (128 + SIGINT, the shell's convention)."""

    @classmethod
    def of_lines(cls, *, refused: bool, undecided: bool) -> Exit:
        """For many lines: 2 if any was refused, else 3 if any is undecided, else 0."""
        if refused:
            return cls.INPUT
        return cls.UNDECIDED if undecided else cls.DONE
