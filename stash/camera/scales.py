"""The scale in a picture, found: the marks of scale sheets, a sheet of A4, or a card; and the camera that saw it so."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import cv2
import numpy as np

from ..refusals import Refused
from ..words import Scale
from . import edges, sheet
from .lens import EDGE_SIGMA, FIXED, Body, Floats, View, seen_by
from .picture import Picture, Shot
from .zones import area_within

SEARCHED = 2000
"""Pixels to which a picture's longer side is reduced to look for marks: a mark is then still some 40 pixels wide."""
APART = 5.0
"""Pixels between the points that are looked at along a side."""
BENT = 0.9
"""Pixels, beside what the noise leaves: where a part of a mark's sides is out by more in the middle, the sheet is not flat."""
LEAST_MARK = 24.0
"""Pixels a mark is wide at least, for its sides to be told to a tenth of a pixel."""
UNLIKELY = 3.0
"""Standard uncertainties by which a camera may differ from what cameras are, before the thing is not what it was taken for."""
SURELY = 20.0
"""By how much (a sum of squares in standard uncertainties) the long side must suit a thing better than the short one."""
FIRST_REACH = {Scale.SHEET: 0.0, Scale.A4: 30.0, Scale.CARD: 14.0}
"""Pixels on either side of where a side seems to run, at first, within which it is looked for; 0: as a mark's cells allow."""
STEEPEST = 62.0
"""Degrees from straight above, beyond which the far side is too squat to be measured."""
NEXT_SHEET = "Lay a scale sheet flat beside the cloth (`fent bin scale-sheet sheet.pdf` prints one), all of it in the picture"


@dataclass(frozen=True, slots=True)
class Measure:
    """What gave the scale: the view, what lies where (rings in the picture) and is no cloth, and the edges' blur (pixels)."""

    scale: Scale
    view: View
    covered: tuple[Floats, ...]
    blur: float
    sheets: int = 0
    marks: int = 0
    numbers: tuple[int, ...] = field(default=())


@dataclass(frozen=True, slots=True)
class Quad:
    """A thing of four sides in the picture: its corners (4 × 2, clockwise as seen), and what it is."""

    corners: Floats
    thing: sheet.Outlined
    frame: int
    mark: int = -1


def by_sheets(shot: Shot) -> Measure:
    """The view by the marks of all scale sheets in a picture. Raises Refused."""
    found = _marks(shot.picture)
    if not found:
        raise Refused(
            "no mark of a scale sheet was found in it",
            where="scale",
            expected="a scale sheet beside the cloth",
            next=NEXT_SHEET,
        )
    if len(found) < 3:
        raise Refused(
            f"only {len(found)} of a sheet's 6 marks {'was' if len(found) == 1 else 'were'} found in it",
            where="scale",
            expected="at least 3, on one flat sheet",
            next=NEXT_SHEET,
        )
    least = min(math.sqrt(abs(area_within(corners))) for corners in found.values())
    if least < LEAST_MARK:
        raise Refused(
            f"its marks are {least:.0f} pixels wide",
            where="scale",
            expected=f"at least {LEAST_MARK:.0f} pixels",
            next="Go nearer, or let the camera take a larger picture",
        )
    quads = _quads(found)
    return _measured(shot, quads, Scale.SHEET)


def by_paper_or_card(shot: Shot, scale: Scale, blobs: list[Floats]) -> Measure:
    """The view by a sheet of A4 or a card, which is one of the blobs (rings in the picture) that lie on the table. Raises
    Refused."""
    thing = sheet.paper_or_card(scale)
    name = "card" if scale is Scale.CARD else "sheet of A4"
    fits: list[Measure] = []
    nearly: list[Refused] = []
    for ring in blobs:
        if any(_within(ring.mean(axis=0), other) and area_within(other) > 2 * area_within(ring) for other in blobs):
            continue  # a hole in the cloth, or a figure printed on it
        corners = _four_corners(ring)
        if corners is None:
            continue
        turns = []
        for first in (0, 1):  # which of its sides is the long one
            try:
                measured = _measured(shot, [Quad(np.roll(corners, first, axis=0), thing, 0)], scale)
            except Refused as fault:
                nearly.append(fault)
                continue
            if measured.view.beforehand < UNLIKELY and measured.view.tilt < STEEPEST:
                turns.append(measured)
        turns.sort(key=lambda each: each.view.strain)
        if len(turns) > 1 and turns[1].view.strain - turns[0].view.strain < SURELY:
            raise Refused(
                f"which is the long side of the {name} cannot be told",
                where="scale",
                expected="a picture from nearly straight above",
                next="Hold the camera over the cloth, looking down; or use a printed scale sheet",
            )
        fits += turns[:1]
    if not fits:
        flat = [fault for fault in nearly if "not flat" in fault.what]
        raise (
            flat[0]
            if len(nearly) <= 2 and flat
            else Refused(
                f"no {name} was found in it",
                where="scale",
                expected=f"a {name} lying flat beside the cloth, all of it in the picture, on a table of another tone",
                next="Lay it clear of the cloth"
                + (", and not white paper on a white table" if scale is Scale.A4 else "")
                + "; a printed scale sheet is found more surely",
            )
        )
    fits.sort(key=lambda each: each.view.off)
    others = [fit for fit in fits[1:] if not _within(fit.covered[0].mean(axis=0), fits[0].covered[0])]
    if others and others[0].view.off < 2.5 * max(fits[0].view.off, EDGE_SIGMA):
        raise Refused(
            f"more than one thing in it could be the {name}",
            where="scale",
            expected="one",
            next="Take the others away, or use a printed scale sheet",
        )
    return fits[0]


def _within(point: Floats, ring: Floats) -> bool:
    return cv2.pointPolygonTest(ring.astype(np.float32), (float(point[0]), float(point[1])), False) > 0


def _marks(picture: Picture) -> dict[int, Floats]:
    """The corners (4 × 2, clockwise from the mark's own far left) of the marks that are ours, by number."""
    high, wide = picture.shape[:2]
    part = min(1.0, SEARCHED / max(high, wide))
    grey = cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY)
    if part < 1:
        grey = cv2.resize(grey, None, fx=part, fy=part, interpolation=cv2.INTER_AREA)
    settings = cv2.aruco.DetectorParameters()
    settings.adaptiveThreshWinSizeMax = 53
    corners, numbers, _ = cv2.aruco.ArucoDetector(sheet.dictionary(), settings).detectMarkers(grey)
    found: dict[int, Floats] = {}
    most = sheet.SHEETS * len(sheet.MARK_PLACES)
    for ring, number in zip(corners, [] if numbers is None else numbers.ravel(), strict=True):
        if number < most:
            if int(number) in found:
                raise Refused(
                    f"scale sheet {sheet.sheet_of(int(number))} is in it twice",
                    where="scale",
                    expected="different sheets (1 to 4), where there are several",
                    next="Print another with `fent bin scale-sheet --number 2`",
                )
            found[int(number)] = (ring.reshape(4, 2).astype(float) + 0.5) / part - 0.5
    return found


def _quads(found: dict[int, Floats]) -> list[Quad]:
    """The marks as things of known shape; the sheet with most marks gives the coordinates."""
    sheets = sorted({sheet.sheet_of(mark) for mark in found})
    sheets.sort(key=lambda number: (-sum(sheet.sheet_of(mark) == number for mark in found), number))
    # A sheet of which a single mark is seen tells nothing that its neighbours do not tell better.
    sheets = [number for number in sheets if sum(sheet.sheet_of(mark) == number for mark in found) > 1] or sheets[:1]
    quads = []
    for frame, number in enumerate(sheets):
        for mark, thing in sheet.sheet_marks(number).items():
            if mark in found:
                quads.append(Quad(found[mark], thing, frame, mark))
    return quads


def _measured(shot: Shot, quads: list[Quad], scale: Scale) -> Measure:
    """The view in which the things' sides are seen where they are."""
    first = [quad for quad in quads if quad.frame == 0]
    corners = np.vstack([quad.corners for quad in first])
    on_table = np.vstack([np.array(quad.thing.ring) for quad in first])
    size = (shot.picture.shape[1], shot.picture.shape[0])
    whole = scale is not Scale.SHEET
    bodies, blur = _bodies(shot.picture, quads, FIRST_REACH[scale])
    view = _seen(bodies, corners, on_table, size, shot)
    if whole:
        # Along a long side the lens bends it by more than a mark's: looked at again where the first view expects it.
        for _ in range(2):
            bodies, blur = _bodies_again(shot.picture, quads[0], view)
            view = _seen(bodies, corners, on_table, size, shot)
    most = BENT + 3 * EDGE_SIGMA + 0.25 * blur
    if view.worst > most or view.off > most:
        what = (
            "the marks do not lie on one flat plane"
            if not whole
            else f"{quads[0].thing.name} is not flat, or not what it was taken for"
        )
        raise Refused(
            f"{what}: its sides are out by {view.worst:.1f} pixels",
            where="scale",
            expected=f"at most {most:.1f} pixels",
            next="Smooth it out and weigh its corners down, flat on the table on which the cloth lies",
        )
    covered = _covered(view, quads, scale)
    numbers = tuple(sorted({sheet.sheet_of(quad.mark) for quad in quads if quad.mark >= 0}))
    return Measure(scale, view, covered, blur, len({quad.frame for quad in quads}), len(quads), numbers)


def _seen(bodies: list[Body], corners: Floats, on_table: Floats, size: tuple[int, int], shot: Shot) -> View:
    try:
        return seen_by(bodies, corners, on_table, size, shot.focal, cropped=shot.cropped)
    except (ValueError, np.linalg.LinAlgError):
        raise Refused(
            "its scale cannot be made out", where="scale", expected="a scale that lies flat", next=NEXT_SHEET
        ) from None


def _bodies(picture: Picture, quads: list[Quad], reach: float) -> tuple[list[Body], float]:
    """The points on the sides of each thing, and the median width of its edges."""
    bodies, widths = [], []
    for quad in quads:
        long = math.sqrt(abs(area_within(quad.corners)))
        mm = math.sqrt(abs(area_within(np.array(quad.thing.ring)))) / long
        # A mark's rim is a cell wide: beyond half of it other cells begin.
        near = reach or min(8.0, 0.3 * long / sheet.CELLS)
        parts = []
        for i in range(4):
            first, last = quad.corners[i], quad.corners[(i + 1) % 4]
            points, normals = edges.along_side(
                first, last, min(quad.thing.from_corner / mm, 0.2 * float(np.linalg.norm(last - first))), APART
            )
            parts.append((points, normals, *_side(quad.thing, i)))
        body, wide = _looked_at(picture, parts, near, quad.frame, quad.thing.name, whole=reach > 0)
        bodies.append(body)
        widths.append(wide)
    return bodies, float(np.median(np.concatenate(widths)))


def _bodies_again(picture: Picture, quad: Quad, view: View) -> tuple[list[Body], float]:
    ring = np.array(quad.thing.ring)
    parts = []
    for i in range(4):
        first, last = ring[i], ring[(i + 1) % 4]
        long = float(np.linalg.norm(last - first))
        seen = view.to_picture(np.vstack([first, last]))
        count = max(8, int(np.linalg.norm(seen[1] - seen[0]) / APART))
        along = np.linspace(quad.thing.from_corner / long, 1 - quad.thing.from_corner / long, count)[:, None]
        points = view.to_picture(first + along * (last - first))
        way = np.gradient(points, axis=0)
        way /= np.linalg.norm(way, axis=1, keepdims=True)
        parts.append((points, np.column_stack([way[:, 1], -way[:, 0]]), *_side(quad.thing, i)))
    body, widths = _looked_at(picture, parts, 6.0, 0, quad.thing.name, whole=True)
    return [body], float(np.median(widths))


def _looked_at(
    picture: Picture, parts: list[tuple[Floats, Floats, Floats, float]], reach: float, frame: int, name: str, *, whole: bool
) -> tuple[Body, Floats]:
    """The points of a thing's sides where its edge is found."""
    points, normals, offsets, widths = [], [], [], []
    for where, square, normal, offset in parts:
        # A sheet or a card stands out less than a mark, and its sides are long: more of them is looked at as one.
        alike, broad, least = (9, 2.0, 1.5) if whole else (5, 1.0, 3.0)
        beside = max(2.0, min(4.0, reach / 2))
        seen = edges.across(picture, where, square, reach, beside=beside, alike=alike, broad=broad, least=least, closed=False)
        good = seen.clear & np.isfinite(seen.at)
        if good.sum() < max(3, 0.4 * len(where)):
            continue
        points.append((where + seen.at[:, None] * square)[good])
        normals.append(np.tile(normal, (int(good.sum()), 1)))
        offsets.append(np.full(int(good.sum()), offset))
        widths.append(seen.width[good])
    if len(points) < (4 if whole else 3):
        raise Refused(
            f"the sides of {name} cannot be told clearly",
            where="scale",
            expected="a sharp picture, evenly lit",
            next="Take it again in better light, and hold still",
        )
    return Body(np.vstack(points), np.vstack(normals), np.concatenate(offsets), frame), np.concatenate(widths)


def _side(thing: sheet.Outlined, number: int) -> tuple[Floats, float]:
    """The outward normal of a side, and its distance from the middle of the coordinates."""
    a, b = np.array(thing.ring[number]), np.array(thing.ring[(number + 1) % 4])
    way = (b - a) / np.linalg.norm(b - a)
    normal = np.array([-way[1], way[0]])  # the ring runs with the clock, y away from the person
    return normal, float(normal @ a)


def _covered(view: View, quads: list[Quad], scale: Scale) -> tuple[Floats, ...]:
    """The rings, in the picture, of what gives the scale: the whole paper of a sheet, not its marks alone."""
    if scale is not Scale.SHEET:
        return (view.to_picture(_denser(np.array(quads[0].thing.ring))),)
    x, y = sheet.A4[0] / 2, sheet.A4[1] / 2
    paper = _denser(np.array([(-x, y), (x, y), (x, -y), (-x, -y)]))
    rings = []
    for frame in sorted({quad.frame for quad in quads}):
        at = paper
        if frame:
            left, up, angle = view.camera[FIXED + 3 * (frame - 1) : FIXED + 3 * frame]
            c, s = math.cos(angle), math.sin(angle)
            at = paper @ np.array([[c, s], [-s, c]]) + [left, up]
        rings.append(view.to_picture(at))
    return tuple(rings)


def _denser(ring: Floats) -> Floats:
    """A ring with ten points on each side, as a lens bends it."""
    after = np.roll(ring, -1, axis=0)
    return np.vstack([a + (b - a) * np.linspace(0, 1, 10, endpoint=False)[:, None] for a, b in zip(ring, after, strict=True)])


def _four_corners(ring: Floats) -> Floats | None:
    """The corners of a blob of four sides, clockwise as seen, where those sides meet (a card's own corners are round); None
    where it has not four."""
    hull = cv2.convexHull(ring.astype(np.float32))
    around = cv2.arcLength(hull, True)
    shape = cv2.approxPolyDP(hull, 0.006 * around, True).reshape(-1, 2).astype(float)
    if len(shape) < 4:
        return None
    after = np.roll(shape, -1, axis=0)
    longs = np.linalg.norm(after - shape, axis=1)
    four = np.sort(np.argsort(-longs)[:4])
    if longs[four].sum() < 0.8 * around:
        return None
    corners = []
    for i, j in zip(np.roll(four, 1), four, strict=True):
        ways = np.column_stack([after[i] - shape[i], shape[j] - after[j]])
        if abs(np.linalg.det(ways)) < 0.1 * longs[i] * longs[j]:
            return None
        part = np.linalg.solve(ways, shape[j] - shape[i])
        corners.append(shape[i] + part[0] * ways[:, 0])
    found = np.array(corners)
    if not 0.92 < abs(area_within(ring)) / max(abs(area_within(found)), 1e-9) < 1.05:
        return None
    return found if area_within(found) > 0 else found[::-1].copy()
