"""Wrong input: exit status 2, and what is said of it word by word; the stash is not touched; never a traceback.

The table is `wrong_input.txt`: the kind, what is typed, and all that is said. `python -m tests.cli.write_wrong_input` writes
the words anew, to be read by eye.
"""

from __future__ import annotations

import re
import shlex
import shutil
import traceback
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

import cli.main
import nesting
from cli.main import run

from . import row_engine
from .conftest import STOCK, Said, Type, fingerprint

TABLE = Path(__file__).with_name("wrong_input.txt")
PROJECT = Path(__file__).parents[2]
MORE = (
    ("cloth", "add", "moss velvet", "--fibre", "silk", "--weight", "250", "--one-way"),
    ("bin", "add", "V-02", "--cloth", "moss velvet", "--size", "30x20cm", "--nap", "along"),
    ("envelope", "add", "NE-1", "--cloth", "navy linen", "--mass", "86 g"),
    ("lay", "try", "wheel cushion"),
)
FILES = {
    "there.png": b"mine",
    "letter.txt": b"dear diary, " * 100,
    "latin.csv": b"tag,cloth\nN-1,caf\xe9\n",
    "plain.svg": b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><path d="M0 0H9V9H0Z" stroke="red"/></svg>',
    "sized.svg": b'<?xml version="1.0"?>'
    b'<svg xmlns="http://www.w3.org/2000/svg" width="9cm" viewBox="0 0 9 9"><path fill="red" d="M0 0H9V9Z"/></svg>',
    "away.csv": b"tag,cloth,drawing\nN-52,navy linen,../plain.svg\nN-53,navy linen,sized.svg\n",
    "pieces.csv": b'pattern,piece,corners,count\nbag,flap,"0,0 9,0 9,9 cm",some\nbag,,"0,0 9,9 cm",\n',
    "wrong.csv": b"tag,cloth,length,width\nN-50,navy lnen,30cm,20cm\nN-51,navy linen,wide,20cm\n",
}


@dataclass(frozen=True)
class Wrong:
    """A kind of wrong input: what stands in the file of habits, what is typed, and what is said."""

    habits: str
    typed: str
    said: str


def read_table() -> dict[str, Wrong]:
    found = {}
    for block in re.split(r"^# ", TABLE.read_text(encoding="utf-8"), flags=re.MULTILINE)[1:]:
        name, _, rest = block.partition("\n")
        habits = re.match(r"habits: (.*)\n", rest)
        typed, _, said = rest[habits.end() if habits else 0 :].partition("\n")
        assert name not in found, name
        found[name] = Wrong(habits[1] if habits else "", typed.removeprefix("$ fent "), said.strip("\n") + "\n")
    return found


WRONG = read_table()
AGAIN = "again: "
"""So begin the names of wrong inputs that reach a check which another reaches too, and are there for their words."""


@pytest.fixture(scope="module")
def base(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A stash with a lay in it, too."""
    file = tmp_path_factory.mktemp("wrong") / "stash.fent"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(nesting, "solve", row_engine.solve, raising=False)
        patch.setenv("FENT_HABITS", str(file.with_name("none.toml")))
        for words in STOCK + MORE:
            assert run([*words, "--workroom", str(file)]) == 0, words
    return file


def typed_wrongly(fent: Type, wrong: Wrong, folder: Path) -> Said:
    (folder / "habits.toml").write_text(wrong.habits, encoding="utf-8")
    return fent(*shlex.split(wrong.typed))


def test_wrong_input_is_refused_word_by_word_and_nothing_changes(
    fent: Type, base: Path, workroom: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All kinds in one test, so that it can be seen that no two reach the same check."""
    reached: list[tuple[str, object]] = []
    explain = cli.main.explain

    def seen(fault: Exception, *rest: object) -> int:
        reached.append(check_of(fault))
        return explain(fault, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(cli.main, "explain", seen)
    shutil.copy(base, workroom)
    for name, text in FILES.items():
        (tmp_path / name).write_bytes(text)
    before = fingerprint(workroom)
    for name, wrong in WRONG.items():
        said = typed_wrongly(fent, wrong, tmp_path)
        assert said.words.replace(str(tmp_path), "HERE") == wrong.said, name
        assert (said.status, said.data) == (2, ""), name
        assert fingerprint(workroom) == before, name
    assert {file.name: file.read_bytes() for file in tmp_path.iterdir() if file.name in FILES} == FILES
    kinds = {name: check for name, check in zip(WRONG, reached, strict=True) if not name.startswith(AGAIN)}
    shared = [name for name, check in kinds.items() if list(kinds.values()).count(check) > 1]
    assert not shared, "these reach the same check as another"


def check_of(fault: BaseException) -> tuple[str, object]:
    """Where it was first noticed: the line of ours that raised it, or the words of Typer's refusal."""
    found: tuple[str, object] = ("", 0)
    for each in chain_of(fault):
        last = traceback.extract_tb(each.__traceback__)[-1]
        if Path(last.filename).is_relative_to(PROJECT) and "site-packages" not in last.filename:
            found = (last.filename, last.lineno)
        elif hasattr(each, "format_message") and not found[0]:
            found = ("typer", each.format_message().split("'")[0])
    return found


def chain_of(fault: BaseException) -> Iterator[BaseException]:
    """A fault and those that led to it, the first noticed last."""
    each: BaseException | None = fault
    while each is not None:
        yield each
        each = each.__context__


def test_there_are_sixty_kinds_and_more() -> None:
    assert len(WRONG) >= 60


def test_every_refusal_says_what_where_what_was_expected_and_what_to_do() -> None:
    for wrong in WRONG.values():
        for part in ("  Where:    ", "  Expected: ", "  Do next:  "):
            assert len(re.findall(f"^{part}\\S", wrong.said, re.MULTILINE)) == 1, wrong.said
        assert re.search(r"^[A-Z0-9'\"−-].*[.?!]$", wrong.said.splitlines()[0])


def test_nothing_is_written_over_unless_told(stocked: Type, tmp_path: Path) -> None:
    file = tmp_path / "bin.png"
    file.write_text("mine")
    assert stocked("bin", "picture", str(file)).status == 2
    assert file.read_text() == "mine"
    assert stocked("bin", "picture", str(file), "--write-over").status == 0
    assert file.read_bytes().startswith(b"\x89PNG")


def test_a_workroom_that_is_not_there_is_not_made_by_looking(fent: Type, workroom: Path) -> None:
    said = fent("bin", "list")
    assert said.status == 2
    assert str(workroom) in said.words
    assert not workroom.exists()
