"""The main job: cloths, remnants, patterns, jobs, lay plans and the cloth book with its guards."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

# The book is only appended to. The database itself holds it to that, whoever writes: an entry says how many lines it has, and
# takes no more; neither an entry nor a line is changed or taken away.
GUARDED = ("book_entry", "book_line")
ONLY_APPENDED = "the cloth book is only appended to"
COMPLETE = "the entry has all its lines"
LINES_THERE = "(SELECT count(*) FROM book_line WHERE entry_id = NEW.entry_id)"
LINES_SAID = "(SELECT line_count FROM book_entry WHERE id = NEW.entry_id)"


def guard_sqlite() -> None:
    for table in GUARDED:
        for change in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{change.lower()} BEFORE {change} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{ONLY_APPENDED}'); END"
            )
    op.execute(
        f"CREATE TRIGGER book_line_complete BEFORE INSERT ON book_line WHEN {LINES_THERE} >= {LINES_SAID} "
        f"BEGIN SELECT RAISE(ABORT, '{COMPLETE}'); END"
    )


def guard_postgresql() -> None:
    op.execute(
        "CREATE FUNCTION book_is_only_appended_to() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{ONLY_APPENDED}'; END $$"
    )
    for table in GUARDED:
        op.execute(
            f"CREATE TRIGGER {table}_only_appended BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION book_is_only_appended_to()"
        )
    op.execute(
        "CREATE FUNCTION book_entry_is_complete() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN IF {LINES_THERE} >= {LINES_SAID} THEN RAISE EXCEPTION '{COMPLETE}'; END IF; RETURN NEW; END $$"
    )
    op.execute(
        "CREATE TRIGGER book_line_complete BEFORE INSERT ON book_line FOR EACH ROW EXECUTE FUNCTION book_entry_is_complete()"
    )


def upgrade() -> None:
    op.create_table(
        "cloth",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("key", sa.String(80), nullable=False),
        sa.Column("weight", sa.Double(), nullable=False),
        sa.Column("weave", sa.String(80), nullable=False),
        sa.Column("colour", sa.String(80), nullable=False),
        sa.Column("lot", sa.String(80), nullable=False),
        sa.Column("width", sa.Double(), nullable=True),
        sa.Column("one_way", sa.Boolean(), nullable=False),
        sa.Column("faces_alike", sa.Boolean(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("added_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("weight > 0", name=op.f("ck_cloth_weight")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_cloth")),
        sa.UniqueConstraint("key", name=op.f("uq_cloth_key")),
    )
    op.create_table(
        "job",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("key", sa.String(80), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job")),
        sa.UniqueConstraint("key", name=op.f("uq_job_key")),
    )
    op.create_table(
        "pattern",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("key", sa.String(80), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("added_at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pattern")),
        sa.UniqueConstraint("key", name=op.f("uq_pattern_key")),
    )
    op.create_table(
        "place",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("key", sa.String(80), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_place")),
        sa.UniqueConstraint("key", name=op.f("uq_place_key")),
    )
    op.create_table(
        "setting",
        sa.Column("name", sa.String(40), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_setting")),
    )
    op.create_table(
        "cloth_fibre",
        sa.Column("cloth_id", sa.Integer(), nullable=False),
        sa.Column("fibre", sa.String(40), nullable=False),
        sa.Column("share", sa.Integer(), nullable=False),
        sa.CheckConstraint("share > 0 AND share <= 10000", name=op.f("ck_cloth_fibre_share")),
        sa.ForeignKeyConstraint(["cloth_id"], ["cloth.id"], name=op.f("fk_cloth_fibre_cloth_id_cloth")),
        sa.PrimaryKeyConstraint("cloth_id", "fibre", name=op.f("pk_cloth_fibre")),
    )
    op.create_index("ix_cloth_fibre_fibre", "cloth_fibre", ["fibre"])

    op.create_table(
        "lay",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(20), nullable=False),
        sa.Column("case", sa.JSON(), nullable=False),
        sa.Column("gap", sa.Double(), nullable=False),
        sa.Column("edge", sa.Double(), nullable=False),
        sa.Column("placed", sa.Integer(), nullable=False),
        sa.Column("bound", sa.Integer(), nullable=True),
        sa.Column("proved", sa.Boolean(), nullable=False),
        sa.Column("complete", sa.Boolean(), nullable=False),
        sa.Column("cost", sa.Double(), nullable=True),
        sa.Column("least_cost", sa.Double(), nullable=True),
        sa.Column("rounds", sa.Integer(), nullable=False),
        sa.Column("seed", sa.Integer(), nullable=False),
        sa.Column("seconds", sa.Double(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("tried_at", sa.DateTime(), nullable=False),
        sa.Column("tried_by", sa.String(40), nullable=False),
        sa.Column("chalked_at", sa.DateTime(), nullable=True),
        sa.Column("chalked_by", sa.String(40), nullable=False),
        sa.Column("cut_at", sa.DateTime(), nullable=True),
        sa.Column("cut_by", sa.String(40), nullable=False),
        sa.Column("rubbed_out_at", sa.DateTime(), nullable=True),
        sa.Column("rubbed_out_by", sa.String(40), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_lay_job_id_job")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lay")),
    )
    op.create_index("ix_lay_job_id", "lay", ["job_id"])
    op.create_index("ix_lay_state", "lay", ["state"])

    op.create_table(
        "pattern_piece",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("pattern_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("key", sa.String(80), nullable=False),
        sa.Column("sewing_line", sa.LargeBinary(), nullable=False),
        sa.Column("cut_line", sa.LargeBinary(), nullable=False),
        sa.Column("allowances", sa.JSON(), nullable=False),
        sa.Column("drawn", sa.String(20), nullable=False),
        sa.Column("grain_angle", sa.Double(), nullable=False),
        sa.Column("one_way", sa.Boolean(), nullable=False),
        sa.Column("left_and_right", sa.Boolean(), nullable=False),
        sa.Column("hidden", sa.Boolean(), nullable=False),
        sa.Column("off_grain", sa.Double(), nullable=False),
        sa.CheckConstraint("off_grain >= 0 AND off_grain <= 45", name=op.f("ck_pattern_piece_off_grain")),
        sa.ForeignKeyConstraint(["pattern_id"], ["pattern.id"], name=op.f("fk_pattern_piece_pattern_id_pattern")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pattern_piece")),
        sa.UniqueConstraint("pattern_id", "key", name=op.f("uq_pattern_piece_pattern_id_key")),
    )
    op.create_table(
        "book_entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("event", sa.String(20), nullable=False),
        sa.Column("by", sa.String(40), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("lay_id", sa.Integer(), nullable=True),
        sa.Column("undoes_id", sa.Integer(), nullable=True),
        sa.Column("line_count", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["lay_id"], ["lay.id"], name=op.f("fk_book_entry_lay_id_lay")),
        sa.ForeignKeyConstraint(["undoes_id"], ["book_entry.id"], name=op.f("fk_book_entry_undoes_id_book_entry")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_book_entry")),
        sa.UniqueConstraint("undoes_id", name=op.f("uq_book_entry_undoes_id")),
    )
    op.create_index("ix_book_entry_at", "book_entry", ["at"])
    op.create_index("ix_book_entry_event", "book_entry", ["event"])
    op.create_index("ix_book_entry_lay_id", "book_entry", ["lay_id"])

    op.create_table(
        "job_piece",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("spares", sa.Integer(), nullable=False),
        sa.Column("fibres", sa.JSON(), nullable=False),
        sa.Column("weight_from", sa.Double(), nullable=True),
        sa.Column("weight_to", sa.Double(), nullable=True),
        sa.Column("colours", sa.JSON(), nullable=False),
        sa.Column("weaves", sa.JSON(), nullable=False),
        sa.Column("washed", sa.Boolean(), nullable=False),
        sa.CheckConstraint("count > 0 AND spares >= 0", name=op.f("ck_job_piece_counts")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_job_piece_job_id_job")),
        sa.ForeignKeyConstraint(["piece_id"], ["pattern_piece.id"], name=op.f("fk_job_piece_piece_id_pattern_piece")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job_piece")),
    )
    op.create_index("ix_job_piece_job_id", "job_piece", ["job_id"])
    op.create_index("ix_job_piece_piece_id", "job_piece", ["piece_id"])

    op.create_table(
        "remnant",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("tag", sa.String(40), nullable=False),
        sa.Column("cloth_id", sa.Integer(), nullable=False),
        sa.Column("parent_id", sa.Integer(), nullable=True),
        sa.Column("state", sa.String(20), nullable=False),
        sa.Column("held_by_id", sa.Integer(), nullable=True),
        sa.Column("place_id", sa.Integer(), nullable=True),
        sa.Column("outline", sa.LargeBinary(), nullable=False),
        sa.Column("rough", sa.Boolean(), nullable=False),
        sa.Column("one_way", sa.Boolean(), nullable=False),
        sa.Column("grain_angle", sa.Double(), nullable=False),
        sa.Column("face_up", sa.String(20), nullable=False),
        sa.Column("nap", sa.String(20), nullable=True),
        sa.Column("area", sa.BigInteger(), nullable=False),
        sa.Column("mass", sa.BigInteger(), nullable=False),
        sa.Column("weighed", sa.Boolean(), nullable=False),
        sa.Column("length", sa.Double(), nullable=False),
        sa.Column("width", sa.Double(), nullable=False),
        sa.Column("rect_length", sa.Double(), nullable=False),
        sa.Column("rect_width", sa.Double(), nullable=False),
        sa.Column("washed", sa.String(80), nullable=False),
        sa.Column("source", sa.String(20), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("logged_at", sa.DateTime(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("quarantined_at", sa.DateTime(), nullable=True),
        sa.Column("quarantined_by", sa.String(40), nullable=False),
        sa.Column("quarantine_reason", sa.Text(), nullable=False),
        sa.Column("released_at", sa.DateTime(), nullable=True),
        sa.Column("released_by", sa.String(40), nullable=False),
        sa.CheckConstraint("(state = 'held') = (held_by_id IS NOT NULL)", name=op.f("ck_remnant_held")),
        sa.CheckConstraint("area > 0 AND mass >= 0", name=op.f("ck_remnant_amounts")),
        sa.ForeignKeyConstraint(["cloth_id"], ["cloth.id"], name=op.f("fk_remnant_cloth_id_cloth")),
        sa.ForeignKeyConstraint(["held_by_id"], ["lay.id"], name=op.f("fk_remnant_held_by_id_lay")),
        sa.ForeignKeyConstraint(["parent_id"], ["remnant.id"], name=op.f("fk_remnant_parent_id_remnant")),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_remnant_place_id_place")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_remnant")),
        sa.UniqueConstraint("tag", name=op.f("uq_remnant_tag")),
    )
    op.create_index("ix_remnant_cloth_id", "remnant", ["cloth_id"])
    op.create_index("ix_remnant_held_by_id", "remnant", ["held_by_id"])
    op.create_index("ix_remnant_parent_id", "remnant", ["parent_id"])
    op.create_index("ix_remnant_place_id", "remnant", ["place_id"])
    op.create_index("ix_remnant_state_cloth_id", "remnant", ["state", "cloth_id"])
    op.create_index("ix_remnant_state_rect_length_rect_width", "remnant", ["state", "rect_length", "rect_width"])

    op.create_table(
        "book_line",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("entry_id", sa.Integer(), nullable=False),
        sa.Column("account", sa.String(20), nullable=False),
        sa.Column("detail", sa.String(80), nullable=False),
        sa.Column("cloth_id", sa.Integer(), nullable=False),
        sa.Column("remnant_id", sa.Integer(), nullable=True),
        sa.Column("job_id", sa.Integer(), nullable=True),
        sa.Column("area", sa.BigInteger(), nullable=False),
        sa.Column("mass", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["cloth_id"], ["cloth.id"], name=op.f("fk_book_line_cloth_id_cloth")),
        sa.ForeignKeyConstraint(["entry_id"], ["book_entry.id"], name=op.f("fk_book_line_entry_id_book_entry")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_book_line_job_id_job")),
        sa.ForeignKeyConstraint(["remnant_id"], ["remnant.id"], name=op.f("fk_book_line_remnant_id_remnant")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_book_line")),
    )
    op.create_index("ix_book_line_account", "book_line", ["account"])
    op.create_index("ix_book_line_cloth_id", "book_line", ["cloth_id"])
    op.create_index("ix_book_line_entry_id", "book_line", ["entry_id"])
    op.create_index("ix_book_line_job_id", "book_line", ["job_id"])
    op.create_index("ix_book_line_remnant_id", "book_line", ["remnant_id"])

    op.create_table(
        "job_piece_cloth",
        sa.Column("job_piece_id", sa.Integer(), nullable=False),
        sa.Column("cloth_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["cloth_id"], ["cloth.id"], name=op.f("fk_job_piece_cloth_cloth_id_cloth")),
        sa.ForeignKeyConstraint(["job_piece_id"], ["job_piece.id"], name=op.f("fk_job_piece_cloth_job_piece_id_job_piece")),
        sa.PrimaryKeyConstraint("job_piece_id", "cloth_id", name=op.f("pk_job_piece_cloth")),
    )
    op.create_index("ix_job_piece_cloth_cloth_id", "job_piece_cloth", ["cloth_id"])

    op.create_table(
        "lay_count",
        sa.Column("lay_id", sa.Integer(), nullable=False),
        sa.Column("job_piece_id", sa.Integer(), nullable=False),
        sa.Column("wanted", sa.Integer(), nullable=False),
        sa.Column("spares", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["job_piece_id"], ["job_piece.id"], name=op.f("fk_lay_count_job_piece_id_job_piece")),
        sa.ForeignKeyConstraint(["lay_id"], ["lay.id"], name=op.f("fk_lay_count_lay_id_lay")),
        sa.PrimaryKeyConstraint("lay_id", "job_piece_id", name=op.f("pk_lay_count")),
    )
    op.create_table(
        "lay_panel",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("lay_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("remnant_id", sa.Integer(), nullable=False),
        sa.Column("job_piece_id", sa.Integer(), nullable=False),
        sa.Column("panel", sa.String(200), nullable=False),
        sa.Column("hand", sa.String(20), nullable=True),
        sa.Column("x", sa.Double(), nullable=False),
        sa.Column("y", sa.Double(), nullable=False),
        sa.Column("turn", sa.Double(), nullable=False),
        sa.Column("flipped", sa.Boolean(), nullable=False),
        sa.Column("fate", sa.String(20), nullable=False),
        sa.Column("area", sa.BigInteger(), nullable=True),
        sa.Column("mass", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(["job_piece_id"], ["job_piece.id"], name=op.f("fk_lay_panel_job_piece_id_job_piece")),
        sa.ForeignKeyConstraint(["lay_id"], ["lay.id"], name=op.f("fk_lay_panel_lay_id_lay")),
        sa.ForeignKeyConstraint(["remnant_id"], ["remnant.id"], name=op.f("fk_lay_panel_remnant_id_remnant")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lay_panel")),
        sa.UniqueConstraint("lay_id", "number", name=op.f("uq_lay_panel_lay_id_number")),
    )
    op.create_index("ix_lay_panel_job_piece_id", "lay_panel", ["job_piece_id"])
    op.create_index("ix_lay_panel_remnant_id", "lay_panel", ["remnant_id"])

    op.create_table(
        "lay_sheet",
        sa.Column("lay_id", sa.Integer(), nullable=False),
        sa.Column("remnant_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["lay_id"], ["lay.id"], name=op.f("fk_lay_sheet_lay_id_lay")),
        sa.ForeignKeyConstraint(["remnant_id"], ["remnant.id"], name=op.f("fk_lay_sheet_remnant_id_remnant")),
        sa.PrimaryKeyConstraint("lay_id", "remnant_id", name=op.f("pk_lay_sheet")),
    )
    op.create_index("ix_lay_sheet_remnant_id", "lay_sheet", ["remnant_id"])

    op.create_table(
        "remnant_edge",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("remnant_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("line", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["remnant_id"], ["remnant.id"], name=op.f("fk_remnant_edge_remnant_id_remnant")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_remnant_edge")),
    )
    op.create_index("ix_remnant_edge_remnant_id", "remnant_edge", ["remnant_id"])

    op.create_table(
        "remnant_fault",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("remnant_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("face", sa.String(20), nullable=False),
        sa.Column("shape", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["remnant_id"], ["remnant.id"], name=op.f("fk_remnant_fault_remnant_id_remnant")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_remnant_fault")),
    )
    op.create_index("ix_remnant_fault_remnant_id", "remnant_fault", ["remnant_id"])

    guards = {"sqlite": guard_sqlite, "postgresql": guard_postgresql}
    guards.get(op.get_bind().dialect.name, lambda: None)()


def downgrade() -> None:
    raise NotImplementedError("a stash is not taken back to older tables: restore the copy made before the upgrade")
