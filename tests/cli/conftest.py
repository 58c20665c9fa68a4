"""What the tests of the commands share: typing a command, and a small workroom of this floor's own."""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from cli import saying
from cli.main import run

from . import world


@dataclass(frozen=True)
class Said:
    """What a command answered: its exit status, the data (standard output) and the words (standard error)."""

    status: int
    data: str
    words: str


Type = Callable[..., Said]


@pytest.fixture
def workroom(tmp_path: Path) -> Path:
    """Where the stash of this test lies."""
    return tmp_path / "stash.fent"


@pytest.fixture
def fent(workroom: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str], tmp_path: Path) -> Type:
    """Type a command in a folder and a workroom of the test's own."""
    monkeypatch.setenv("FENT_WORKROOM", str(workroom))
    monkeypatch.setenv("FENT_HABITS", str(tmp_path / "habits.toml"))
    for name in ("FENT_BY", "FENT_SHOW_IN"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.chdir(tmp_path)
    saying._notes.clear()

    def type_it(*words: str) -> Said:
        capfd.readouterr()
        status = run(words)
        data, said = capfd.readouterr()
        assert "Traceback" not in data + said
        return Said(status, data, said)

    return type_it


LINEN = ("cloth", "add", "navy linen", "--fibre", "linen", "--weight", "185 g/m2", "--colour", "navy")


STOCK: tuple[tuple[str, ...], ...] = (
    LINEN,
    ("bin", "add", "N-01", "--cloth", "navy linen", "--size", "62cm x 40cm", "--place", "drawer 2"),
    ("bin", "add", "N-02", "--cloth", "navy linen", "--points", "0,0 31,2 30,18 0,16 cm", "--place", "blue bag"),
    ("bin", "add", "N-03", "--cloth", "navy linen", "--size", "30 x 20 cm", "--bite", "far right: 8cm x 5cm"),
    ("pattern", "add", "cushion", "wedge", "--length", "21cm", "--wide", "84mm", "--narrow", "2cm", "--allowance", "1cm"),
    ("job", "add", "wheel cushion", "--piece", "cushion/wedge: 6", "--fibre", "linen"),
)


@pytest.fixture(scope="session")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty stash, to be copied: its tables are made once."""
    from stash import Workroom

    file = tmp_path_factory.mktemp("empty") / "stash.fent"
    with Workroom.open(file):
        pass
    return file


@pytest.fixture(scope="session")
def stock(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A stash with a cloth, three remnants, a pattern piece and a job, made once."""
    file = tmp_path_factory.mktemp("stock") / "stash.fent"
    for words in STOCK:
        assert run([*words, "--workroom", str(file)]) == 0, words
    return file


@pytest.fixture
def stocked(fent: Type, stock: Path, workroom: Path) -> Type:
    """`fent` in a copy of that stash."""
    shutil.copy(stock, workroom)
    return fent


@pytest.fixture(scope="session")
def stages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The invented workroom of the examples, as it stands after each stage of a job."""
    return world.build(tmp_path_factory.mktemp("world"))


def fingerprint(file: Path) -> str:
    """What a stash holds, as one number: its file and whatever lies in its log beside it."""
    whole = hashlib.sha256()
    for part in (file, file.with_name(file.name + "-wal")):
        whole.update(part.read_bytes() if part.exists() else b"absent")
    return whole.hexdigest()
