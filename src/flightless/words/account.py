"""The finished account of a position: sentences in sections, in the order of the telling.

It holds text only; what is said is decided in `facts`, how it is said in a phrasebook.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

__all__ = ["SECTIONS", "Account", "Section", "SectionName"]

SectionName = Literal[
    "verdict",
    "check",
    "squares",
    "work",
    "wrong",
    "instead",
    "not needed",
    "saved",
    "way in",
]

SECTIONS: tuple[SectionName, ...] = get_args(SectionName)
"""The order in which a coach tells it."""


@dataclass(frozen=True, slots=True)
class Section:
    """The sentences on one matter; never empty."""

    name: SectionName
    sentences: tuple[str, ...]

    @property
    def text(self) -> str:
        """The sentences as one paragraph."""
        return " ".join(self.sentences)


@dataclass(frozen=True, slots=True)
class Account:
    """All that is said of one position.  A section with nothing to say is left out."""

    sections: tuple[Section, ...]
    language: str = "en"

    @property
    def sentences(self) -> tuple[str, ...]:
        """Every sentence in order."""
        return tuple(s for section in self.sections for s in section.sentences)

    @property
    def paragraphs(self) -> tuple[str, ...]:
        """The sections as a page sets them: those that belong together run on.

        The verdict, then the check with the king's squares, then what does the work and what
        is wrong, then the changes, then the way in.
        """
        together = (
            ("verdict",),
            ("check", "squares"),
            ("work", "wrong"),
            ("instead", "not needed"),
            ("saved",),
            ("way in",),
        )
        texts = (
            " ".join(section.text for section in self.sections if section.name in names)
            for names in together
        )
        return tuple(text for text in texts if text)

    @property
    def text(self) -> str:
        """The whole as plain text, a paragraph a line."""
        return "\n".join(self.paragraphs)

    def section(self, name: SectionName) -> tuple[str, ...]:
        """The sentences of one section; empty if it has nothing to say."""
        return next((s.sentences for s in self.sections if s.name == name), ())
