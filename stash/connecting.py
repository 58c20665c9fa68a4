"""Where the stash is, how it is connected to, and what a database's complaints mean in plain words."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, IntegrityError, NoSuchModuleError

from .refusals import Busy, CannotBeDone, DiskFull, NotAStash, Plainly, ReadOnly, Taken, Unreachable

VARIABLE = "FENT_WORKROOM"
PATIENCE = 15.0
"""Seconds that a writer waits for another: several times the longest command that writes."""

EXPECTED = "a file for the stash, or a database address such as postgresql://host/name"


def default_path() -> Path:
    """The stash of a person who named none: a file in their data folder."""
    import platformdirs

    return platformdirs.user_data_path("fent", appauthor=False) / "workroom.fent"


def workroom_address(given: str | os.PathLike[str] | None = None) -> str:
    """Where the stash is: what was given, else FENT_WORKROOM, else a file in the user's data folder."""
    if given is not None:
        return os.fspath(given)
    return os.environ.get(VARIABLE) or str(default_path())


def url_of(address: str) -> URL:
    """The SQLAlchemy URL of a file path or URL. Raises NotAStash for an address that is neither."""
    if not address.strip() or "\0" in address:
        raise NotAStash("the workroom's address is empty", where="workroom", expected=EXPECTED)
    if "://" not in address:
        return URL.create("sqlite", database=str(Path(address).expanduser().absolute()))
    try:
        return make_url(address)
    except (ArgumentError, ValueError):
        scheme = address.split("://", 1)[0]  # the rest may hold a password
        raise NotAStash(f"{scheme}://… cannot be read as an address", where="workroom", expected=EXPECTED) from None


def shown(url: URL) -> str:
    """The address as it may be said: the plain path of a file; of a database, without its password."""
    if url.get_backend_name() == "sqlite" and url.database:
        return url.database
    return url.render_as_string(hide_password=True)


def file_of(url: URL) -> Path | None:
    """The file of an SQLite stash; None for other databases, for one in memory and for SQLite's own file: addresses."""
    plain = url.get_backend_name() == "sqlite" and url.database not in (None, "", ":memory:")
    return Path(str(url.database)) if plain and not str(url.database).startswith("file:") else None


def look_at_file(url: URL, *, create: bool) -> None:
    """Refuse a file that cannot be a stash before any database is asked. Makes the default folder, and no other."""
    file = file_of(url)
    if file is None:
        return
    if file == default_path() and create:
        file.parent.mkdir(parents=True, exist_ok=True)
    if file.is_dir():
        raise NotAStash(
            f"{file} is a folder", where="workroom", expected="a file", next=f"Name a file in it: {file / 'my.fent'}"
        )
    if not file.parent.is_dir():
        raise NotAStash(
            f"there is no folder {file.parent}",
            where="workroom",
            expected="a file in a folder that is there",
            next="Make the folder first, or look at the spelling",
        )
    if not file.exists() and not create:
        raise NotAStash(f"there is no stash at {file}", where="workroom", expected="a stash that was made before")


def engine_of(url: URL, *, foreign_keys: bool = True) -> Engine:
    """An engine whose transactions are begun by us: a reader's with BEGIN, a writer's (`execution_options(writes=True)`) with
    BEGIN IMMEDIATE, so that two writers queue instead of failing half-way."""
    try:
        if url.get_backend_name() != "sqlite":
            return create_engine(url)
        engine = create_engine(url, connect_args={"timeout": PATIENCE})
    except (NoSuchModuleError, ModuleNotFoundError, ArgumentError) as fault:
        raise NotAStash(
            f"no way to reach a {url.drivername} database from here ({fault})",
            where="workroom",
            expected=EXPECTED,
            next="Install the database's Python driver beside Fent (psycopg for PostgreSQL)",
        ) from None

    @event.listens_for(engine, "connect")
    def _prepare(connection: Any, _record: object) -> None:
        connection.isolation_level = None  # else sqlite3 begins transactions by itself, too late and not for every statement
        connection.execute(f"PRAGMA foreign_keys = {'ON' if foreign_keys else 'OFF'}")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE" if connection.get_execution_options().get("writes") else "BEGIN")

    return engine


@contextmanager
def in_plain_words(address: str) -> Iterator[None]:
    """Turn what a database complains of into a sentence for the person; what is not known is a fault of the program."""
    try:
        yield
    except DBAPIError as fault:
        # When a disk is full SQLite ends the transaction by itself, and rolling back to a savepoint then fails in its turn:
        # what it complained of first is further down.
        said = next((said for found in _complaints(fault) if (said := _said(found, address))), None)
        if said is None:
            raise
        raise said from fault


def _complaints(fault: BaseException | None) -> Iterator[DBAPIError]:
    """A database's complaint, and those in the handling of which it arose."""
    while fault is not None:
        if isinstance(fault, DBAPIError):
            yield fault
        fault = fault.__context__


def _said(fault: DBAPIError, address: str) -> Plainly | None:
    """What the database's complaint means, or None."""
    if isinstance(fault, IntegrityError):
        return _clash(fault)
    if not isinstance(fault.orig, sqlite3.Error):
        if fault.connection_invalidated or type(fault.orig).__name__ == "OperationalError":
            return Unreachable(
                f"the database at {address} does not answer", where="workroom", next="See that it runs; try again"
            )
        return None
    name = str(getattr(fault.orig, "sqlite_errorname", "")) + " "
    kinds: dict[str, Plainly] = {
        "SQLITE_BUSY": Busy(f"another program is writing to {address} and did not finish in {PATIENCE:g} s", next="Try again"),
        "SQLITE_LOCKED": Busy(f"another part of this program is writing to {address}", next="Try again"),
        "SQLITE_READONLY": ReadOnly(
            f"{address} may be read but not written", next="Look at the file's and folder's permissions"
        ),
        "SQLITE_FULL": DiskFull(
            f"there is no room left to write {address}; nothing was changed", next="Make room and try again"
        ),
        "SQLITE_IOERR": CannotBeDone(
            f"the disk failed while {address} was read or written", next="Look at the disk; try again"
        ),
        "SQLITE_CANTOPEN": ReadOnly(f"{address} cannot be opened", next="Look at the file's and folder's permissions"),
        "SQLITE_PERM": ReadOnly(f"{address} cannot be opened", next="Look at the file's and folder's permissions"),
        "SQLITE_NOTADB": NotAStash(f"{address} is not a stash", where="workroom", expected="a file that Fent made"),
        "SQLITE_CORRUPT": NotAStash(
            f"{address} is damaged", where="workroom", expected="a sound stash", next="Restore a copy"
        ),
    }
    return next((said for kind, said in kinds.items() if name.startswith((kind + " ", kind + "_"))), None)


def _clash(fault: IntegrityError) -> Plainly | None:
    """Two people gave the same name at once: the second is told so. Any other broken constraint is a fault of the program."""
    if "unique" not in str(fault.orig).lower():
        return None
    return Taken("the name or tag was taken a moment ago by another", next="Look at the list and choose another")
