"""Stored outlines read back by a reader of our own, written from the standard: OGC 06-103r4 (Simple Feature Access, part 1),
clause 8.2, Well-known Binary. A stash must be readable when Fent is long gone."""

from __future__ import annotations

import sqlite3
import struct
from pathlib import Path

import pytest
from shapely import Polygon
from shapely.geometry import Point

from stash import Workroom, cloths, outlines, remnants, words

POINT, LINE, POLYGON = 1, 2, 3  # clause 8.2.8: wkbPoint, wkbLineString, wkbPolygon
Points = list[tuple[float, float]]


def read_wkb(data: bytes) -> tuple[int, list[Points]]:
    """(kind of geometry, its rings or its one line)."""
    order = {0: ">", 1: "<"}[data[0]]  # wkbXDR is big endian, wkbNDR little
    (kind,) = struct.unpack_from(f"{order}I", data, 1)
    at, parts = 5, 1
    if kind == POLYGON:
        (parts,) = struct.unpack_from(f"{order}I", data, at)
        at += 4
    rings = []
    for _ in range(parts):
        (count,) = struct.unpack_from(f"{order}I", data, at)
        flat = struct.unpack_from(f"{order}{2 * count}d", data, at + 4)
        rings.append(list(zip(flat[::2], flat[1::2], strict=True)))
        at += 4 + 16 * count
    assert at == len(data), "bytes are left over"
    return kind, rings


@pytest.mark.parametrize("order", ["<", ">"])
def test_the_reader_reads_both_byte_orders(order: str) -> None:
    ring = [(0.0, 0.0), (3.0, 0.0), (0.0, 4.0), (0.0, 0.0)]
    flat = [number for point in ring for number in point]
    data = struct.pack(f"{order}BIII8d", 1 if order == "<" else 0, POLYGON, 1, 4, *flat)
    assert read_wkb(data) == (POLYGON, [ring])


CORNERS: Points = [(0, 0), (300, 20), (420, 260), (150, 330), (-30, 200)]
HOLE: Points = [(120, 100), (170, 110), (140, 160)]
TEAR: Points = [(200, 200), (240, 210)]


@pytest.mark.parametrize(
    ("face", "grain_angle", "known"),
    [
        # what is measured lying on the grain and right side up is stored as it is
        (words.Face.RIGHT, 0, [(0, 0), (300, 20), (420, 260), (150, 330), (-30, 200)]),
        # the grain arrow pointed along +y: turned clockwise by a quarter, (x, y) → (y, −x)
        (words.Face.RIGHT, 90, [(0, 0), (20, -300), (260, -420), (330, -150), (200, 30)]),
        # measured wrong side up: mirrored across the grain, (x, y) → (x, −y)
        (words.Face.WRONG, 0, [(0, 0), (300, -20), (420, -260), (150, -330), (-30, -200)]),
    ],
)
def test_a_stored_remnant_is_its_outline_on_the_grain(
    tmp_path: Path, face: words.Face, grain_angle: float, known: Points
) -> None:
    file = tmp_path / "stash.fent"
    with Workroom.open(file) as workroom:
        cloths.add(workroom, cloths.NewCloth(name="linen", fibres={"linen": 100}, weight=200))
        faults = tuple(
            remnants.NewFault(kind, tuple(ring))
            for kind, ring in ((words.FaultKind.HOLE, HOLE), (words.FaultKind.STAIN, TEAR))
        )
        new = remnants.NewRemnant(
            tag="B7",
            cloth="linen",
            outline=outlines.by_points(CORNERS),
            face_up=face,
            grain_angle=grain_angle,
            faults=faults,
        )
        logged = remnants.log(workroom, new)

    with sqlite3.connect(file) as stash:
        ((outline, area),) = stash.execute("SELECT outline, area FROM remnant")
        shapes = dict(stash.execute("SELECT kind, shape FROM remnant_fault"))
    stash.close()

    kind, (ring,) = read_wkb(outline)
    assert kind == POLYGON
    assert ring[0] == ring[-1]
    assert Polygon(ring).exterior.is_ccw
    # The same shape, wherever its corner (0, 0) was put.
    assert len(ring) == len(known) + 1
    assert min(moved(ring, known, start) for start in range(len(known))) < 1e-6
    assert read_wkb(shapes["hole"])[0] == POLYGON
    assert read_wkb(shapes["stain"])[0] == LINE
    hole = Polygon(read_wkb(shapes["hole"])[1][0])
    assert area == pytest.approx(100 * (shoelace(CORNERS) - shoelace(HOLE)), abs=1)
    assert logged.outline.equals_exact(Polygon(ring), 0)
    assert Polygon(ring).contains(hole)
    assert Polygon(ring).contains(Point(read_wkb(shapes["stain"])[1][0][0]))


def shoelace(ring: Points) -> float:
    """Area by Gauss's formula."""
    pairs = zip(ring, [*ring[1:], ring[0]], strict=True)
    return abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairs)) / 2


def moved(ring: Points, known: Points, start: int) -> float:
    """How far the ring's corners, from `start` on, are from the known ones, once both begin at the same place."""
    found = [ring[(start + i) % len(known)] for i in range(len(known))]
    expected = known if Polygon(known).exterior.is_ccw else [known[0], *known[:0:-1]]
    (fx, fy), (kx, ky) = found[0], expected[0]
    pairs = zip(found, expected, strict=True)
    return max(max(abs(a - fx - c + kx), abs(b - fy - d + ky)) for (a, b), (c, d) in pairs)
