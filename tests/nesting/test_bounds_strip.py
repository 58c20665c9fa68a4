"""A strip's least length: never more than a known optimum, and more than area alone tells.

The small instances are from the ESICUP datasets (CC0), read where they are; their optima without turns: Alvarez-Valdes,
Martinez & Tamarit 2013, mem, and, on the whole-number grid, calculated and proved by CP-SAT (`references.md`).
"""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path

import pytest

from nesting import Case, Panel, Strip, examine, read_case, solve
from nesting.bounding import LengthBounding
from nesting.bounds_strip import least_length, quick_least_length
from nesting.instance import Instance

from .shapes import box_ring


def of_each(path: Path, copies: int, kinds: int, width: float) -> Case:
    case = read_case(path.read_text())
    panels = tuple(replace(panel, copies=copies, turns=(0.0,)) for panel in case.panels[:kinds])
    return replace(case, panels=panels, strip=Strip(width))


@pytest.mark.parametrize(
    ("name", "copies", "kinds", "width", "optimum", "at_least"),
    [
        ("shapes0", 1, 4, 13.0, 24.0, 15.0),
        pytest.param("fu", 1, 5, 38.0, 17.889, 14.5, marks=pytest.mark.slow),
        pytest.param("blaz", 1, 7, 15.0, 7.44, 6.0, marks=pytest.mark.slow),
    ],
)
def test_never_more_than_a_known_optimum(
    benchmarks: Path, name: str, copies: int, kinds: int, width: float, optimum: float, at_least: float
) -> None:
    case = of_each(benchmarks / "strip" / f"{name}.json", copies, kinds, width)
    quick = quick_least_length(Instance(case))
    proved = least_length(case, quick, optimum, 4.0)
    assert quick < at_least < proved <= optimum


@pytest.mark.slow
def test_squares_that_cannot_lie_side_by_side() -> None:
    """Three squares of 10 in a strip 19 wide lie one behind the other: 30 long, where area says 16."""
    case = Case((Panel("p", box_ring(10.0, 10.0), copies=3, turns=(0.0,)),), strip=Strip(19.0))
    quick = quick_least_length(Instance(case))
    assert quick < 16
    assert 27 < least_length(case, quick, 30.0, 0.05) <= 30.0


def test_the_proof_beside_a_search_is_taken_in_when_it_is_ready() -> None:
    case = Case((Panel("p", box_ring(10.0, 10.0), copies=3, turns=(0.0,)),), strip=Strip(19.0))
    bounding = LengthBounding(Instance(case))
    quick = bounding.least
    bounding.look(30.0)
    for _ in range(600):
        time.sleep(0.1)
        bounding.look(30.0)
        if bounding.least > quick:
            break
    bounding.close()
    assert quick < bounding.least <= 30.0


@pytest.mark.parametrize(
    ("copies", "width", "gap", "length"), [(40, 10.5, 3.0, 517.0), (4, 10.0, 0.0, 40.0), (5, 30.0, 2.0, 34.0)]
)
def test_rows_of_squares(copies: int, width: float, gap: float, length: float) -> None:
    """Squares of 10: a strip that is full, one with gaps in it, and one with room for two side by side."""
    case = Case((Panel("p", box_ring(10.0, 10.0), copies=copies),), strip=Strip(width), gap=gap)
    found = solve(case, rounds=20)
    assert not examine(case, found).faults
    assert found.length == pytest.approx(length, abs=0.02)
    assert found.least_length is not None
    assert found.least_length <= length
    assert 0.9 * copies * 100 / width < found.least_length
