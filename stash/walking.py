"""An outline by walking round it: the length of each side, and how far one turns at its end.

It is a surveyor's closed traverse. The turns should make one whole turn: what is missing is shared out among them alike. The
walk should end where it began: the closing error is spread over the sides in proportion to their lengths (Bowditch's rule, or
compass rule). A closing error that the tape's ± does not explain is a misreading, and is not spread but named.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nesting import Point, Ring

from . import telling
from .given import a_figure
from .outlines import Measured, by_points
from .refusals import Refused
from .tape import STATED, Tape, carried, unsure_by
from .words import EdgeKind, Way

MISREAD = {1: 10.83, 2: 13.82, 3: 16.27}
"""χ² that only one sound walk in 1,000 exceeds, by the number of checks it has (tables of the χ² distribution; a test compares
them with SciPy's)."""
SQUARE = 90.0
MOST_SIDES = 60
LEAST_TURN = 0.05
"""Degrees: a smaller one is not worth a word."""
CLOSER = 8
"""Steps towards the reading that would close a walk: each leaves a small part of what the one before left."""
Closing = NDArray[np.float64]
"""How far off a walk ends: mm along and across the first side, and degrees of turn where all turns were read."""


@dataclass(frozen=True, slots=True)
class Walked:
    """An outline that was walked round.

    `closing`: how far from its beginning the walk ended (mm), before it was spread; `expected`: what the tape's ± would
    explain (mm, nineteen times in twenty). `turned`: by how many degrees the turns missed one whole turn, None where the last
    was not read. `round`: the length of the whole walk (mm).
    """

    measured: Measured
    closing: float
    expected: float
    turned: float | None
    round: float


def walk(
    sides: Sequence[float],
    turns: Sequence[float],
    edges: EdgeKind | Sequence[EdgeKind] = EdgeKind.CUT,
    tape: Tape | None = None,
) -> Walked:
    """The outline of a walk: `sides` in mm, `turns` in degrees at the end of each, to the left above 0, to the right below.

    The last turn, back into the first side, may be left out; it is a check. The first corner is (0, 0), the first side runs
    along +x. Raises Refused where the turns do not go once round, or where a reading must be wrong.
    """
    tape = tape or Tape()
    lengths, angles = _looked_over(sides, turns)
    whole = math.copysign(360.0, sum(angles))
    readings = [*lengths, *angles]
    sigmas = [tape.length_sigma] * len(lengths) + [tape.turn_sigma] * len(angles)
    missed = _missed(readings, len(lengths), whole)
    slopes = _slopes(readings, len(lengths), whole)
    _must_close(readings, sigmas, len(lengths), whole)
    ring = closed(readings, len(lengths), whole)
    covariance = carried(lambda moved: closed(moved, len(lengths), whole), readings, sigmas)
    unsure = unsure_by(ring, covariance)
    spread = (slopes * np.square(sigmas)) @ slopes.T
    return Walked(
        measured=by_points(ring, edges).by(Way.WALK, unsure),
        closing=float(math.hypot(missed[0], missed[1])),
        expected=STATED * math.sqrt(float(spread[0, 0] + spread[1, 1])),
        turned=float(missed[2]) if len(missed) > 2 else None,
        round=sum(lengths),
    )


def closed(readings: Sequence[float], count: int, whole: float) -> Ring:
    """The corners of a walk of `count` sides: turns balanced, then the closing error spread by Bowditch's rule."""
    lengths, turns = readings[:count], list(readings[count:])
    if len(turns) == count:
        turns = [turn - (sum(turns) - whole) / count for turn in turns]
    ends = _ends(lengths, turns)
    end, all_round = ends[-1], sum(lengths)
    corners: list[Point] = [(0.0, 0.0)]
    walked = 0.0
    for length, (x, y) in zip(lengths[:-1], ends[:-1], strict=True):
        walked += length
        corners.append((x - end[0] * walked / all_round, y - end[1] * walked / all_round))
    return tuple(corners)


def _ends(lengths: Sequence[float], turns: Sequence[float]) -> list[Point]:
    """Where each side ends, as it was read."""
    x = y = heading = 0.0
    found = []
    for i, length in enumerate(lengths):
        x += length * math.cos(math.radians(heading))
        y += length * math.sin(math.radians(heading))
        found.append((x, y))
        heading += turns[i] if i < len(turns) else 0.0
    return found


def _missed(readings: Sequence[float], count: int, whole: float) -> Closing:
    """By how much a walk, as it was read, misses its beginning and one whole turn."""
    lengths, turns = readings[:count], readings[count:]
    end = _ends(lengths, turns)[-1]
    return np.array([*end, sum(turns) - whole] if len(turns) == count else end)


def _slopes(readings: Sequence[float], count: int, whole: float) -> NDArray[np.float64]:
    """How what is missed grows with each reading: a side along its own direction, a turn about its corner."""
    turns = readings[count:]
    ends = _ends(readings[:count], turns)
    columns = []
    before: Point = (0.0, 0.0)
    for length, end in zip(readings[:count], ends, strict=True):
        columns.append([(end[0] - before[0]) / length, (end[1] - before[1]) / length, 0.0])
        before = end
    for corner in ends[: len(turns)]:
        x, y = (ends[-1][i] - corner[i] for i in (0, 1))
        columns.append([-y * math.pi / 180, x * math.pi / 180, 1.0])
    return np.array(columns).T[: 3 if len(turns) == count else 2]


def _must_close(readings: Sequence[float], sigmas: Sequence[float], count: int, whole: float) -> None:
    """Raise Refused where the tape's ± does not explain what is missed; a reading that alone would explain it is named."""
    missed = _missed(readings, count, whole)
    if _unlikely(missed, _slopes(readings, count, whole), sigmas) <= MISREAD[len(missed)]:
        return
    alone = [
        f"side {i + 1}" if i < count else f"the turn after side {i - count + 1}"
        for i in range(len(readings))
        if _best_alone(readings, i, sigmas, count, whole) <= MISREAD[len(missed) - 1]
    ]
    off = f"it ends {telling.length(math.hypot(missed[0], missed[1]))} from where it began"
    if len(missed) > 2 and abs(missed[2]) >= LEAST_TURN:
        off += f", and its turns make {abs(missed[2]):.1f}° too {'much' if missed[2] * whole > 0 else 'little'}"
    if not alone:
        read = "No one reading alone explains it: walk round once more"
    elif len(alone) == 1:
        read = f"Read {alone[0]} again first: that alone would explain it"
    else:
        read = f"Read again first: {', '.join(alone[:-1])} or {alone[-1]}; any one alone would explain it"
    raise Refused(
        f"the walk does not close: {off}",
        where="walk",
        expected="a walk that ends where it began, within what the tape may be out",
        next=read,
    )


def _unlikely(missed: Closing, slopes: NDArray[np.float64], sigmas: Sequence[float]) -> float:
    """χ² of what a walk misses."""
    return float(missed @ np.linalg.solve((slopes * np.square(sigmas)) @ slopes.T, missed))


def _best_alone(readings: Sequence[float], which: int, sigmas: Sequence[float], count: int, whole: float) -> float:
    """χ² that is left once one reading is made what suits the others best: a few steps of Newton's, since a turn misread by
    much does not move the end along a straight line."""
    changed = list(readings)
    for _ in range(CLOSER):
        missed, slopes = _missed(changed, count, whole), _slopes(changed, count, whole)
        weight = np.linalg.inv((slopes * np.square(sigmas)) @ slopes.T)
        slope = slopes[:, which]
        changed[which] -= float(slope @ weight @ missed) / max(float(slope @ weight @ slope), 1e-12)
        if which < count and changed[which] <= 0:
            return math.inf
    return _unlikely(_missed(changed, count, whole), _slopes(changed, count, whole), sigmas)


def _looked_over(sides: Sequence[float], turns: Sequence[float]) -> tuple[list[float], list[float]]:
    """The readings of a walk, each a figure. Raises Refused for what goes round nothing."""
    if not 3 <= len(sides) <= MOST_SIDES:
        raise Refused(f"the walk has {len(sides)} sides", where="walk", expected=f"from 3 to {MOST_SIDES} sides")
    lengths = [a_figure(side, f"side {n}", unit="mm") for n, side in enumerate(sides, 1)]
    angles = [
        a_figure(turn, f"the turn after side {n}", unit="degrees", least=-180.0, most=180.0) for n, turn in enumerate(turns, 1)
    ]
    if len(angles) not in (len(lengths), len(lengths) - 1):
        raise Refused(
            f"{len(angles)} turns are given for {len(lengths)} sides",
            where="walk",
            expected="a turn after each side; only the last, back into the first side, may be left out",
        )
    round_once = sum(angles)
    if abs(round_once) < SQUARE:
        raise Refused(
            f"the turns make {abs(round_once):g}° in all: that goes round nothing",
            where="walk",
            expected="turns to the left and to the right that make one whole turn, 360°, together",
            next="Say right for a turn to the other side, at an inward corner",
        )
    return lengths, angles
