"""A fresh workroom for each test, copied from one that is made once: Alembic runs once, not a hundred times."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

import pytest

from stash import Workroom


def ticking_clock() -> datetime:
    return datetime(2026, 3, 2, 9, 0, tzinfo=UTC) + timedelta(minutes=next(_ticks))


_ticks = count()


@pytest.fixture(scope="session")
def fresh_stash(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of an empty stash; closed, so that it is all in the one file."""
    path = tmp_path_factory.mktemp("fresh") / "workroom.fent"
    Workroom.open(path).close()
    return path


@pytest.fixture
def stash_file(fresh_stash: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(fresh_stash, tmp_path / "workroom.fent"))


@pytest.fixture
def workroom(stash_file: Path) -> Iterator[Workroom]:
    with Workroom.open(stash_file, clock=ticking_clock) as opened:
        yield opened
