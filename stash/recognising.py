"""The lost tag: cloth in hand, two measures and a weight. Which remnant is it?

Each reading is held against what the stash says, in spreads: what a reading at the table and the one on record may be out by
together. Readings are taken as normal and independent of each other, so that the squares of these distances add up to −2 log
likelihood (chi-square), and the candidates share the likelihood out among them. Of a rough remnant only the rectangle is
known, which is never more than the cloth: what is larger counts as it would if cloth went beyond its rectangle by a quarter,
give or take as much (an exponential law).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from .finding import Listed, Wanted, conditions, rows_listed
from .given import a_figure
from .refusals import Refused
from .tables import RemnantRow
from .words import RemnantState
from .workroom import Workroom

FARTHEST = 4.0
"""A reading farther off than this many spreads is of another remnant (of normal readings 1 in 16 000 is so far off)."""
TAPE, TAPE_SHARE = 3.0, 0.01
"""mm, and share of the length, that two people's measures of the same soft cloth differ by (common practice, no source)."""
SCALE, SCALE_SHARE = 1.0, 0.02
"""g, and share of the mass, that two weighings differ by: kitchen scales, and cloth that takes up moisture from the air."""
BY_AREA = 0.08
"""Share by which a mass that was worked out from area and g/m² may be out, if the cloth's weight does not say."""
BEYOND = 0.25
"""The share by which the cloth of a rough remnant goes beyond its rectangle, on the average."""


@dataclass(frozen=True, slots=True, kw_only=True)
class InHand:
    """A piece of cloth whose tag is lost: its two greatest measures along and across the thread, either way round (mm), and
    its weight (g); what is not known is left out, but something must be said. `cloth`, `fibre`, `colour`: if they are sure."""

    measures: tuple[float, float] | None = None
    mass: float | None = None
    cloth: str | None = None
    fibre: str | None = None
    colour: str | None = None


@dataclass(frozen=True, slots=True)
class Compared:
    """A reading (mm or g) against what the stash says. `spreads`: how far they are apart. `at_least`: the stash knows only
    that it is no less."""

    what: str
    given: float
    known: float
    spreads: float
    at_least: bool
    log_likelihood: float

    def __str__(self) -> str:
        unit = "g" if self.what == "weight" else "mm"
        least = "at least " if self.at_least else ""
        return f"{self.what} {self.given:.0f} {unit}, {least}{self.known:.0f} {unit} on record"


@dataclass(frozen=True, slots=True)
class Candidate:
    """A remnant that it may be. `share`: its share of the likelihood of all candidates, 0 to 1. `distance`: how far off all
    readings are together, in spreads (0: to the point). `why`: reading by reading, in words; `compared`: in figures."""

    remnant: Listed
    share: float
    distance: float
    why: tuple[str, ...]
    compared: tuple[Compared, ...]


def which(workroom: Workroom, in_hand: InHand, *, most: int = 5) -> tuple[Candidate, ...]:
    """The remnants that it may be, the likeliest first; of those in the bin, held or lost. None if none comes near.

    Raises Refused where neither measures nor mass are given, Unknown.
    """
    if in_hand.measures is None and in_hand.mass is None:
        raise Refused(
            "nothing about it was measured", where="cloth in hand", expected="two measures, its weight, or better both"
        )
    for measure in in_hand.measures or ():
        a_figure(measure, "measure", unit="mm")
    if in_hand.mass is not None:
        a_figure(in_hand.mass, "mass", unit="g")
    states = (RemnantState.IN_BIN, RemnantState.HELD, RemnantState.LOST)
    wanted = Wanted(cloth=in_hand.cloth, fibre=in_hand.fibre, colour=in_hand.colour, states=states)
    with workroom.reading() as session:
        found = [(listed, _nearest(in_hand, row)) for row, listed in rows_listed(session, *conditions(session, wanted))]
    near = [(listed, readings) for listed, readings in found if all(one.spreads <= FARTHEST for one in readings)]
    if not near:
        return ()
    logs = [sum(one.log_likelihood for one in readings) for _, readings in near]
    weights = [math.exp(log - max(logs)) for log in logs]
    candidates = (
        Candidate(
            listed,
            weight / sum(weights),
            math.hypot(*(one.spreads for one in readings)),
            tuple(str(one) for one in readings),
            readings,
        )
        for (listed, readings), weight in zip(near, weights, strict=True)
    )
    return tuple(sorted(candidates, key=lambda one: (-one.share, one.remnant.tag))[:most])


def _nearest(in_hand: InHand, row: RemnantRow) -> tuple[Compared, ...]:
    """All readings against a remnant, the two measures the likelier way round."""
    mass = () if in_hand.mass is None else (_mass(in_hand.mass, row),)
    if in_hand.measures is None:
        return mass
    one, other = in_hand.measures
    ways = (tuple(_measures(row, *pair)) for pair in ((one, other), (other, one)))
    return (*max(ways, key=lambda way: sum(reading.log_likelihood for reading in way)), *mass)


def _measures(row: RemnantRow, length: float, width: float) -> Iterator[Compared]:
    for what, given, known in (("length", length, row.length), ("width", width, row.width)):
        yield _compared(what, given, known, math.hypot(TAPE, TAPE_SHARE * known), at_least=row.rough)


def _mass(given: float, row: RemnantRow) -> Compared:
    known = row.mass / 1000
    cloth = row.cloth
    by_area = BY_AREA if cloth.weight_within is None else cloth.weight_within / cloth.weight
    share = SCALE_SHARE if row.weighed else math.hypot(SCALE_SHARE, by_area)
    return _compared("weight", given, known, math.hypot(SCALE, share * known), at_least=row.rough and not row.weighed)


def _compared(what: str, given: float, known: float, spread: float, *, at_least: bool) -> Compared:
    """A reading against what is known: a normal law, or for what is known to be no less a normal one below, an exponential one
    above it."""
    spreads = abs(given - known) / spread
    if at_least:
        beyond = BEYOND * known
        if given > known:
            # So that also here half the square of the spreads is what the logarithm of the likelihood loses.
            spreads = math.sqrt(2 * (given - known) / beyond)
        return Compared(what, given, known, spreads, True, -math.log(beyond) - spreads**2 / 2)
    log = -math.log(spread * math.sqrt(2 * math.pi)) - spreads**2 / 2
    return Compared(what, given, known, spreads, False, log)
