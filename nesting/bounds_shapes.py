"""What a proof may rely on of a case's shapes: panels no larger, room no smaller, than the truth.

A lay is legal if it passes the independent check, which shrinks each panel by a hair (`LIE_SHARE`) before it looks. So a
bound is about panels that are shrunk so: no legal result can beat it, not even one that uses the hair up. With a gap, panels
are grown by half of it, and so is the room; that two grown panels do not overlap is what the gap asks. Curves that offsets
put in are drawn on the safe side: inside the true curve for panels, outside it for room.

Where a panel may lie is found by its exclusion: an obstacle's boundary swept by the mirrored panel. Each edge swept by each
convex part of the panel is a convex hull; what their union leaves falls into regions in which the panel meets no boundary,
so it is clear of the obstacle throughout a region or throughout covers some of it, and one point of the region tells.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from .forms import Case, Panel, Ring, Sheet
from .outlines import united
from .tolerances import GAP_SLACK, LIE_SHARE, REPEAT_MISS, SAME_TURN

Floats = NDArray[np.float64]

SAFE = 1e-6
"""Positions and reach are grown by this, mm, for the rounding of shapely's overlays (about 1e-10 of the coordinates)."""

RANGE = 1.0
"""Degrees: a wider range of turns off the grain is cut into such, each with the body that all its turns have in common."""
MOST_RANGES = 12
"""But into no more than this many."""
SAMPLES = 8
"""Turns of a range that are looked at."""

CURVE = 16  # parts of a quarter circle
OUTSIDE = 1 / math.cos(math.pi / (4 * CURVE))  # a circle drawn with this many parts holds the true one


@dataclass(frozen=True)
class Lie:
    """One way for a panel to lie: turned, and flipped or not. `body`: what nothing else may overlap.

    Of a panel so narrow that its turns have nothing in common, body and thin are empty: nothing is known of it but its area.
    """

    panel: int
    turn: float
    flipped: bool
    body: Polygon  # shrunk by the hair, grown by half the gap; the largest piece, should it have come apart
    thin: BaseGeometry  # shrunk by the hair: must be within the room
    sound: BaseGeometry | None  # must be clear of the flaws that it minds
    area: float  # of the body as it is at any one turn, of which `body` is what all turns of a range have in common


@lru_cache(maxsize=64)
def hair(panels: tuple[Panel, ...]) -> float:
    """What the independent check shrinks each panel by, mm."""
    return LIE_SHARE * math.sqrt(min(Polygon(panel.outline).area for panel in panels))


def grown_outside(shape: BaseGeometry, by: float) -> BaseGeometry:
    return shape.buffer(by * OUTSIDE, quad_segs=CURVE) if by > 0 else shape


def grown_inside(shape: BaseGeometry, by: float) -> BaseGeometry:
    return shape.buffer(by, quad_segs=CURVE) if by > 0 else shape


def lies(case: Case, index: int, sheet: Sheet | None = None) -> tuple[Lie, ...]:
    """All ways that the panel may lie (on the sheet); a range of turns as several narrow ones."""
    return _lies(case.panels[index], index, None if sheet is None else sheet.turns, hair(case.panels), case.gap)


@lru_cache(maxsize=1024)
def _lies(panel: Panel, index: int, allowed: tuple[float, ...] | None, eps: float, gap: float) -> tuple[Lie, ...]:
    outline = Polygon(panel.outline)
    ranges = [
        (mid, half, flip) for mid, half in _turns(panel, allowed) for flip in ((False, True) if panel.flip else (False,))
    ]
    # The reference point may be any: the middle of the panel's box, about which a small turn moves the panel least.
    centre = shapely.box(*outline.bounds).centroid

    def put(ring: Ring, mid: float, half: float, flip: bool) -> BaseGeometry:
        shape = shapely.affinity.translate(Polygon(ring), -centre.x, -centre.y)
        if flip:
            shape = shapely.affinity.scale(shape, 1, -1, origin=(0, 0))
        return _common(shape.buffer(-eps, join_style="mitre"), mid, half)

    def grown(thin: BaseGeometry) -> Polygon:
        return max(polygons(grown_inside(thin, gap / 2 - GAP_SLACK)), key=lambda p: p.area, default=Polygon())

    area = grown(put(panel.outline, 0.0, 0.0, False)).area
    found = []
    for mid, half, flip in ranges:
        thin = put(panel.outline, mid, half, flip)
        sound = None if panel.hidden else put(panel.sound or panel.outline, mid, half, flip)
        found.append(Lie(index, mid, flip, grown(thin), thin, sound, area))
    return tuple(found)


def _common(shape: BaseGeometry, mid: float, half: float) -> BaseGeometry:
    """Within what the shape has in common at all turns from mid − half to mid + half about (0, 0).

    The turns are sampled. A point at distance r from (0, 0) moves by no more than r · α when turned by α, so what lies deeper
    inside than that at the sample nearest to a turn stays inside.
    """
    n = 1 if half == 0 else SAMPLES
    turns = [mid + half * (2 * k + 1 - n) / n for k in range(n)]
    common = shapely.intersection_all([shapely.affinity.rotate(shape, turn, origin=(0, 0)) for turn in turns])
    farthest = max((math.hypot(x, y) for x, y in shapely.get_coordinates(shape)), default=0.0)
    return common.buffer(-farthest * math.radians(half / n + SAME_TURN), join_style="mitre")


def _turns(panel: Panel, sheet: tuple[float, ...] | None) -> list[tuple[float, float]]:
    """(middle, half width) of the ranges of turns that panel and sheet both allow, in degrees."""
    off = panel.off_grain
    allowed: list[tuple[float, float]] = []
    for t in dict.fromkeys(t % 360 for t in panel.turns):
        if sheet is None:
            allowed.append((t - off, t + off))
            continue
        for other in dict.fromkeys(t % 360 for t in sheet):
            apart = (other - t + 180) % 360 - 180
            if abs(apart) <= 2 * off + 2 * SAME_TURN:
                allowed.append((t + max(0.0, apart) - off, t + min(0.0, apart) + off))
    pieces = []
    for low, high in allowed:
        n = min(MOST_RANGES, max(1, math.ceil((high - low) / RANGE)))
        half = max(0.0, high - low) / n / 2
        pieces += [((low + high) / 2 + (2 * k + 1 - n) * half, half) for k in range(n)]
    return pieces


def spot(ring: Ring) -> BaseGeometry:
    return LineString(ring) if len(ring) == 2 else Polygon(ring)


def room(sheet: Sheet, case: Case) -> tuple[BaseGeometry, BaseGeometry]:
    """(cloth that a shrunk panel may lie on, tears in it that it may not cross)."""
    eps = hair(case.panels)
    inward = case.edge * math.cos(math.pi / 256) - eps  # the check draws a quarter circle with 64 parts
    outline = Polygon(sheet.outline)
    cloth = outline.buffer(-inward, quad_segs=64) if inward > 0 else grown_outside(outline, -inward + SAFE)
    holes = [spot(h) for h in sheet.holes]
    off = [
        h.buffer(inward, quad_segs=64) if inward > 0 else h.buffer(inward - SAFE) for h in holes if h.area > 0 or inward > 0
    ]
    tears = [h for h in holes if h.area == 0]
    return cloth.difference(united(off)) if off else cloth, united(tears)


def flaws(sheet: Sheet, panel: Panel, case: Case) -> BaseGeometry:
    found = [spot(f.ring) for f in sheet.flaws if panel.id not in f.spares]
    if panel.hidden or not found:
        return Polygon()
    # The check draws a quarter circle with 16 parts; a tear among the flaws has no width there unless the edge gives it some.
    return united([f.buffer(case.edge * math.cos(math.pi / 64)) for f in found])


# --- sweeping ------------------------------------------------------------------------------------------------------------


Corners = list[tuple[float, float]]


def convex_parts(shape: BaseGeometry) -> list[Floats]:
    """The shape as convex pieces, each (n, 2): triangles joined as long as they stay convex."""
    pieces: list[Corners] = []
    for polygon in polygons(shape):
        triangles = [list(t.exterior.coords)[:-1] for t in polygons(shapely.constrained_delaunay_triangles(polygon))]
        pieces += _joined([_turning_left(t) for t in triangles])
    return [np.array(piece) for piece in pieces]


def _turning_left(ring: Corners) -> Corners:
    area = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, ring[1:] + ring[:1], strict=True))
    return ring if area > 0 else ring[::-1]


def _joined(pieces: list[Corners]) -> list[Corners]:
    """Neighbours joined along a shared side while the whole is convex."""
    waiting, done = list(pieces), []
    while waiting:
        piece = waiting.pop()
        for k, other in enumerate(waiting):
            whole = _along_shared_side(piece, other)
            if whole is not None:
                waiting[k] = whole
                break
        else:
            done.append(piece)
    return done


def _along_shared_side(one: Corners, other: Corners) -> Corners | None:
    """The two as one convex piece, if they share a side and it is one."""
    for i, a in enumerate(one):
        b = one[(i + 1) % len(one)]
        for j, c in enumerate(other):
            if c == b and other[(j + 1) % len(other)] == a:
                whole = one[i + 1 :] + one[: i + 1] + (other[j + 1 :] + other[: j + 1])[1:-1]
                return whole if _is_convex(whole) else None
    return None


def _is_convex(ring: Corners) -> bool:
    n = len(ring)
    for i in range(n):
        (ax, ay), (bx, by), (cx, cy) = ring[i], ring[(i + 1) % n], ring[(i + 2) % n]
        if (bx - ax) * (cy - by) - (by - ay) * (cx - bx) < 0:
            return False
    return True


def polygons(shape: BaseGeometry) -> list[Polygon]:
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    return [p for part in getattr(shape, "geoms", []) for p in polygons(part)]


def edges(shape: BaseGeometry) -> Floats:
    """(n, 2, 2): the edges of all rings and lines of the shape."""
    found = []
    for part in getattr(shape, "geoms", [shape]):
        if part.is_empty:
            continue
        rings = [part.exterior, *part.interiors] if isinstance(part, Polygon) else [part]
        for ring in rings:
            points = np.array(ring.coords)
            found.append(np.stack([points[:-1], points[1:]], axis=1))
    return np.concatenate(found) if found else np.empty((0, 2, 2))


def swept(lines: Floats, parts: Iterable[Floats]) -> BaseGeometry:
    """Union of all edges, each swept by each convex part: {a + b: a on an edge, b in a part}."""
    hulls = []
    for part in parts:
        points = (lines[:, :, None, :] + part[None, None, :, :]).reshape(len(lines), -1, 2)
        hulls.append(shapely.convex_hull(shapely.multipoints(points)))
    return united(np.concatenate(hulls)) if hulls else Polygon()


def positions(lie: Lie, cloth: BaseGeometry, tears: BaseGeometry, harms: BaseGeometry) -> BaseGeometry:
    """Where the lie's reference point may be, grown by `SAFE`."""
    x0, y0, x1, y1 = cloth.bounds
    a0, b0, a1, b1 = lie.thin.bounds
    if lie.thin.is_empty or x1 - x0 < a1 - a0 or y1 - y0 < b1 - b0:
        return Polygon()
    free = shapely.box(x0 - a0, y0 - b0, x1 - a1, y1 - b1).buffer(SAFE)
    mirrored = [-part for part in convex_parts(lie.thin)]
    free = free.difference(swept(np.concatenate([edges(cloth), edges(tears)]), mirrored))
    probe = lie.thin.representative_point()
    if lie.sound is not None and not harms.is_empty and not lie.sound.is_empty:
        free = free.difference(swept(edges(harms), [-part for part in convex_parts(lie.sound)]))
    kept = []
    shapely.prepare(cloth)
    for region in polygons(free):
        at = region.representative_point()
        if not cloth.contains(shapely.affinity.translate(probe, at.x, at.y)):
            continue
        if lie.sound is not None and not harms.is_empty and not lie.sound.is_empty:
            inner = lie.sound.representative_point()
            if harms.intersects(shapely.affinity.translate(inner, at.x, at.y)):
                continue
        kept.append(region)
    return MultiPolygon(kept).buffer(SAFE) if kept else Polygon()


def on_bars(positions: BaseGeometry, lie: Lie, panel: Panel, sheet: Sheet) -> BaseGeometry:
    """Of the positions those at which the panel's anchor is on the sheet's repeat, as near as the independent check asks."""
    if panel.anchor is None or panel.off_grain > 0 or not any(sheet.repeat) or positions.is_empty:
        return positions
    centre = shapely.box(*Polygon(panel.outline).bounds).centroid
    anchor = shapely.Point(panel.anchor[0] - centre.x, panel.anchor[1] - centre.y)
    if lie.flipped:
        anchor = shapely.affinity.scale(anchor, 1, -1, origin=(0, 0))
    anchor = shapely.affinity.rotate(anchor, lie.turn, origin=(0, 0))
    low_x, low_y, high_x, high_y = positions.bounds
    near = REPEAT_MISS + SAFE
    for along in (True, False):
        repeat = sheet.repeat[0 if along else 1]
        if repeat:
            at = sheet.repeat_at[0] - anchor.x if along else sheet.repeat_at[1] - anchor.y
            low, high = (low_x, high_x) if along else (low_y, high_y)
            lines = [at + k * repeat for k in range(math.floor((low - at) / repeat), math.ceil((high - at) / repeat) + 1)]
            bands = [
                shapely.box(line - near, low_y, line + near, high_y) if along
                else shapely.box(low_x, line - near, high_x, line + near)
                for line in lines
            ]  # fmt: skip
            positions = positions.intersection(united(bands))
    return positions


def reach(positions: BaseGeometry, body: BaseGeometry) -> BaseGeometry:
    """All that the body covers from some position."""
    if positions.is_empty:
        return Polygon()
    parts = convex_parts(body)
    inner = [shapely.affinity.translate(positions, *(part.mean(axis=0))) for part in parts]
    return united([swept(edges(positions), parts), *inner])
