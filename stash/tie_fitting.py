"""Corners from the distances between them: every simple outline that readings could mean, each fitted by least squares."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from nesting import Ring

Pair = tuple[int, int]
Corners = NDArray[np.float64]
"""n × 2, mm."""

AT_ONCE = 48
"""Half-built outlines kept while corners are added: each corner may lie on either side of its ties."""
STARTS = 40
"""Guesses to fit from where corners cannot be added one by one."""
UNLIKE = 50.0
"""A half-built outline whose ties fit (in mm², summed) so many times worse than those of the best is not fitted at all; nor
where the best fits perfectly and it is out by more than the square of this."""
SAME = 0.5
"""mm: fitted outlines whose corners all lie nearer are one."""


@dataclass(frozen=True, slots=True)
class Fit:
    """An outline, against the clock, A at (0, 0) and B along +x; its χ² against the readings; its inward corners."""

    ring: Ring
    misfit: float
    inward: frozenset[int]


def fits(pairs: Mapping[Pair, float], count: int, sigma: float) -> list[Fit]:
    """The simple outlines that fit the readings (mm) best, the best first; none where every one crosses itself."""
    found: list[Fit] = []
    for guess in _guesses(pairs, count):
        fit = _fitted(guess, pairs, sigma)
        if fit is not None and not any(_same(fit, other) for other in found):
            found.append(fit)
    return sorted(found, key=lambda fit: fit.misfit)


def is_rigid(pairs: Sequence[Pair], count: int) -> bool:
    """Whether so many readings, between those corners, leave no corner loose (generically: Laman's condition)."""
    if len(pairs) < 2 * count - 3:
        return False
    generic = np.random.default_rng(7).random((count, 2))
    return int(np.linalg.matrix_rank(rigidity(generic, pairs))) == 2 * count - 3


def rigidity(corners: Corners, pairs: Sequence[Pair]) -> NDArray[np.float64]:
    """How each distance grows as each corner's x and y do: a row for each pair."""
    rows = np.zeros((len(pairs), corners.size))
    for row, (a, b) in zip(rows, pairs, strict=True):
        along = corners[b] - corners[a]
        along = along / max(float(np.linalg.norm(along)), 1e-12)
        row[2 * a : 2 * a + 2], row[2 * b : 2 * b + 2] = -along, along
    return rows


def _fitted(guess: Corners, pairs: Mapping[Pair, float], sigma: float) -> Fit | None:
    """The outline nearest to a guess that fits the readings best; None where it is no simple outline."""
    from scipy.optimize import least_squares

    keys, read = list(pairs), np.array(list(pairs.values()))
    # The first corner stays, the second moves along x only: what is left is as many unknowns as readings fix.
    free = [2, *range(4, guess.size)]
    start = _settled(guess).ravel()

    def corners(unknown: Corners) -> Corners:
        whole = start.copy()
        whole[free] = unknown
        return whole.reshape(-1, 2)

    first, second = (np.array(each) for each in zip(*keys, strict=True))

    def off(unknown: Corners) -> Any:
        at = corners(unknown)
        return (np.linalg.norm(at[first] - at[second], axis=1) - read) / sigma

    def slopes(unknown: Corners) -> Any:
        return rigidity(corners(unknown), keys)[:, free] / sigma

    solved = least_squares(off, start[free], jac=slopes, method="lm", xtol=1e-12, ftol=1e-12)
    at = _settled(corners(solved.x))
    shape = Polygon(at)
    if not shape.is_valid or shape.area < 1.0:
        return None
    if not shape.exterior.is_ccw:
        at = at * (1, -1)
    ring = tuple((float(x), float(y)) for x, y in at)
    return Fit(ring, 2 * float(solved.cost), _inward(ring))


def _settled(corners: Corners) -> Corners:
    """Shifted and turned so that the first corner is at (0, 0) and the second along +x."""
    moved = corners - corners[0]
    angle = math.atan2(moved[1, 1], moved[1, 0])
    cosine, sine = math.cos(angle), math.sin(angle)
    settled: Corners = moved @ np.array([[cosine, -sine], [sine, cosine]])
    settled[1, 1] = 0.0
    return settled


def _inward(ring: Ring) -> frozenset[int]:
    """The corners at which an outline, against the clock, turns to the right."""
    count = len(ring)
    found = set()
    for i, (x, y) in enumerate(ring):
        (px, py), (nx, ny) = ring[i - 1], ring[(i + 1) % count]
        if (x - px) * (ny - y) - (y - py) * (nx - x) < 0:
            found.add(i)
    return frozenset(found)


def _same(one: Fit, other: Fit) -> bool:
    return all(math.dist(p, q) < SAME for p, q in zip(one.ring, other.ring, strict=True))


def _guesses(pairs: Mapping[Pair, float], count: int) -> list[Corners]:
    """Outlines to fit from: built corner by corner, or, where that cannot be done, round ones shaken about."""
    built = _built(pairs, count)
    if built:
        return built
    random = np.random.default_rng(11)
    radius = sum(pairs.values()) / len(pairs) / 1.5
    angles = 2 * math.pi * np.arange(count) / count
    circle = radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    return [circle + random.normal(0, radius / 3, circle.shape) for _ in range(STARTS)]


def _built(pairs: Mapping[Pair, float], count: int) -> list[Corners]:
    """Outlines built from a first tie, each corner from two ties to those that stand; the best kept at every step."""
    order = _order(pairs, count)
    if order is None:
        return []
    a, b = order[:2]
    standing: list[tuple[float, dict[int, Any]]] = [(0.0, {a: (0.0, 0.0), b: (pairs[min(a, b), max(a, b)], 0.0)})]
    for corner in order[2:]:
        # A mirror of the whole is the same outline, so the first corner off the line is put on one side only.
        grown = [
            (off + more, {**placed, corner: at})
            for off, placed in standing
            for at, more in _places(corner, placed, pairs, one_side=len(placed) == 2)
        ]
        standing = sorted(grown, key=lambda each: each[0])[:AT_ONCE]
    worth = UNLIKE * (standing[0][0] + UNLIKE)
    return [np.array([placed[i] for i in range(count)], dtype=float) for off, placed in standing if off <= worth]


def _order(pairs: Mapping[Pair, float], count: int) -> list[int] | None:
    """An order in which every corner has two ties to those before it; None where there is none."""
    ties = {corner: {b if a == corner else a for a, b in pairs if corner in (a, b)} for corner in range(count)}
    for a, b in sorted(pairs, key=lambda pair: -pairs[pair]):
        order = [a, b]
        while len(order) < count:
            rest = [corner for corner in range(count) if corner not in order]
            best = max(rest, key=lambda corner: len(ties[corner] & set(order)))
            if len(ties[best] & set(order)) < 2:
                break
            order.append(best)
        if len(order) == count:
            return order
    return None


def _places(
    corner: int, placed: Mapping[int, Any], pairs: Mapping[Pair, float], *, one_side: bool
) -> Iterator[tuple[tuple[float, float], float]]:
    """Where a corner may lie by two of its ties to those that stand, on either side, and how ill the other ties fit there."""
    ties = [
        (placed[other], pairs[min(corner, other), max(corner, other)])
        for other in placed
        if (min(corner, other), max(corner, other)) in pairs
    ]
    # From the two whose circles cross most squarely.
    (p, r), (q, s) = max(
        ((one, two) for i, one in enumerate(ties) for two in ties[:i]), key=lambda both: _squareness(*both[0], *both[1])
    )
    apart = max(math.dist(p, q), 1e-9)
    along = (apart * apart + r * r - s * s) / (2 * apart)
    aside = math.sqrt(max(r * r - along * along, 0.0))
    ux, uy = (q[0] - p[0]) / apart, (q[1] - p[1]) / apart
    for side in (1,) if one_side else (1, -1):
        at = (p[0] + along * ux - side * aside * uy, p[1] + along * uy + side * aside * ux)
        yield at, sum(min((math.dist(at, other) - length) ** 2, r * r) for other, length in ties)


def _squareness(p: Any, r: float, q: Any, s: float) -> float:
    """The sine of the angle at which two circles cross, 0 where they do not."""
    cosine = (r * r + s * s - math.dist(p, q) ** 2) / (2 * r * s)
    return math.sqrt(1 - cosine * cosine) if abs(cosine) < 1 else 0.0
