"""How far off an outline may be for being read off a tape.

A reading is out by no more than the tape's ±, anywhere within it alike: a standard uncertainty of ± / √3 (JCGM 100:2008, the
*Guide to the expression of uncertainty in measurement*, 4.3.7). It is carried through to the corners to first order (5.1.2,
5.2.2). What the cloth may be turned or shifted by as a whole says nothing of its shape and is left out, as in a free network
of surveying (inner constraints). What is stated is twice the standard uncertainty, along the direction in which a corner is
least sure: about nineteen in twenty are nearer.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from nesting import Point, Ring

from .given import a_figure

STATED = 2.0
"""Standard uncertainties that are stated (JCGM 100, 6.2: a coverage factor of 2)."""
NUDGE = 1e-2
"""mm or degrees by which a reading is moved to see what the corners do: the square of it times any curvature is below 1 µm."""
WIDEST = 100.0
"""mm: above it, a tape's ± was mistaken for something else."""
Covariance = NDArray[np.float64]
"""2n × 2n, mm²: x and y of the first corner, of the second …"""


@dataclass(frozen=True, slots=True)
class Tape:
    """How exactly things were read: lengths within ± `within` mm, turns within ± `turns` degrees."""

    within: float = 1.0
    turns: float = 1.0

    def __post_init__(self) -> None:
        a_figure(self.within, "how near the tape was read", unit="mm", most=WIDEST)
        a_figure(self.turns, "how near the turns were read", unit="degrees", most=45)

    @property
    def length_sigma(self) -> float:
        """Standard uncertainty of a length, mm."""
        return self.within / math.sqrt(3)

    @property
    def turn_sigma(self) -> float:
        """Standard uncertainty of a turn, degrees."""
        return self.turns / math.sqrt(3)


@dataclass(frozen=True, slots=True)
class Unsure:
    """What an outline may be out by: the least sure corner (mm), and the area (mm²), each ±."""

    corner: float
    area: float


def unsure_by(ring: Ring, covariance: Covariance) -> Unsure:
    """What the covariance of a ring's corners leaves unsure, turning and shifting as a whole left aside."""
    free = _without_moving(ring)
    freed = free @ covariance @ free.T
    corner = max(float(np.linalg.eigvalsh(freed[i : i + 2, i : i + 2])[-1]) for i in range(0, len(freed), 2))
    slope = _area_slope(ring)
    return Unsure(STATED * math.sqrt(max(corner, 0.0)), STATED * math.sqrt(max(float(slope @ freed @ slope), 0.0)))


def carried(
    outline: Callable[[Sequence[float]], Sequence[Point]], readings: Sequence[float], sigmas: Sequence[float]
) -> Covariance:
    """The covariance of the corners that `outline` makes of readings, each with its own standard uncertainty.

    Each reading is moved a little, and the corners that stand nearest to the old ones are taken for the same.
    """
    base = np.array(outline(readings), dtype=float)
    columns = []
    for i in range(len(readings)):
        moved, step = _moved(outline, readings, i)
        nearest = np.argmin(np.linalg.norm(base[:, None, :] - moved[None, :, :], axis=2), axis=1)
        columns.append((moved[nearest] - base).ravel() / step)
    slopes = np.stack(columns, axis=1)
    found: Covariance = (slopes * np.square(sigmas)) @ slopes.T
    return found


def _moved(
    outline: Callable[[Sequence[float]], Sequence[Point]], readings: Sequence[float], which: int
) -> tuple[NDArray[Any], float]:
    """The corners with one reading moved, and by how much: up, or down where that cannot be."""
    for step in (NUDGE, -NUDGE):
        changed = [reading + step * (i == which) for i, reading in enumerate(readings)]
        try:
            return np.array(outline(changed), dtype=float), step
        except ValueError:
            if step < 0:
                raise
    raise AssertionError("unreachable")


def _without_moving(ring: Ring) -> NDArray[np.float64]:
    """The projection that takes shifts and a turn as a whole out of small movements of the corners."""
    corners = np.array(ring, dtype=float)
    corners = corners - corners.mean(axis=0)
    moves = np.zeros((2 * len(ring), 3))
    moves[0::2, 0] = moves[1::2, 1] = 1
    moves[0::2, 2], moves[1::2, 2] = -corners[:, 1], corners[:, 0]
    basis = np.linalg.qr(moves)[0]
    found: NDArray[np.float64] = np.eye(2 * len(ring)) - basis @ basis.T
    return found


def _area_slope(ring: Ring) -> NDArray[np.float64]:
    """How the area grows as each corner moves: half the chord between its neighbours, square to it."""
    corners = np.array(ring, dtype=float)
    after, before = np.roll(corners, -1, axis=0), np.roll(corners, 1, axis=0)
    slope = np.empty(2 * len(ring))
    slope[0::2], slope[1::2] = (after - before)[:, 1] / 2, (before - after)[:, 0] / 2
    return slope
