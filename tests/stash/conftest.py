"""A fresh workroom for each test, copied from one that is made once: Alembic runs once, not a hundred times."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

import pytest

from stash import Workroom, settings


def ticking_clock() -> datetime:
    """A second later at each look, so that no run of tests sees midnight."""
    return datetime(2026, 3, 2, 9, 0, tzinfo=UTC) + timedelta(seconds=next(_ticks))


_ticks = count()


@pytest.fixture(scope="session")
def fresh_stash(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of an empty stash whose prices are in EUR; closed, so that it is all in the one file."""
    path = tmp_path_factory.mktemp("fresh") / "workroom.fent"
    with Workroom.open(path) as opened:
        settings.choose_currency(opened, "EUR")
    return path


@pytest.fixture
def stash_file(fresh_stash: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(fresh_stash, tmp_path / "workroom.fent"))


def once(build: Callable[[Workroom], object], folder: Path, fresh_stash: Path) -> Path:
    """The file of a stash that `build` stocks once, for the tests of a module to copy."""
    path = Path(shutil.copy(fresh_stash, folder / "stocked.fent"))
    with Workroom.open(path, clock=ticking_clock) as opened:
        build(opened)
    return path


@pytest.fixture
def stocked(request: pytest.FixtureRequest, stash_file: Path, fresh_stash: Path) -> Iterator[Workroom]:
    """A workroom of its own for each test, stocked as the module's `stock` says, which runs once."""
    module = request.module
    if not hasattr(module, "_stocked"):
        folder = request.getfixturevalue("tmp_path_factory").mktemp("stocked")
        module._stocked = once(module.stock, folder, fresh_stash)
    shutil.copy(module._stocked, stash_file)
    with Workroom.open(stash_file, clock=ticking_clock) as opened:
        yield opened


@pytest.fixture
def workroom(stash_file: Path) -> Iterator[Workroom]:
    with Workroom.open(stash_file, clock=ticking_clock) as opened:
        yield opened
