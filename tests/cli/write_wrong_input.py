"""Type every kind of wrong input and write down anew what is said, to be read by eye.

python -m tests.cli.write_wrong_input
"""

from __future__ import annotations

import contextlib
import io
import os
import shlex
import shutil
import tempfile
from pathlib import Path

import nesting
from cli.main import run

from . import row_engine
from .conftest import STOCK
from .test_wrong_input import FILES, MORE, TABLE, WRONG


def write() -> None:
    nesting.solve = row_engine.solve
    with tempfile.TemporaryDirectory() as name, contextlib.chdir(name):
        folder = Path(name)
        os.environ |= {"FENT_HABITS": str(folder / "habits.toml"), "FENT_WORKROOM": str(folder / "base.fent")}
        for variable in ("FENT_BY", "FENT_SHOW_IN"):
            os.environ.pop(variable, None)
        with contextlib.redirect_stderr(io.StringIO()), contextlib.redirect_stdout(io.StringIO()):
            for words in STOCK + MORE:
                assert run(words) == 0, words
        for file, text in FILES.items():
            (folder / file).write_bytes(text)
        os.environ["FENT_WORKROOM"] = str(folder / "stash.fent")
        blocks = []
        for kind, wrong in WRONG.items():
            shutil.copy("base.fent", "stash.fent")
            (folder / "habits.toml").write_text(wrong.habits)
            words, data = io.StringIO(), io.StringIO()
            with contextlib.redirect_stderr(words), contextlib.redirect_stdout(data):
                run(shlex.split(wrong.typed))
            habits = f"habits: {wrong.habits}\n" if wrong.habits else ""
            blocks.append(f"# {kind}\n{habits}$ fent {wrong.typed}\n{words.getvalue().replace(name, 'HERE')}")
    TABLE.write_text("\n".join(blocks), encoding="utf-8")


if __name__ == "__main__":
    write()
