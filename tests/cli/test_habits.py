"""A person's own file: what they always want becomes the default, and is overruled by what they say."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import nesting
from cli import habits

from . import row_engine
from .conftest import Type
from .whole import tree


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "habits.toml"


def test_units_and_initials(stocked: Type, file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file.write_text('show-in = "in to 1/4, g"\ninitials = "AK"\n')
    assert "24 1/2 × 15 3/4" in stocked("bin", "list").data
    assert "620 × 400" in stocked("bin", "list", "--show-in", "mm").data
    monkeypatch.setenv("FENT_SHOW_IN", "cm")
    assert "62.0 × 40.0" in stocked("bin", "list").data
    assert stocked("bin", "quarantine", "N-01", "--why", "moth").status == 0
    assert json.loads(stocked("bin", "show", "N-01", "--json").data)["quarantined_by"] == "AK"


def test_margins_count_when_a_lay_is_tried_and_change_nothing_else(
    stocked: Type, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(nesting, "solve", row_engine.solve, raising=False)
    file.write_text('gap = "7 mm"\nedge = "1 cm"\nseconds = 3\n')
    assert "for up to 3 s" in stocked("lay", "try", "wheel cushion").words
    lay = json.loads(stocked("lay", "show", "1", "--json").data)["lay"]
    assert (lay["gap"], lay["edge"]) == (7, 10)
    assert "between two cuts              2 mm" in stocked("lay", "margins").data


def test_the_workroom_the_scale_and_plainness(fent: Type, file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("FENT_WORKROOM")
    file.write_text(f'workroom = "{tmp_path / "mine.fent"}"\nscale = "0.1 g"\ntape = "0.5 mm"\nplain = true\n')
    said = fent("cloth", "add", "wool", "--fibre", "wool", "--weighed", "40cm x 30cm: 36 g")
    assert said.status == 0, said.words
    assert (tmp_path / "mine.fent").exists()


def test_a_habit_reaches_no_option_that_says_something_else() -> None:
    """Habits go by the name of what a command takes: wherever that is, it must ask for the same."""
    for habit in habits.HABITS:
        asked = {
            (max(parameter.opts, key=len), parameter.metavar)
            for words, command in tree().items()
            for parameter in command.params
            if parameter.name == habit.option and (not habit.only or words[-1] in habit.only)
        }
        assert len(asked) == 1, habit.name


def test_the_file_is_begun_asleep_and_never_written_over(fent: Type, file: Path) -> None:
    said = fent("help", "habits", "--begin")
    assert said.status == 0
    assert str(file) in said.data
    assert habits.read(file) == {}
    awake = "".join(line.removeprefix("#") for line in file.read_text().splitlines(keepends=True) if not line.startswith("# "))
    file.write_text(awake)
    assert set(habits.read(file)) == {habit.name for habit in habits.HABITS}
    assert fent("help", "habits", "--begin").status == 2
    assert file.read_text() == awake


def test_help_is_there_even_if_the_file_cannot_be_read(fent: Type, file: Path) -> None:
    file.write_text("not toml at all")
    assert fent("cloth", "list").status == 2
    assert fent("help", "habits").status == 0
    assert fent("--help").status == 0
