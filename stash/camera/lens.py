"""The camera: how a point of the table comes to be where it is in the picture, found from sides that are known to be straight.

A pinhole with its middle, its focal length and a lens that bends towards or away from the middle (two coefficients of the even
polynomial, Brown, *Photogrammetric Engineering* 1971), above a flat table. All that is known beforehand is weighed in as
further observations (what the picture says of its focal length, that lenses bend little, that the middle is near the picture's
middle), so that what one small card cannot tell is not made up, and stays in the uncertainty.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[Any]

EDGE_SIGMA = 0.12
"""Pixels by which a point on a clear edge is out: what the noise and the steps of the sensor leave."""
ALIKE = 4.0
"""Neighbouring points of one edge are out alike: that many count for one at least; more where it is seen that they are."""
PULLED = 0.03
"""Pixels by which a side that borders on the table itself may be shifted, turned or bowed as a whole by the table's figure:
taken so that what is stated covered eighteen rendered cards."""
PARTS = 6
"""Parts of a side whose means tell that: the figure of a table (grain of wood) pulls at some cm of an edge alike."""
LEAST_PART = 4
"""Points that such a part has at least."""
TAKEN_UP = 12
"""Means that say nothing of it, since the camera's unknowns bend to them."""
USUAL_FOCAL, FOCAL_SIGMA, FOCAL_TOLD_SIGMA = 0.68, 0.35, 0.05
"""Focal length in parts of the picture's diagonal (a usual telephone's 28 mm is 0.65), and how sure it is (as a part),
told or not."""
MIDDLE_SIGMA, MIDDLE_CROPPED_SIGMA = 0.012, 0.12
"""Parts of the diagonal by which the lens's middle is beside the picture's, and where the picture has been cropped."""
BEND_SIGMA = (0.06, 0.06)
"""What the two coefficients are for ordinary lenses, with lengths in focal lengths."""
SHIFT_SIGMA = 0.15
"""Pixels by which all edges of a thing may seem to be shifted outwards, by blur and glare."""
OUTLIER = 4.0
"""Times the usual distance of a point from its side, beyond which it is left out."""
MOST_ROUNDS = 40
FIXED = 11
Camera = Floats
"""log f, middle (2), bends (2), turn (3), shift (3); then for each further sheet its place (2) and turn."""


@dataclass(frozen=True, slots=True)
class Body:
    """Straight sides seen on one thing: points in the picture (n × 2), and for each the side's outward normal (n × 2) and its
    distance from the middle (n), in the thing's own mm. `frame`: 0 for the thing that gives the coordinates, else its
    number."""

    points: Floats
    normals: Floats
    offsets: Floats
    frame: int


@dataclass(frozen=True, slots=True)
class View:
    """A camera as it was found, the covariance of what was found, and how well the sides agree with it: `off`, `worst`
    (pixels); `strain`, the sum of squares of all that disagrees, what was known beforehand too, in standard uncertainties;
    `beforehand`, the root of the mean of squares of the latter alone."""

    camera: Camera
    covariance: Floats
    turned: Floats
    off: float
    worst: float
    strain: float
    beforehand: float
    size: tuple[int, int]

    @property
    def tilt(self) -> float:
        """Degrees from straight above."""
        turn = _turn(self.camera[5:8]) @ self.turned
        return math.degrees(math.acos(min(1.0, abs(float(turn[2, 2])))))

    def to_table(self, points: Floats) -> Floats:
        """Points of the picture (n × 2) on the table, mm."""
        return to_table(self.camera, self.turned, points)

    def to_picture(self, points: Floats) -> Floats:
        """Points of the table (n × 2, mm) in the picture."""
        return to_picture(self.camera, self.turned, points)

    def mm_a_pixel(self, point: Floats) -> float:
        """How large a pixel is on the table there, mm (the root of its area)."""
        around = self.to_table(point + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
        return math.sqrt(abs(float(np.linalg.det(around[1:] - around[0]))))

    def spread(self, points: Floats) -> Floats:
        """The covariance (2n × 2n, mm²) that the camera's leaves to points of the picture, laid on the table."""
        slopes = []
        for i, sigma in enumerate(np.sqrt(np.diag(self.covariance))[:FIXED]):
            step = max(1e-3 * sigma, 1e-9)
            moved = self.camera.copy()
            moved[i] += step
            slopes.append((to_table(moved, self.turned, points) - self.to_table(points)).ravel() / step)
        slope = np.stack(slopes, axis=1)
        found: Floats = slope @ self.covariance[:FIXED, :FIXED] @ slope.T
        return found


def to_table(camera: Camera, turned: Floats, points: Floats) -> Floats:
    """Points of the picture on the table, mm. A point above the horizon comes out as not a number."""
    bent = (points - camera[1:3]) / math.exp(camera[0])
    r2 = (bent**2).sum(axis=1, keepdims=True)
    ideal = bent * (1 + camera[3] * r2 + camera[4] * r2 * r2)
    back = np.linalg.inv(_onto(camera, turned))
    rays = np.column_stack([ideal, np.ones(len(ideal))]) @ back.T
    with np.errstate(divide="ignore", invalid="ignore"):
        found: Floats = np.where(rays[:, 2:] > 0, rays[:, :2] / rays[:, 2:], np.nan)
    return found


def to_picture(camera: Camera, turned: Floats, points: Floats) -> Floats:
    """Points of the table, mm, in the picture."""
    rays = np.column_stack([points, np.ones(len(points))]) @ _onto(camera, turned).T
    ideal = rays[:, :2] / rays[:, 2:]
    bent = ideal.copy()
    for _ in range(12):  # each round leaves a tenth of the error at most, as the bend is small
        r2 = (bent**2).sum(axis=1, keepdims=True)
        bent = ideal / (1 + camera[3] * r2 + camera[4] * r2 * r2)
    found: Floats = bent * math.exp(camera[0]) + camera[1:3]
    return found


def seen_by(
    bodies: list[Body], corners: Floats, on_table: Floats, size: tuple[int, int], focal: float | None, *, cropped: bool
) -> View:
    """The camera that sees the bodies' sides where they are seen.

    `corners`, `on_table`: rough corners in the picture and on the table, n × 2, to begin from. `focal`: pixels, where the
    picture tells it. Raises ValueError where there is none.
    """
    diagonal = math.hypot(*size)
    start, turned = _begin(corners, on_table, size, focal or USUAL_FOCAL * diagonal)
    frames = max(body.frame for body in bodies)
    places = [_rigid(body, start, turned) for body in _first_of(bodies, frames)]
    begin = np.concatenate([start, *places, np.zeros(1)])
    before = np.concatenate([[math.log(focal or USUAL_FOCAL * diagonal)], np.array(size) / 2, [0, 0]])
    sure = np.array(
        [
            FOCAL_TOLD_SIGMA if focal else FOCAL_SIGMA,
            *[(MIDDLE_CROPPED_SIGMA if cropped else MIDDLE_SIGMA) * diagonal] * 2,
            *BEND_SIGMA,
        ]
    )
    seen = _joined(bodies, start, turned)
    kept = np.ones(len(seen.points), dtype=bool)

    pulls = _pulls(seen) if len(bodies) == 1 else None  # a sheet of A4 or a card; a mark has white paper round it
    least = EDGE_SIGMA * math.sqrt(ALIKE)
    sigma = least

    def all_off(camera: Floats) -> Floats:
        prior = np.concatenate([(camera[:5] - before) / sure, [camera[-1] / SHIFT_SIGMA]])
        off = np.where(kept, _off(camera, turned, seen), 0.0)
        found: Floats = np.concatenate([(off if pulls is None else _loosened(off, pulls, sigma)) / sigma, prior])
        return np.asarray(np.nan_to_num(found, nan=1e6, posinf=1e6, neginf=-1e6))

    camera = begin
    for _ in range(3):
        camera, slope = _least_squares(all_off, camera, _scales(begin, diagonal))
        left = _off(camera, turned, seen)
        typical = max(1.4826 * float(np.median(np.abs(left[kept]))), 0.05)
        before_kept, kept = kept, np.abs(left) < OUTLIER * typical
        if (before_kept == kept).all():
            break
    strain = float(np.square(all_off(camera)).sum())
    # What the sides say is weighed anew against what is known beforehand, by how well they agree.
    sigma = max(least, _out_alike(np.where(kept, left, 0.0), seen))
    if sigma > least:
        camera, slope = _least_squares(all_off, camera, _scales(begin, diagonal))
        left = _off(camera, turned, seen)
    rms = float(np.sqrt(np.mean(left[kept] ** 2)))
    starts = np.cumsum([len(body.points) for body in bodies])[:-1]
    worst = max(
        float(np.median(np.abs(part))) for each in np.split(left, starts) for part in np.array_split(each, 4) if len(part)
    )
    covariance = np.linalg.pinv(slope.T @ slope)
    beforehand = float(np.sqrt(np.mean(np.square((camera[:5] - before) / sure))))
    return View(camera, covariance, turned, rms, worst, strain, beforehand, size)


def _out_alike(left: Floats, seen: _Joined) -> float:
    """Pixels by which a point would be out, were each out by itself and their sides' means as sure as they are: from the means
    of parts of sides (batch means). So few tell it loosely: Student's variance (JCGM 101, 6.4.9.4)."""
    means = [
        len(part) * float(part.mean()) ** 2
        for side in np.split(left, seen.sides)
        for part in np.array_split(side, max(1, min(PARTS, len(side) // LEAST_PART)))
    ]
    of_means = sum(means) / max(1, len(means) - TAKEN_UP - 2)
    return math.sqrt(max(of_means, ALIKE * float(np.mean(left**2))))


def _pulls(seen: _Joined) -> Floats:
    """How a side may be out as a whole: shifted, turned or bowed (Legendre's polynomials), each a column of length 1."""
    columns = []
    for side in np.split(np.arange(len(seen.points)), seen.sides):
        along = np.linspace(-1, 1, len(side))
        for shape in (np.ones(len(side)), along, 1.5 * along**2 - 0.5):
            column = np.zeros(len(seen.points))
            column[side] = shape / max(float(np.linalg.norm(shape)), 1e-9)
            columns.append(column)
    return np.stack(columns, axis=1)


def _loosened(left: Floats, pulls: Floats, sigma: float) -> Floats:
    """What the points are off, counted for less along the pulls: whitened for a noise of `sigma` at each point, and of PULLED
    in each pull for all points of its side together."""
    counts = (pulls != 0).sum(axis=0)
    shares = 1 - 1 / np.sqrt(1 + (PULLED / sigma) ** 2 * counts)
    found: Floats = left - pulls @ (shares * (left @ pulls))
    return found


@dataclass(frozen=True, slots=True)
class _Joined:
    """The points of all bodies, and for each its side's normal and offset, the size of a pixel there (mm), its frame. `sides`:
    where each side but the first begins."""

    points: Floats
    normals: Floats
    offsets: Floats
    pixel: Floats
    frames: NDArray[Any]
    sides: NDArray[Any]


def _joined(bodies: list[Body], start: Camera, turned: Floats) -> _Joined:
    counts = [len(body.points) for body in bodies]
    normals = np.vstack([body.normals for body in bodies])
    offsets = np.concatenate([body.offsets for body in bodies])
    return _Joined(
        np.vstack([body.points for body in bodies]),
        normals,
        offsets,
        np.repeat([_pixel_there(start, turned, body) for body in bodies], counts),
        np.repeat([body.frame for body in bodies], counts),
        np.flatnonzero((np.diff(normals, axis=0) != 0).any(axis=1) | (np.diff(offsets) != 0)) + 1,
    )


def _least_squares(off: Callable[[Floats], Floats], begin: Floats, scales: Floats) -> tuple[Floats, Floats]:
    """The unknowns for which the sum of squares is least (Levenberg and Marquardt), and the slopes there.

    Each unknown is counted in its own scale; slopes are differences over a hundred-thousandth of it.
    """
    at, value = begin, off(begin)
    damp = 1e-3
    slope = _slopes(off, at, value, scales)
    for _ in range(MOST_ROUNDS):
        matrix = slope.T @ slope
        step = np.linalg.solve(matrix + damp * np.diag(np.diag(matrix) + 1e-12), -slope.T @ value)
        moved = off(at + step * scales)
        was, now = float(value @ value), float(moved @ moved)
        if now < was:
            at, value, damp = at + step * scales, moved, max(damp / 8, 1e-9)
            slope = _slopes(off, at, value, scales)
            if was - now < 1e-6 * was or np.abs(step).max() < 1e-7:
                break
        else:
            damp *= 8
            if damp > 1e8:
                break
    return at, slope / scales


def _slopes(off: Callable[[Floats], Floats], at: Floats, value: Floats, scales: Floats) -> Floats:
    columns = []
    for i, scale in enumerate(scales):
        moved = at.copy()
        moved[i] += 1e-5 * scale
        columns.append((off(moved) - value) / 1e-5)
    return np.stack(columns, axis=1)


def _scales(begin: Floats, diagonal: float) -> Floats:
    """How far each unknown may move to matter."""
    away = abs(float(begin[10]))
    found = np.ones(len(begin))
    found[:FIXED] = [0.1, 0.01 * diagonal, 0.01 * diagonal, 0.03, 0.03, 0.05, 0.05, 0.05, 0.05 * away, 0.05 * away, 0.1 * away]
    found[FIXED:-1] = np.tile([5.0, 5.0, 0.02], (len(begin) - FIXED - 1) // 3)
    return found


def _onto(camera: Camera, turned: Floats) -> Floats:
    """The matrix from the table (x, y, 1) to a ray."""
    turn = _turn(camera[5:8]) @ turned
    return np.column_stack([turn[:, 0], turn[:, 1], camera[8:11]])


def _turn(by: Floats) -> Floats:
    """A turn by a vector (Rodrigues)."""
    angle = float(np.linalg.norm(by))
    cross = np.array([[0, -by[2], by[1]], [by[2], 0, -by[0]], [-by[1], by[0], 0]])
    if angle < 1e-9:
        return np.asarray(np.eye(3) + cross)
    found: Floats = np.eye(3) + math.sin(angle) / angle * cross + (1 - math.cos(angle)) / angle**2 * cross @ cross
    return found


def _begin(corners: Floats, on_table: Floats, size: tuple[int, int], focal: float) -> tuple[Camera, Floats]:
    """A camera without bends from corners, by their homography (Zhang, 2000, 3.1)."""
    import cv2

    middle = np.array(size) / 2
    ideal = (corners - middle) / focal
    matrix, _ = cv2.findHomography(on_table, ideal)
    if matrix is None:
        raise ValueError("no view")
    matrix = matrix / ((np.linalg.norm(matrix[:, 0]) + np.linalg.norm(matrix[:, 1])) / 2)
    if matrix[2, 2] < 0:
        matrix = -matrix
    third = np.cross(matrix[:, 0], matrix[:, 1])
    left, _, right = np.linalg.svd(np.column_stack([matrix[:, 0], matrix[:, 1], third]))
    turned = left @ np.diag([1, 1, np.linalg.det(left @ right)]) @ right
    return np.array([math.log(focal), *middle, 0, 0, 0, 0, 0, *matrix[:, 2]]), turned


def _off(camera: Camera, turned: Floats, seen: _Joined) -> Floats:
    """Pixels by which the points are outside their sides."""
    on = to_table(camera, turned, seen.points)
    for frame in range(1, (len(camera) - FIXED - 1) // 3 + 1):
        x, y, angle = camera[FIXED + 3 * (frame - 1) : FIXED + 3 * frame]
        c, s = math.cos(angle), math.sin(angle)
        own = seen.frames == frame
        on[own] = (on[own] - [x, y]) @ np.array([[c, -s], [s, c]])
    found: Floats = ((on * seen.normals).sum(axis=1) - seen.offsets) / seen.pixel + camera[-1]
    return found


def _first_of(bodies: list[Body], frames: int) -> list[list[Body]]:
    return [[body for body in bodies if body.frame == frame] for frame in range(1, frames + 1)]


def _rigid(bodies: list[Body], camera: Camera, turned: Floats) -> Floats:
    """About where a further sheet lies: the shift and turn that bring the points of its sides nearest to them."""
    seen = [to_table(camera, turned, body.points).mean(axis=0) for body in bodies]
    own = [_middle_of(body) for body in bodies]
    a, b = np.array(own), np.array(seen)
    a0, b0 = a.mean(axis=0), b.mean(axis=0)
    h = (a - a0).T @ (b - b0)
    angle = math.atan2(h[0, 1] - h[1, 0], h[0, 0] + h[1, 1])
    c, s = math.cos(angle), math.sin(angle)
    return np.array([*(b0 - np.array([c * a0[0] - s * a0[1], s * a0[0] + c * a0[1]])), angle])


def _middle_of(body: Body) -> Floats:
    """The middle of a body of four sides, from their normals and offsets (the least squares of nearness to all)."""
    sides = np.unique(np.round(np.column_stack([body.normals, body.offsets]), 6), axis=0)
    found, *_ = np.linalg.lstsq(sides[:, :2], sides[:, 2], rcond=None)
    return np.asarray(found)


def _pixel_there(camera: Camera, turned: Floats, body: Body) -> float:
    middle = body.points.mean(axis=0)
    around = to_table(camera, turned, middle + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    return math.sqrt(abs(float(np.linalg.det(around[1:] - around[0]))))
