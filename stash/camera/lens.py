"""The camera: how a point of the table comes to be where it is in the picture, found from sides that are known to be straight.

A pinhole with its middle, its focal length and a lens that bends towards or away from the middle (two coefficients of the even
polynomial, Brown, *Photogrammetric Engineering* 1971), above a flat table. All that is known beforehand is weighed in as further
observations (what the picture says of its focal length, that lenses bend little, that the middle is near the picture's middle), so
that what one small card cannot tell is not made up, and stays in the uncertainty.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

EDGE_SIGMA = 0.12
"""Pixels by which a point on a clear edge is out: what the noise and the steps of the sensor leave."""
ALIKE = 4.0
"""Neighbouring points of one edge are out alike: that many count for one."""
USUAL_FOCAL, FOCAL_SIGMA, FOCAL_TOLD_SIGMA = 0.68, 0.35, 0.05
"""Focal length in parts of the picture's diagonal (a usual telephone's 28 mm is 0.65), and how sure it is (as a part), told or not."""
MIDDLE_SIGMA, MIDDLE_CROPPED_SIGMA = 0.012, 0.12
"""Parts of the diagonal by which the lens's middle is beside the picture's, and where the picture has been cropped."""
BEND_SIGMA = (0.06, 0.06)
"""What the two coefficients are for ordinary lenses, with lengths in focal lengths."""
SHIFT_SIGMA = 0.15
"""Pixels by which all edges of a thing may seem to be shifted outwards, by blur and glare."""
OUTLIER = 4.0
FIXED = 11
Camera = Floats
"""log f, middle (2), bends (2), turn (3), shift (3); then for each further sheet its place (2) and turn."""


@dataclass(frozen=True, slots=True)
class Body:
    """Straight sides seen on one thing: points in the picture (n × 2), and for each the side's outward normal (n × 2) and its
    distance from the middle (n), in the thing's own mm. `frame`: 0 for the thing that gives the coordinates, else its number."""

    points: Floats
    normals: Floats
    offsets: Floats
    frame: int


@dataclass(frozen=True, slots=True)
class View:
    """A camera as it was found, the covariance of what was found, and how well the sides agree with it: `off`, `worst` (pixels);
    `strain`, the sum of squares of all that disagrees, what was known beforehand too, in standard uncertainties; `beforehand`,
    the root of the mean of squares of the latter alone."""

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
    from scipy.optimize import least_squares

    diagonal = math.hypot(*size)
    start, turned = _begin(corners, on_table, size, focal or USUAL_FOCAL * diagonal)
    frames = max(body.frame for body in bodies)
    places = [_rigid(body, start, turned) for body in _first_of(bodies, frames)]
    begin = np.concatenate([start, *places, np.zeros(1)])
    before = np.concatenate(
        [[math.log(focal or USUAL_FOCAL * diagonal)], np.array(size) / 2, [0, 0]]
    )
    sure = np.array(
        [
            FOCAL_TOLD_SIGMA if focal else FOCAL_SIGMA,
            *[(MIDDLE_CROPPED_SIGMA if cropped else MIDDLE_SIGMA) * diagonal] * 2,
            *BEND_SIGMA,
        ]
    )
    kept = [np.ones(len(body.points), dtype=bool) for body in bodies]
    pixel = [_pixel_there(start, turned, body) for body in bodies]

    def off(camera: Floats) -> list[Floats]:
        return [_off(camera, turned, body) / mm + camera[-1] for body, mm in zip(bodies, pixel, strict=True)]

    def all_off(camera: Floats) -> Floats:
        seen = [each[keep] for each, keep in zip(off(camera), kept, strict=True)]
        prior = np.concatenate([(camera[:5] - before) / sure, [camera[-1] / SHIFT_SIGMA]])
        found = np.concatenate([np.concatenate(seen) / (EDGE_SIGMA * math.sqrt(ALIKE)), prior])
        return np.nan_to_num(found, nan=1e6, posinf=1e6, neginf=-1e6)

    camera = begin
    fit: Any = None
    for _ in range(3):
        fit = least_squares(all_off, camera, x_scale=_scales(begin, diagonal), method="trf", max_nfev=60, ftol=1e-6, xtol=1e-7)
        camera = fit.x
        left = off(camera)
        typical = max(1.4826 * float(np.median(np.abs(np.concatenate(left)))), 0.05)
        kept = [np.abs(each) < OUTLIER * typical for each in left]
    left = off(camera)
    used = np.concatenate([each[keep] for each, keep in zip(left, kept, strict=True)])
    rms = float(np.sqrt(np.mean(used**2)))
    worst = max(float(np.median(np.abs(part))) for each in left for part in np.array_split(each, 4) if len(part))
    information = fit.jac.T @ fit.jac
    covariance = np.linalg.pinv(information) * max(1.0, (rms / EDGE_SIGMA) ** 2)
    beforehand = float(np.sqrt(np.mean(np.square((camera[:5] - before) / sure))))
    return View(camera, covariance, turned, rms, worst, 2 * float(fit.cost), beforehand, size)


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
        return np.eye(3) + cross
    found: Floats = (
        np.eye(3) + math.sin(angle) / angle * cross + (1 - math.cos(angle)) / angle**2 * cross @ cross
    )
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


def _off(camera: Floats, turned: Floats, body: Body) -> Floats:
    """mm by which the points of a body are outside its sides."""
    seen = to_table(camera, turned, body.points)
    if body.frame:
        x, y, angle = camera[FIXED + 3 * (body.frame - 1) : FIXED + 3 * body.frame]
        c, s = math.cos(angle), math.sin(angle)
        moved = seen - [x, y]
        seen = np.column_stack([moved[:, 0] * c + moved[:, 1] * s, -moved[:, 0] * s + moved[:, 1] * c])
    found: Floats = (seen * body.normals).sum(axis=1) - body.offsets
    return found


def _first_of(bodies: list[Body], frames: int) -> list[list[Body]]:
    return [[body for body in bodies if body.frame == frame] for frame in range(1, frames + 1)]


def _rigid(bodies: list[Body], camera: Camera, turned: Floats) -> Floats:
    """About where a further sheet lies: the shift and turn that bring the points of its sides nearest to them."""
    seen = [to_table(camera, turned, body.points).mean(axis=0) for body in bodies]
    own = [body_middle(body) for body in bodies]
    a, b = np.array(own), np.array(seen)
    a0, b0 = a.mean(axis=0), b.mean(axis=0)
    h = (a - a0).T @ (b - b0)
    angle = math.atan2(h[0, 1] - h[1, 0], h[0, 0] + h[1, 1])
    c, s = math.cos(angle), math.sin(angle)
    return np.array([*(b0 - np.array([c * a0[0] - s * a0[1], s * a0[0] + c * a0[1]])), angle])


def body_middle(body: Body) -> Floats:
    """The middle of a body of four sides, from their normals and offsets (the least squares of nearness to all)."""
    sides, first = np.unique(np.round(np.column_stack([body.normals, body.offsets]), 6), axis=0, return_index=True)
    del first
    found, *_ = np.linalg.lstsq(sides[:, :2], sides[:, 2], rcond=None)
    return np.asarray(found)


def _pixel_there(camera: Camera, turned: Floats, body: Body) -> float:
    middle = body.points.mean(axis=0)
    around = to_table(camera, turned, middle + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    return math.sqrt(abs(float(np.linalg.det(around[1:] - around[0]))))
