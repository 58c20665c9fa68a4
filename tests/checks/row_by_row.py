"""A plain row-by-row fill, kept as the reference that the engine must never do worse than.

It is what a person does with a ruler: panels stand in rows, box beside box, the largest first, all one way round; where none
lies on the cloth the ruler moves on. Shapely decides what lies on the cloth. It finds a legal lay, never a clever one.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any

import shapely
from shapely import LineString, Polygon, affinity
from shapely.geometry.base import BaseGeometry

STEP = 0.25  # the ruler moves on by this share of the smallest panel's shorter side


@dataclass(frozen=True)
class Block:
    """A panel turned as it will lie, its box's corner at (0, 0)."""

    id: str
    shape: Polygon
    length: float
    width: float


def blocks(case: dict[str, Any]) -> list[Block]:
    """The panels, the largest first."""
    found = []
    for panel in case["panels"]:
        shape = affinity.rotate(Polygon(panel["outline"]), panel["turns"][0], origin=(0, 0))
        left, low, right, high = shape.bounds
        found.append(Block(panel["id"], affinity.translate(shape, -left, -low), right - left, high - low))
    return sorted(found, key=lambda block: -block.shape.area)


def spot(points: Any) -> BaseGeometry:
    return LineString(points) if len(points) == 2 else Polygon(points)


def room(sheet: dict[str, Any], edge: float) -> BaseGeometry:
    """Where panels may lie: the cloth less the margin kept from its edge, its holes and its flaws (whoever may spare them)."""
    flaws = [entry["ring"] if isinstance(entry, dict) else entry for entry in sheet.get("flaws", [])]
    spots = [spot(points).buffer(max(edge, 0.01)) for points in [*sheet.get("holes", []), *flaws]]
    free: BaseGeometry = Polygon(sheet["outline"]).buffer(-edge, quad_segs=32).difference(shapely.union_all(spots))
    return free


def fill(free: BaseGeometry, ordered: list[Block], missing: Counter[str], gap: float) -> None:
    """Take off `missing` what stands in rows on `free`."""
    if free.is_empty:
        return
    x0, y0, x1, y1 = free.bounds
    step = STEP * min(min(block.length, block.width) for block in ordered)
    shapely.prepare(free)
    y = y0
    while y < y1 and any(missing.values()):
        x, tall = x0, 0.0
        while x < x1:
            for block in ordered:
                inside = x + block.length <= x1 and y + block.width <= y1 and block.width <= (tall or block.width)
                if missing[block.id] and inside and free.covers(affinity.translate(block.shape, x, y)):
                    missing[block.id] -= 1
                    tall = tall or block.width
                    x += block.length + gap
                    break
            else:
                x += step
        y += tall + gap if tall else step


def copies_in_rows(case: dict[str, Any]) -> int:
    """Copies placed over all sheets of a case that has no plies, fixed placements or repeats, the largest sheet first."""
    ordered = blocks(case)
    missing = Counter({panel["id"]: panel["copies"] for panel in case["panels"]})
    wanted = missing.total()
    for sheet in sorted(case["sheets"], key=lambda sheet: -Polygon(sheet["outline"]).area):
        if any(missing.values()):
            fill(room(sheet, case.get("edge", 0)), ordered, missing, case.get("gap", 0))
    return wanted - missing.total()
