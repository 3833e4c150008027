"""How Alembic runs here: on the connection and in the transaction that it is handed."""

from __future__ import annotations

from alembic import context

from flightless.casebook.models import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    transactional_ddl=True,
)
context.run_migrations()
