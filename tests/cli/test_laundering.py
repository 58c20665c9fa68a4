"""`fent bin wash` and `to-wash`, and outlines told by tape."""

from __future__ import annotations

import json

import pytest

from .conftest import Type

LINEN = ("cloth", "add", "grey linen", "--fibre", "linen", "--weight", "180", "--shrinks-warp", "6%", "--shrinks-weft", "4%")


@pytest.fixture
def grey(stocked: Type) -> Type:
    stocked(*LINEN)
    stocked("bin", "add", "G-1", "--cloth", "grey linen", "--size", "1000 x 600 mm", "--mass", "108 g", "--place", "drawer 5")
    stocked("job", "add", "washed bag", "--piece", "cushion/wedge: 4", "--cloth", "grey linen", "--washed")
    return stocked


def test_what_a_job_would_want_washed_and_the_wash(grey: Type) -> None:
    """Linen 1000 × 600 mm, 108 g, −6 % warp, −4 % weft: 940 × 576, 0.54144 m², 199.5 g/m² (ISO 5077)."""
    told = grey("bin", "to-wash", "washed bag")
    assert told.status == 0
    assert "G-1 wedge 1000 × 600 940 × 576 180.0 g/m² 199.5 g/m² as expected drawer 5" in " ".join(told.data.split())
    assert grey("lay", "try", "washed bag").status == 1
    said = grey("bin", "wash", "G-1", "--how", "40 °C, line dried", "--size", "940 x 576 mm", "--by", "AK")
    assert said.status == 0, said.words
    assert "G-1 is washed: 940 × 576 mm, 5414 cm², now 199.5 g/m²." in said.words
    assert "It changed by −6.0 % along the grain (expected: −6.0 %) and −4.0 % across it (expected: −4.0 %)." in said.words
    remnant = json.loads(grey("bin", "show", "G-1", "--json").data)
    assert (remnant["area"], remnant["mass"], remnant["washed"]) == (541_440, 108, "40 °C, line dried")
    assert "shrunk 0.05856000 0.000" in " ".join(grey("book", "balance").data.split())
    assert grey("bin", "to-wash", "washed bag").words == "There is nothing to list.\n"


def test_washing_is_undone_like_any_entry(grey: Type) -> None:
    grey("bin", "wash", "G-1", "--how", "cold", "--size", "940 x 576 mm", "--by", "AK")
    number = json.loads(grey("book", "list", "--json").data)[0]["number"]
    assert grey("book", "undo", str(number), "--why", "another one", "--by", "AK").status == 0
    remnant = json.loads(grey("bin", "show", "G-1", "--json").data)
    assert (remnant["area"], remnant["washed"]) == (600_000, "")


def test_a_remnant_says_how_surely_it_was_measured(stocked: Type) -> None:
    ties = "AB 42, BC 31.1, CD 38.6, DA 29, AC 50.6, BD 49.8 cm"
    said = stocked("bin", "add", "N-7", "--cloth", "navy linen", "--ties", ties, "--grain", "side 1")
    assert "The readings agree, AC the worst by 0.1 mm, with 1 to spare." in said.words
    told = stocked("bin", "show", "N-7").data
    assert "outline             measured by sides and diagonals, corners within ± 0.7 mm, area ± 3 cm²" in told
    assert f"readings            {ties}" in told
    assert "grain               by side" in told


def test_a_coarse_tape_is_held_against_the_margin(stocked: Type) -> None:
    walk = "42cm, left 94, 31.1cm, left 89, 38.6cm, left 84, 29cm, left 93"
    said = stocked("bin", "add", "N-7", "--cloth", "navy linen", "--walk", walk, "--tape", "1cm", "--turns", "5")
    assert said.status == 0
    assert "panels are kept 3 mm from an edge: try lays with a wider --edge." in said.words


def test_looking_keeps_nothing(stocked: Type) -> None:
    said = stocked(
        "bin", "add", "N-7", "--cloth", "navy linen", "--size", "40x30cm", "--bite", "far at 10cm: 6cm x 4cm pointed", "--look"
    )
    assert said.status == 0
    assert "grain →" in said.data
    assert "AB 400, BC 300, CD 240, DE 50, EF 50, FG 100, GA 300 mm; 1188 cm²." in said.data
    assert stocked("bin", "show", "N-7").status == 2
    found = json.loads(stocked("bin", "add", "--ties", "AB 30, BC 40, CA 50 cm", "--look", "--json").data)
    assert found["measured"]["way"] == "ties"


@pytest.mark.parametrize(
    ("told", "angle", "by"),
    [
        (("--points", "0,0 30,0 30,20 0,20 cm", "--grain", "thread 0,0 0,10 cm"), 90, "pulled thread"),
        (("--points", "0,0 30,0 30,20 0,20 cm", "--grain", "BC"), 90, "side"),
        (("--points", "0,0 30,0 30,20 0,20 cm", "--grain", "cb"), 90, "side"),
        (("--points", "0,0 30,0 30,20 0,20 cm", "--grain", "side 3"), 0, "side"),
        (
            ("--points", "0,0 30,3 30,23 0,20 cm", "--edges", "selvedge; cut; cut; cut", "--grain", "selvedge"),
            5.71,
            "selvedge",
        ),
        (("--size", "30x20cm", "--grain", "12.5°"), 12.5, "angle"),
        (("--size", "30x20cm"), 0, "laid straight"),
    ],
)
def test_the_grain_is_told_in_every_way(stocked: Type, told: tuple[str, ...], angle: float, by: str) -> None:
    said = stocked("bin", "add", "N-7", "--cloth", "navy linen", *told)
    assert said.status == 0, said.words
    remnant = json.loads(stocked("bin", "show", "N-7", "--json").data)
    assert remnant["grain_angle"] == pytest.approx(angle, abs=0.01)
    assert remnant["grain_by"] == by


@pytest.mark.parametrize(
    ("told", "says"),
    [
        (("--walk", "30cm, 20cm"), "no turn was told after side 1"),
        (("--walk", "30cm, left 90, 20, left 90, 30cm"), "'20' has no unit, and others have"),
        (("--walk", "left 90"), "no side was told before 'left 90'"),
        (("--walk", ""), "no side was told"),
        (("--ties", "AB 30, BA 20 cm"), "BA is told twice"),
        (("--ties", "30cm"), "'30cm' is not a side or a diagonal with its length"),
        (("--ties", "A inward"), "no side or diagonal was told"),
        (("--ties", "AB 42, BC 31, CD 38, DA 29 cm"), "4 readings do not fix 4 corners"),
        (("--size", "30x20cm", "--ties", "AB 3, BC 4, CA 5 cm"), "the outline is told twice"),
        (("--size", "30x20cm", "--clockwise"), "only letters run with the clock"),
        (("--walk", "3cm, left 120, 3cm, left 120, 3cm", "--rough"), "only a rectangle has bites or is --rough"),
        (("--size", "30x20cm", "--grain", "north"), "does not say which way the grain runs"),
        (("--size", "30x20cm", "--grain", "AC"), "there is no side AC"),
        (("--size", "30x20cm", "--grain", "side 5"), "there is no side 5"),
        (("--size", "30x20cm", "--grain", "selvedge"), "no side of it is a selvedge"),
        (("--size", "30x20cm", "--grain", "thread 0,0 cm"), "is not two points"),
        (("--size", "30x20cm", "--tape", "20cm"), "how near the tape was read is 200"),
    ],
)
def test_what_cannot_be_understood_is_refused(stocked: Type, told: tuple[str, ...], says: str) -> None:
    said = stocked("bin", "add", "N-7", "--cloth", "navy linen", *told)
    assert said.status == 2
    assert says.lower() in said.words.lower()
