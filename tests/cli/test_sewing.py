"""`fent pattern ring`, `resize`, `sew`, `unpick`, `prove`; and pieces told in full."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from shapely.geometry import shape

from .conftest import Type
from .test_pattern import pieces

PANEL = (
    *("pattern", "add", "hat", "panel", "--length", "7/48 of 29in", "--wide", "1/8 of 29in", "--narrow", "1/12 of 29in"),
    *("--drawn", "cut", "--allowance", "sides: 1/4 in", "--count", "16"),
)


def test_the_ring_of_the_29_inch_panel(stocked: Type) -> None:
    """*Common practice, no source*: by the rule 50.00 in outside and 30.67 in inside; kinks 16.3°, a few degrees, none."""
    said = stocked(*PANEL)
    assert said.status == 0, said.words
    assert "fent pattern ring hat panel" in said.words
    told = stocked("pattern", "ring", "hat", "panel", "--show-in", "in")
    assert told.status == 0
    lines = [" ".join(line.split()) for line in told.data.splitlines()]
    assert lines[0] == "16 panels of hat/panel, ends trued: each takes 16.4°, all of them 262.8° of a full turn: a cone."
    assert "straight outer 49.92 49.92 16.3° 50.00 −0.08" in lines
    assert "straight inner 30.59 30.59 16.3° 30.67 −0.08" in lines
    assert "trued on the cut line inner 30.73 30.80 3.4° 30.67 +0.07" in lines
    assert "trued on the sewing line outer 50.08 50.25 0.0° 50.00 +0.08" in lines
    found = json.loads(stocked("pattern", "ring", "hat", "panel", "--count", "8", "--json").data)
    assert [each["count"] for each in found] == [8, 8, 8]


def test_a_ring_that_lies_flat_and_one_that_ripples(stocked: Type) -> None:
    flat = ("--length", "10cm", "--wide", "105mm", "--narrow", "55mm", "--count")
    for count, says in (("12", "a cone"), ("13", "more than a flat ring")):
        stocked("pattern", "add", "rug", f"panel {count}", *flat, count)
        turns = json.loads(stocked("pattern", "ring", "rug", f"panel {count}", "--json").data)[-1]["turn"]
        assert (turns < 360) == (says == "a cone")
        assert says in stocked("pattern", "ring", "rug", f"panel {count}").data


def test_resizing_from_one_end(stocked: Type) -> None:
    stocked(*PANEL)
    assert stocked("pattern", "resize", "hat", "panel", "bigger", "--end", "wide", "--width", "3 1/2in").status == 0
    rings = [json.loads(stocked("pattern", "ring", "hat", name, "--json").data)[-1] for name in ("panel", "bigger")]
    assert rings[0]["inner"]["along_chords"] == pytest.approx(rings[1]["inner"]["along_chords"])
    assert rings[1]["outer"]["along_chords"] == pytest.approx(16 * 3.5 * 25.4)
    assert pieces(stocked, "hat")["bigger"]["edges"][0]["allowance"] == 6.35


def test_a_piece_in_full(stocked: Type, tmp_path: Path) -> None:
    words = (
        *("--points", "0,0 9,0 8,20 0,20 cm", "--sides", "foot; side; hem; middle", "--fold", "middle"),
        *("--allowance", "1cm; hem: 3cm", "--corners", "mitre; hem: folded back", "--notch", "side at 5cm, double"),
        *("--join", "0,10 9,10 cm: 1cm", "--count", "2"),
    )
    said = stocked("pattern", "add", "bag", "pocket", *words)
    assert said.status == 0, said.words
    piece = pieces(stocked, "bag")["pocket"]
    assert shape(piece["sewing_line"]).area == pytest.approx(2 * 200 * 85)
    assert [edge["name"] for edge in piece["edges"]][:3] == ["foot", "side", "hem"]
    assert {edge["name"]: edge["finish"] for edge in piece["edges"]}["hem"] == "folded back"
    assert [(notch["edge"], notch["marks"]) for notch in piece["notches"]] == [("side", 2), ("side, other half", 2)]
    told = stocked("pattern", "show", "bag", "--picture", "bag.png").data
    assert "hem 80 mm (folded back)" in told
    assert "notches       side at 50 mm × 2" in told
    assert "made of two   1 join permitted" in told
    assert (tmp_path / "bag.png").read_bytes().startswith(b"\x89PNG")


def test_a_pattern_that_goes_together_and_one_that_does_not(stocked: Type) -> None:
    stocked(*PANEL)
    said = stocked("pattern", "prove", "hat", "--cloth", "navy linen")
    assert said.status == 0, said.words
    assert said.data.startswith("hat goes together: nothing is out.\nA set takes 1325 cm², 24.5 g of navy linen.")
    straight = [word if word != "hat" else "flat" for word in PANEL]
    stocked(*straight, "--ends", "straight")
    said = stocked("pattern", "prove", "flat")
    assert said.status == 1
    assert "the edge that runs on has a kink of 16.3°" in said.data
    assert "flat does not go together as it is: 2 things to put right" in said.words


def test_seams_with_ease(stocked: Type) -> None:
    for name, high in (("front", 21), ("back", 20)):
        stocked("pattern", "add", "vest", name, "--points", f"0,0 30,0 30,{high} 0,{high} cm", "--allowance", "1cm")
    said = stocked("pattern", "sew", "vest", "front/side 2", "back/side 4", "--ease", "1cm")
    assert said.words == "vest: front/side 2 is sewn to back/side 4, with 10 mm of ease in the first.\n"
    assert stocked("pattern", "prove", "vest").status == 0
    assert stocked("pattern", "unpick", "vest", "front/side 2", "back/side 4").status == 0
    stocked("pattern", "sew", "vest", "front/side 2", "back/side 4")
    assert "the first is longer by 10 mm, and 0 mm was asked" in stocked("pattern", "prove", "vest").data


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("pattern", "ring", "cushion", "wegde"), "There is no piece of cushion 'wegde'"),
        (("pattern", "ring", "cushion", "wedge", "--count", "0"), "'0' is not a whole number from 1 up"),
        (("pattern", "resize", "cushion", "wedge", "w"), "Nothing is said of the new size"),
        (
            ("pattern", "resize", "cushion", "wedge", "w", "--width", "9cm", "--longer", "1cm"),
            "--width and --longer are both told",
        ),
        (("pattern", "resize", "cushion", "wedge", "w", "--width", "9cm", "--end", "side"), "'side' is none of them"),
        (("pattern", "add", "c", "d", "--points", "0,0 9,0 9,9 cm", "--allowance", "1cm; hem: 2cm"), "no edge 'hem'"),
        (("pattern", "add", "c", "d", "--points", "0,0 9,0 9,9 cm", "--allowance", "1; 2; hem: 2cm"), "some by name"),
        (("pattern", "add", "c", "d", "--points", "0,0 9,0 9,9 cm", "--sides", "a; b"), "2 names are told for 3 sides"),
        (("pattern", "add", "c", "d", "--points", "0,0 9,0 9,9 cm", "--notch", "side 1 5cm"), "'side 1 5cm' is not a notch"),
        (("pattern", "add", "c", "d", "--points", "0,0 9,0 9,9 cm", "--join", "0,1 9,1 cm"), "is not a line across the piece"),
        (("pattern", "add", "c", "d", "--points", "0,0 9,0 9,9 cm", "--corners", "round"), "'round' is none of them"),
        (
            ("pattern", "add", "c", "d", "--length", "9cm", "--wide", "5cm", "--narrow", "3cm", "--sides", "a"),
            "have their names",
        ),
        (
            (*PANEL[:10], "--allowance", "left side: 1cm"),
            "its two sides have different allowances",
        ),
    ],
)
def test_what_cannot_be_read_is_refused(stocked: Type, words: tuple[str, ...], says: str) -> None:
    said = stocked(*words)
    assert said.status == 2
    assert says.lower() in said.words.lower()


def test_a_piece_that_was_not_drafted_makes_no_ring(stocked: Type) -> None:
    stocked("pattern", "add", "bag", "flap", "--points", "0,0 9,0 9,9 cm")
    said = stocked("pattern", "ring", "bag", "flap")
    assert said.status == 1
    assert "bag/flap was not drafted from measures" in said.words
