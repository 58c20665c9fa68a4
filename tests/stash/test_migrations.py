"""The chain of migrations: it makes the tables that the models say, and the book's guards."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, create_engine, event, select, text

from stash import (
    Workroom,
    asking,
    audit,
    book,
    cloths,
    cutting,
    envelopes,
    jobs,
    lays,
    losing,
    patterns,
    photographs,
    remnants,
    settings,
)
from stash.schema import config
from stash.tables import SCHEMA, Base, ClothRow, LayRow, RemnantRow
from stash.words import Grain

from .scenes import linen, scrap, whole_stash


@pytest.fixture
def connection(stash_file: Path) -> Iterator[Connection]:
    engine = create_engine(f"sqlite:///{stash_file}")
    with engine.connect() as opened:
        yield opened
    engine.dispose()


def test_the_models_and_the_migrations_do_not_drift(connection: Connection) -> None:
    context = MigrationContext.configure(connection, opts={"compare_type": True})
    assert compare_metadata(context, Base.metadata) == []


def test_alembic_itself_finds_nothing_to_change(connection: Connection) -> None:
    command.check(config(connection))


def test_one_chain_without_branches_ends_at_the_version_of_the_models(connection: Connection) -> None:
    script = ScriptDirectory.from_config(config(connection))
    assert script.get_heads() == [SCHEMA]
    assert script.get_bases() == ["0001"]
    assert connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one() == SCHEMA


def test_a_drift_would_be_found(connection: Connection) -> None:
    """The check above can fail: a column that only the database has is noticed."""
    connection.execute(text("ALTER TABLE cloth ADD COLUMN smell INTEGER"))
    context = MigrationContext.configure(connection, opts={"compare_type": True})
    assert [change[0] for change in compare_metadata(context, Base.metadata)] == ["remove_column"]


def test_an_upgrade_that_fails_leaves_nothing(tmp_path: Path) -> None:
    """The making of a stash is one transaction: broken off at its last step, it can be begun again from nothing."""
    path = tmp_path / "a.fent"

    def break_off(connection: object, cursor: object, statement: str, *rest: object) -> None:
        if "book_line_complete" in statement:
            raise KeyboardInterrupt

    from sqlalchemy import Engine

    event.listen(Engine, "before_cursor_execute", break_off)
    try:
        with pytest.raises(KeyboardInterrupt):
            Workroom.open(path)
    finally:
        event.remove(Engine, "before_cursor_execute", break_off)
    with closing(sqlite3.connect(path)) as plain:
        assert plain.execute("SELECT count(*) FROM sqlite_master").fetchone() == (0,)
    with Workroom.open(path) as opened:
        linen(opened)


STASH_0001 = Path(__file__).with_name("stash_0001.sql")
"""What a small workroom of version 0001 had in its tables, row by row: two cloths, seven remnants (two cut, two
of them keepers that a chalked lay holds, one in quarantine), a lay cut, one chalked, one tried. Written by that version."""


def stash_of(version: str, rows: Path, folder: Path) -> Path:
    """A stash as that version left it."""
    path = folder / f"{version}.fent"
    engine = create_engine(f"sqlite:///{path}")
    with engine.connect() as opened, opened.begin():
        command.upgrade(config(opened), version)
    engine.dispose()
    with closing(sqlite3.connect(path)) as plain:
        plain.executescript(rows.read_text(encoding="utf-8"))
    return path


@pytest.fixture(scope="session")
def older_stash(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return stash_of("0001", STASH_0001, tmp_path_factory.mktemp("older"))


@pytest.fixture
def older(older_stash: Path, tmp_path: Path) -> Path:
    """A stash as version 0001 left it."""
    return Path(shutil.copy(older_stash, tmp_path / "older.fent"))


def figures(path: Path) -> dict[str, list[tuple[object, ...]]]:
    """The columns that version 0001 had, row by row, of every table that it had."""
    with closing(sqlite3.connect(path)) as plain:
        return {
            table: plain.execute(f"SELECT {', '.join(columns)} FROM {table} ORDER BY 1, 2").fetchall()
            for table, columns in COLUMNS_0001.items()
        }


COLUMNS_0001 = {
    "book_entry": ["id", "at", "event", "by", "note", "lay_id", "undoes_id", "line_count"],
    "book_line": ["id", "entry_id", "account", "detail", "cloth_id", "remnant_id", "job_id", "area", "mass"],
    "cloth": ["id", "name", "weight", "weave", "colour", "lot", "width", "one_way", "faces_alike", "note"],
    "cloth_fibre": ["cloth_id", "fibre", "share"],
    "lay": ["id", "job_id", "state", '"case"', "gap", "edge", "placed", "bound", "proved", "complete", "note"],
    "lay_count": ["lay_id", "job_piece_id", "wanted", "spares"],
    "lay_panel": ["lay_id", "number", "remnant_id", "panel", "x", "y", "turn", "flipped", "fate", "area", "mass"],
    "lay_sheet": ["lay_id", "remnant_id", "position", "revision"],
    "remnant": [
        "id",
        "tag",
        "state",
        "held_by_id",
        "outline",
        "rough",
        "area",
        "mass",
        "weighed",
        "length",
        "washed",
        "revision",
    ],
    "remnant_edge": ["id", "remnant_id", "kind", "line"],
    "remnant_fault": ["id", "remnant_id", "kind", "face", "shape"],
    "setting": ["name", "value"],
}


def test_a_stash_of_version_0001_is_upgraded_with_its_figures_unchanged(older: Path) -> None:
    before = figures(older)
    with Workroom.open(older) as opened:
        found = book.balance(opened)
        totals = {str(total.account): (total.area, total.mass) for total in found.totals}
        assert found.balanced
        assert totals["in"] == (-43_398_756, -96_994)
        assert totals["bin"] == (41_166_093, 92_730)
        assert totals["cut work"] == (1_200_000, 2_339)
        assert totals["rag bag"] == (1_032_663, 1_925)
        assert settings.read(opened) == settings.Settings(gap=1.5)
    assert figures(older) == before


def test_what_version_0001_did_not_know_is_said_as_it_was(older: Path) -> None:
    with Workroom.open(older) as opened:
        logged, keeper = remnants.get(opened, "L3"), remnants.get(opened, "L1A")
        assert (str(logged.came_on), logged.confirmed, logged.price) == ("2026-03-02", True, None)
        assert (str(keeper.came_on), keeper.confirmed, keeper.parent) == ("2026-03-02", False, "L1")
        assert remnants.get(opened, "V1").quarantine == "moth"
        cloth = cloths.get(opened, "blue linen")
        assert (cloth.selvedge, cloth.shrinks_warp, cloth.price, cloth.weight_within) == (None, None, None, None)
        assert settings.currency(opened) == ""
        assert envelopes.every(opened) == ()


def test_work_goes_on_in_a_stash_of_version_0001(older: Path) -> None:
    """What was chalked before is cut after; what was tried before is chalked; a remnant goes missing and the lay is planned
    again round the rest."""
    with Workroom.open(older) as opened:
        losing.not_there(opened, "L2A", by="MB")
        assert asking.ask_round(opened, 2).replaces == 2
        done = cutting.cut(opened, 2, by="MB")
        assert [sheet.tag for sheet in done.sheets] == ["L1A"]
        lays.chalk(opened, 3, by="MB")
        cutting.cut(opened, 3, by="MB")
        assert book.balance(opened).balanced


STASH_0002 = Path(__file__).with_name("stash_0002.sql")
"""What a workroom of version 0002 had in its tables: two cloths, one of them weighed again; a lay cut with a panel spoiled and
one chalked; remnants measured again, lost and found again, thrown away and put into an envelope. Written by that version."""


def test_a_stash_of_version_0002_is_upgraded_with_its_figures_unchanged(tmp_path: Path) -> None:
    path = stash_of("0002", STASH_0002, tmp_path)
    with closing(sqlite3.connect(path)) as plain:
        tables = [name for (name,) in plain.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        columns = {table: [row[1] for row in plain.execute(f"PRAGMA table_info({table})")] for table in tables}
        named = {table: ", ".join(f'"{name}"' for name in names) for table, names in columns.items()}

        def everything() -> dict[str, list[tuple[object, ...]]]:
            return {t: plain.execute(f"SELECT {named[t]} FROM {t}").fetchall() for t in tables if t != "alembic_version"}

        before = everything()
        with Workroom.open(path) as opened:
            found = book.balance(opened)
            totals = {str(total.account): (total.area, total.mass) for total in found.totals}
            assert found.balanced
            assert totals["bin"] == (33_652_605, 81_169)
            assert totals["out"] == (1_080_000, 1_944)
            assert totals["re-measured"] == (45_062, -6_507)
            assert all(entry.price is None and entry.whom == "" for entry in book.entries(opened))
        assert everything() == before


STASH_0003 = Path(__file__).with_name("stash_0003.sql")
"""What a workroom of version 0003 had in its tables: a lay cut with a panel spoiled, one chalked, one tried, of a job with
spares. Written by that version."""


def test_a_stash_of_version_0003_is_upgraded_and_its_jobs_and_lays_ask_no_more_than_before(tmp_path: Path) -> None:
    with Workroom.open(stash_of("0003", STASH_0003, tmp_path)) as opened:
        found = book.balance(opened)
        assert found.balanced
        assert {str(t.account): (t.area, t.mass) for t in found.totals}["bin"] == (29_765_918, 69_179)
        job = jobs.get(opened, "cuffs")
        assert (job.one_lot, job.pairs_together, job.pieces[0].hidden) == (False, False, False)
        chalked, tried = lays.get(opened, 2), lays.get(opened, 3)
        assert (chalked.aim, chalked.holds_until) == (None, None)
        cutting.cut(opened, chalked.number, by="MB")
        lays.chalk(opened, tried.number, by="MB")
        assert book.balance(opened).balanced


STASH_0004 = Path(__file__).with_name("stash_0004.sql")
"""What a workroom of version 0004 had in its tables: three remnants, one of them rough, two pieces and a job. Written by that
version."""


def test_a_stash_of_version_0004_is_upgraded_and_says_nothing_that_it_did_not_know(tmp_path: Path) -> None:
    with Workroom.open(stash_of("0004", STASH_0004, tmp_path)) as opened:
        assert book.balance(opened).balanced
        logged, rough = remnants.get(opened, "L3"), remnants.get(opened, "L2")
        assert (logged.way, logged.within, logged.grain_by, logged.told) == (None, None, None, "")
        assert rough.rough
        assert cloths.get(opened, "blue linen").frays is None
        pattern = patterns.get(opened, "shirt")
        assert pattern.seams == ()
        cuff, gore = pattern.pieces
        assert cuff.allowances == (10, 5, 0, 15)
        assert [edge.name for edge in cuff.edges] == ["side 1", "side 2", "side 3", "side 4"]
        assert [edge.allowance for edge in cuff.edges] == [10, 5, 0, 15]
        assert len(gore.edges) == len(gore.allowances)
        assert (gore.count, gore.fold, gore.draft, gore.notches, gore.joins) == (1, None, None, (), ())


STASH_0005 = Path(__file__).with_name("stash_0005.sql")
"""The workroom of `stash_0002.sql`, as the migrations brought it to version 0005."""


def test_a_stash_of_version_0005_is_upgraded_and_has_no_photographs(tmp_path: Path) -> None:
    with Workroom.open(stash_of("0005", STASH_0005, tmp_path)) as opened:
        totals = {str(total.account): (total.area, total.mass) for total in book.balance(opened).totals}
        assert totals["bin"] == (33_652_605, 81_169)
        assert photographs.of(opened, "L2") == ()
        found = audit.audit(opened)
        assert (found.faults, found.photographs) == ((), 0)


def test_a_stash_of_version_0006_is_upgraded_and_its_lays_have_no_stacks(tmp_path: Path) -> None:
    """0006 added a table only, so that the rows of `stash_0005.sql` are rows of 0006."""
    with Workroom.open(stash_of("0006", STASH_0005, tmp_path)) as opened:
        totals = {str(total.account): (total.area, total.mass) for total in book.balance(opened).totals}
        assert totals["bin"] == (33_652_605, 81_169)
        with opened.reading() as session:
            lay = session.get_one(LayRow, 2)
            assert (lay.slip, lay.plies) == (None, [])
            assert {(panel.tracing, panel.ply) for panel in lay.panels} == {(None, None)}
            assert {row.skew for row in session.scalars(select(RemnantRow))} == {None}
            assert {row.thickness for row in session.scalars(select(ClothRow))} == {None}
        assert audit.audit(opened).faults == ()


STASH_0007 = Path(__file__).with_name("stash_0007.sql")
"""The workroom of `stash_0005.sql`, as the migrations brought it to version 0007."""


def test_a_stash_of_version_0007_is_upgraded_and_asks_of_its_cloth_what_it_asked_before(tmp_path: Path) -> None:
    with Workroom.open(stash_of("0007", STASH_0007, tmp_path)) as opened:
        totals = {str(total.account): (total.area, total.mass) for total in book.balance(opened).totals}
        assert totals["bin"] == (33_652_605, 81_169)
        with opened.reading() as session:
            remnants_there = session.scalars(select(RemnantRow)).all()
            assert {(row.repeat_along, row.repeat_across, row.bar_x, row.bar_y) for row in remnants_there} == {(None,) * 4}
            assert {(row.repeat_along, row.uneven_across, row.bar) for row in session.scalars(select(ClothRow))} == {
                (None, False, "")
            }
            lay = session.get_one(LayRow, 2)
            assert {(panel.part, panel.joined, panel.seam) for panel in lay.panels} == {(None, None, None)}
            assert (lay.job.matched, lay.job.mirrored) == (True, True)
            piece = lay.job.pieces[0].piece
            assert (piece.grain, piece.front, piece.anchor, piece.join_zones) == (Grain.WARP_WISE, False, None, [])
        assert audit.audit(opened).faults == ()


def test_the_book_of_an_upgraded_stash_is_guarded_as_before(older: Path) -> None:
    Workroom.open(older).close()
    with closing(sqlite3.connect(older)) as plain, pytest.raises(sqlite3.IntegrityError, match="only appended to"):
        plain.execute("UPDATE book_line SET area = area + 1")
    with closing(sqlite3.connect(older)) as plain, pytest.raises(sqlite3.IntegrityError, match="all its lines"):
        plain.execute(
            "INSERT INTO book_line (entry_id, account, detail, cloth_id, area, mass) VALUES (1, 'out', '', 1, -5, 0)"
        )


def test_an_upgrade_that_fails_leaves_the_older_stash(older: Path) -> None:
    before = whole_stash(older)

    def break_off(connection: object, cursor: object, statement: str, *rest: object) -> None:
        if "ALTER TABLE book_line" in statement:
            raise KeyboardInterrupt

    from sqlalchemy import Engine

    event.listen(Engine, "before_cursor_execute", break_off)
    try:
        with pytest.raises(KeyboardInterrupt):
            Workroom.open(older)
    finally:
        event.remove(Engine, "before_cursor_execute", break_off)
    assert whole_stash(older) == before
    with Workroom.open(older) as opened:
        assert book.balance(opened).balanced


@pytest.fixture
def kept(stash_file: Path) -> Path:
    """A stash with an entry in its book, closed."""
    with Workroom.open(stash_file) as opened:
        linen(opened)
        scrap(opened)
    return stash_file


@pytest.mark.parametrize(
    "damage",
    [
        "UPDATE book_line SET area = area + 1",
        "UPDATE book_entry SET note = 'never happened'",
        "DELETE FROM book_line",
        "DELETE FROM book_entry",
        "INSERT INTO book_line (entry_id, account, detail, cloth_id, area, mass) VALUES (1, 'out', 'sold', 1, -5, 0)",
    ],
)
def test_the_database_itself_guards_the_book(kept: Path, damage: str) -> None:
    before = whole_stash(kept)
    with (
        closing(sqlite3.connect(kept)) as plain,
        pytest.raises(sqlite3.IntegrityError, match=r"only appended to|all its lines"),
    ):
        plain.execute(damage)
    assert whole_stash(kept) == before


def test_a_stash_can_be_copied_while_it_is_closed(kept: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.fent"
    shutil.copy(kept, copy)
    assert whole_stash(copy) == whole_stash(kept)
