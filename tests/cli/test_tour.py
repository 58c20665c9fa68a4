"""Every option of every command is documented and works: what the examples in the help leave out is in `tour.txt`.

There each command stands with the stage of the workroom (`world.py`) in which it is typed, and below it what must be seen.
The options of every command (`--json`, `--plain`, `--show-in`, `--workroom`) are added here.
"""

from __future__ import annotations

import json
import re
import shlex
import shutil
from pathlib import Path

import pytest
from PIL import Image

import nesting

from . import row_engine, world
from .conftest import Type
from .test_examples import NOT_RUN, STAGES, examples, words_of
from .whole import options, tree

EVERYWHERE = {"--json", "--plain", "--show-in", "--workroom"}
TOUR = re.findall(
    r"^(\w+): fent (.*)\n((?:  .*\n)*)", Path(__file__).with_name("tour.txt").read_text(encoding="utf-8"), re.MULTILINE
)


@pytest.fixture
def at(fent: Type, stages: dict[str, Path], workroom: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Type:
    """Type a command at a stage of the workroom."""
    monkeypatch.setattr(nesting, "solve", row_engine.solve, raising=False)

    def type_at(stage: str, *words: str) -> object:
        shutil.copy(stages[stage], workroom)
        world.lay_out_files(tmp_path)
        Image.new("RGB", (9, 9), "blue").save(tmp_path / "remnants.png")
        return fent(*words)

    return type_at  # type: ignore[return-value]


def typed_options() -> set[tuple[tuple[str, ...], str]]:
    """What the examples and the tour type, by command and option."""
    lines = [command.removeprefix("fent ") for words in tree() for command, _ in examples(tree()[words].help)]
    lines += [typed for _, typed, _ in TOUR]
    found = set()
    for line in lines:
        words = words_of(f"fent {line}")
        for said in re.findall(r"(?<=\s)--[a-z-]+", re.sub(r"'[^']*'|\"[^\"]*\"", "''", line)):
            for parameter in tree()[words].params:
                if said in [*parameter.opts, *parameter.secondary_opts]:
                    found.add((words, max(parameter.opts, key=len)))
    return found


def test_every_option_is_typed_somewhere() -> None:
    every = {(words, option) for words, option in options() if option not in EVERYWHERE} - {
        *((words, "--cluster") for words in tree()),  # test_yielding.py: the slow tier has a cluster
        (("demo",), "--seconds"),
        (("demo",), "--seed"),
    }
    assert not every - typed_options()


def test_every_command_is_typed_somewhere() -> None:
    typed = {words_of(f"fent {line}") for _, line, _ in TOUR}
    typed |= {words_of(command) for words in tree() for command, _ in examples(tree()[words].help)}
    assert set(tree()) <= typed | NOT_RUN


def test_the_tour(at: Type) -> None:
    for stage, typed, seen in TOUR:
        said = at(stage, *shlex.split(typed))
        assert said.status == 0, f"{typed}: {said.words}"
        assert seen.strip() in said.data + said.words, typed


def test_what_every_command_takes(at: Type, stages: dict[str, Path], tmp_path: Path) -> None:
    """`--json` gives JSON and nothing else on standard output; `--plain`, `--show-in in` and `--workroom` are taken."""
    for words in tree():
        known = {name for parameter in tree()[words].params for name in parameter.opts} & EVERYWHERE
        if words in NOT_RUN or not known:
            continue
        stage = STAGES.get(words, "stocked")
        command = examples(tree()[words].help)[-1][0]
        shutil.copy(stages[stage], tmp_path / "elsewhere.fent")
        added = [name for name in known if name in ("--json", "--plain")]
        shown = ["--show-in", "in"] if "--show-in" in known else []
        typed = [*shlex.split(command)[1:], *added, *shown, "--workroom", "elsewhere.fent"]
        said = at(stage, *typed)
        assert said.status == 0, said.words
        if "--json" in known:
            json.loads(said.data)
