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


def workroom_address(given: str | None = None) -> str:
    """Where the stash is: what was given, else FENT_WORKROOM, else a file in the user's data folder."""
    raise NotImplementedError


class Workroom:
    """A workroom's stash, open. Use as a context: `with Workroom.open("stash.fent") as workroom: …`."""

    def __init__(self, engine: Engine, address: str, clock: Callable[[], datetime]) -> None:
        self.engine = engine
        self.address = address
        """As given, for messages: any password is hidden."""
        self.now = clock
        """The time, UTC."""

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
        Raises NotAStash, NewerStash (Refused), Busy, ReadOnly, DiskFull (CannotBeDone).
        """
        raise NotImplementedError

    def close(self) -> None:
        raise NotImplementedError

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None) -> None:
        self.close()

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """One transaction that only reads."""
        raise NotImplementedError
        yield

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """One transaction that writes: all of it or nothing. A verb called inside joins it, so that a command made of
        several verbs (many remnants from one file) is kept or refused as a whole."""
        raise NotImplementedError
        yield
