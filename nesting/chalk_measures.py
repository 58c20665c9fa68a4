"""Chalk measures: where a panel lies on a sheet, told so that a tape and a paper template find it again.

Two marks of the panel (`marks`) are told by two readings each, in one of two ways:

- *ties*: the distances of each from two marks of the outline. The tape is held at either, and the two arcs cross there.
- *along and across*: from a straight side of the outline, along it from one of its ends, and square off it.

The template is laid so that both marks fit as well as they can: the middle between them on the middle between the two chalk
crosses, and its line along theirs. Of all marks and both ways that one is taken by which a reading that is out by 1 mm moves
the panel least, anywhere on it; ways that are nearly as good are taken where that spares a change of the tape's ends.

Where arcs cross at an angle a, an error e of both readings moves the crossing by at most e / sin(a/2) or e / cos(a/2), the
greater: 1.41 e where they cross square, without limit where they touch. What is stated is not this but the worst of the places
that the readings could stand for, worked out exactly: they fill a four-cornered spot between arcs about the outline's marks,
and on such an arc the distance from a point grows towards its ends, so that the farthest place of a spot is a corner of it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations, product
from typing import TYPE_CHECKING, Any

from .forms import Point
from .marks import Mark, marks_of, straight_sides

if TYPE_CHECKING:
    from shapely import Polygon

SQUARE = 1 / 200
"""What a square, or the corner of a sheet of paper, may be out by: 1 mm in 200 (common practice, no source)."""
NEARLY = 1.1
"""A way that costs no more than this many times the least is as good, if it spares moving the tape's ends."""
CLEAR = 20.0
"""mm: where the other crossing of two arcs lies farther off the cloth than this, nobody takes it for the right one."""
LEVER = 0.6
"""Two marks of a panel that are nearer to each other than this part of the farthest two are not looked at."""
FLATTEST = 0.25
"""The least sine of the angle at which two arcs may cross: about 15°."""
UNSURE = 1.5
"""What is measured from a corner of a raw edge counts so many times: threads have gone from it, and it is found less well.
Common practice, no source."""
AT_ONCE = 10
"""Marks of an outline that are looked at: those that turn most."""


class By(StrEnum):
    """How the marks of a panel are told."""

    TIES = "ties"
    SIDE = "along and across"


@dataclass(frozen=True, slots=True)
class Told:
    """A mark of a panel and its two readings, mm: from the first and the second mark of the outline, or along and across."""

    letter: str
    first: float
    second: float


@dataclass(frozen=True, slots=True)
class ChalkMeasure:
    """Where one panel lies. `start`, `end`: the marks of the outline that are measured from; `points`: two marks of the panel;
    `per_mm`: how far the panel is out, at most, for each mm that the readings are; `left`: whether the marks lie left of the
    line from `start` to `end`; `said`: whether that must be said, since the other crossing is on the cloth, too."""

    by: By
    start: Mark
    end: Mark
    points: tuple[Told, Told]
    per_mm: float
    left: bool
    said: bool
    laid: tuple[Point, Point]
    rim: tuple[Point, ...]

    def within(self, reading: float) -> float:
        """How far any point of the panel may be out, mm, where no reading is out by more than `reading` mm."""
        import numpy as np

        spots = [[self.found(told, a, b) for a, b in product((-reading, reading), repeat=2)] for told in self.points]
        if any(spot is None for four in spots for spot in four):
            return float("inf")
        rim = np.asarray(self.rim)
        return max(self._moved(np.asarray(p), np.asarray(q), rim) for p, q in product(*spots))

    def found(self, told: Told, off_first: float = 0.0, off_second: float = 0.0) -> Point | None:
        """Where the readings of one mark put it, each out by so much; None where the arcs do not meet.

        Along and across, the square is out to the same side as the first reading, as far as it may be.
        """
        import numpy as np

        a, b = np.asarray(self.start.at), np.asarray(self.end.at)
        base = float(np.hypot(*(b - a)))
        along = (b - a) / base
        across = np.array([-along[1], along[0]]) * (1 if self.left else -1)
        first, second = told.first + off_first, told.second + off_second
        if self.by is By.SIDE:
            lean = SQUARE * abs(second) * ((off_first > 0) - (off_first < 0))
            return _point(a + (first + lean) * along + second * across)
        x = (first**2 - second**2 + base**2) / (2 * base)
        high = first**2 - x**2
        return None if high < 0 else _point(a + x * along + high**0.5 * across)

    def _moved(self, p: Any, q: Any, rim: Any) -> float:
        """How far the rim moves where the panel's two marks are laid on p and q."""
        import numpy as np

        one, other = np.asarray(self.laid[0]), np.asarray(self.laid[1])
        was, now = other - one, q - p
        turn = np.arctan2(was[0] * now[1] - was[1] * now[0], was @ now)
        c, s = np.cos(turn), np.sin(turn)
        from_middle = rim - (one + other) / 2
        after = from_middle @ np.array([[c, s], [-s, c]]) + (p + q) / 2
        return float(np.hypot(*(after - rim).T).max())


def where_to_chalk(
    outline: Polygon, panels: Sequence[tuple[Polygon, Sequence[Mark]]], *, unsure: Sequence[Any] = ()
) -> tuple[tuple[Mark, ...], tuple[ChalkMeasure, ...]]:
    """The marks of a sheet's outline, and the measures of each panel on it.

    `panels`: each as it lies, mm, with its marks as they lie (two or more). `unsure`: lines of the rim whose corners are not
    sharp (raw edges): others are taken where they cost no more than `UNSURE` times as much.
    """
    from shapely import Point as Place

    marks = marks_of(outline)
    usable = sorted(sorted(range(len(marks)), key=lambda n: -marks[n].turn)[:AT_ONCE])
    doubtful = {n for n in usable if any(line.distance(Place(marks[n].at)) <= 1.0 for line in unsure)}
    sides = [side for side in straight_sides(outline, marks) if set(side) <= set(usable)]
    ways = [(By.TIES, i, j) for i, j in combinations(usable, 2)]
    ways += [(By.SIDE, i, j) for side in sides for i, j in (side, side[::-1])]
    times = [UNSURE if doubtful & {i, j} else 1.0 for _, i, j in ways]
    tables = [_costs(outline, marks, ways, times, shape, of_panel) for shape, of_panel in panels]
    chosen = _few_ways(tables)
    return marks, tuple(
        _measure(outline, marks, ways[way], tables[n][way], shape, of_panel)
        for n, ((shape, of_panel), way) in enumerate(zip(panels, chosen, strict=True))
    )


Cost = tuple[float, float, int, int]
"""By how much a way is chosen, what 1 mm costs, and the numbers of the two marks of the panel."""


def _costs(
    outline: Polygon,
    marks: Sequence[Mark],
    ways: Sequence[tuple[By, int, int]],
    times: Sequence[float],
    shape: Polygon,
    of_panel: Sequence[Mark],
) -> dict[int, Cost]:
    """What 1 mm costs, to first order, by each of the ways that will do for a panel."""
    import numpy as np
    import shapely

    places = np.array([mark.at for mark in of_panel])
    rim = np.asarray(shape.convex_hull.simplify(0.5).exterior.coords)[:-1]
    apart = np.hypot(*(places[:, None] - places[None]).T)
    pairs = [pair for pair in combinations(range(len(places)), 2) if apart[pair] >= LEVER * apart.max()]
    near = outline.buffer(CLEAR)
    found: dict[int, Cost] = {}
    spare: dict[int, Cost] = {}
    for n, (by, i, j) in enumerate(ways):
        a, b = np.array(marks[i].at), np.array(marks[j].at)
        errors, sides = _of_ties(a, b, places) if by is By.TIES else _of_side(a, b, places)
        twin = places - 2 * sides[:, None] * _normal(a, b)
        alone = ~shapely.contains_xy(near, twin) if by is By.TIES else np.ones(len(places), bool)
        for p, q in pairs:
            if np.isnan(errors[[p, q]]).any() or (by is By.TIES and sides[p] * sides[q] <= 0):
                continue
            per_mm = _worst(errors[p], errors[q], places[p], places[q], rim)
            cost = times[n] * per_mm, per_mm, p, q
            kept = found if alone[p] and alone[q] else spare
            if n not in kept or cost < kept[n]:
                kept[n] = cost
    return found or spare or {0: (float("inf"), float("inf"), *pairs[0])}


def _normal(a: Any, b: Any) -> Any:
    import numpy as np

    along = (b - a) / np.hypot(*(b - a))
    return np.array([-along[1], along[0]])


def _of_ties(a: Any, b: Any, places: Any) -> tuple[Any, Any]:
    """For each place the two ways in which it is out when both readings are 1 mm too long, or one too long and one too short
    (an array of 2 × 2; nan where the arcs cross too flatly), and how far to the left of a–b it lies."""
    import numpy as np

    u, v = places - a, places - b
    u, v = u / np.maximum(np.hypot(*u.T), 1e-9)[:, None], v / np.maximum(np.hypot(*v.T), 1e-9)[:, None]
    cross = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    flat = np.abs(cross) < FLATTEST
    cross = np.where(flat, np.nan, cross)
    errors = np.empty((len(places), 2, 2))
    for k, (e, f) in enumerate(((1.0, 1.0), (1.0, -1.0))):
        errors[:, k, 0] = (e * v[:, 1] - f * u[:, 1]) / cross
        errors[:, k, 1] = (f * u[:, 0] - e * v[:, 0]) / cross
    return errors, (places - a) @ _normal(a, b)


def _of_side(a: Any, b: Any, places: Any) -> tuple[Any, Any]:
    """The same along and across the side a–b; nan where the foot of a place lies beyond its ends."""
    import numpy as np

    normal = _normal(a, b)
    along = np.array([normal[1], -normal[0]])
    foot, off = (places - a) @ along, (places - a) @ normal
    errors = np.empty((len(places), 2, 2))
    for k, f in enumerate((1.0, -1.0)):
        errors[:, k] = (1.0 + SQUARE * np.abs(off))[:, None] * along + f * normal
    errors[(foot < 0) | (foot > np.hypot(*(b - a)))] = np.nan
    return errors, off


def _worst(of_p: Any, of_q: Any, p: Any, q: Any, rim: Any) -> float:
    """How far the rim is out at most when each of two marks is out in one of its ways, or the other way round."""
    import numpy as np

    one = np.repeat(np.concatenate([of_p, -of_p]), 4, axis=0)
    other = np.tile(np.concatenate([of_q, -of_q]), (4, 1))
    d = q - p
    spin = ((other - one) @ np.array([-d[1], d[0]])) / (d @ d)
    arm = rim - (p + q) / 2
    x = (one + other)[:, 0, None] / 2 - spin[:, None] * arm[None, :, 1]
    y = (one + other)[:, 1, None] / 2 + spin[:, None] * arm[None, :, 0]
    return float(np.sqrt((x * x + y * y).max()))


def _few_ways(tables: Sequence[dict[int, Cost]]) -> list[int]:
    """For each panel a way that costs nearly the least, so that few ways do for all."""
    good = [{way for way, cost in table.items() if cost[0] <= NEARLY * min(table.values())[0]} for table in tables]
    chosen = [-1] * len(tables)
    while -1 in chosen:
        left = [n for n, way in enumerate(chosen) if way < 0]
        counts = Counter(way for n in left for way in good[n])
        best = max(counts, key=lambda way: (counts[way], -sum(tables[n][way][0] for n in left if way in good[n]), -way))
        for n in left:
            if best in good[n]:
                chosen[n] = best
    return chosen


def _measure(
    outline: Polygon, marks: Sequence[Mark], way: tuple[By, int, int], cost: Cost, shape: Polygon, of_panel: Sequence[Mark]
) -> ChalkMeasure:
    import numpy as np
    from shapely import Point as Place

    by, i, j = way
    a, b = np.array(marks[i].at), np.array(marks[j].at)
    two = [of_panel[n] for n in cost[2:]]
    normal = _normal(a, b)
    off = [float((np.array(mark.at) - a) @ normal) for mark in two]
    left = sum(off) > 0
    told = []
    for mark, away in zip(two, off, strict=True):
        at = np.array(mark.at)
        if by is By.TIES:
            told.append(Told(mark.letter, float(np.hypot(*(at - a))), float(np.hypot(*(at - b)))))
        else:
            told.append(Told(mark.letter, float((at - a) @ np.array([normal[1], -normal[0]])), away if left else -away))
    twins = [Place(*(np.array(mark.at) - 2 * away * normal)) for mark, away in zip(two, off, strict=True)]
    said = by is By.TIES and any(outline.distance(twin) <= CLEAR for twin in twins)
    rim = tuple((float(x), float(y)) for x, y in shape.convex_hull.exterior.coords[:-1])
    return ChalkMeasure(by, marks[i], marks[j], (told[0], told[1]), cost[1], left, said, (two[0].at, two[1].at), rim)


def _point(at: Any) -> Point:
    return float(at[0]), float(at[1])
