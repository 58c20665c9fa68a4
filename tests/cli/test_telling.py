"""The stash's own sentences, its refusals and reasons, tell measures as this person has them shown."""

from __future__ import annotations

from pathlib import Path

import pytest

import nesting

from . import row_engine
from .conftest import Type

INCHES = "in to 1/8, g"


@pytest.mark.parametrize("way", ["--show-in", "FENT_SHOW_IN", "habits"])
def test_refusals_tell_measures_as_they_are_shown(
    way: str, stocked: Type, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A command that shows no measure of its own has no --show-in, but may have to refuse one."""
    if way == "FENT_SHOW_IN":
        monkeypatch.setenv(way, INCHES)
    elif way == "habits":
        (tmp_path / "habits.toml").write_text(f'show-in = "{INCHES}"\n')
    words = ("bin", "add", "N-9", "--cloth", "navy linen", "--size", "30x20cm", "--bite", "far right: 400mm x 50mm")
    said = stocked(*words, *(("--show-in", INCHES) if way == "--show-in" else ()))
    assert said.status == 2
    assert "its length is 15 3/4 in of 11 13/16 in" in said.words.casefold()
    assert "less than 11 13/16 in" in said.words
    assert " mm" not in said.words
    if way != "--show-in":
        assert stocked("envelope", "add", "NE-1", "--cloth", "navy linen", "--mass", "86g").status == 0
        monkeypatch.setenv("FENT_SHOW_IN", "cm, oz")
        said = stocked("envelope", "take-out", "NE-1", "--mass", "4 oz", "--by", "AK")
        assert "4.00 oz are more than NE-1 holds" in said.words
        assert "Expected: at most 3.03 oz." in said.words.replace("oz\n", "oz.\n")


def test_reasons_tell_measures_as_they_are_shown(stocked: Type, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(nesting, "solve", row_engine.solve, raising=False)
    stocked("bin", "add", "R-1", "--cloth", "navy linen", "--size", "20x10cm", "--rough", "--mass", "200g")
    stocked("job", "add", "many cushions", "--piece", "cushion/wedge: 500")
    said = stocked("lay", "try", "many cushions", "--seconds", "0.1", "--show-in", "in")
    told = next(line for line in said.words.splitlines() if line.startswith("Worth measuring"))
    assert "1.269 yd² of cloth beside its rectangle; one wedge takes 25.7 in²" in told
    assert "cm²" not in told


def test_json_tells_them_in_millimetres(stocked: Type) -> None:
    bitten = ("--size", "30x20cm", "--bite", "far right: 400mm x 50mm")
    said = stocked("bin", "add", "N-9", "--cloth", "navy linen", *bitten, "--json", "--show-in", "in")
    assert "400 mm of 300 mm" in said.words
