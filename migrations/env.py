"""Alembic's environment: the connection and its transaction are handed in by `stash.schema`, which also commits."""

from __future__ import annotations

from alembic import context

from stash.tables import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    compare_type=True,
    render_as_batch=True,  # SQLite cannot alter a column or drop a constraint: the table is made anew and filled
)
context.run_migrations()
