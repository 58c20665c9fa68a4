"""Drawings: what they are made of, and that SVG and DXF hold it at true scale: SVG by a library that Fent
does not read with, DXF by the entities of ezdxf itself."""

from __future__ import annotations

import io
import math
from itertools import pairwise
from xml.etree import ElementTree

import ezdxf
import pytest
from shapely import LinearRing, LineString, Polygon
from svgpathtools import parse_path

from nesting import Point
from stash import Workroom, drawings, dxf_writing, patterns, remnants, svg_writing
from stash.drawings import Drawing, Layer, Outline, Part, Spot, Stroke, Words, beside
from stash.outlines import by_points
from stash.patterns import Join, NewEdge, NewPiece, Notch
from stash.remnants import NewFault, NewRemnant
from stash.words import EdgeKind, FaultKind

from .scenes import linen

RING = ((0.0, 0.0), (180.5, 0.0), (176.0, 120.25), (90.0, 140.0), (4.5, 120.25))
SPACE = {"svg": svg_writing.SVG}


def stock(workroom: Workroom) -> None:
    linen(workroom)
    edges = (NewEdge("hem", 0, 30.0), NewEdge("right side", 1, 10.0), NewEdge("neck", 2, 6.35), NewEdge("left side", 4, 10.0))
    piece = NewPiece(
        name="front",
        ring=RING,
        edges=edges,
        notches=(Notch("hem", 60.0), Notch("right side", 40.0, 2)),
        joins=(Join(((90, 0), (90, 140)), 10.0),),
        one_way=True,
        count=2,
    )
    patterns.add(workroom, "apron", [piece])
    outline = by_points(
        ((0, 0), (500, 20), (480, 300), (0, 260)), [EdgeKind.SELVEDGE, EdgeKind.CUT, EdgeKind.RAW, EdgeKind.CUT]
    )
    faults = (
        NewFault(FaultKind.HOLE, ((100, 100), (140, 100), (120, 140))),
        NewFault(FaultKind.STAIN, ((300, 100), (340, 100), (340, 130), (300, 130))),
        NewFault(FaultKind.HOLE, ((200, 50), (230, 60))),
    )
    remnants.log(workroom, NewRemnant(tag="N-1", cloth="blue linen", outline=outline, faults=faults), by="MB")


@pytest.fixture
def parts(stocked: Workroom) -> tuple[Part, Part]:
    return (
        drawings.of_piece(patterns.piece(stocked, "apron", "front")),
        drawings.of_remnant(remnants.get(stocked, "N-1")),
    )


def svg_rings(text: str) -> list[tuple[str, list[Point]]]:
    """Each path with what it is and its points in mm, as svgpathtools has them, with the frame of the file checked first."""
    root = ElementTree.fromstring(text)
    _, _, wide, high = map(float, root.attrib["viewBox"].split())
    scale = float(root.attrib["width"].removesuffix("mm")) / wide
    assert math.isclose(scale, float(root.attrib["height"].removesuffix("mm")) / high, rel_tol=1e-9)
    found = []
    for path in root.iterfind(".//svg:g/svg:path", SPACE):
        line = parse_path(path.attrib["d"])
        points = [(scale * z.real, -scale * z.imag) for z in (line[0].start, *(step.end for step in line))]
        found.append((path.attrib["data-line"], points))
    return found


def dxf_lines(text: str) -> list[tuple[str, list[Point]]]:
    """The same of a DXF, as ezdxf has it after taking its blocks apart."""
    document = ezdxf.read(io.StringIO(text))
    assert document.header["$INSUNITS"] == 4
    found: list[tuple[str, list[Point]]] = []
    for insert in document.modelspace():
        for entity in insert.virtual_entities():
            if entity.dxftype() == "LWPOLYLINE":
                points = [(x, y) for x, y in entity.get_points("xy")]
                found.append((entity.dxf.layer, [*points, points[0]] if entity.closed else points))
            elif entity.dxftype() == "LINE":
                found.append((entity.dxf.layer, [tuple(entity.dxf.start)[:2], tuple(entity.dxf.end)[:2]]))
    return found


def lines_of(part: Part) -> list[tuple[Layer, list[Point]]]:
    closed = [(each.layer, [*each.ring, each.ring[0]]) for each in part.outlines]
    return closed + [(each.layer, list(each.points)) for each in part.strokes]


def test_a_drawing_has_all_that_is_known_of_a_piece_and_a_remnant(parts: tuple[Part, Part]) -> None:
    piece, remnant = parts
    assert [each.layer for each in piece.outlines] == [Layer.CUT, Layer.SEWING]
    assert [each.layer for each in piece.strokes] == [Layer.GRAIN, *[Layer.NOTCH] * 3, Layer.INNER]
    assert dict(piece.said) == {"pattern": "apron", "count": "2", "one-way": "yes"}
    assert sorted(each.layer for each in remnant.outlines) == [Layer.FLAW, Layer.HOLE, Layer.REMNANT]
    assert [each.layer for each in remnant.strokes] == [Layer.HOLE, Layer.SELVEDGE, Layer.RAW, Layer.GRAIN]
    assert (piece.words[0].text, remnant.words[0].text) == ("front", "N-1")
    cut, sewing = (Polygon(each.ring) for each in piece.outlines)
    assert cut.contains(sewing)
    assert sewing.contains(LineString(piece.strokes[0].points))


def test_svg_is_read_at_the_same_places_by_svgpathtools(parts: tuple[Part, Part]) -> None:
    found = svg_rings(svg_writing.written(Drawing("all", beside(parts))))
    wanted = [each for part in beside(parts) for each in lines_of(part)]
    assert [line for line, _ in found] == [str(line) for line, _ in wanted]
    for (_, got), (_, meant) in zip(found, wanted, strict=True):
        assert all(math.dist(a, b) < 1e-5 for a, b in zip(got, meant, strict=True))


def test_dxf_is_read_at_the_same_places_by_ezdxf(parts: tuple[Part, Part]) -> None:
    found = dxf_lines(dxf_writing.written(Drawing("all", beside(parts))))
    wanted = [each for part in beside(parts) for each in lines_of(part)]
    on = {Layer.FLAW: "stain"}  # a flaw's layer is called by its kind
    assert [layer for layer, _ in found] == [on.get(line, dxf_writing.layer_name(line)) for line, _ in wanted]
    for (_, got), (_, meant) in zip(found, wanted, strict=True):
        assert all(math.dist(a, b) < 1e-9 for a, b in zip(got, meant, strict=True))


def test_what_is_moved_keeps_its_area_and_parts_beside_each_other_do_not_touch(parts: tuple[Part, Part]) -> None:
    moved = parts[0].moved(100, 50, turn=37, flipped=True)
    for was, is_now in zip(parts[0].outlines, moved.outlines, strict=True):
        assert math.isclose(Polygon(was.ring).area, Polygon(is_now.ring).area, rel_tol=1e-12)
        assert LinearRing(was.ring).is_ccw is not LinearRing(is_now.ring).is_ccw
    placed = beside([*parts, *parts])
    boxes = [part.bounds() for part in placed]
    assert all(after[0] - before[2] >= drawings.APART - 1e-9 for before, after in pairwise(boxes))


def test_a_placement_of_the_engine_and_a_part_that_is_moved_lie_alike() -> None:
    """Flip, turn, shift, in that order (design, Cases and results)."""
    part = Part("p", outlines=(Outline(Layer.CUT, ((10.0, 0.0), (30.0, 0.0), (30.0, 5.0))),))
    assert part.moved(1, 2, turn=90, flipped=True).outlines[0].ring == ((1.0, 12.0), (1.0, 32.0), (6.0, 32.0))


def test_words_that_no_form_could_hold_are_written_so_that_it_can() -> None:
    nasty = "front <&\"'> ]]> %%c \x00\n|=;:`* " + "é" * 80
    part = Part(nasty, spots=(Spot(Layer.DRILL, (1, 2)),), words=(Words((0, 0), nasty, turn=30),), said={"note": nasty})
    drawing = Drawing(nasty, (part, part, part))
    root = ElementTree.fromstring(svg_writing.written(drawing))
    assert len(root.findall("svg:g", SPACE)) == 3
    document = ezdxf.read(io.StringIO(dxf_writing.written(drawing)))
    assert len({insert.dxf.name for insert in document.modelspace()}) == 3
    assert not document.audit().has_errors


def test_an_open_line_of_many_points_is_not_closed() -> None:
    drawing = Drawing("line", (Part("l", strokes=(Stroke(Layer.INNER, ((0, 0), (5, 5), (9, 0))),)),))
    assert dxf_lines(dxf_writing.written(drawing)) == [("8", [(0, 0), (5, 5), (9, 0)])]
    assert len(svg_rings(svg_writing.written(drawing))[0][1]) == 3
