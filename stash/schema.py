"""The version of the tables: looked at in plain SQL, brought up to date by Alembic only where they are not the newest."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import URL, Connection, Engine, inspect, text

from .connecting import engine_of, file_of
from .refusals import NewerStash, NotAStash
from .tables import SCHEMA

if TYPE_CHECKING:
    from alembic.config import Config

VERSION_TABLE = "alembic_version"
A_TABLE_OF_OURS = "book_entry"


def version_of(connection: Connection, address: str) -> str | None:
    """The version of the tables there, None where there are no tables at all. Raises NotAStash where they are not ours."""
    there = inspect(connection)
    if there.has_table(VERSION_TABLE) and there.has_table(A_TABLE_OF_OURS):
        return connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar_one_or_none()
    if there.get_table_names():
        raise NotAStash(f"{address} is a database, but not a stash", where="workroom", expected="a stash that Fent made")
    return None


def make_ready(engine: Engine, url: URL, address: str) -> None:
    """See that the tables are those of this Fent: make them where there are none, upgrade older ones.

    Raises NewerStash, NotAStash. A failed upgrade leaves the stash as it was: it is one transaction.
    """
    with engine.connect() as connection:
        version = version_of(connection, address)
    if version == SCHEMA:
        return
    # Batch migrations make tables anew, which foreign keys would forbid half-way: they are looked at when all is done.
    upgrader = engine_of(url, foreign_keys=False)
    try:
        if file_of(url) is not None and version is None:
            write_ahead(upgrader)
        with upgrader.execution_options(writes=True).connect() as connection, connection.begin():
            _upgrade(connection, version_of(connection, address), address)
    finally:
        upgrader.dispose()


def config(connection: Connection) -> Config:
    """Alembic's configuration, made in code: the `migrations` package wherever it is installed, and this connection."""
    from alembic.config import Config

    made = Config()
    made.set_main_option("script_location", "migrations:.")
    made.attributes["connection"] = connection
    return made


def tables_at(connection: Connection, version: str, what: str) -> None:
    """Make the tables as they were in a version, where there are none. Raises NewerStash for one that is not known."""
    from alembic import command
    from alembic.script import ScriptDirectory

    made = config(connection)
    if version not in {script.revision for script in ScriptDirectory.from_config(made).walk_revisions()}:
        raise NewerStash(
            f"{what} was written by a newer Fent: its tables are version {version}, and this one knows them up to {SCHEMA}",
            where="workroom",
            next="Upgrade Fent, then try again",
        )
    command.upgrade(made, version)


def _upgrade(connection: Connection, version: str | None, address: str) -> None:
    """Run the migrations that are missing, in the transaction of the connection, which another may have been quicker to."""
    if version == SCHEMA:
        return
    from alembic import command
    from alembic.script import ScriptDirectory

    made = config(connection)
    known = {script.revision for script in ScriptDirectory.from_config(made).walk_revisions()}
    if version is not None and version not in known:
        raise NewerStash(
            f"{address} was written by a newer Fent: its tables are version {version}, and this one knows them up to {SCHEMA}",
            where="workroom",
            next="Upgrade Fent, then try again",
        )
    command.upgrade(made, "head")
    if connection.dialect.name == "sqlite":
        astray = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
        if astray:
            raise RuntimeError(f"the upgrade of {address} left rows that point nowhere: {astray[:5]}")


def write_ahead(engine: Engine) -> None:
    """Write-ahead logging, so that readers never wait for a writer. It is kept in the file, so it is set once, and outside any
    transaction."""
    raw = engine.raw_connection()
    try:
        cursor = raw.cursor()
        cursor.execute("PRAGMA journal_mode = WAL")
        cursor.close()
    finally:
        raw.close()
