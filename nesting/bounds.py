"""Proved upper bounds: how many copies a sheet, or many sheets, could ever hold, and the least length of a strip.

Three arguments, each stronger and dearer than the one before:
1. *Area*: the room, over the area of a panel's body (`bounds_shapes` says what is a body and what is room).
2. *Reach*: only cloth that some copy can reach counts, and each part of it for itself, since no copy lies in two; and, where
   few are in question, which two exclude each other (`bounds_pairs`).
3. *Weights*: `bounds_weights`.

All hold for whatever the independent check accepts, its tolerance included. What is fixed by hand is left out of account, and
what a repeat asks of a panel that may lie off the grain, which can only make a bound looser. Where a panel may lie off the
grain, its body is what all the turns of a narrow range have in common.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from .bounds_hats import Way
from .bounds_lines import most_by_lines
from .bounds_pairs import pair_cuts
from .bounds_program import Watch
from .bounds_shapes import Lie, flaws, grown_outside, lies, on_bars, polygons, positions, reach, room
from .bounds_weights import Pains, Weighing, weigh
from .choose import Chooser
from .clearances import sheet_cost
from .forms import Case, Sheet
from .offers import LinearCut, Offer
from .outlines import united

AREA_SLACK = 1e-7  # by how much of itself a room is taken larger and a body smaller, for the rounding of areas
WORK = 5e6  # of the weights' linear program, to one unit of effort: about a second
TENTS = 400  # wide tents that a sheet is begun with, about
NARROWER_FROM = 6.0  # effort from which on tents of more widths are worth a second try,
NARROWER_UP_TO = 20.0  # where no more panels than this go into the reach by area: else the lattice would be too fine to handle


@dataclass(frozen=True)
class Part:
    """A part of a sheet's reach, and the ways to lie whose copies stay within it."""

    reached: BaseGeometry
    ways: tuple[Way, ...]


@dataclass
class SheetBound:
    """What is proved of one sheet so far: `offer` for the chooser; `how`, in a word, for each panel alone.

    Placements, not copies: one on a sheet of several plies makes as many copies.
    """

    case: Case
    index: int
    watch: Watch = field(default_factory=Watch)
    offer: Offer = field(init=False)
    how: list[str] = field(init=False)
    _vague: list[bool] = field(init=False)  # panels of which nothing is known but the area
    _parts: tuple[Part, ...] | None = field(init=False, default=None)

    def __post_init__(self) -> None:
        self.offer = area_offer(self.case, self.index)
        self.how = ["area"] * len(self.case.panels)
        ways = [lies(self.case, k, self.sheet) for k in range(len(self.case.panels))]
        self._vague = [any(lie.body.is_empty for lie in several) for several in ways]

    @property
    def sheet(self) -> Sheet:
        return self.case.sheets[self.index]

    def wanted(self) -> list[int]:
        """Placements that could be wanted of each panel."""
        return [panel.copies // self.sheet.plies for panel in self.case.panels]

    def most(self) -> int:
        """Most placements in all that are proved possible."""
        return most_placements(self.offer, body_areas(self.case), self.wanted())

    def parts(self) -> tuple[Part, ...]:
        if self._parts is None:
            self._parts = tuple(
                _parts(
                    self.case,
                    self.sheet,
                    self.watch,
                    [m > 0 and not v for m, v in zip(self.offer.most, self._vague, strict=True)],
                )
            )
        return self._parts

    def tighten_by_reach(self) -> None:
        """Area again, of what copies can reach, part by part.

        Where a panel may lie off the grain, its ways reach with bodies that are smaller than it is, and count for as much.
        """
        areas = body_areas(self.case)
        rooms = [part.reached.area * (1 + AREA_SLACK) for part in self.parts()]
        whole = not any(self._vague)
        for k, area in enumerate(areas):
            if self._vague[k]:
                continue
            least = [min((w.body.area for w in part.ways if w.panel == k), default=math.inf) for part in self.parts()]
            self._lower(k, sum(int(r / (a * (1 - AREA_SLACK))) for r, a in zip(rooms, least, strict=True)), "reach")
            whole = whole and min(least, default=math.inf) >= area
        if whole:
            self.offer = replace(self.offer, area=min(self.offer.area, sum(rooms)))
        if len(self.parts()) == 1 and not any(self._vague):
            self.offer = replace(self.offer, cuts=(*self.offer.cuts, *pair_cuts(self.offer, self.parts()[0].ways)))

    def tighten_by_weights(self, effort: float, enough: int = 0) -> None:
        """Weights, for each panel alone and, if there are several, for all together. `enough`: no need to prove less."""
        wanted = self.wanted()
        alone = [k for k, most in enumerate(self.offer.most) if most > 0 and wanted[k] > 0 and not self._vague[k]]
        share = effort / max(1, len(alone) + (len(alone) > 1))
        for k in alone:
            by_lines = [most_by_lines([w for w in p.ways if w.panel == k], p.reached) for p in self.parts()]
            if None not in by_lines:
                self._lower(k, sum(most or 0 for most in by_lines), "lines")
            parts = [replace(p, ways=tuple(w for w in p.ways if w.panel == k)) for p in self.parts()]
            few = enough if len(alone) == 1 else 0
            most = sum(self._weighed([p], [wanted[k]], share / len(parts), few, only=k)[0] for p in parts)
            self._lower(k, most, "weights")
        if len(alone) > 1:
            most, cut = self._weighed(self.parts(), wanted, share, enough)
            known = tuple(0.0 if vague else 1.0 for vague in self._vague)
            cut = LinearCut(tuple(v * w for v, w in zip(cut.weights, known, strict=True)), cut.limit)
            self.offer = replace(self.offer, cuts=(*self.offer.cuts, cut, LinearCut(known, float(most))))

    def _lower(self, panel: int, most: int, how: str) -> None:
        if most < self.offer.most[panel]:
            now = list(self.offer.most)
            now[panel] = most
            self.offer = replace(self.offer, most=tuple(now))
            self.how[panel] = how

    def _weighed(
        self, parts: tuple[Part, ...] | list[Part], wanted: list[int], effort: float, enough: int, only: int | None = None
    ) -> tuple[int, LinearCut]:
        """Most placements on the parts together, and the cut that holds for them all.

        only: the ways are all of this panel, and `wanted` is of it alone.
        """
        most, total, values = 0, 0.0, np.full(len(wanted), np.inf)
        for part in parts:
            ways = [replace(way, panel=0) for way in part.ways] if only is not None else list(part.ways)
            if not ways:
                continue
            few = enough if len(parts) == 1 else 0
            found = self._weigh(ways, part.reached, wanted, effort / len(parts), few)
            most += found.most(wanted)
            total += max(0.0, found.total)
            values = np.minimum(values, found.values)
        values = np.where(np.isfinite(values), values, 0.0)
        return most, LinearCut(tuple(float(v) for v in values), total)

    def _weigh(self, ways: list[Way], reached: BaseGeometry, wanted: list[int], effort: float, enough: int) -> Weighing:
        """The best weighing for the effort: with tents of a few widths and, if much is offered, of more."""
        size = reached.area / min(way.body.area for way in ways)
        first = min(effort, NARROWER_FROM) if size <= NARROWER_UP_TO else effort
        pains = Pains(wide=float(np.clip(math.sqrt(TENTS / size), 2.0, 8.0)), work=WORK * first)
        best = weigh(ways, reached, wanted, pains, enough, self.watch)
        if effort > first and best.most(wanted) > enough:
            pains = replace(pains, levels=pains.levels + 2, wide=min(4.0, pains.wide), work=WORK * (effort - first))
            finer = weigh(ways, reached, wanted, pains, enough, self.watch)
            best = finer if finer.ratio(wanted) < best.ratio(wanted) else best
        return best


def _parts(case: Case, sheet: Sheet, watch: Watch, possible: list[bool]) -> list[Part]:
    """The parts of what copies reach on a sheet, apart from each other."""
    cloth, tears = room(sheet, case)
    ways: list[Way] = []
    reached: list[BaseGeometry] = []
    for k, panel in enumerate(case.panels):
        harms = flaws(sheet, panel, case)
        for lie in lies(case, k, sheet) if possible[k] else []:
            watch()
            for region in polygons(on_bars(positions(lie, cloth, tears, harms), lie, panel, sheet)):
                watch()
                ways.append(Way(k, lie.body, region))
                reached.append(reach(region, lie.body))
    if not ways:
        return []
    whole = polygons(united(reached))
    tree = shapely.STRtree(whole)
    mine: list[list[int]] = [[] for _ in whole]
    for n, way in enumerate(ways):
        at = way.positions.representative_point()
        spot = shapely.affinity.translate(way.body.representative_point(), at.x, at.y)
        mine[int(tree.nearest(spot))].append(n)
    return [Part(piece, _merged([ways[n] for n in numbers])) for piece, numbers in zip(whole, mine, strict=True) if numbers]


def _merged(ways: list[Way]) -> tuple[Way, ...]:
    """Ways with the same body as one."""
    found: dict[tuple[int, int], list[Way]] = {}
    for way in ways:
        found.setdefault((way.panel, id(way.body)), []).append(way)
    return tuple(Way(same[0].panel, same[0].body, united([way.positions for way in same])) for same in found.values())


# --- area --------------------------------------------------------------------------------------------------------------------


def body_areas(case: Case) -> list[float]:
    """Of each panel, the least area that a copy keeps others out of, rounded down."""
    return [min((lie.area for lie in lies(case, k)), default=0.0) * (1 - AREA_SLACK) for k in range(len(case.panels))]


def area_offer(case: Case, index: int, areas: list[float] | None = None) -> Offer:
    """The quickest limits of a sheet: its room, and whether a panel's box goes into the room's at all."""
    sheet = case.sheets[index]
    areas = body_areas(case) if areas is None else areas
    cloth, _ = room(sheet, case)
    space = grown_outside(cloth, case.gap / 2).area * (1 + AREA_SLACK) if not cloth.is_empty else 0.0
    most = []
    for k, panel in enumerate(case.panels):
        fits = not cloth.is_empty and (panel.on is None or sheet.id in panel.on)
        fits = fits and any(_box_fits(lie, cloth) for lie in lies(case, k, sheet))
        most.append(min(panel.copies // sheet.plies, int(space / areas[k]) if areas[k] > 0 else panel.copies) if fits else 0)
    return Offer(sheet.id, sheet.plies, sheet_cost(sheet), tuple(most), space)


def _box_fits(lie: Lie, cloth: BaseGeometry) -> bool:
    a, b = lie.thin.bounds, cloth.bounds
    return bool(lie.thin.is_empty or (a[2] - a[0] <= b[2] - b[0] + 1e-6 and a[3] - a[1] <= b[3] - b[1] + 1e-6))


def most_placements(offer: Offer, areas: list[float], wanted: list[int]) -> int:
    """Most placements in all that an offer allows, each of its limits taken for itself."""
    limits = [min(m, w) for m, w in zip(offer.most, wanted, strict=True)]
    cuts = [LinearCut(tuple(areas), offer.area), *offer.cuts]
    return min([sum(limits), *(_most_within(cut, limits) for cut in cuts)])


def _most_within(cut: LinearCut, limits: list[int]) -> int:
    """Most in all within one cut: the lightest first."""
    left, count = cut.limit * (1 + 1e-9) + 1e-9, 0
    for weight, limit in sorted(zip(cut.weights, limits, strict=True)):
        n = limit if weight * limit <= left else int(left / weight)
        count, left = count + n, left - n * max(0.0, weight)
    return count


# --- a whole case ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Bound:
    """No lay makes more than `most` of the copies wanted; `how` it is proved; the `offers` that say the same of each sheet."""

    most: int
    how: str
    offers: tuple[Offer, ...]


def bound_copies(case: Case, effort: float = 1.0, *, found: int = 0, watch: Watch | None = None) -> Bound:
    """The most copies, of those wanted, that the sheets could ever hold, proved.

    effort: about a second of work for each unit, shared among the sheets; the same effort gives the same bound. found: copies
    that a lay has, below which nothing can be proved. watch: called at every step; what it raises ends the proof.
    """
    watch = watch or Watch()
    sheets = [SheetBound(case, h, watch) for h in range(len(case.sheets))]
    bound = _together(case, sheets, "area", effort)
    for how in ("reach", "weights"):
        order = sorted(sheets, key=lambda one: -one.offer.area)
        for done, one in enumerate(order):
            watch()
            if bound.most <= found:
                return bound
            if how == "reach":
                one.tighten_by_reach()
            else:
                one.tighten_by_weights(effort / len(sheets), -(-found // one.sheet.plies) if len(sheets) == 1 else 0)
            if done + 1 == len(order) or done % 8 == 7:
                now = _together(case, sheets, how, effort)
                bound = now if now.most < bound.most else replace(bound, offers=now.offers)
    return bound


def _together(case: Case, sheets: list[SheetBound], how: str, effort: float) -> Bound:
    offers = tuple(one.offer for one in sheets)
    wanted = [panel.copies for panel in case.panels]
    if len(sheets) == 1:
        most = sheets[0].most() * sheets[0].sheet.plies
    else:
        most = Chooser(body_areas(case), wanted, offers).most_copies(min(1.0, effort))
    return Bound(min(most, sum(wanted)), how, offers)
