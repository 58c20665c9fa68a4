"""The README: every command in it is one that Fent has, and the walk-through prints what the page shows.

`python -m tests.cli.test_readme` runs the walk-through and writes its output into the page.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import shlex
import sys
import tempfile
from pathlib import Path

import pytest

import nesting
from cli.main import NOUNS, run

from . import first_lay
from .whole import tree

README = Path(__file__).parents[2] / "README.md"
BLOCK = re.compile(r"```console\n(.*?)```", re.DOTALL)


def blocks(text: str) -> list[list[tuple[str, list[str]]]]:
    """The console blocks: each a list of commands with the lines that they print."""
    found = []
    for block in BLOCK.findall(text):
        shown: list[tuple[str, list[str]]] = []
        for line in block.splitlines():
            if line.startswith("$ "):
                shown.append((line[2:], []))
            else:
                shown[-1][1].append(line)
        found.append(shown)
    return found


def typed_and_printed(command: str) -> list[str]:
    """Run a command; what a terminal would show, line by line."""
    screen = io.StringIO()
    with contextlib.redirect_stdout(screen), contextlib.redirect_stderr(screen):
        status = run(shlex.split(command)[1:])
    assert status == 0, screen.getvalue()
    return screen.getvalue().splitlines()


def alike(lines: list[str]) -> list[str]:
    """Lines without what varies from run to run: figures, the steps of the search, which remnants and how many rows."""
    kept: list[str] = []
    for line in lines:
        said = re.sub(r"\d[\d.]*", "0", line).strip()
        if re.match(r"N-0[A-Z]?  |0  |drawer 0  N-0  ", said):  # a row of a table: its head says what it is
            said = said.split("  ")[0].rstrip("ABCDEFGH")
        said = re.sub(r"\s+", " ", re.sub(r"(N-0 from drawer 0 for 0(, )?)+", "N-0 from drawer 0 for 0", said)).replace(
            "−", ""
        )
        said = re.sub(r"\b0 (\w+?)s\b", r"0 \1", said)  # one keeper or several
        steps = said.startswith(("after 0 s", "This is the first search", "Proved: ", "It is the best found"))
        steps = steps or "made good from the rest" in said  # which lay was found decides that
        if not steps and said not in kept[-1:]:
            kept.append(said)
    return kept


TEXT = README.read_text(encoding="utf-8")
WALK = [step for block in blocks(TEXT) for step in block]


def test_every_command_on_the_page_is_one_that_fent_has() -> None:
    said = re.findall(r"(?<![\w./-])fent ([a-z]+)(?: ([a-z][a-z-]+))?", TEXT)
    assert len(said) > 15
    for noun, verb in said:
        assert (noun,) in tree() or (noun, verb) in tree() or (noun in NOUNS and not verb), f"{noun} {verb}"


def test_every_option_on_the_page_is_one_that_its_command_has() -> None:
    for command, _ in WALK:
        words = shlex.split(command)
        known = {name for parameter in tree()[words[1], words[2]].params for name in parameter.opts}
        for word in words[3:]:
            if word.startswith("--"):
                assert word in known, command


def test_there_is_one_command_for_the_demo_and_one_for_the_tests() -> None:
    lines = [line.strip() for line in TEXT.splitlines() if line.startswith("    ")]
    assert sum(line.endswith("fent demo") for line in lines) == 1
    assert sum(line.endswith("pytest") for line in lines) == 1


def test_the_walk_through_prints_what_the_page_shows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The real search included, up to its first complete lay; so figures are not compared."""
    monkeypatch.setattr(nesting, "solve", first_lay.solve)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FENT_WORKROOM", str(tmp_path / "stash.fent"))
    for name in ("FENT_BY", "FENT_SHOW_IN"):
        monkeypatch.delenv(name, raising=False)
    assert len(WALK) > 12
    for command, shown in WALK:
        assert alike(typed_and_printed(command)) == alike(shown), command
    assert (tmp_path / "lay-1.png").exists()


def write_page() -> None:
    """Run the walk-through in a workroom of its own and put what it prints into the page."""
    os.environ.pop("FENT_BY", None)
    os.environ.pop("FENT_SHOW_IN", None)
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder):
        os.environ["FENT_WORKROOM"] = str(Path(folder) / "stash.fent")

        def fill(block: re.Match[str]) -> str:
            lines = []
            for command, _ in blocks(block[0])[0]:
                print(command, file=sys.stderr)
                lines += [f"$ {command}", *typed_and_printed(command)]
            return "```console\n" + "\n".join(lines) + "\n```"

        README.write_text(BLOCK.sub(fill, TEXT), encoding="utf-8")


if __name__ == "__main__":
    write_page()
