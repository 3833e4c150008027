"""The casebook's tables as SQLAlchemy models.

Identity and text of a position stand in `positions`, everything that lists are filtered by in
the narrow `facets`, so that a look through a million positions reads some forty megabytes.
Migrations make the tables; a test holds models and migrations together.
"""

from __future__ import annotations

from sqlalchemy import ForeignKey, Index, Integer, MetaData, SmallInteger, String, Text
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

__all__ = [
    "Base",
    "CaseRow",
    "FacetsRow",
    "GeometryRow",
    "MetaRow",
    "NameRow",
    "NoteRow",
    "OccurrenceRow",
    "PatternRow",
    "PositionPatternRow",
    "PositionRow",
    "PositionTagRow",
    "ProofRow",
    "SourceRow",
    "SourceTextRow",
    "TagRow",
    "UseRow",
    "WorthRow",
]


class Base(DeclarativeBase):
    """The registry of all tables; constraints are named so that migrations can name them."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s",
            "pk": "pk_%(table_name)s",
        }
    )


def _number() -> Mapped[int]:
    """A primary key that the program gives out itself, the same way on every database."""
    return mapped_column(Integer, primary_key=True, autoincrement=False)


def _position(*, primary: bool = True) -> Mapped[int]:
    return mapped_column(
        ForeignKey("positions.id", ondelete="CASCADE"), primary_key=primary, autoincrement=False
    )


class MetaRow(Base):
    """What holds for the casebook as a whole, such as the next number of a position."""

    __tablename__ = "meta"
    name: Mapped[str] = mapped_column(String(40), primary_key=True)
    value: Mapped[str] = mapped_column(Text)


class PositionRow(Base):
    """A position once, however many games it occurs in."""

    __tablename__ = "positions"
    id: Mapped[int] = _number()
    key: Mapped[str] = mapped_column(String(100), unique=True)
    """FEN's first four fields, en passant only if legal."""
    halfmove: Mapped[int]
    fullmove: Mapped[int]
    proved: Mapped[bool]
    shortest: Mapped[bool]
    keys: Mapped[str] = mapped_column(Text)
    """Every key in UCI, with spaces between."""
    line: Mapped[str] = mapped_column(Text)
    """The main line in SAN, with spaces between."""
    skeleton: Mapped[str | None] = mapped_column(String(120))


_OFTEN = ("side", "phase", "kinds", "natures", "uses")

_RARELY = ("men", "difficulty", "first_year", "last_year", "geometry_id")


class FacetsRow(Base):
    """What a position is filtered by, in small numbers (see `codes`).

    The first two indexes have all that is often asked together, in order of position, so that
    a length or a tandem is paged and counted without the table.  The third has everything, in
    order of worth, so that the best of any filter are found by walking along it.
    """

    __tablename__ = "facets"
    __table_args__ = (
        Index("ix_facets_by_moves", "moves", "position_id", *_OFTEN, "tandem"),
        Index("ix_facets_by_tandem", "tandem", "position_id", *_OFTEN, "moves"),
        Index("ix_facets_by_worth", "worth", "position_id", *_OFTEN, "moves", "tandem", *_RARELY),
        Index(None, "difficulty"),
        Index(None, "men"),
    )
    position_id: Mapped[int] = _position()
    moves: Mapped[int | None] = mapped_column(SmallInteger)
    side: Mapped[int] = mapped_column(SmallInteger)
    phase: Mapped[int] = mapped_column(SmallInteger)
    kinds: Mapped[int] = mapped_column(SmallInteger)
    natures: Mapped[int] = mapped_column(Integer)
    men: Mapped[int] = mapped_column(SmallInteger)
    uses: Mapped[int] = mapped_column(Integer)
    first_year: Mapped[int | None] = mapped_column(SmallInteger)
    last_year: Mapped[int | None] = mapped_column(SmallInteger)
    tandem: Mapped[str | None] = mapped_column(String(8))
    difficulty: Mapped[float | None]
    geometry_id: Mapped[int | None] = mapped_column(ForeignKey("geometries.id"), index=True)
    worth: Mapped[int] = mapped_column(SmallInteger, server_default="-1")
    """What it is worth in class in ten-thousandths, or a code of `codes` below nought."""


class GeometryRow(Base):
    """A geometry key of skeletons."""

    __tablename__ = "geometries"
    id: Mapped[int] = _number()
    key: Mapped[str] = mapped_column(Text, unique=True)


class PatternRow(Base):
    """A pattern's name."""

    __tablename__ = "patterns"
    id: Mapped[int] = _number()
    name: Mapped[str] = mapped_column(String(200), unique=True)


class PositionPatternRow(Base):
    """A pattern that fits a position; `rank` 0 is the most specific."""

    __tablename__ = "position_patterns"
    __table_args__ = (Index(None, "position_id"), {"sqlite_with_rowid": False})
    pattern_id: Mapped[int] = mapped_column(
        ForeignKey("patterns.id"), primary_key=True, autoincrement=False
    )
    position_id: Mapped[int] = _position()
    rank: Mapped[int] = mapped_column(SmallInteger)


class TagRow(Base):
    """A tag of the coach's own."""

    __tablename__ = "tags"
    id: Mapped[int] = _number()
    name: Mapped[str] = mapped_column(String(200), unique=True)


class PositionTagRow(Base):
    """A tag on a position."""

    __tablename__ = "position_tags"
    __table_args__ = (Index(None, "position_id"), {"sqlite_with_rowid": False})
    tag_id: Mapped[int] = mapped_column(
        ForeignKey("tags.id"), primary_key=True, autoincrement=False
    )
    position_id: Mapped[int] = _position()


class UseRow(Base):
    """A lesson that a position was used in."""

    __tablename__ = "uses"
    __table_args__ = (Index(None, "position_id"), {"sqlite_with_rowid": False})
    lesson: Mapped[str] = mapped_column(String(200), primary_key=True)
    position_id: Mapped[int] = _position()


class NameRow(Base):
    """A player, event or site as it is searched for: folded, each once."""

    __tablename__ = "names"
    id: Mapped[int] = _number()
    folded: Mapped[str] = mapped_column(Text, unique=True)


class SourceRow(Base):
    """A game, or another place that positions come from: what it is found by."""

    __tablename__ = "sources"
    id: Mapped[int] = _number()
    key: Mapped[str] = mapped_column(String(32), unique=True)
    """Digest of what makes it the same game (see `games.source_key`)."""
    white_id: Mapped[int | None] = mapped_column(ForeignKey("names.id"), index=True)
    black_id: Mapped[int | None] = mapped_column(ForeignKey("names.id"), index=True)
    event_id: Mapped[int | None] = mapped_column(ForeignKey("names.id"), index=True)
    site_id: Mapped[int | None] = mapped_column(ForeignKey("names.id"), index=True)
    year: Mapped[int | None] = mapped_column(SmallInteger)


class SourceTextRow(Base):
    """What a game says of itself, and where it was read; read only when it is shown."""

    __tablename__ = "source_texts"
    source_id: Mapped[int] = mapped_column(
        ForeignKey("sources.id", ondelete="CASCADE"), primary_key=True, autoincrement=False
    )
    file: Mapped[str] = mapped_column(Text)
    number: Mapped[int | None]
    tags: Mapped[str] = mapped_column(Text)
    """All PGN tags word for word, as JSON in ASCII: any text at all survives any database."""


class OccurrenceRow(Base):
    """A position in a game."""

    __tablename__ = "occurrences"
    __table_args__ = (Index(None, "source_id", "position_id"), {"sqlite_with_rowid": False})
    position_id: Mapped[int] = _position()
    source_id: Mapped[int] = mapped_column(
        ForeignKey("sources.id"), primary_key=True, autoincrement=False
    )
    ply: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    kind: Mapped[int] = mapped_column(SmallInteger, primary_key=True, autoincrement=False)
    facts: Mapped[str] = mapped_column(Text)


class ProofRow(Base):
    """The proof document of a position, as JSON in ASCII."""

    __tablename__ = "proofs"
    position_id: Mapped[int] = _position()
    document: Mapped[str] = mapped_column(Text)


class CaseRow(Base):
    """The case document of a position, as JSON in ASCII."""

    __tablename__ = "cases"
    position_id: Mapped[int] = _position()
    document: Mapped[str] = mapped_column(Text)


class WorthRow(Base):
    """Why a position is worth so much in class: the document of those who weighed it, as JSON
    in ASCII."""

    __tablename__ = "worths"
    position_id: Mapped[int] = _position()
    document: Mapped[str] = mapped_column(Text)


class NoteRow(Base):
    """The coach's own note on a position."""

    __tablename__ = "notes"
    position_id: Mapped[int] = _position()
    text: Mapped[str] = mapped_column(Text)
    """As JSON in ASCII, word for word."""
    folded: Mapped[str] = mapped_column(Text)
