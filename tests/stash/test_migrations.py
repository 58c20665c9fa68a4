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
from sqlalchemy import Connection, create_engine, event, text

from stash import Workroom
from stash.schema import config
from stash.tables import SCHEMA, Base

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
