"""What a list is made of must be there at once: none loads a library that it does not need.

No time is measured here. What was measured stands in DEVELOPERS.md; each library below takes a tenth of a list's time or more.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from cli.main import NOUNS

GEOMETRY = {"numpy", "shapely"}
HEAVY = GEOMETRY | {
    *("alembic", "jsonschema", "matplotlib", "numba", "ortools", "pint", "pyclipper", "pydantic", "rich", "scipy"),
}
LOOKS = {"list", "show", "which", "keepers", "balance", "currency", "margins"}
PLAIN = [
    ("cloth", "list"),
    ("cloth", "show", "navy linen"),
    ("bin", "list"),
    ("bin", "list", "--fibre", "linen", "--holds", "30cm x 12cm", "--place", "drawer 2", "--colour", "navy"),
    ("bin", "show", "N-05"),
    ("bin", "keepers"),
    ("bin", "which", "--cloth", "navy linen", "--size", "62cm x 40cm"),
    ("envelope", "list"),
    ("envelope", "show", "NE-1"),
    ("job", "list"),
    ("job", "show", "wheel cushion"),
    ("lay", "list"),
    ("lay", "list", "--job", "wheel cushion"),
    ("lay", "margins"),
    ("book", "balance"),
    ("book", "list"),
    ("book", "currency"),
]
DRAWN = [("pattern", "list"), ("pattern", "show", "cushion"), ("lay", "show", "1")]
"""These say how large a drawn line is, or what a lay will leave: that is worked out from outlines."""
ASK = """
import json, sys
from cli.main import run
for words in json.loads(sys.argv[1]):
    status = run(words)
    print(json.dumps([status, sorted({name.split(".")[0] for name in sys.modules})]), file=sys.stderr)
"""


def loaded_after(commands: list[tuple[str, ...]], stash: Path) -> list[tuple[int, set[str]]]:
    """The status of each command, typed one after the other in a fresh interpreter, and what is loaded after it."""
    ran = subprocess.run(
        [sys.executable, "-c", ASK, json.dumps(commands)],
        env=os.environ | {"FENT_WORKROOM": str(stash), "FENT_HABITS": str(stash.with_name("none.toml"))},
        capture_output=True,
        text=True,
        check=True,
    )
    found = [json.loads(line) for line in ran.stderr.splitlines() if line.startswith("[")]
    return [(status, set(names)) for status, names in found]


@pytest.mark.parametrize(("commands", "may"), [(PLAIN, set()), (DRAWN, GEOMETRY)])
def test_looking_loads_nothing_heavy(commands: list[tuple[str, ...]], may: set[str], stages: dict[str, Path]) -> None:
    found = loaded_after(commands, stages["cut"])
    assert [status for status, _ in found] == [0] * len(commands)
    assert {words: names & (HEAVY - may) for words, (_, names) in zip(commands, found, strict=True)} == {
        words: set() for words in commands
    }


def test_every_command_that_only_looks_is_among_them() -> None:
    known = {
        (noun, command.name)
        for noun in NOUNS
        for command in import_module(f"cli.{noun}").app.registered_commands
        if command.name in LOOKS
    }
    assert known == {words[:2] for words in PLAIN + DRAWN}
