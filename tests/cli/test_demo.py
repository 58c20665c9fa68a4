"""`fent demo`: the whole job."""

from __future__ import annotations

from pathlib import Path

import pytest

import nesting
from cli import scenario

from . import first_lay, row_engine
from .conftest import Type


def check(data: str, folder: Path) -> None:
    """What the demo must end with, whichever search it used."""
    for words in (
        "which is invented: no such place, person or cloth exists",
        "40 remnants of 5 cloths are logged, 11 of them with faults.",
        "Yes: all 16 panels for wheel cushion, from ",
        "Lay 1 is sound: all 16 panels",
        "Lay 1 is cut: 16 good panels for wheel cushion.",
        "entries sum to exactly zero, in area and in mass.",
    ):
        assert words in data
    head = data.index("\npull ")
    rows = data[head:].split("\n\n")[0].strip().splitlines()[1:]
    assert len(rows) >= 3, "the sixteen need several remnants"
    assert all(any(place in row for place in ("drawer 2", "shelf", "blue bag", "end of the rack")) for row in rows)
    assert any(f"{row.split()[0]}A (" in data for row in rows), "a keeper is back in the bin"
    for name in ("bin-before.png", "lay-1.png", "bin-after.png"):
        assert (folder / name).read_bytes().startswith(b"\x89PNG")
    for name in ("pull-1.pdf", "docket-1.pdf", "labels.pdf"):
        assert (folder / name).read_bytes().startswith(b"%PDF-")
    assert (folder / "workroom.fent").exists()


def test_the_whole_job(fent: Type, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the real search, up to its first complete lay; the second job then with the stand-in."""
    monkeypatch.setattr(nesting, "solve", first_lay.solve)
    monkeypatch.setattr("nesting.cutting_order.SECONDS", 0.01)  # the order of cutting has tests of its own
    said = fent("demo", "--seed", "1", "--seconds", "30")
    assert said.status == 0, said.words
    check(said.data, tmp_path / "fent-demo")
    monkeypatch.setattr(nesting, "solve", row_engine.solve, raising=False)
    assert fent("lay", "try", scenario.ROLL, "--workroom", "fent-demo/workroom.fent").status == 0


@pytest.mark.slow
def test_the_year(fent: Type, tmp_path: Path) -> None:
    said = fent("demo", "a-year", "--year")
    assert said.status == 0, said.words
    assert "40 jobs, 163 entries in the book; the audit finds nothing." in said.data
    for name, begins in (("year.html", b"<!DOCTYPE html>"), ("year.pdf", b"%PDF-"), ("year.png", b"\x89PNG")):
        assert (tmp_path / "a-year" / name).read_bytes().startswith(begins)


def test_never_over_an_old_one(fent: Type, tmp_path: Path) -> None:
    old = tmp_path / "fent-demo"
    old.mkdir()
    (old / "mine.txt").write_text("keep me")
    said = fent("demo")
    assert said.status == 2
    for words in ("'fent-demo' is there already", "DIR", "a new folder", "fent demo NAME"):
        assert words in said.words
    assert [file.name for file in old.iterdir()] == ["mine.txt"]


def test_a_folder_that_cannot_be_made(fent: Type, tmp_path: Path) -> None:
    said = fent("demo", "no/such/place")
    assert said.status == 2
    assert "cannot be made" in said.words
    assert not (tmp_path / "no").exists()


def test_the_scenario_is_what_the_demo_promises() -> None:
    assert len(scenario.REMNANTS) >= 36
    assert len(scenario.CLOTHS) == 5
    assert len({told.tag for told in scenario.REMNANTS}) == len(scenario.REMNANTS)
    assert sum(1 for told in scenario.REMNANTS if told.faults) >= 8
    assert {told.cloth for told in scenario.REMNANTS} == {cloth.name for cloth in scenario.CLOTHS}
