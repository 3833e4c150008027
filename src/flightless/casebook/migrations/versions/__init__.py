"""Alembic's folder: one file a change of the format, run by `flightless.casebook.schema`."""
