"""Photographs of remnants, by content."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "photograph",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("remnant_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("kept_at", sa.DateTime(), nullable=False),
        sa.Column("kept_by", sa.String(40), nullable=False),
        sa.ForeignKeyConstraint(["remnant_id"], ["remnant.id"], name=op.f("fk_photograph_remnant_id_remnant")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_photograph")),
    )
    op.create_index("ix_photograph_remnant_id", "photograph", ["remnant_id"])


def downgrade() -> None:
    raise NotImplementedError("a stash is not taken back to older tables: restore the copy made before the upgrade")
