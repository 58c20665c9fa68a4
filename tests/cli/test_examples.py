"""The examples in the help: each prints what its help shows. Dates are not compared, since they are today's.

`python -m tests.cli.test_examples` runs them and writes what they print into the help.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import shlex
import shutil
import sys
import tempfile
from pathlib import Path

import pytest

import nesting
from cli.main import run

from . import row_engine, world
from .whole import tree

COMMAND = re.compile(r"^( +)(fent .*)\n((?:\1  .*\n?)*)", re.MULTILINE)
# In which state of the workroom a command is typed; the others where there is no lay yet.
STAGES = {
    **dict.fromkeys(
        [
            ("lay", verb)
            for verb in (
                "show",
                "prove",
                "order",
                "pull",
                "docket",
                "marks",
                "paper",
                "to-drawing",
                "change",
                "fill",
                "binding",
                "chalk",
                "rub-out",
                "list",
            )
        ],
        "tried",
    ),
    ("lay", "cut"): "chalked",
    ("lay", "again"): "lost",
    ("bin", "found-again"): "lost",
    ("bin", "release"): "quarantined",
    ("bin", "bars"): "striped",
    **dict.fromkeys(
        [
            ("bin", "keepers"),
            ("bin", "confirm"),
            ("envelope", "put-away"),
            ("book", "list"),
            ("book", "undo"),
            ("book", "report"),
            ("bin", "life"),
        ],
        "cut",
    ),
}
NOT_RUN = {
    ("demo",),  # test_demo.py runs it
    ("book", "import"),  # test_copying.py
    *(("bin", "trace"), ("bin", "trace-many"), ("pattern", "trace")),  # test_tracing.py: photographs take long to draw
}
LINES = 3  # of what it prints: enough to know it again


def examples(help_text: str) -> list[tuple[str, list[str]]]:
    """The commands in a help text, each with the lines that it is said to print."""
    return [
        (found[2], [line.removeprefix(found[1] + "  ") for line in found[3].splitlines()])
        for found in COMMAND.finditer(help_text + "\n")
    ]


def words_of(command: str) -> tuple[str, ...]:
    typed = shlex.split(command)[1:]
    return tuple(typed[:1]) if typed[0] in ("demo", "help") else tuple(typed[:2])


def printed(command: str, stages: dict[str, Path]) -> list[str]:
    """What a command answers, in a workroom as it must be for it; the words beside the answer where there is no other."""
    words = words_of(command)
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder), pytest.MonkeyPatch.context() as patch:
        stash = Path(folder) / "stash.fent"
        shutil.copy(stages[STAGES.get(words, "stocked")], stash)
        world.lay_out_files(Path(folder))
        patch.setattr(nesting, "solve", row_engine.solve, raising=False)
        patch.setenv("FENT_WORKROOM", str(stash))
        patch.setenv("FENT_HABITS", str(Path(folder) / "habits.toml"))
        for name in ("FENT_BY", "FENT_SHOW_IN"):
            patch.delenv(name, raising=False)
        data, said = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(data), contextlib.redirect_stderr(said):
            status = run(shlex.split(command)[1:])
    assert status == 0, f"{command}: {said.getvalue()}"
    lines = [line.rstrip() for line in (data.getvalue() or said.getvalue()).splitlines() if line.strip()]
    most = 1 if words in (("help",), ("bin", "which")) else LINES  # long lines
    return [*lines[:most], "…"] if len(lines) > most else lines


def alike(lines: list[str]) -> list[str]:
    return [re.sub(r"\d{4}-\d\d-\d\d( \d\d:\d\d)?", "DAY", line) for line in lines]


@pytest.mark.parametrize("words", [words for words in tree() if words not in NOT_RUN], ids=" ".join)
def test_the_examples_print_what_the_help_shows(words: tuple[str, ...], stages: dict[str, Path]) -> None:
    found = [(command, shown) for command, shown in examples(tree()[words].help) if words_of(command) == words]
    assert found
    for command, shown in found:
        assert alike(shown) == alike(printed(command, stages)), command


def write_them() -> None:
    """Put what the examples print into the help."""
    with tempfile.TemporaryDirectory() as folder:
        stages = world.build(Path(folder))
        for file in sorted((Path(__file__).parents[2] / "cli").glob("*.py")):
            text = file.read_text(encoding="utf-8")

            def fill(found: re.Match[str]) -> str:
                if words_of(found[2]) in NOT_RUN:
                    return found[0]
                print(found[2], file=sys.stderr)
                lines = printed(found[2], stages)
                return "".join([f"{found[1]}{found[2]}\n", *(f"{found[1]}  {line}\n" for line in lines)])

            changed = re.sub(r"^( {6})(fent .*)\n((?:\1  .*\n)*)", fill, text, flags=re.MULTILINE)
            if changed != text:
                file.write_text(changed, encoding="utf-8")


if __name__ == "__main__":
    os.environ.pop("FENT_WORKROOM", None)
    write_them()
