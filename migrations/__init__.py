"""Every change of the stash's tables, in one chain without branches. Alembic is configured in code (`stash.schema`)."""
