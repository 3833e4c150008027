"""What a position is worth in class: a number among the facets with its index, and the reasons.

Positions of before are not weighed yet; `flightless casebook weigh` does it.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

_INDEXED = (
    *("worth", "position_id", "side", "phase", "kinds", "natures", "uses", "moves", "tandem"),
    *("men", "difficulty", "first_year", "last_year", "geometry_id"),
)


def upgrade() -> None:
    """Add the column, its index and the table of reasons."""
    worth = sa.Column("worth", sa.SmallInteger, nullable=False, server_default="-1")
    op.add_column("facets", worth)
    op.create_index("ix_facets_by_worth", "facets", list(_INDEXED))
    op.create_table(
        "worths",
        sa.Column("position_id", sa.Integer, autoincrement=False, nullable=False),
        sa.Column("document", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("position_id", name="pk_worths"),
        sa.ForeignKeyConstraint(
            ["position_id"], ["positions.id"], "fk_worths_position_id", ondelete="CASCADE"
        ),
    )


def downgrade() -> None:
    """Forget what positions are worth."""
    op.drop_table("worths")
    op.drop_index("ix_facets_by_worth", "facets")
    op.drop_column("facets", "worth")
