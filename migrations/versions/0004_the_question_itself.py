"""For the question itself: what a job asks of lots and pairs, seen or hidden by job, a lay's aim and until when it holds."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("job", sa.Column("one_lot", sa.Boolean(), nullable=False, server_default=sa.false()))
    op.add_column("job", sa.Column("pairs_together", sa.Boolean(), nullable=False, server_default=sa.false()))
    op.add_column("job_piece", sa.Column("hidden", sa.Boolean(), nullable=True))
    op.add_column("lay", sa.Column("aim", sa.String(20), nullable=True))
    op.add_column("lay", sa.Column("holds_until", sa.Date(), nullable=True))


def downgrade() -> None:
    raise NotImplementedError("a stash is not taken back to older tables: restore the copy made before the upgrade")
