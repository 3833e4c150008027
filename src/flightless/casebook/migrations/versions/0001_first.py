"""The first format: positions with their facets, games, patterns, tags, lessons and documents.

Written out rather than taken from the models, which will move on while this stays.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_NO_ROWID = {"sqlite_with_rowid": False}


def _number() -> sa.Column[int]:
    return sa.Column("id", sa.Integer, autoincrement=False, nullable=False)


def _position() -> sa.Column[int]:
    return sa.Column("position_id", sa.Integer, autoincrement=False, nullable=False)


def _of_position(table: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        ["position_id"], ["positions.id"], f"fk_{table}_position_id", ondelete="CASCADE"
    )


def _primary(table: str, *columns: str) -> sa.PrimaryKeyConstraint:
    return sa.PrimaryKeyConstraint(*columns, name=f"pk_{table}")


def _reference(table: str, column: str, target: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint([column], [f"{target}.id"], f"fk_{table}_{column}")


def _small(name: str, *, nullable: bool = False) -> sa.Column[int]:
    return sa.Column(name, sa.SmallInteger, nullable=nullable)


def _words(table: str, column: str, kind: sa.types.TypeEngine[str]) -> None:
    op.create_table(
        table,
        _number(),
        sa.Column(column, kind, nullable=False),
        _primary(table, "id"),
        sa.UniqueConstraint(column, name=f"uq_{table}_{column}"),
    )


def _document(table: str, *columns: sa.Column[str]) -> None:
    op.create_table(
        table, _position(), *columns, _primary(table, "position_id"), _of_position(table)
    )


def upgrade() -> None:
    """Make all tables."""
    op.create_table(
        "meta",
        sa.Column("name", sa.String(40), nullable=False),
        sa.Column("value", sa.Text, nullable=False),
        _primary("meta", "name"),
    )
    _words("geometries", "key", sa.Text())
    _words("patterns", "name", sa.String(200))
    _words("tags", "name", sa.String(200))
    _words("names", "folded", sa.Text())
    _positions()
    _facets()
    _labels()
    _games()
    _document("proofs", sa.Column("document", sa.Text, nullable=False))
    _document("cases", sa.Column("document", sa.Text, nullable=False))
    _document(
        "notes",
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("folded", sa.Text, nullable=False),
    )


def _positions() -> None:
    op.create_table(
        "positions",
        _number(),
        sa.Column("key", sa.String(100), nullable=False),
        sa.Column("halfmove", sa.Integer, nullable=False),
        sa.Column("fullmove", sa.Integer, nullable=False),
        sa.Column("proved", sa.Boolean, nullable=False),
        sa.Column("shortest", sa.Boolean, nullable=False),
        sa.Column("keys", sa.Text, nullable=False),
        sa.Column("line", sa.Text, nullable=False),
        sa.Column("skeleton", sa.String(120), nullable=True),
        _primary("positions", "id"),
        sa.UniqueConstraint("key", name="uq_positions_key"),
    )


def _facets() -> None:
    op.create_table(
        "facets",
        _position(),
        _small("moves", nullable=True),
        _small("side"),
        _small("phase"),
        _small("kinds"),
        sa.Column("natures", sa.Integer, nullable=False),
        _small("men"),
        sa.Column("uses", sa.Integer, nullable=False),
        _small("first_year", nullable=True),
        _small("last_year", nullable=True),
        sa.Column("tandem", sa.String(8), nullable=True),
        sa.Column("difficulty", sa.Double, nullable=True),
        sa.Column("geometry_id", sa.Integer, nullable=True),
        _primary("facets", "position_id"),
        _of_position("facets"),
        _reference("facets", "geometry_id", "geometries"),
    )
    often = ["side", "phase", "kinds", "natures", "uses"]
    for first, last in (("moves", "tandem"), ("tandem", "moves")):
        op.create_index(f"ix_facets_by_{first}", "facets", [first, "position_id", *often, last])
    for column in ("difficulty", "geometry_id", "men"):
        op.create_index(f"ix_facets_{column}", "facets", [column])


def _labels() -> None:
    op.create_table(
        "position_patterns",
        sa.Column("pattern_id", sa.Integer, autoincrement=False, nullable=False),
        _position(),
        _small("rank"),
        _primary("position_patterns", "pattern_id", "position_id"),
        _reference("position_patterns", "pattern_id", "patterns"),
        _of_position("position_patterns"),
        **_NO_ROWID,
    )
    op.create_table(
        "position_tags",
        sa.Column("tag_id", sa.Integer, autoincrement=False, nullable=False),
        _position(),
        _primary("position_tags", "tag_id", "position_id"),
        _reference("position_tags", "tag_id", "tags"),
        _of_position("position_tags"),
        **_NO_ROWID,
    )
    op.create_table(
        "uses",
        sa.Column("lesson", sa.String(200), nullable=False),
        _position(),
        _primary("uses", "lesson", "position_id"),
        _of_position("uses"),
        **_NO_ROWID,
    )
    for table in ("position_patterns", "position_tags", "uses"):
        op.create_index(f"ix_{table}_position_id", table, ["position_id"])


def _games() -> None:
    names = ("white_id", "black_id", "event_id", "site_id")
    op.create_table(
        "sources",
        _number(),
        sa.Column("key", sa.String(32), nullable=False),
        *(sa.Column(name, sa.Integer, nullable=True) for name in names),
        _small("year", nullable=True),
        _primary("sources", "id"),
        sa.UniqueConstraint("key", name="uq_sources_key"),
        *(_reference("sources", name, "names") for name in names),
    )
    for name in names:
        op.create_index(f"ix_sources_{name}", "sources", [name])
    op.create_table(
        "source_texts",
        sa.Column("source_id", sa.Integer, autoincrement=False, nullable=False),
        sa.Column("file", sa.Text, nullable=False),
        sa.Column("number", sa.Integer, nullable=True),
        sa.Column("tags", sa.Text, nullable=False),
        _primary("source_texts", "source_id"),
        sa.ForeignKeyConstraint(
            ["source_id"], ["sources.id"], "fk_source_texts_source_id", ondelete="CASCADE"
        ),
    )
    op.create_table(
        "occurrences",
        _position(),
        sa.Column("source_id", sa.Integer, autoincrement=False, nullable=False),
        sa.Column("ply", sa.Integer, autoincrement=False, nullable=False),
        _small("kind"),
        sa.Column("facts", sa.Text, nullable=False),
        _primary("occurrences", "position_id", "source_id", "ply", "kind"),
        _of_position("occurrences"),
        _reference("occurrences", "source_id", "sources"),
        **_NO_ROWID,
    )
    op.create_index(
        "ix_occurrences_source_id_position_id", "occurrences", ["source_id", "position_id"]
    )


def downgrade() -> None:
    """There is nothing before the first format."""
    raise NotImplementedError("the first format has none before it")
