"""What is left of a sheet when the panels are cut from it: keepers, which go back to the bin, and rags.

Keepers are the remainder's opening (what a strip of the narrowest useful width can be moved through; Serra, *Image Analysis
and Mathematical Morphology*, 1982), with its corners mitred, cut back to the remainder itself and split into parts.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import shapely
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from .forms import Ring, Sheet
from .outlines import united
from .tolerances import MITRE_LIMIT, OPENING_SLACK, OVERLAY_GRID, SLIT

_HAIRS = (1.0, 1 / 4, 1 / 16)
"""The widths that are opened by, as shares of the narrowest: a mitre at the mouth of a slit between two cuts runs on into the
slit for a little, and narrower openings take such hairs off again."""


@dataclass(frozen=True, slots=True)
class Leftovers:
    """A sheet taken apart: `cloth` is all of it without its holes, and cut, keepers and rag are its parts.

    The areas of `cut`, `keepers` and `rag` add up to that of `cloth` but for the grid of `OVERLAY_GRID` (0.05 mm² along ten
    metres of edges). Keepers are valid, come largest first, may have holes, and lie outside of the cut; the flaws of the
    sheet are still in them.
    """

    cloth: MultiPolygon
    cut: MultiPolygon
    keepers: tuple[Polygon, ...]
    rag: MultiPolygon


def leftovers(sheet: Sheet, cut_rings: Iterable[Ring], *, narrowest: float, smallest_area: float) -> Leftovers:
    """What is left of the sheet when all that lies within `cut_rings` is cut from it, with a kerf of nothing.

    `cut_rings`: the cut lines as they lie on the sheet, mm; what of them lies off the cloth counts for nothing. `narrowest`:
    the width, mm, of the narrowest strip worth keeping; `smallest_area`: the area, mm², of the smallest keeper. The strips
    that a gap leaves between panels are narrower than that and fall to the rag bag. Raises ValueError if `narrowest` or
    `smallest_area` is not a number of 0 or more.

    >>> sheet = Sheet("s", ((0, 0), (500, 0), (500, 300), (0, 300)))
    >>> left = leftovers(sheet, [((0, 0), (380, 0), (380, 290), (0, 290))], narrowest=40, smallest_area=10_000)
    >>> [keeper.bounds for keeper in left.keepers], round(left.rag.area)
    ([(379.999, 0.0, 500.0, 300.0)], 3800)
    """
    for name, number in (("narrowest", narrowest), ("smallest_area", smallest_area)):
        if not (math.isfinite(number) and number >= 0):
            raise ValueError(f"{name} is {number}: expected a number of 0 or more")
    cloth = _minus(_snapped(Polygon(sheet.outline)), _union(Polygon(hole) for hole in sheet.holes if len(hole) > 2))
    cut = _polygons(shapely.intersection(_union(map(Polygon, cut_rings)), cloth, grid_size=OVERLAY_GRID))
    # Slits are closed before keepers are looked for: between cuts that all but meet there is none.
    closed = cut.buffer(SLIT / 2, join_style="mitre").buffer(-SLIT / 2, join_style="mitre")
    keepers = [
        keeper
        for part in _minus(cloth, _union([cut, closed])).geoms
        if part.area >= smallest_area
        for keeper in _opened(part, narrowest)
        if keeper.area >= smallest_area
    ]
    keepers.sort(key=lambda keeper: (-keeper.area, keeper.bounds))
    return Leftovers(cloth, cut, tuple(keepers), _minus(_minus(cloth, cut), _union(keepers)))


def _opened(part: Polygon, narrowest: float) -> list[Polygon]:
    """The parts of a piece of cloth that a strip of the narrowest width can lie in, their own corners left to them."""
    parts = [part]
    for share in _HAIRS:
        parts = [kept for piece in parts for kept in _opened_once(piece, narrowest * share / 2)]
    return parts


def _opened_once(part: Polygon, half: float) -> list[Polygon]:
    if half <= OPENING_SLACK:
        return [part]
    # Eroded round, so that a strip may pass a corner in any direction; grown again with mitres, so that corners come back.
    core = part.buffer(-(half - OPENING_SLACK), join_style="round")
    grown = core.buffer(half, join_style="mitre", mitre_limit=MITRE_LIMIT)
    kept = _polygons(shapely.intersection(part, grown, grid_size=OVERLAY_GRID))
    # A mitre may reach over a cut into cloth that is too narrow to be kept: that has none of the core in it.
    return [piece for piece in kept.geoms if piece.intersects(core)]


def _union(shapes: Iterable[BaseGeometry]) -> BaseGeometry:
    return united(shapes, OVERLAY_GRID)


def _minus(cloth: BaseGeometry, taken: BaseGeometry) -> MultiPolygon:
    return _polygons(shapely.difference(cloth, taken, grid_size=OVERLAY_GRID))


def _snapped(shape: BaseGeometry) -> BaseGeometry:
    return shapely.set_precision(shape, OVERLAY_GRID)


def _polygons(shape: BaseGeometry) -> MultiPolygon:
    """The polygons of whatever an overlay gives: points and lines, where things only touch, are no cloth."""
    parts = shapely.get_parts(shapely.get_parts(shape))
    return MultiPolygon([part for part in parts if isinstance(part, Polygon) and not part.is_empty])
