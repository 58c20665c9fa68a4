"""What a copy weighs wherever it may lie: exact values on a lattice, and how far f may dip between them.

The argument is told in `bounds_weights`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from .bounds_shapes import edges, polygons

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Complex = NDArray[np.complex128]


@dataclass(frozen=True)
class Way:
    """One way for a panel to lie: its `body`, and all `positions` that it may have."""

    panel: int
    body: BaseGeometry
    positions: BaseGeometry


def signed_edges(shape: BaseGeometry) -> Floats:
    """(n, 2, 2) edges with the shape on their left."""
    rings = [shapely.orient_polygons(p) for p in polygons(shape)]
    return np.concatenate([edges(ring) for ring in rings]) if rings else np.empty((0, 2, 2))


def _quadrants(lines: Floats, xs: Floats, ys: Floats) -> Floats:
    """∫ (x − xs_i)⁺ (y − ys_j)⁺ over the shape with these edges, by Green's theorem: −∮ ½ (y − ys_j)⁺² (x − xs_i)⁺ dx.

    Along the part of an edge that lies right of and above the point the integrand is a cubic, which Simpson's rule
    integrates exactly.
    """
    total = np.zeros((len(xs), len(ys)))
    x, y = xs[:, None], ys[None, :]
    for (ax, ay), (bx, by) in lines:
        dx, dy = bx - ax, by - ay
        if dx == 0:
            continue
        cross_x = np.clip((x - ax) / dx, 0.0, 1.0)
        start, end = (cross_x, 1.0) if dx > 0 else (0.0, cross_x)
        if dy != 0:
            cross_y = np.clip((y - ay) / dy, 0.0, 1.0)
            start, end = (np.maximum(start, cross_y), end) if dy > 0 else (start, np.minimum(end, cross_y))
        else:
            end = np.where(ay > y, end, 0.0)
        end = np.maximum(start, end)
        middle = (start + end) / 2
        value = (ay + start * dy - y) ** 2 * (ax + start * dx - x)
        value = value + 4 * (ay + middle * dy - y) ** 2 * (ax + middle * dx - x)
        value = value + (ay + end * dy - y) ** 2 * (ax + end * dx - x)
        total -= (end - start) * value * (dx / 12)
    return total


def hat_integrals(shape: BaseGeometry, xs: Floats, ys: Floats, wide: int) -> Floats:
    """∫ over the shape of the tent of height 1 round each (xs_i, ys_j) that falls to 0 at `wide` steps of xs and ys.

    xs, ys: evenly spaced. Second differences of quadrant integrals.

    >>> square = shapely.box(0, 0, 10, 10)
    >>> bool(np.isclose(hat_integrals(square, np.array([4.0, 5.0]), np.array([5.0, 6.0]), 2)[0, 0], 4.0))
    True
    """
    sx, sy = xs[1] - xs[0], ys[1] - ys[0]
    wider_x = np.concatenate([xs[0] + sx * np.arange(-wide, 0), xs, xs[-1] + sx * np.arange(1, wide + 1)])
    wider_y = np.concatenate([ys[0] + sy * np.arange(-wide, 0), ys, ys[-1] + sy * np.arange(1, wide + 1)])
    q = _quadrants(signed_edges(shape), wider_x, wider_y)
    q = q[2 * wide :] - 2 * q[wide:-wide] + q[: -2 * wide]
    q = q[:, 2 * wide :] - 2 * q[:, wide:-wide] + q[:, : -2 * wide]
    return np.asarray(np.maximum(q, 0.0) / (wide * sx * wide * sy))


# --- the lattice -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Lattice:
    """Nodes (nx × ny) at `h` from `origin`, and a lattice of positions `fine` times as fine with the same origin."""

    origin: tuple[float, float]
    h: tuple[float, float]
    nx: int
    ny: int
    fine: int
    per_panel: float

    @property
    def step(self) -> tuple[float, float]:
        return self.h[0] / self.fine, self.h[1] / self.fine

    def spread(self, nodes: Floats) -> Floats:
        """Values at nodes put on the lattice, noughts between."""
        wide = np.zeros(((self.nx - 1) * self.fine + 1, (self.ny - 1) * self.fine + 1))
        wide[:: self.fine, :: self.fine] = nodes
        return wide


def lattice_for(ways: Sequence[Way], reached: BaseGeometry, per_panel: float, fine: int) -> Lattice:
    """A grid with `per_panel` nodes along and across the average body."""
    sizes = np.array([(b[2] - b[0], b[3] - b[1]) for b in (way.body.bounds for way in ways)])
    hx, hy = (float(v) for v in sizes.mean(axis=0) / per_panel)
    x0, y0, x1, y1 = reached.bounds
    return Lattice((x0, y0), (hx, hy), int(np.ceil((x1 - x0) / hx)) + 1, int(np.ceil((y1 - y0) / hy)) + 1, fine, per_panel)


class Overlay:
    """Weights of the nodes as they enter the correlations.

    `bending`: second differences across the grid's lines along x and along y, each step of a line between lattice points with
    the greater end; what bends upwards and downwards apart, since a body may touch the one and surely fills the other.
    """

    def __init__(self, nodes: Floats, lattice: Lattice, transforms: Transforms) -> None:
        k = lattice.fine
        self.value = transforms.over(lattice.spread(nodes))
        wide = np.pad(nodes, 1)
        along_x = _per_step((wide[2:, 1:-1] - 2 * nodes + wide[:-2, 1:-1]).T, k).T
        along_y = _per_step(wide[1:-1, 2:] - 2 * nodes + wide[1:-1, :-2], k)
        on_x = np.zeros(((lattice.nx - 1) * k + 1, along_x.shape[1]))
        on_x[::k] = along_x
        on_y = np.zeros((along_y.shape[0], (lattice.ny - 1) * k + 1))
        on_y[:, ::k] = along_y
        self.bending = (
            transforms.over(np.maximum(on_x, 0.0)),
            transforms.over(np.minimum(on_x, 0.0)),
            transforms.over(np.maximum(on_y, 0.0)),
            transforms.over(np.minimum(on_y, 0.0)),
        )


class Stand:
    """A way with its weights at hand: the kernel that gives f on the lattice, and the points that f must be looked at.

    `i0, j0`: lattice numbers of the first of the positions' box, `shape` that of the box. `points`: (n, 2) in lattice
    steps from there; the first `inner` of them are lattice points.
    """

    def __init__(self, way: Way, lattice: Lattice, transforms: Transforms) -> None:
        self.way, self.lattice, self.transforms = way, lattice, transforms
        (sx, sy), k = lattice.step, lattice.fine
        a0, b0, a1, b1 = way.body.bounds
        self.g0 = int(np.floor(a0 / sx)) - k, int(np.floor(b0 / sy)) - k
        g1 = int(np.ceil(a1 / sx)) + k, int(np.ceil(b1 / sy)) + k
        xs, ys = (
            np.asarray(np.arange(low, high + 1) * s, dtype=np.float64)
            for low, high, s in zip(self.g0, g1, (sx, sy), strict=True)
        )
        self.kernel = hat_integrals(way.body, xs, ys, k)
        touched, filled = self._rasters(xs, ys)
        self.kernel_there, self.touched_there, self.filled_there = (
            transforms.kernel(k) for k in (self.kernel, touched, filled)
        )
        x0, y0, x1, y1 = way.positions.bounds
        ox, oy = lattice.origin
        self.i0, self.j0 = int(np.floor((x0 - ox) / sx)), int(np.floor((y0 - oy) / sy))
        self.shape = int(np.ceil((x1 - ox) / sx)) - self.i0 + 1, int(np.ceil((y1 - oy) / sy)) - self.j0 + 1
        self.first = self.kernel.shape[0] - 1 + self.i0 + self.g0[0], self.kernel.shape[1] - 1 + self.j0 + self.g0[1]
        self.cells = self.shape[0] - 1, self.shape[1] - 1
        self._place_points(ox, oy, sx, sy)

    def _rasters(self, xs: Floats, ys: Floats) -> tuple[Floats, Floats]:
        """Lattice steps from point (i, j) that the body, laid anywhere in the cell above and right of 0, may touch; and those
        that it surely fills. Both hold for steps either way: a step and its shifts lie in the four cells round (i, j)."""
        sx, sy = self.lattice.step
        half = float(np.hypot(sx, sy)) / 2
        middles = xs[:, None] + sx / 2, ys[None, :] + sy / 2
        near = shapely.contains_xy(self.way.body.buffer(half * 1.1, quad_segs=4), *middles)  # 4 segments fall short by 2 %
        deep = shapely.contains_xy(self.way.body.buffer(-half * 1.1, quad_segs=4), *middles)
        touched, filled = near, deep
        for axis in (0, 1):
            touched = touched | np.roll(touched, 1, axis=axis)
            filled = filled & np.roll(filled, 1, axis=axis)
        return touched.astype(float), filled.astype(float)

    def _place_points(self, ox: float, oy: float, sx: float, sy: float) -> None:
        within = self.way.positions
        i, j = np.meshgrid(np.arange(self.shape[0]), np.arange(self.shape[1]), indexing="ij")
        inside = shapely.contains_xy(within, ox + (i + self.i0) * sx, oy + (j + self.j0) * sy)
        inner = np.stack([i[inside], j[inside]], axis=1).astype(float)
        lines = (edges(within) - (ox + self.i0 * sx, oy + self.j0 * sy)) / (sx, sy)
        rim = np.concatenate([_stations(a, b) for a, b in lines])
        # each point belongs to the cells round it: a lattice point to four, one on a line to two, a corner to one
        self.points = np.concatenate([inner, np.clip(rim, 0.0, np.array(self.cells, float))])
        self.inner = len(inner)

    def values(self, over: Complex) -> Floats:
        """f on the lattice, at all positions of the box."""
        return self.transforms.at(over * self.kernel_there, self.first, self.shape)

    def bends(self, over: tuple[Complex, Complex, Complex, Complex]) -> Floats:
        """E of each cell of the box: how much below the bilinear function f may dip. `over`: see `Bending`."""
        (sx, sy), (hx, hy) = self.lattice.step, self.lattice.h
        up_x, down_x, up_y, down_y = over
        f_xx = self.transforms.at(up_x * self.touched_there + down_x * self.filled_there, self.first, self.cells)
        f_yy = self.transforms.at(up_y * self.touched_there + down_y * self.filled_there, self.first, self.cells)
        return np.asarray((np.maximum(f_xx, 0.0) * sy / hx) * sx**2 / 8 + (np.maximum(f_yy, 0.0) * sx / hy) * sy**2 / 8)

    def lowest(self, nodes: Overlay) -> tuple[Floats, Floats]:
        """(the bilinear function at the points, a lower bound on f in the cells round each of them)."""
        f = self.values(nodes.value)
        bend = self.bends(nodes.bending)
        twist = np.abs(f[1:, 1:] - f[1:, :-1] - f[:-1, 1:] + f[:-1, :-1]) / 4
        value = _bilinear(f, self.points)
        around = np.pad(bend, 1)
        worst = np.maximum(np.maximum(around[1:, 1:], around[1:, :-1]), np.maximum(around[:-1, 1:], around[:-1, :-1]))
        dip = np.empty(len(value))
        i, j = self.points[: self.inner].astype(int).T
        dip[: self.inner] = worst[i, j]
        i, j = np.floor(self.points[self.inner :]).astype(int).T
        cut = np.pad(bend + twist, ((0, 1), (0, 1)))
        # a point on a line of the lattice is a corner of the pieces on both sides, and one on a lattice point of all four
        dip[self.inner :] = np.maximum.reduce(
            [cut[np.maximum(i - a, 0), np.maximum(j - b, 0)] for a in (0, 1) for b in (0, 1)]
        )
        cut_near = np.pad(twist * self._cut_cells(), 1)
        near = np.maximum(np.maximum(cut_near[1:, 1:], cut_near[1:, :-1]), np.maximum(cut_near[:-1, 1:], cut_near[:-1, :-1]))
        i, j = self.points[: self.inner].astype(int).T
        dip[: self.inner] += near[i, j]
        return value, value - dip

    def _cut_cells(self) -> NDArray[np.bool_]:
        """Cells that the outline of the positions passes, as far as its stations tell."""
        cut = np.zeros(self.cells, bool)
        i, j = np.floor(self.points[self.inner :]).astype(int).T
        for a in (0, 1):
            for b in (0, 1):
                cut[np.clip(i - a, 0, self.cells[0] - 1), np.clip(j - b, 0, self.cells[1] - 1)] = True
        return cut

    def row(self, point: Floats) -> Floats:
        """(nx, ny) coefficients of the nodes' weights in the bilinear function at a point."""
        found = np.zeros((self.lattice.nx, self.lattice.ny))
        i, j = (min(int(np.floor(c)), n - 1) for c, n in zip(point, self.cells, strict=True))
        u, v = point[0] - i, point[1] - j
        for di, dj, share in ((0, 0, (1 - u) * (1 - v)), (1, 0, u * (1 - v)), (0, 1, (1 - u) * v), (1, 1, u * v)):
            if share > 0:
                self._lay(found, self.i0 + i + di, self.j0 + j + dj, share)
        return found

    def _lay(self, found: Floats, pi: int, pj: int, share: float) -> None:
        """Add share × the kernel laid at lattice point (pi, pj), at the nodes."""
        k = self.lattice.fine
        spans, parts = [], []
        for low, size, n in zip((pi + self.g0[0], pj + self.g0[1]), self.kernel.shape, found.shape, strict=True):
            first, last = max(0, -(-low // k)), min(n - 1, (low + size - 1) // k)
            if last < first:
                return
            spans.append(slice(first, last + 1))
            parts.append(slice(first * k - low, last * k - low + 1, k))
        found[spans[0], spans[1]] += share * self.kernel[parts[0], parts[1]]


def _stations(a: Floats, b: Floats) -> Floats:
    """The start of an edge and where it crosses the lines of the lattice (whole numbers)."""
    found = [0.0]
    for axis in (0, 1):
        low, high = sorted((a[axis], b[axis]))
        if high > low:
            found += [(line - a[axis]) / (b[axis] - a[axis]) for line in range(int(np.ceil(low)), int(np.floor(high)) + 1)]
    t = np.array(found)[:, None]
    return np.asarray(a + t * (b - a))


def _per_step(values: Floats, fine: int) -> Floats:
    """Values at nodes along axis 0, linear between them: the greater end of each of the `fine` steps from node to node."""
    t = np.arange(fine + 1) / fine
    between = values[:-1, None] + (values[1:, None] - values[:-1, None]) * t[None, :, None]
    greater = np.maximum(between[:, 1:], between[:, :-1])
    return np.asarray(greater.reshape(-1, values.shape[1]))


def _bilinear(f: Floats, points: Floats) -> Floats:
    i = np.minimum(points[:, 0].astype(int), f.shape[0] - 2)
    j = np.minimum(points[:, 1].astype(int), f.shape[1] - 2)
    u, v = points[:, 0] - i, points[:, 1] - j
    return np.asarray((1 - u) * ((1 - v) * f[i, j] + v * f[i, j + 1]) + u * ((1 - v) * f[i + 1, j] + v * f[i + 1, j + 1]))


class Transforms:
    """Correlations on one lattice: the transforms of kernels and of what they are laid over are made once each."""

    def __init__(self, size: tuple[int, int]) -> None:
        self.size = tuple(_quick(n) for n in size)

    def over(self, values: Floats) -> Complex:
        return np.fft.rfft2(values, self.size)

    def kernel(self, kernel: Floats) -> Complex:
        return np.fft.rfft2(kernel[::-1, ::-1], self.size)

    def at(self, product: Complex, first: tuple[int, int], shape: tuple[int, int]) -> Floats:
        """The product's inverse from lattice number `first` on, nought where it has none."""
        whole = np.fft.irfft2(product, self.size)
        result = np.zeros(shape)
        spans = [slice(max(0, -f), min(n, s - f)) for f, n, s in zip(first, shape, self.size, strict=True)]
        if all(span.stop > span.start for span in spans):
            i, j = (slice(span.start + f, span.stop + f) for span, f in zip(spans, first, strict=True))
            result[spans[0], spans[1]] = whole[i, j]
        return result


def _quick(n: int) -> int:
    """The least number from n on with no prime factor above 5: transforms of such sizes are fast."""
    while True:
        m = n
        for p in (2, 3, 5):
            while m % p == 0:
                m //= p
        if m == 1:
            return n
        n += 1
