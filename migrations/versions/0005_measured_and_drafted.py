"""For outlines by tape and drafted patterns: how a remnant was measured and how surely; a piece's edges, notches, fold, joins
and draft; what is sewn to what; how far a cloth frays."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("cloth", sa.Column("frays", sa.Double(), nullable=True))
    for name in ("way", "grain_by"):
        op.add_column("remnant", sa.Column(name, sa.String(20), nullable=True))
    for name in ("within", "area_within"):
        op.add_column("remnant", sa.Column(name, sa.Double(), nullable=True))
    op.add_column("remnant", sa.Column("told", sa.Text(), nullable=False, server_default=""))
    op.add_column("pattern", sa.Column("seams", sa.JSON(), nullable=False, server_default="[]"))
    for name in ("edges", "notches", "joins"):
        op.add_column("pattern_piece", sa.Column(name, sa.JSON(), nullable=False, server_default="[]"))
    for name in ("fold", "draft"):
        op.add_column("pattern_piece", sa.Column(name, sa.JSON(), nullable=True))
    op.add_column("pattern_piece", sa.Column("count", sa.Integer(), nullable=False, server_default="1"))


def downgrade() -> None:
    raise NotImplementedError("a stash is not taken back to older tables: restore the copy made before the upgrade")
