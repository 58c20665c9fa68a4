"""Drawings and tables as a person brings them: what a file does not say is asked at a terminal."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cli import questions

from .conftest import Said, Type

PLAIN = """\
<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 30 20">
  <path d="M 0 0 H 30 V 20 H 0 Z" stroke="black" fill="none"/>
  <path d="M 5 10 H 25" stroke="red"/>
  <path d="M 0 5 h 0.5" stroke="red"/>
</svg>
"""


def answered(fent: Type, monkeypatch: pytest.MonkeyPatch, *words: str, answers: tuple[str, ...]) -> Said:
    """Type a command at a terminal, then the answers to its questions, each of which must have been asked for."""
    left = list(answers)
    monkeypatch.setattr(questions, "at_a_terminal", lambda: True)
    monkeypatch.setattr("builtins.input", lambda _: left.pop(0))
    said = fent(*words)
    assert not left
    return said


def test_what_a_drawing_does_not_say_is_asked(stocked: Type, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "flap.svg").write_text(PLAIN)
    words = ("pattern", "from-drawing", "bag", "flap.svg", "--piece", "flap")
    said = answered(stocked, monkeypatch, *words, answers=("ells", "cm", "cut", "leave", "90"))
    assert said.status == 0, said.words
    assert "It does not say how large it is" in said.words
    assert "'ells' is no unit" in said.words
    assert "bag has its piece flap: 200 × 300 mm when cut" in said.words


def test_the_size_that_rests_on_a_rule_is_told(stocked: Type, tmp_path: Path) -> None:
    (tmp_path / "scrap.svg").write_text(PLAIN.replace(' viewBox="0 0 30 20"', ""))
    said = stocked("bin", "from-drawing", "scrap.svg", "--look", "--outline", "colour black", "--leave-out", "colour red")
    assert "96 of its units are an inch" in said.words
    assert [line.split()[-1] for line in said.data.splitlines()[1:]] == ["remnant", "out"]


def test_a_remnant_out_of_a_drawing_is_shown_as_drawn(stocked: Type, tmp_path: Path) -> None:
    (tmp_path / "scrap.svg").write_text(PLAIN)
    words = (
        "--cloth",
        "navy linen",
        "--tag",
        "n-9",
        "--unit",
        "1cm",
        "--outline",
        "colour black",
        "--leave-out",
        "colour red",
    )
    assert stocked("bin", "from-drawing", "scrap.svg", *words, "--grain-angle", "0").status == 0
    assert "as it was drawn" in stocked("bin", "show", "N-9").data


def test_scraps_come_from_a_table_with_a_drawing_for_each(stocked: Type, tmp_path: Path) -> None:
    named = PLAIN.replace('viewBox="0 0 30 20"', 'width="30cm" viewBox="0 0 30 20"')
    for element, name in (('stroke="black"', "outline"), ('d="M 5 10', "grain"), ('d="M 0 5', "hole")):
        named = named.replace(element, f'id="{name}" {element}')
    (tmp_path / "one.svg").write_text(named)
    rows = ["tag,cloth,drawing,corners,faults", "N-71,navy linen,one.svg,,"]
    rows.append('N-72,navy linen,,"0,0 9,0 9,8 cm","stain: 1cm at 5cm,2cm | hole: 5mm at 8cm,2cm"')
    (tmp_path / "scraps.csv").write_text("\n".join(rows))
    said = stocked("bin", "add-many", "scraps.csv")
    assert said.status == 0, said.words
    kept = json.loads(stocked("bin", "show", "N-72", "--json").data)
    assert [fault["kind"] for fault in kept["faults"]] == ["stain", "hole"]
    assert json.loads(stocked("bin", "show", "N-71", "--json").data)["area"] == 60_000


def test_nothing_is_written_over_and_a_folder_must_be_there(stocked: Type, tmp_path: Path) -> None:
    (tmp_path / "there.svg").write_text("mine")
    assert stocked("pattern", "to-drawing", "cushion", "there.svg").status == 2
    assert stocked("pattern", "to-table", "cushion", "nowhere/x.jsonl").status == 2
    assert (tmp_path / "there.svg").read_text() == "mine"
