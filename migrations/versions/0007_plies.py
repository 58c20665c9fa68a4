"""For stacks: how thick a cloth is, how far a remnant is out of square, where each ply of a lay lies, which panels one tracing
makes."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("cloth", sa.Column("thickness", sa.Double(), nullable=True))
    op.add_column("remnant", sa.Column("skew", sa.Double(), nullable=True))
    op.add_column("lay", sa.Column("slip", sa.Double(), nullable=True))
    for name in ("tracing", "ply"):
        op.add_column("lay_panel", sa.Column(name, sa.Integer(), nullable=True))
    op.create_table(
        "lay_ply",
        sa.Column("lay_id", sa.Integer(), nullable=False),
        sa.Column("stack", sa.Integer(), nullable=False),
        sa.Column("ply", sa.Integer(), nullable=False),
        sa.Column("remnant_id", sa.Integer(), nullable=False),
        *(sa.Column(name, sa.Double(), nullable=False) for name in ("x", "y", "turn")),
        sa.Column("flipped", sa.Boolean(), nullable=False),
        sa.Column("fold", sa.Double(), nullable=True),
        sa.Column("half", sa.String(20), nullable=True),
        sa.ForeignKeyConstraint(["lay_id"], ["lay.id"], name=op.f("fk_lay_ply_lay_id_lay")),
        sa.ForeignKeyConstraint(["remnant_id"], ["remnant.id"], name=op.f("fk_lay_ply_remnant_id_remnant")),
        sa.PrimaryKeyConstraint("lay_id", "stack", "ply", name=op.f("pk_lay_ply")),
    )
    op.create_index("ix_lay_ply_remnant_id", "lay_ply", ["remnant_id"])


def downgrade() -> None:
    raise NotImplementedError("a stash is not taken back to older tables: restore the copy made before the upgrade")
