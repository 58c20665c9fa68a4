"""`fent bin`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from shapely.geometry import shape

from .conftest import Type


def logged(fent: Type, tag: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(fent("bin", "show", tag, "--json").data)
    return found


def add(fent: Type, *words: str) -> dict[str, Any]:
    said = fent("bin", "add", "N-07", "--cloth", "navy linen", *words)
    assert said.status == 0, said.words
    return logged(fent, "N-07")


def test_a_rectangle(stocked: Type) -> None:
    remnant = add(stocked, "--size", "62 x 40 cm", "--place", "drawer 2", "--edges", "selvedge; cut; cut; raw")
    assert remnant["area"] == 620 * 400
    assert remnant["mass"] == pytest.approx(620 * 400 * 1e-6 * 185)
    assert {edge["kind"] for edge in remnant["edges"]} == {"selvedge", "raw"}
    assert remnant["place"] == "drawer 2"


@pytest.mark.parametrize(
    ("bite", "lost"),
    [
        ("far right: 8cm x 5cm", 4000),
        ("Near Left: 80 x 50", 4000),
        ("far left: 8cm x 5cm slanted", 2000),
        ("far at 20cm: 10cm x 5cm", 5000),
        ("left at 0: 10cm x 5cm", 5000),
    ],
)
def test_bites(stocked: Type, bite: str, lost: float) -> None:
    assert add(stocked, "--size", "62cm x 40cm", "--bite", bite)["area"] == pytest.approx(620 * 400 - lost)


def test_corners_and_grain(stocked: Type) -> None:
    """Measured with the grain at 90° to the x of the corners: its length on the grain is what was measured across."""
    remnant = add(stocked, "--points", "0,0 30,0 30,50 0,50 cm", "--grain", "90")
    assert (remnant["length"], remnant["width"]) == (pytest.approx(500), pytest.approx(300))


def test_measured_wrong_side_up(stocked: Type) -> None:
    """A triangle seen from the wrong side is the mirror image of what is stored."""
    told = shape(add(stocked, "--points", "0,0 30,0 0,20 cm", "--wrong-side-up")["outline"])
    assert told.area == pytest.approx(30_000)
    low, high = sorted(told.exterior.coords[:-1], key=lambda point: point[1])[0], max(told.exterior.coords, key=lambda p: p[1])
    assert low[1] < high[1]
    assert sum(1 for x, y in told.exterior.coords[:-1] if y == pytest.approx(high[1])) == 2  # the long side is now the far one


def test_faults(stocked: Type) -> None:
    remnant = add(
        stocked,
        *("--size", "62cm x 40cm"),
        *("--fault", "hole: 10,10 30,10 20,30"),
        *("--fault", "stain on the wrong face: 4cm at 10cm,12cm"),
        *("--fault", "hole: 0,300 60,310"),
        *("--fault", "needle-holes: 100,100 200,100 200,105 100,105"),
    )
    assert [fault["kind"] for fault in remnant["faults"]] == ["hole", "stain", "hole", "needle holes"]
    assert [fault["face"] for fault in remnant["faults"]] == ["both", "wrong", "both", "both"]
    stain, tear = shape(remnant["faults"][1]["shape"]), remnant["faults"][2]["shape"]
    assert tear["type"] == "LineString"
    assert stain.contains(stain.centroid.buffer(19.99))
    assert stain.area < 1.1 * 3.14159 * 20**2
    assert remnant["area"] == pytest.approx(620 * 400 - 200)  # only the first hole is no cloth
    shown = stocked("bin", "show", "N-07").data
    assert "faults              hole, stain on the wrong face, tear, needle holes" in shown


def test_its_own_weight(stocked: Type) -> None:
    remnant = add(stocked, "--size", "62cm x 40cm", "--mass", "1 1/2 oz")
    assert remnant["weighed"] is True
    assert remnant["mass"] == pytest.approx(1.5 * 28.349523125, abs=1e-3)


def test_the_list_and_what_is_asked_of_it(stocked: Type) -> None:
    assert stocked("bin", "list").data.splitlines() == [
        "tag   cloth       size (mm)  largest rectangle (mm)      area  faults  place     state",
        "N-01  navy linen  620 × 400               620 × 400  2480 cm²          drawer 2  in the bin",
        "N-02  navy linen  310 × 180               301 × 141   489 cm²          blue bag  in the bin",
        "N-03  navy linen  300 × 200               300 × 150   560 cm²                    in the bin",
    ]
    holds = stocked("bin", "list", "--holds", "15 x 25 cm").data
    assert "N-01" in holds
    assert "N-02" not in holds
    assert "N-03" in holds
    nothing = stocked("bin", "list", "--washed")
    assert (nothing.status, nothing.data, nothing.words) == (0, "", "There is nothing to list.\n")
    assert "24 7/16 × 15 3/4" in stocked("bin", "list", "--show-in", "in").data
    assert len(json.loads(stocked("bin", "list", "--json").data)) == 3


def test_pictures(stocked: Type, tmp_path: Path) -> None:
    for name, more in (("bin.pdf", " Print it at actual size (100 %)."), ("bin.svg", "")):
        said = stocked("bin", "picture", name)
        assert said.status == 0, said.words
        assert said.words == f"The picture of 3 remnants is in {name}.{more}\n"
        assert (tmp_path / name).stat().st_size > 1000
    assert stocked("bin", "show", "N-01", "--picture", "one.png").status == 0
    assert (tmp_path / "one.png").exists()
    nothing = stocked("bin", "picture", "none.png", "--washed")
    assert nothing.status == 1
    assert not (tmp_path / "none.png").exists()


def test_quarantine(stocked: Type) -> None:
    assert stocked("bin", "quarantine", "N-01", "--why", "moth", "--by", "AK").status == 0
    assert "in quarantine: moth" in stocked("bin", "list").data
    assert stocked("bin", "release", "N-01", "--by", "AK").status == 0
    assert "quarantine" not in stocked("bin", "list").data
