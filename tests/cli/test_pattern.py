"""`fent pattern`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from shapely.geometry import shape

from .conftest import Type


def pieces(fent: Type, pattern: str) -> dict[str, Any]:
    found = json.loads(fent("pattern", "show", pattern, "--json").data)
    return {piece["name"]: piece for piece in found["pieces"]}


def test_the_tapered_panel_of_a_29_inch_measure(stocked: Type) -> None:
    """*Common practice, no source*: length 7/48, wide end 1/8 and narrow end 1/12 of a 29 in measure, quarter-inch seams."""
    words = (
        "--length",
        "7/48 of 29in",
        "--wide",
        "1/8 of 29in",
        "--narrow",
        "1/12 of 29in",
        "--allowance",
        "1/4 in",
        "--ends",
        "straight",
    )
    said = stocked("pattern", "add", "set", "panel", *words)
    assert said.status == 0, said.words
    piece = pieces(stocked, "set")["panel"]
    sewn, cut = shape(piece["sewing_line"]), shape(piece["cut_line"])
    left, low, right, high = sewn.bounds
    assert right - left == pytest.approx(7 / 48 * 29 * 25.4)
    assert high - low == pytest.approx(29 / 8 * 25.4)
    assert sewn.area == pytest.approx(7 / 48 * 29 * 25.4 * (29 / 8 + 29 / 12) / 2 * 25.4)
    assert set(piece["allowances"]) == {6.35}
    assert sewn.exterior.distance(cut.exterior) == pytest.approx(6.35)


def test_ends_are_trued_unless_straight_is_asked(stocked: Type) -> None:
    """Every corner of a trued panel's sewing line is a right angle (references: a frustum's gore is an annular sector)."""
    stocked("pattern", "add", "cushion", "trued", "--length", "21cm", "--wide", "84mm", "--narrow", "2cm")
    trued = shape(pieces(stocked, "cushion")["trued"]["sewing_line"])
    stocked(
        "pattern", "add", "cushion", "plain", "--length", "21cm", "--wide", "84mm", "--narrow", "2cm", "--ends", "straight"
    )
    plain = shape(pieces(stocked, "cushion")["plain"]["sewing_line"])
    assert len(plain.exterior.coords) == 5
    assert len(trued.exterior.coords) > 8
    assert trued.area == pytest.approx(plain.area, rel=0.05)


def test_any_shape_with_an_allowance_for_each_edge(stocked: Type) -> None:
    said = stocked(
        "pattern", "add", "bag", "flap", "--points", "0,0 30,0 30,20 0,20 cm", "--allowance", "1cm; 1cm; 0; 2cm", "--one-way"
    )
    assert said.status == 0, said.words
    assert said.words == "bag has its piece flap: 330 × 210 mm when cut, one way, seen.\n"
    piece = pieces(stocked, "bag")["flap"]
    assert shape(piece["cut_line"]).area == pytest.approx(330 * 210)
    assert piece["allowances"] == [10, 10, 0, 20]


def test_hands_hidden_and_off_grain(stocked: Type) -> None:
    words = (
        "--points",
        "0,0 30,0 30,20 cm",
        "--left-and-right",
        "--hidden",
        "--off-grain",
        "3",
        "--drawn",
        "cut",
        "--allowance",
        "1cm",
    )
    assert stocked("pattern", "add", "bag", "side", *words).status == 0
    assert "either way, up to 3° off grain, left and right, hidden" in stocked("pattern", "list").data
    assert shape(pieces(stocked, "bag")["side"]["cut_line"]).area == pytest.approx(30_000)


def test_show_and_picture(stocked: Type, tmp_path: Path) -> None:
    said = stocked("pattern", "show", "cushion", "--picture", "cushion.png")
    assert said.status == 0
    assert "piece         cushion/wedge" in said.data
    assert "allowance     10 mm" in said.data
    assert (tmp_path / "cushion.png").read_bytes().startswith(b"\x89PNG")
