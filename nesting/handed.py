"""The two hands of a panel: which panel its mirror is, and a measure that tells the one from the other with a tape."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

import shapely
from shapely import Polygon, affinity

from .forms import Panel, Placement, Point
from .tolerances import SAME_RIM, TOLD_APART


@dataclass(frozen=True, slots=True)
class Mirror:
    """A panel whose outline, turned by `turn` and shifted by (x, y), is another panel's flipped across the grain."""

    panel: str
    turn: float = 0.0
    x: float = 0.0
    y: float = 0.0


def mirrors(panels: Sequence[Panel], kin: Mapping[str, object] | None = None) -> dict[str, Mirror]:
    """For each panel the one that it becomes on cloth turned over: itself where it is symmetrical, its other hand where that
    is among the panels; not named where it has none. `kin`: of which piece each is; only panels of one piece are each other's.

    >>> ring = ((0.0, 0.0), (90.0, 0.0), (60.0, 40.0), (0.0, 40.0))
    >>> left, right = Panel("left", ring, 1), Panel("right", tuple((x, -y) for x, y in ring), 1)
    >>> {name: mirror.panel for name, mirror in mirrors([left, right]).items()}, mirrors([left])
    ({'left': 'right', 'right': 'left'}, {})
    """
    found = {}
    for panel in panels:
        mine = (other for other in panels if kin is None or kin.get(other.id) == kin.get(panel.id))
        others = [panel, *(other for other in mine if other is not panel)]
        for other in others:
            if (how := _as_mirror(panel, other)) is not None and _alike(panel, other, how):
                found[panel.id] = how
                break
    return found


def _as_mirror(panel: Panel, other: Panel) -> Mirror | None:
    """How `other` must be turned and shifted to be `panel` flipped across the grain."""
    flipped = affinity.scale(Polygon(panel.outline), 1, -1, origin=(0, 0))
    for turn in (0.0, 180.0):
        turned = affinity.rotate(Polygon(other.outline), turn, origin=(0, 0))
        x, y = flipped.bounds[0] - turned.bounds[0], flipped.bounds[1] - turned.bounds[1]
        lying = affinity.translate(turned, x, y)
        if flipped.symmetric_difference(lying).area <= SAME_RIM * flipped.length:
            return Mirror(other.id, turn, x, y)
    return None


def _alike(panel: Panel, other: Panel, how: Mirror) -> bool:
    """Whether the sewing lines are each other's mirror too: panels of other pieces that only look alike are not."""
    if panel is other:
        return True
    if panel.sound is None or other.sound is None:
        return panel.sound is other.sound
    flipped = affinity.scale(Polygon(panel.sound), 1, -1, origin=(0, 0))
    lying = affinity.translate(affinity.rotate(Polygon(other.sound), how.turn, origin=(0, 0)), how.x, how.y)
    return bool(flipped.symmetric_difference(lying).area <= SAME_RIM * flipped.length)


def right_side_up(placement: Placement, panels: Mapping[str, Panel], mirror: Mapping[str, Mirror]) -> Placement | None:
    """A placement that lies flipped as one that need not: of the panel itself where it may be turned over, else of its mirror;
    None where it would be a panel of the wrong hand. One that is not flipped stays as it is."""
    if not placement.flipped or panels[placement.panel].flip:
        return placement
    how = mirror.get(placement.panel)
    if how is None:
        return None
    a = math.radians(placement.turn)
    x, y = how.x * math.cos(a) - how.y * math.sin(a), how.x * math.sin(a) + how.y * math.cos(a)
    return Placement(
        placement.sheet, how.panel, placement.x + x, placement.y + y, (placement.turn + how.turn) % 360.0, flipped=False
    )


class Corner(StrEnum):
    """A corner of a panel as it lies, right side of the cloth up, the grain from left to right."""

    NEAR_LEFT = "near left"
    NEAR_RIGHT = "near right"
    FAR_LEFT = "far left"
    FAR_RIGHT = "far right"


@dataclass(frozen=True, slots=True)
class ProvingMeasure:
    """A measure that proves the hand of a panel: from one of its corners to another it is `length` mm; on a panel of the other
    hand, lying so, `other`. `at`: the two points."""

    first: Corner
    second: Corner
    length: float
    other: float
    at: tuple[Point, Point]


def proving_measure(shape: Polygon, *, one_way: bool = False) -> ProvingMeasure | None:
    """The measure of a panel that differs most from its other hand's; None where they differ by less than a tape shows.

    Across the grain near and far change places, so that a diagonal becomes the other diagonal; where the panel lies one way
    only, its near side becomes its far side too.

    >>> measure = proving_measure(Polygon([(0, 0), (90, 0), (60, 40), (0, 40)]))
    >>> str(measure.first), str(measure.second), round(measure.length, 1), round(measure.other, 1)
    ('near left', 'far right', 72.1, 98.5)
    """
    at = _corners(shape)
    near, far = (Corner.NEAR_LEFT, Corner.NEAR_RIGHT), (Corner.FAR_LEFT, Corner.FAR_RIGHT)
    pairs = [((near[0], far[1]), (far[0], near[1]))]
    if one_way:
        pairs.append((near, far))

    def long(pair: tuple[Corner, Corner]) -> float:
        return math.dist(at[pair[0]], at[pair[1]])

    here, there = max(pairs, key=lambda both: abs(long(both[0]) - long(both[1])))
    if abs(long(here) - long(there)) < TOLD_APART:
        return None
    return ProvingMeasure(*here, long(here), long(there), (at[here[0]], at[here[1]]))


def _corners(shape: Polygon) -> dict[Corner, Point]:
    """The outermost point of a shape towards each corner of its box."""
    left, low, right, high = shape.bounds
    points = [(float(x), float(y)) for x, y in shapely.get_coordinates(shape.exterior)]

    def outermost(along: float, across: float) -> Point:
        return max(points, key=lambda p: along * (p[0] - left) / (right - left) + across * (p[1] - low) / (high - low))

    return {
        Corner.NEAR_LEFT: outermost(-1, -1),
        Corner.NEAR_RIGHT: outermost(1, -1),
        Corner.FAR_LEFT: outermost(-1, 1),
        Corner.FAR_RIGHT: outermost(1, 1),
    }
