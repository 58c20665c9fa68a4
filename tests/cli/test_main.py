"""The command as a whole: help, exit statuses, and what happens when Fent itself fails."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from cli import cloth
from cli.main import NOUNS, run

from .conftest import LINEN, Type
from .whole import tree


def printed(examples: str) -> list[str]:
    """The commands in the examples of a help text."""
    return re.findall(r"^ +(fent .*)$", examples, re.MULTILINE)


@pytest.mark.parametrize("command", list(tree()), ids=" ".join)
def test_every_command_has_help_that_reads_plainly_and_an_example(command: tuple[str, ...], fent: Type) -> None:
    said = fent(*command, "--help")
    assert said.status == 0
    assert re.search(r"^  Examples?:$", said.data, re.MULTILINE)
    examples = [line for line in printed(said.data) if line.startswith(f"fent {' '.join(command)}")]
    assert examples, said.data
    for option in re.findall(r"(?<=\s)--[a-z-]+", " ".join(examples)):
        assert re.search(rf"^ +.*{option}\b", said.data.split("Options:")[1], re.MULTILINE), option
    for mark in ("{", "}", "<", ">", "[OPTIONS]", "ARGS", "[required]", "default:", "TEXT", "INTEGER", "FLOAT", "BOOLEAN"):
        assert mark not in said.data, mark


@pytest.mark.parametrize("command", list(tree()), ids=" ".join)
def test_every_option_and_argument_says_what_it_is(command: tuple[str, ...]) -> None:
    for parameter in tree()[command].params:
        assert parameter.help, parameter.name
        assert parameter.help.rstrip().endswith((".", "?", "…")), parameter.help


@pytest.mark.parametrize("noun", [(), *((noun,) for noun in NOUNS)])
def test_a_noun_alone_shows_its_help(noun: tuple[str, ...], fent: Type) -> None:
    said = fent(*noun)
    assert said.status == 0
    assert said.data.startswith(f"Usage: fent {' '.join(noun)}".rstrip())
    assert "…" not in said.data.split("Commands:")[1], "a summary is cut off"
    assert "..." not in said.data.split("Commands:")[1], "a summary is cut off"


def test_version(fent: Type) -> None:
    assert re.fullmatch(r"fent \d+\.\d+\.\d+\n", fent("--version").data)


def test_a_fault_of_the_program_is_logged_and_said_plainly(
    fent: Type, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    import platformdirs

    monkeypatch.setattr(platformdirs, "user_log_path", lambda *_, **__: tmp_path)

    def fail(*_: object, **__: object) -> None:
        raise ZeroDivisionError("the deep reason")

    monkeypatch.setattr(cloth.Voice, "data", fail)
    said = fent(*LINEN)
    assert said.status == 3
    assert said.data == ""
    place = re.search(r"written in (\S+)", said.words)
    assert place
    story = Path(place[1]).read_text()
    assert "the deep reason" in story
    assert "Traceback" in story


def test_interrupted(fent: Type, monkeypatch: pytest.MonkeyPatch) -> None:
    def press(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(cloth.Voice, "data", press)
    assert fent(*LINEN).status == 130


def test_a_reader_that_goes_away_is_no_fault(stocked: Type, workroom: Path) -> None:
    """`fent bin list | head -0`: the pipe is closed before anything is written."""
    script = "import sys; from cli.main import run; sys.stdin.read(); sys.exit(run(['bin', 'list']))"
    process = subprocess.Popen(
        [sys.executable, "-c", script],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={
            "FENT_WORKROOM": str(workroom),
            "PYTHONPATH": str(Path(__file__).parents[2]),
            "PATH": "",
            "HOME": str(workroom.parent),
        },
    )
    assert process.stdin
    assert process.stdout
    assert process.stderr
    process.stdout.close()
    process.stdin.close()
    assert process.stderr.read() == b""
    assert process.wait() == 0


HEAVY = (
    "numpy",
    "shapely",
    "sqlalchemy",
    "matplotlib",
    "numba",
    "ortools",
    "pint",
    "alembic",
    "jsonschema",
    "stash",
    "nesting",
)


def test_help_loads_nothing_heavy() -> None:
    """What makes help quick: no heavy library is loaded for it."""
    found = f"print(*[name for name in {HEAVY!r} if name in sys.modules])"
    script = f"import sys; from cli.main import run; run(['--help']); {found}"
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, cwd=Path(__file__).parents[2], check=True
    )
    assert done.stdout.splitlines()[-1] == ""


def test_lists_load_no_geometry_engine_and_no_pictures(stocked: Type, workroom: Path) -> None:
    names = ("matplotlib", "numba", "ortools", "pint", "jsonschema")
    script = (
        "import sys; from cli.main import run; run(['bin', 'list', '--workroom', sys.argv[1]]);"
        f"print(*[name for name in {names!r} if name in sys.modules])"
    )
    command = [sys.executable, "-c", script, str(workroom)]
    done = subprocess.run(command, capture_output=True, text=True, cwd=Path(__file__).parents[2], check=True)
    assert done.stdout.splitlines()[-1] == ""


def test_run_gives_a_status_and_main_leaves_with_it() -> None:
    from cli.main import main

    assert run(["--version"]) == 0
    with pytest.raises(SystemExit) as left:
        main(["bin", "lst"])
    assert left.value.code == 2
