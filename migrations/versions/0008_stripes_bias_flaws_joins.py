"""What cloth demands of a lay: the repeat of a stripe or check and where its bars lie on a remnant, a piece's anchor and
grain, where a flaw may lie, and panels joined from two."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    for name in ("repeat_along", "repeat_across"):
        op.add_column("cloth", sa.Column(name, sa.Double(), nullable=True))
    op.add_column("cloth", sa.Column("bar", sa.String(80), nullable=False, server_default=""))
    for name in ("uneven_along", "uneven_across"):
        op.add_column("cloth", sa.Column(name, sa.Boolean(), nullable=False, server_default=sa.false()))
    for name in ("repeat_along", "repeat_across", "bar_x", "bar_y"):
        op.add_column("remnant", sa.Column(name, sa.Double(), nullable=True))
    op.add_column("remnant_fault", sa.Column("may_lie", sa.String(20), nullable=True))
    op.add_column("pattern_piece", sa.Column("grain", sa.String(20), nullable=False, server_default="warp-wise"))
    op.add_column("pattern_piece", sa.Column("front", sa.Boolean(), nullable=False, server_default=sa.false()))
    op.add_column("pattern_piece", sa.Column("anchor", sa.JSON(), nullable=True))
    op.add_column("pattern_piece", sa.Column("join_zones", sa.JSON(), nullable=False, server_default="[]"))
    for name in ("matched", "mirrored"):
        op.add_column("job", sa.Column(name, sa.Boolean(), nullable=False, server_default=sa.true()))
    for name in ("part", "joined"):
        op.add_column("lay_panel", sa.Column(name, sa.Integer(), nullable=True))
    op.add_column("lay_panel", sa.Column("seam", sa.JSON(), nullable=True))


def downgrade() -> None:
    raise NotImplementedError("a stash is not taken back to older tables: restore the copy made before the upgrade")
