"""DXF from anyone: read at the size that `$INSUNITS` says, through blocks and curves; refused where it cannot be.

The files are made by ezdxf, which knows the form; areas are held against closed forms.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Callable

import ezdxf
import pytest
from ezdxf.document import Drawing
from shapely import Polygon

from stash import dxf_reading, strange_files
from stash.drawings import Layer
from stash.dxf_writing import NUMBERS
from stash.found_lines import FoundDrawing
from stash.refusals import Refused


def held(build: Callable[[Drawing], object], version: str = "R2000") -> bytes:
    document = ezdxf.new(version)
    document.units = 4
    build(document)
    page = io.StringIO()
    document.write(page)
    return page.getvalue().encode()


def read(build: Callable[[Drawing], object]) -> FoundDrawing:
    return dxf_reading.read(held(build), within=0.01)


def area(found: FoundDrawing) -> float:
    return sum(Polygon(line.points).area for line in found.lines if line.closed)


def square(document: Drawing) -> None:
    document.modelspace().add_lwpolyline([(0, 0), (4, 0), (4, 3), (0, 3)], close=True)


UNITS = {1: 25.4, 2: 304.8, 4: 1, 5: 10, 6: 1000, 10: 914.4, 14: 100}  # Autodesk's table of $INSUNITS, mem


SQUARE = held(square)


def in_units(units: int) -> bytes:
    """The square, its unit said to be another."""
    return re.sub(rb"(\$INSUNITS\n 70\n)4", rb"\g<1>%d" % units, SQUARE)


@pytest.mark.parametrize(("units", "long"), UNITS.items())
def test_a_drawing_has_the_unit_that_it_says(units: int, long: float) -> None:
    found = dxf_reading.read(in_units(units), within=0.1)
    assert math.isclose(area(found), 12 * long**2)
    assert found.sized_by == "$INSUNITS"


@pytest.mark.parametrize("units", [0, 3, 20])
def test_a_unit_that_is_not_said_or_not_of_cloth_is_asked_for(units: int) -> None:
    with pytest.raises(Refused, match="unit") as refused:
        dxf_reading.read(in_units(units), within=0.1)
    assert refused.value.where == "unit"
    assert math.isclose(area(dxf_reading.read(in_units(units), within=0.1, unit=25.4)), 12 * 25.4**2)


SHAPES: dict[str, tuple[Callable[[Drawing], object], float]] = {
    "circle": (lambda d: d.modelspace().add_circle((5, 5), 50), math.pi * 2500),
    "ellipse": (lambda d: d.modelspace().add_ellipse((5, 5), (30, 40), 0.5), math.pi * 50 * 25),
    "half a circle and a line": (
        lambda d: (d.modelspace().add_arc((0, 0), 50, 0, 180), d.modelspace().add_line((-50, 0), (50, 0))),
        math.pi * 1250,
    ),
    "bulges": (
        lambda d: d.modelspace().add_lwpolyline([(-50, 0, 1), (50, 0, 1)], format="xyb", close=True),
        math.pi * 2500,
    ),
    "a bulge inwards": (
        lambda d: d.modelspace().add_lwpolyline([(0, 0, 0), (0, 100, -1), (0, 0, 0)][:2], format="xyb", close=True),
        math.pi * 1250,
    ),
    "an old polyline": (lambda d: d.modelspace().add_polyline2d([(0, 0), (90, 0), (90, 80)], close=True), 3600),
    "in space": (lambda d: d.modelspace().add_polyline3d([(0, 0, 5), (90, 0, 5), (90, 80, 5)], close=True), 3600),
    "four lines": (
        lambda d: [
            d.modelspace().add_line(a, b) for a, b in (((0, 0), (9, 0)), ((9, 8), (9, 0)), ((9, 8), (0, 8)), ((0, 8), (0, 0)))
        ],
        72,
    ),
    "a spline and a line": (
        lambda d: (
            d.modelspace().add_spline().set_open_uniform([(0, 0, 0), (0, 40, 0), (40, 40, 0), (40, 0, 0)], 3),
            d.modelspace().add_line((0, 0), (40, 0)),
        ),
        0.6 * 40 * 40,  # of four controls it is Bézier's curve: three fifths of its box
    ),
}


@pytest.mark.parametrize(("build", "square_mm"), SHAPES.values(), ids=SHAPES)
def test_shapes_have_their_areas(build: Callable[[Drawing], object], square_mm: float) -> None:
    found = read(build)
    assert len(found.lines) == 1
    assert area(found) == pytest.approx(square_mm, rel=2e-3)


def test_blocks_are_laid_out_where_they_are_inserted() -> None:
    def build(document: Drawing) -> None:
        inner = document.blocks.new("inner")
        inner.add_lwpolyline([(0, 0), (10, 0), (10, 5)], close=True)
        inner.add_lwpolyline([(0, 0), (1, 0)], dxfattribs={"layer": "7"})
        outer = document.blocks.new("FRONT")
        outer.add_blockref("inner", (100, 0), dxfattribs={"rotation": 90, "xscale": 2, "layer": "1"})
        outer.add_text("front piece").set_placement((3, 4))
        document.modelspace().add_blockref("FRONT", (0, 1000), dxfattribs={"xscale": -1, "color": 1})
        grid = document.modelspace().add_blockref("inner", (0, 0), dxfattribs={"layer": "8"})
        grid.grid((2, 3), (50, 60))

    found = read(build)
    first = next(line for line in found.lines if line.said is Layer.CUT)
    assert first.group == "FRONT"
    assert [each for point in sorted(first.points) for each in point] == pytest.approx([-100, 1000, -100, 1020, -95, 1020])
    assert sum(line.said is Layer.GRAIN for line in found.lines) == 7
    placed = sorted(line.points[0] for line in found.lines if line.said is Layer.INNER)
    assert placed == [(x, y) for x in (0, 60, 120) for y in (0, 50)]
    assert [(words.text, words.at) for words in found.words] == [("front piece", (-3, 1004))]


def test_layers_colours_and_what_is_hidden() -> None:
    def build(document: Drawing) -> None:
        document.layers.add("stitch", color=1)
        document.layers.add("off", color=3).off()
        document.layers.add("frozen").freeze()
        space = document.modelspace()
        for more in ({"layer": "stitch"}, {"layer": "stitch", "color": 5}, {"layer": "4"}, {"true_color": 0x123456}):
            space.add_line((0, 0), (9, len(more)), dxfattribs=more)
        for more in ({"layer": "off"}, {"layer": "frozen"}, {"invisible": 1}):
            space.add_line((0, 0), (9, 9), dxfattribs=more)
        space.add_point((1, 2), dxfattribs={"layer": "4"})
        space.add_hatch()

    found = dxf_reading.read(held(build, version="R2010"), within=0.1)
    assert sorted((line.layer, line.colour, str(line.said)) for line in found.lines) == [
        ("0", "#123456", "None"),
        ("4", "#000000", "notch"),
        ("4", "#000000", "notch"),
        ("stitch", "#0000ff", "None"),
        ("stitch", "#ff0000", "None"),
    ]
    assert found.passed_over == ("what is hidden", "a hatching")


def test_the_layers_are_those_of_the_standard() -> None:
    """ASTM D6673, mem."""
    known = {"1": "cut line", "4": "notch", "7": "grain line", "8": "inner line", "11": "cut-out", "13": "drill hole"}
    assert {number: str(layer) for layer, number in NUMBERS.items()} == known | {
        "14": "sewing line",
        "6": "fold line",
        "15": "words",
    }


def nested(document: Drawing) -> None:
    """Blocks of ten blocks of ten blocks …"""
    document.blocks.new("b0").add_line((0, 0), (1, 1))
    for n in range(1, 9):
        block = document.blocks.new(f"b{n}")
        for _ in range(10):
            block.add_blockref(f"b{n - 1}", (0, 0))
    document.modelspace().add_blockref("b8", (0, 0))


def itself(document: Drawing) -> None:
    document.blocks.new("a").add_blockref("a", (0, 0))
    document.modelspace().add_blockref("a", (0, 0))


def elsewhere(document: Drawing) -> None:
    document.add_xref_def("other.dxf", "X")
    document.modelspace().add_blockref("X", (0, 0))


def grid(document: Drawing) -> None:
    document.blocks.new("g").add_line((0, 0), (1, 1))
    document.modelspace().add_blockref("g", (0, 0)).grid((30000, 30000), (1, 1))


WRONG: dict[str, tuple[Callable[[], bytes], str]] = {
    "another form": (lambda: b"hello", "it is no DXF"),
    "binary": (lambda: b"AutoCAD Binary DXF\r\n\x1a\x00", "it is a DXF in the binary form"),
    "half a file": (lambda: SQUARE[:-900], "it is no DXF that can be read"),
    "noise": (lambda: b"  0\nSECTION\n  2\nENTITIES\n" + b"zzz\n" * 9, "it is no DXF that can be read"),
    "blocks of blocks": (lambda: held(nested), "it has more than 200 lines"),
    "itself": (lambda: held(itself), "it has more than 60 blocks within each other"),
    "another file": (lambda: held(elsewhere), "it refers to another file"),
    "a grid of millions": (lambda: held(grid), "it has more than 200 lines"),
    "entities without end": (lambda: SQUARE + b"  0\nLINE\n" * 200_001, "it has more than 200 lines"),
    "no such block": (lambda: held(lambda d: d.modelspace().add_blockref("nothing", (0, 0))), "it inserts 'nothing'"),
    "too far": (lambda: held(lambda d: d.modelspace().add_line((0, 0), (1e9, 0))), "it reaches farther than a kilometre"),
    "too round": (lambda: held(lambda d: d.modelspace().add_circle((0, 0), 1e9)), "it reaches farther than a kilometre"),
    "no number": (lambda: held(lambda d: d.modelspace().add_line((0, 0), (math.nan, 0))), "it"),
}


@pytest.mark.parametrize(("made", "said"), WRONG.values(), ids=WRONG)
def test_what_cannot_be_read_surely_is_refused(made: Callable[[], bytes], said: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """With limits that are lower than they are, so that a test takes no time to reach them."""
    monkeypatch.setattr(strange_files, "MOST_LINES", 200)
    with pytest.raises(Refused) as refused:
        dxf_reading.read(made(), within=0.1)
    assert said in refused.value.what
