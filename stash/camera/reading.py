"""A photograph read: what lies beside its scale, its outline on the table in mm, its holes, and what all that may be out
by."""

from __future__ import annotations

import math
import os
from dataclasses import dataclass, field
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from nesting import Ring, ring_of

from ..outlines import Measured, from_near_left, mended
from ..refusals import Refused
from ..tape import STATED, Unsure, unsure_by
from ..words import Scale, Way
from . import rims, scales, sheet, zones
from .lens import View
from .picture import Picture, Shot, read

Floats = NDArray[Any]

TOLERANCE = 0.8
"""mm: what an outline may leave out or round off, unless said."""
WIDEST_TOLERANCE = 20.0
LEAST_CLOTH = 600.0
"""mm²: something smaller is a thread, a pin or a crumb."""
LEAST_HOLE = 30.0
"""mm²: a smaller opening in it is a thread that has slipped, not a hole."""
SECOND = 0.05
"""Part of the largest thing's area from which another thing is a second scrap."""
SHARP = 3.5
"""Pixels, beside the scale's own edges: a softer rim over a tenth of the way round is a shadow's."""
UNCLEAR = 0.06
"""Part of a rim that may be without a clear edge."""
GAP = 25.0
"""mm of rim in a row that may be without a clear edge."""
FAINT = 7.0
"""Steps of tone (0 to 255) by which cloth and table must differ."""
RIM_SIGMA = 0.25
"""mm by which the rim's place is out all along a side: cloth is some tenths thick, frays, and throws a line of shade."""
BLUR_PART = 0.1
"""Part of an edge's blur by which it may be out."""
COARSEST = 1.0
"""mm a pixel may be on the table, at the scrap's farthest corner."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What a photograph shows, in mm on the table: x along the long side of what gives the scale, to the right of the picture;
    from the near left of the box round the outline (`corner`, in the scale's own mm).

    `measured`: the outline, its first corner the one that is nearest near left. `holes`: the rings of its holes. `off`: pixels
    by which the scale's sides are off; `tilt`: degrees from straight above. The rest is for pictures of it: `view`, and the
    picture's own points of the rim.
    """

    measured: Measured
    holes: tuple[Ring, ...]
    scale: Scale
    off: float
    tilt: float
    blur: float
    mm_a_pixel: float
    contrast: float
    turned: float
    corner: Floats
    real: float
    shot: Shot = field(repr=False)
    view: View = field(repr=False)
    covered: tuple[Floats, ...] = field(repr=False)

    @property
    def picture(self) -> Picture:
        return self.shot.picture

    def in_picture(self, points: Any) -> Floats:
        """Points of the outline (n × 2, mm) in the picture."""
        on_scale = (np.asarray(points, dtype=float) + self.corner) / self.real
        return self.view.to_picture(_turn_back(on_scale, self.turned))

    def on_table(self, points: Any) -> Floats:
        """Points of the picture (n × 2) in the outline's mm."""
        return _turn(self.view.to_table(np.asarray(points, dtype=float)), self.turned) * self.real - self.corner


def read_photograph(
    file: str | os.PathLike[str], scale: Scale = Scale.SHEET, *, tolerance: float = TOLERANCE, square: float = sheet.SQUARE
) -> Seen:
    """Read the outline of what lies in a photograph. `tolerance`: mm. `square`: mm that the sheet's square really measures.

    Raises Refused, which says what was wrong with the photograph and what to do.
    """
    _sound(tolerance, square)
    return read_shot(read(file), Scale(scale), tolerance=tolerance, square=square)


def read_shot(shot: Shot, scale: Scale, *, tolerance: float = TOLERANCE, square: float = sheet.SQUARE) -> Seen:
    """The same of a picture that has been read."""
    seen = zones.reduced(shot.picture)
    if scale is Scale.SHEET:
        measure = scales.by_sheets(shot)
        found = zones.laid_out(seen, list(measure.covered))
    else:
        found = zones.laid_out(seen, [])
        measure = scales.by_paper_or_card(shot, scale, _candidates(found, seen.factor))
        found = zones.without(found, measure.covered[0], seen.factor)
    real = square / sheet.SQUARE
    tried = [laid for laid in zones.chosen(found) if laid.blobs][:4]
    if not tried:
        raise _nothing_there(found)
    refusals: list[Refused] = []
    for laid in tried:
        try:
            return _outlined(shot, seen, laid, measure, tolerance, real)
        except Refused as fault:
            refusals.append(fault)
    raise refusals[0]


def _sound(tolerance: float, square: float) -> None:
    if not 0.05 <= tolerance <= WIDEST_TOLERANCE:
        raise Refused(
            f"the tolerance is {tolerance:g} mm", where="tolerance", expected=f"from 0.05 to {WIDEST_TOLERANCE:g} mm"
        )
    if not 0.9 * sheet.SQUARE <= square <= 1.1 * sheet.SQUARE:
        raise Refused(
            f"the sheet's square measures {square:g} mm",
            where="square",
            expected="within a tenth of 100 mm",
            next="Print the sheet again at actual size (100 %), without fitting it to the page",
        )


def _candidates(found: list[zones.Laid], factor: float) -> list[Floats]:
    """The rings, in the picture, of all that lies on the table, each once."""
    kept: list[zones.Blob] = []
    for laid in found:
        for blob in laid.blobs:
            if not blob.at_rim and not any(zones.alike(blob, other) for other in kept):
                kept.append(blob)
    return [zones.rim_of(blob.mask, factor)[0] for blob in kept[:24]]


def _outlined(
    shot: Shot, seen: zones.Reduced, laid: zones.Laid, measure: scales.Measure, tolerance: float, real: float
) -> Seen:
    """The outline of the largest thing on the table."""
    blob = _the_scrap(laid, seen, measure.view)
    outer, inner = zones.rim_of(blob.mask, seen.factor)
    view = measure.view
    _not_askew(view, outer)
    rim = rims.followed(shot.picture, outer)
    _clear_enough(rim, view, measure.blur)
    scale_sigma = sheet.SCALE_SIGMA[measure.scale]
    turned = _upright(view, outer)
    mm = float(np.median([view.mm_a_pixel(point) for point in rim.points[:: max(1, len(rim.points) // 12)]]))
    sigma, alike = 0.3 * mm, 6.0
    ring = rims.fitted(view.to_table(rim.points), rim.clear, tolerance, sigma=sigma, alike=alike)
    corners = _turn(ring.corners, turned) * real
    corner = corners.min(axis=0)
    points = from_near_left(ring_of(mended((corners - corner).tolist(), "outline")))
    unsure = _unsure(ring, view, scale_sigma, measure.blur * mm)
    holes = tuple(
        tuple((x - float(corner[0]), y - float(corner[1])) for x, y in hole)
        for hole in _holes(shot, view, inner, tolerance, turned, real, measure.blur)
    )
    width = float(np.median(rim.width[rim.clear])) if rim.clear.any() else math.inf
    return Seen(
        measured=Measured(points).by(Way.PHOTOGRAPH, unsure),
        holes=holes,
        scale=measure.scale,
        off=view.off,
        tilt=view.tilt,
        blur=width,
        mm_a_pixel=mm,
        contrast=float(np.median(rim.contrast)),
        turned=turned,
        corner=corner,
        real=real,
        shot=shot,
        view=view,
        covered=measure.covered,
    )


def _the_scrap(laid: zones.Laid, seen: zones.Reduced, view: View) -> zones.Blob:
    """The one thing on the table that is a scrap. Raises Refused where it reaches the frame, or where there are two."""
    sized = [(blob, _area_on_table(blob, seen.factor, view)) for blob in laid.blobs]
    sized = [(blob, area) for blob, area in sized if area >= LEAST_CLOTH]
    if not sized:
        raise _nothing_there([laid])
    sized.sort(key=lambda each: -each[1])
    largest, area = sized[0]
    if largest.at_rim:
        raise Refused(
            "the scrap reaches the edge of the picture",
            where="photograph",
            expected="all of it in the picture, with table to be seen all round",
            next="Take it again from a little farther away",
        )
    others = [other for other, its_area in sized[1:] if its_area > max(SECOND * area, LEAST_CLOTH)]
    if any(not other.at_rim for other in others):
        raise Refused(
            f"there are {1 + sum(not other.at_rim for other in others)} things on the table beside the scale",
            where="photograph",
            expected="one scrap alone",
            next="Photograph them one by one; take away scissors, hands and the like",
        )
    if others:
        raise Refused(
            "something else reaches into the picture",
            where="photograph",
            expected="one scrap alone, with table to be seen all round",
            next="Take it away, or photograph from a little nearer",
        )
    return largest


def _area_on_table(blob: zones.Blob, factor: float, view: View) -> float:
    ring, holes = zones.rim_of(blob.mask, factor)
    area = 0.0
    for part in (ring, *holes):
        on = view.to_table(part)
        if not np.isfinite(on).all():
            return math.inf
        area += zones.area_within(on)
    return abs(area)


def _nothing_there(found: list[zones.Laid]) -> Refused:
    if found:
        return Refused(
            "no cloth can be told from the table: they are alike in tone, or there is none",
            where="photograph",
            expected="cloth on a table of another tone",
            next="Lay it on something darker or lighter (a sheet of paper or cloth of another colour under it)",
        )
    return Refused(
        "no table can be made out round the cloth",
        where="photograph",
        expected="a table of one tone, to be seen all round the scrap",
        next="Take it from farther away, or lay it on a plain ground",
    )


def _not_askew(view: View, ring: Floats) -> None:
    """Refuse what is seen from too far aside, or too small."""
    on = view.to_table(ring)
    tilt = view.tilt
    if tilt > scales.STEEPEST or not np.isfinite(on).all():
        raise Refused(
            f"it was photographed {tilt:.0f}° from straight above",
            where="photograph",
            expected=f"at most {scales.STEEPEST:.0f}°",
            next="Hold the camera over the cloth, looking down",
        )
    coarse = max(
        view.mm_a_pixel(ring[i]) for i in (on[:, 0].argmin(), on[:, 0].argmax(), on[:, 1].argmin(), on[:, 1].argmax())
    )
    if coarse > COARSEST:
        raise Refused(
            f"a pixel of it is {coarse:.1f} mm on the table",
            where="photograph",
            expected=f"at most {COARSEST:g} mm",
            next="Go nearer, or let the camera take a larger picture",
        )


def _clear_enough(rim: rims.Rim, view: View, blur: float) -> None:
    """Refuse a rim without a clear edge: too faint, too soft (a shadow's), or too blurred all round."""
    contrast, noise = float(np.median(rim.contrast)), float(np.median(rim.noise))
    unclear = ~rim.clear | (rim.contrast < FAINT)
    soft = rim.clear & ~(rim.width < max(2.5 * blur, blur + SHARP))
    if blur > 9.0:
        raise Refused(
            f"the picture is blurred: an edge is {blur:.0f} pixels wide",
            where="photograph",
            expected="at most 9 pixels",
            next="Hold still, let the camera focus on the cloth, and take it in better light",
        )
    if contrast < FAINT or contrast < 1.5 * noise or unclear.mean() > UNCLEAR or _longest(unclear, rim.points, view) > GAP:
        raise Refused(
            f"cloth and table are too much alike in tone{_where(unclear, rim.points, view)}",
            where="photograph",
            expected="an edge that is clear all round",
            next="Lay it on something darker or lighter, in even light",
        )
    if soft.mean() > 0.10 or _longest(soft, rim.points, view) > 2 * GAP:
        raise Refused(
            f"the edge is soft{_where(soft, rim.points, view)}, as that of a shadow is",
            where="photograph",
            expected="no shadow that could be taken for cloth",
            next="Let the light come from all sides, and keep your own shadow off the table",
        )


def _longest(flags: NDArray[Any], points: Floats, view: View) -> float:
    """The longest way along the rim on which a flag stands, mm."""
    if not flags.any():
        return 0.0
    if flags.all():
        return math.inf
    start = int(np.argmin(flags))
    on = view.to_table(np.roll(points, -start, axis=0))
    steps = np.linalg.norm(np.roll(on, -1, axis=0) - on, axis=1)
    best = run = 0.0
    for flag, step in zip(np.roll(flags, -start), steps, strict=True):
        run = run + float(step) if flag else 0.0
        best = max(best, run)
    return best


def _where(flags: NDArray[Any], points: Floats, view: View) -> str:
    """Where in the picture most of the flags stand, in words."""
    if not flags.any() or (len(flags) > 1 and flags.mean() > 0.6):
        return ""
    at = np.median(points[flags], axis=0) / np.array(view.size)
    words = [("near the top", "", "near the bottom")[int(at[1] * 3)], ("left", "", "right")[int(at[0] * 3)]]
    said = " ".join(filter(None, words)) if words[0] else (f"at the {words[1]}" if words[1] else "in the middle")
    return f" {said} of the picture"


def _upright(view: View, ring: Floats) -> float:
    """By how much (quarter turns or a half, radians) the scale's x is turned, to run most nearly to the right of the
    picture."""
    middle = ring.mean(axis=0)
    on = view.to_table(np.array([middle, middle + np.array([20.0, 0.0])]))
    angle = math.atan2(*(on[1] - on[0])[::-1])
    return math.pi if abs(math.degrees(angle)) > 90 else 0.0


def _turn(points: Floats, by: float) -> Floats:
    c, s = math.cos(by), math.sin(by)
    found: Floats = points @ np.array([[c, s], [-s, c]])
    return found


def _turn_back(points: Floats, by: float) -> Floats:
    return _turn(points, -by)


def _unsure(ring: rims.Ring, view: View, scale_sigma: float, blur: float) -> Unsure:
    """What the outline may be out by: what the camera, the rim's points, its blur and thickness, and the scale leave
    unsure."""
    corners = ring.corners
    seen = view.spread(view.to_picture(corners))
    side = np.eye(2 * len(corners)) * (RIM_SIGMA**2 + (BLUR_PART * blur) ** 2)
    from_middle = (corners - corners.mean(axis=0)).ravel()
    scale = scale_sigma**2 * np.outer(from_middle, from_middle)
    found = unsure_by(tuple((float(x), float(y)) for x, y in corners), seen + ring.covariance + side + scale)
    # All sides may be out the same way: a rim that seems wider or narrower all round.
    around = float(np.linalg.norm(corners - np.roll(corners, -1, axis=0), axis=1).sum())
    breadth = STATED * math.hypot(RIM_SIGMA, BLUR_PART * blur) * around / 2
    return Unsure(found.corner, math.hypot(found.area, breadth))


def _holes(
    shot: Shot, view: View, inner: list[Floats], tolerance: float, turned: float, real: float, blur: float
) -> tuple[Ring, ...]:
    """The rings of the holes through which the table is seen."""
    found = []
    for ring in inner:
        if abs(cv2.contourArea(view.to_table(ring).astype(np.float32))) < LEAST_HOLE:
            continue
        rim = rims.followed(shot.picture, ring)
        if rim.clear.mean() < 0.8 or float(np.median(rim.width[rim.clear])) > max(2.5 * blur, blur + SHARP):
            raise Refused(
                f"something like a hole is to be seen{_where(np.ones(1, dtype=bool), ring.mean(axis=0)[None], view)}, "
                "and its edge is not clear",
                where="photograph",
                expected="a hole through which the table is seen, or none",
                next="Brush crumbs and threads off it, and take it again in even light",
            )
        fitted = rims.fitted(view.to_table(rim.points), rim.clear, tolerance, sigma=0.1, alike=6.0)
        corners = _turn(fitted.corners, turned) * real
        if abs(cv2.contourArea(corners.astype(np.float32))) >= LEAST_HOLE:
            found.append(ring_of(mended(corners.tolist(), "hole")))
    return tuple(found)
