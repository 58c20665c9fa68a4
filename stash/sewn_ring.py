"""The ring that equal tapered panels make when they are sewn together side by side, and how smoothly its edges run."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from .drafting import Draft, Ends, LengthAt, panel, sine_of_half
from .refusals import Refused
from .words import Line


class Truing(StrEnum):
    """How the ends of the panels are drawn."""

    STRAIGHT = "straight"
    ON_CUT_LINE = "trued on the cut line"
    ON_SEWING_LINE = "trued on the sewing line"


@dataclass(frozen=True, slots=True)
class RingEdge:
    """One joined edge of a ring: the chord of each panel, the ring's girth along the chords and along the arcs (mm), the kink
    at each seam (degrees, 0 is smooth), and the girth by the usual rule, two allowances off each width (mm)."""

    chord: float
    along_chords: float
    along_arcs: float
    kink: float
    by_rule: float


@dataclass(frozen=True, slots=True)
class SewnRing:
    """A ring of `count` panels with their ends drawn in one way. `angle`: of each panel, degrees; all of them make `turn`
    degrees: 360 lies flat, less makes a cone."""

    truing: Truing
    count: int
    angle: float
    turn: float
    outer: RingEdge
    inner: RingEdge


def rings(draft: Draft, count: int | None = None) -> tuple[SewnRing, ...]:
    """The ring that a draft makes, with its ends straight, trued on the cut line and trued on the sewing line.

    Raises Refused for a draft that is none, and for sides that run alongside each other and make no ring.
    """
    draft = replace(draft, count=draft.count if count is None else count).looked_over()
    if draft.wide == draft.narrow:
        raise Refused(
            "its ends are alike",
            where="tapered panel",
            expected="ends of two widths: others make a tube, whose edges are straight",
        )
    return (_straight(draft), _on_cut_line(draft), _on_sewing_line(draft))


def rule(draft: Draft) -> tuple[float, float]:
    """Both sewn widths by the usual rule: two allowances off each cut width."""
    less = 2 * draft.sides if draft.on is Line.CUT else 0.0
    return draft.wide - less, draft.narrow - less


def _straight(draft: Draft) -> SewnRing:
    found = panel(replace(draft, ends=Ends.STRAIGHT))
    kink = math.degrees(2 * found.half)
    ends = [
        _edge(draft, chord, chord, kink, by_rule)
        for chord, by_rule in zip((found.wide, found.narrow), rule(draft), strict=True)
    ]
    return _ring(draft, Truing.STRAIGHT, found.half, ends)


def _on_sewing_line(draft: Draft) -> SewnRing:
    found = panel(replace(draft, ends=Ends.TRUED))
    assert found.radii is not None
    ends = [
        _edge(draft, chord, 2 * radius * found.half, 0.0, by_rule)
        for chord, radius, by_rule in zip((found.wide, found.narrow), found.radii, rule(draft), strict=True)
    ]
    return _ring(draft, Truing.ON_SEWING_LINE, found.half, ends)


def _on_cut_line(draft: Draft) -> SewnRing:
    """The arcs run about the point where the cut sides meet: a sewn side passes it at an allowance's distance, so that an arc
    of radius r meets it asin(allowance / r) off the square, on both sides of each seam."""
    half, wide, narrow = _cut_arcs(draft)
    if draft.on is Line.CUT:
        wide, narrow = wide - draft.wide_end, narrow + draft.narrow_end
    ends = []
    for radius, by_rule in zip((wide, narrow), rule(draft), strict=True):
        if radius <= draft.sides:
            raise Refused("the allowances leave nothing to sew", where="tapered panel", expected="smaller allowances")
        askew = math.asin(draft.sides / radius)
        chord = 2 * radius * math.sin(half - askew)
        ends.append(_edge(draft, chord, 2 * radius * (half - askew), math.degrees(2 * askew), by_rule))
    return _ring(draft, Truing.ON_CUT_LINE, half, ends)


def _cut_arcs(draft: Draft) -> tuple[float, float, float]:
    """Half the angle, and the radii of the arcs through the corners that were told, about the point where the cut sides meet.

    On the sewing line such a corner lies an allowance beside the cut side, √(r² − s²) along it: half its chord is √(r² − s²)
    sin a − s cos a. A length at the side is the difference of those roots, one at the centre that of the radii.
    """
    beside = draft.sides if draft.on is Line.SEWING else 0.0

    def radii(half: float) -> tuple[float, float]:
        wide, narrow = (
            math.hypot((chord / 2 + beside * math.cos(half)) / math.sin(half), beside) for chord in (draft.wide, draft.narrow)
        )
        return wide, narrow

    half = math.asin(sine_of_half(draft, draft.length))
    if beside and draft.at is LengthAt.CENTRE:
        from scipy.optimize import brentq

        def too_long(guess: float) -> float:
            wide, narrow = radii(guess)
            return wide - narrow - draft.length

        # A centre is a little shorter than its side: the angle lies just below the one found for the side.
        half = float(brentq(too_long, half * 0.5, half * (1 + 1e-9), xtol=1e-14))
    return half, *radii(half)


def _edge(draft: Draft, chord: float, arc: float, kink: float, by_rule: float) -> RingEdge:
    return RingEdge(chord, draft.count * chord, draft.count * arc, kink, draft.count * by_rule)


def _ring(draft: Draft, truing: Truing, half: float, ends: list[RingEdge]) -> SewnRing:
    angle = math.degrees(2 * half)
    return SewnRing(truing, draft.count, angle, draft.count * angle, *ends)
