"""The workroom: the door to its stash. Opens, creates and upgrades the database; hands out one transaction at a time."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from types import TracebackType
from typing import Self

from sqlalchemy import Engine
from sqlalchemy.orm import Session

from .connecting import engine_of, in_plain_words, look_at_file, shown, url_of, workroom_address
from .schema import make_ready

__all__ = ["Workroom", "workroom_address"]


class Workroom:
    """A workroom's stash, open. Use as a context: `with Workroom.open("stash.fent") as workroom: …`.

    It belongs to one thread; another thread opens its own.
    """

    def __init__(self, engine: Engine, address: str, clock: Callable[[], datetime]) -> None:
        self.engine = engine
        self.address = address
        """As given, for messages: any password is hidden."""
        self.now = clock
        """The time, UTC."""
        self._current: Session | None = None
        self._writes = False

    @classmethod
    def open(
        cls,
        address: str | os.PathLike[str] | None = None,
        *,
        create: bool = True,
        clock: Callable[[], datetime] = lambda: datetime.now(UTC),
    ) -> Self:
        """Open the stash at a file path or SQLAlchemy URL (None: `workroom_address()`), creating or upgrading it.

        With `create=False` a stash that is not there yet is refused instead of made.
        Raises NotAStash, NewerStash (Refused), Busy, ReadOnly, DiskFull, Unreachable (CannotBeDone).
        """
        url = url_of(workroom_address(address))
        look_at_file(url, create=create)
        engine = engine_of(url)
        try:
            with in_plain_words(shown(url)):
                make_ready(engine, url, shown(url))
        except BaseException:
            engine.dispose()
            raise
        return cls(engine, shown(url), clock)

    def close(self) -> None:
        """Let the stash go."""
        self.engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None) -> None:
        self.close()

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """One transaction that only reads; inside a transaction it sees what that has done so far."""
        if self._current is not None:
            yield self._current
            return
        with self._transaction(writes=False) as session:
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """One transaction that writes: all of it or nothing. A verb called inside joins it, so that a command made of
        several verbs (many remnants from one file) is kept or refused as a whole."""
        if self._current is None:
            with self._transaction(writes=True) as session:
                yield session
        elif self._writes:
            # A savepoint: a verb that is refused inside, and the refusal caught, leaves nothing of itself behind.
            with in_plain_words(self.address), self._current.begin_nested():
                yield self._current
        else:
            raise RuntimeError("writing() inside reading(): the transaction was begun as one that only reads")

    @contextmanager
    def _transaction(self, *, writes: bool) -> Iterator[Session]:
        engine = self.engine.execution_options(writes=True) if writes else self.engine
        with in_plain_words(self.address), Session(engine) as session, session.begin():
            self._current, self._writes = session, writes
            try:
                yield session
            finally:
                self._current, self._writes = None, False
