"""For the person at the table: envelopes, descriptions mended, measures before, prices and dates, lays planned again."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

BEFORE_DATES = "1970-01-01"
"""Only for the moment in which the column is made: every row is then given its own date."""


def upgrade() -> None:
    op.create_table(
        "envelope",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("tag", sa.String(40), nullable=False),
        sa.Column("cloth_id", sa.Integer(), nullable=False),
        sa.Column("lot", sa.String(80), nullable=False),
        sa.Column("place_id", sa.Integer(), nullable=True),
        sa.Column("area", sa.BigInteger(), nullable=False),
        sa.Column("mass", sa.BigInteger(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("opened_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("area >= 0 AND mass >= 0", name=op.f("ck_envelope_amounts")),
        sa.ForeignKeyConstraint(["cloth_id"], ["cloth.id"], name=op.f("fk_envelope_cloth_id_cloth")),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_envelope_place_id_place")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_envelope")),
        sa.UniqueConstraint("tag", name=op.f("uq_envelope_tag")),
    )
    op.create_index("ix_envelope_cloth_id", "envelope", ["cloth_id"])
    op.create_index("ix_envelope_place_id", "envelope", ["place_id"])
    op.create_table(
        "mended",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("by", sa.String(40), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("subject", sa.String(20), nullable=False),
        sa.Column("subject_id", sa.Integer(), nullable=False),
        sa.Column("what", sa.String(40), nullable=False),
        sa.Column("before", sa.Text(), nullable=False),
        sa.Column("after", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_mended")),
    )
    op.create_index("ix_mended_subject_subject_id", "mended", ["subject", "subject_id"])
    op.create_table(
        "remnant_before",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("remnant_id", sa.Integer(), nullable=False),
        sa.Column("entry_id", sa.Integer(), nullable=True),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("shape", sa.LargeBinary(), nullable=False),
        sa.Column("rough", sa.Boolean(), nullable=False),
        sa.Column("area", sa.BigInteger(), nullable=False),
        sa.Column("mass", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["entry_id"], ["book_entry.id"], name=op.f("fk_remnant_before_entry_id_book_entry")),
        sa.ForeignKeyConstraint(["remnant_id"], ["remnant.id"], name=op.f("fk_remnant_before_remnant_id_remnant")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_remnant_before")),
    )
    op.create_index("ix_remnant_before_entry_id", "remnant_before", ["entry_id"])
    op.create_index("ix_remnant_before_remnant_id", "remnant_before", ["remnant_id"])

    for name in ("weight_within", "selvedge", "shrinks_warp", "shrinks_weft"):
        op.add_column("cloth", sa.Column(name, sa.Double(), nullable=True))
    op.add_column("cloth", sa.Column("price", sa.BigInteger(), nullable=True))
    op.add_column("setting", sa.Column("words", sa.String(40), nullable=True))

    op.add_column("remnant", sa.Column("price", sa.BigInteger(), nullable=True))
    op.add_column("remnant", sa.Column("came_on", sa.Date(), nullable=False, server_default=BEFORE_DATES))
    op.add_column("remnant", sa.Column("confirmed_at", sa.DateTime(), nullable=True))
    op.add_column("remnant", sa.Column("confirmed_by", sa.String(40), nullable=False, server_default=""))
    day = "date(logged_at)" if op.get_bind().dialect.name == "sqlite" else "CAST(logged_at AS DATE)"
    op.execute(f"UPDATE remnant SET came_on = {day}")
    # Whoever logged a remnant had it in hand; a keeper was computed, and nobody was asked whether it came out so.
    op.execute("UPDATE remnant SET confirmed_at = logged_at WHERE parent_id IS NULL")

    add_reference("lay", "replaces_id", "lay")
    add_reference("book_line", "envelope_id", "envelope")


def add_reference(table: str, column: str, to: str) -> None:
    """A column that points to another table, added in place: SQLite takes the two only together, and to make the table anew
    would leave the book without the triggers that guard it."""
    constraint = f"fk_{table}_{column}_{to}"
    op.execute(f"ALTER TABLE {table} ADD COLUMN {column} INTEGER CONSTRAINT {constraint} REFERENCES {to} (id)")
    op.create_index(f"ix_{table}_{column}", table, [column])


def downgrade() -> None:
    raise NotImplementedError("a stash is not taken back to older tables: restore the copy made before the upgrade")
