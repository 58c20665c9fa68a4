"""A lay on the table, while it is changed by hand: what may be done to it, whether a panel may lie so and, where it may not,
the nearest place that works."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from shapely import Polygon

from nesting import Case, Panel, Placement, Point, Result, Sheet

from . import telling
from .asking import Asked
from .by_hand import READ_OFF, lies_at, put_at
from .plans import as_laid
from .plies import LaidStack
from .refusals import CannotBeDone
from .words import Hand


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on a remnant (the panel's own unless named): how far (mm) from its left and from its near edge."""

    left: float
    near: float
    tag: str | None = None


@dataclass(frozen=True, slots=True)
class Move:
    """Panels moved: one to a spot, or all of them alike by so much (mm) to the right and towards the far edge."""

    panels: tuple[int, ...]
    to: Spot | None = None
    by: Point = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Turn:
    """Panels turned where they lie, each about its own middle: counter-clockwise by degrees, or turned over."""

    panels: tuple[int, ...]
    by: float = 180.0
    over: bool = False


@dataclass(frozen=True, slots=True)
class TakeOut:
    """Panels taken out of the lay."""

    panels: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class PutIn:
    """A panel put in: another of a panel's number, or one of a piece by its name (and hand), at a spot or as near as can be
    to the panel that it is another of."""

    like: int | None = None
    piece: str = ""
    hand: Hand | None = None
    at: Spot | None = None
    head_to_foot: bool = False
    turned_over: bool = False


Change = Move | Turn | TakeOut | PutIn


class NoPlace(CannotBeDone):
    """Something forbids that a panel lies so. `nearest`: where it would, the nearest place that works."""

    def __init__(
        self,
        what: str,
        *,
        where: str = "",
        expected: str = "clear cloth, by the margins of the lay",
        next: str = "",
        nearest: Mapping[int, Placement] | None = None,
    ) -> None:
        super().__init__(what, where=where, expected=expected, next=next)
        self.nearest = nearest


@dataclass(frozen=True, slots=True)
class OnTable:
    """A lay while it is changed: where each panel lies, by number, and where each lay as it `began`.

    `corners`: the lower left corner of each remnant's box, by tag. `changed`: the panels that the last change moved, turned or
    put in; `said`: all changes so far, in words; `next`: the number of the next that is put in. `stacks`: those that the lay
    is cut in; `tight`: by tag the cloth of their plies that cuts must keep to, slip and fold taken off.
    """

    lay: int
    asked: Asked
    laid: Mapping[int, Placement]
    corners: Mapping[str, Point]
    changed: tuple[int, ...] = ()
    said: tuple[str, ...] = ()
    began: Mapping[int, Placement] = field(default_factory=dict)
    next: int = 1
    stacks: tuple[LaidStack, ...] = ()
    tight: Mapping[str, Sheet] = field(default_factory=dict)

    @property
    def case(self) -> Case:
        """What a change is checked against: the case, its plies cut back."""
        case = self.asked.case
        return replace(case, sheets=tuple(self.tight.get(sheet.id, sheet) for sheet in case.sheets))

    def panel(self, placement: Placement) -> Panel:
        """The panel of the case that a placement lays."""
        return next(panel for panel in self.case.panels if panel.id == placement.panel)

    def shape(self, placement: Placement) -> Polygon:
        """Its cut line where it lies."""
        return as_laid(self.panel(placement).outline, placement)

    def spot(self, number: int) -> Spot:
        """Where a panel lies."""
        placement = self.laid[number]
        left, near = lies_at(self.panel(placement), placement, self.corners[placement.sheet])
        return Spot(left, near, placement.sheet)


def turned(table: OnTable, placement: Placement, how: Turn) -> Placement:
    """Turned about the middle of its box."""
    panel = table.panel(placement)
    left, low = lies_at(panel, placement, (0.0, 0.0))
    now = replace(placement, turn=(placement.turn + how.by) % 360.0, flipped=placement.flipped != how.over)
    if how.over:
        # Turned over across the grain, whichever way it lies: (x, y) → (x, −y) comes before the turn.
        now = replace(now, turn=(-placement.turn + how.by) % 360.0)
    wide, tall = _size(panel, placement)
    now_wide, now_tall = _size(panel, now)
    return put_at(
        panel,
        placement.sheet,
        (0.0, 0.0),
        left + (wide - now_wide) / 2,
        low + (tall - now_tall) / 2,
        turn=now.turn,
        over=now.flipped,
    )


def _size(panel: Panel, placement: Placement) -> Point:
    left, low, right, high = as_laid(panel.outline, placement).bounds
    return right - left, high - low


def settled(
    table: OnTable, moved: Mapping[int, Placement], ways: Mapping[int, Point], *, nearest: bool
) -> Mapping[int, Placement]:
    """Where panels come to lie: where they are told to or, where that is forbidden, at the nearest place for all of them.
    `ways`: 1 or −1 for x and for y of those that move the other way, since their plies lie turned.

    Raises NoPlace with the reason; a nearest place is taken unasked only if it is no other (`READ_OFF`).
    """
    reason = _forbids(table, moved)
    if not reason:
        return moved
    near = _nearest(table, moved, ways)
    if near is None:
        raise NoPlace(f"{_these(moved)} cannot lie so: {reason}", where=_tag(moved), next=_elsewhere(table, moved))
    there, far = near
    if nearest or far <= READ_OFF:
        return there
    raise NoPlace(
        f"{_these(moved)} cannot lie so: {reason}",
        where=_tag(moved),
        next=f"The nearest place that works is {_told(table, there, far)}; add --nearest to have it there",
        nearest=there,
    )


def _forbids(table: OnTable, moved: Mapping[int, Placement]) -> str:
    """Why panels may not lie so, in words; empty where they may."""
    from nesting import examine

    tags = {placement.sheet for placement in moved.values()}
    every = {number: p for number, p in sorted({**table.laid, **moved}.items()) if p.sheet in tags}
    case = replace(table.case, sheets=tuple(sheet for sheet in table.case.sheets if sheet.id in tags))
    numbers = {tag: [number for number, p in every.items() if p.sheet == tag] for tag in tags}
    found = examine(case, Result(tuple(every.values()))).faults
    for fault in found:
        mine = [numbers[fault.sheet][n - 1] for n in fault.panels] if fault.sheet in tags else []
        if set(mine) & set(moved):
            others = [str(n) for n in mine if n not in moved] or [str(n) for n in mine[1:]]
            what = telling.in_their_units(fault.what)
            it = "it" if len(moved) == 1 else str(mine[0])
            return f"beside {' and '.join(others)}, they {what}" if others else f"{it} {what}"
    return ""


def _nearest(
    table: OnTable, moved: Mapping[int, Placement], ways: Mapping[int, Point]
) -> tuple[dict[int, Placement], float] | None:
    """The nearest place for them together, and how far it is, mm. None where there is none."""
    from nesting import nearest_shift

    lying = [placement for number, placement in table.laid.items() if number not in moved]
    way = {number: ways.get(number, (1.0, 1.0)) for number in moved}
    shift = nearest_shift(table.case, lying, list(moved.values()), list(way.values()))
    found = []
    for x, y in (*([shift] if shift else []), *_back(table, moved)):
        there = {n: replace(p, x=p.x + way[n][0] * x, y=p.y + way[n][1] * y) for n, p in moved.items()}
        if not _forbids(table, there):
            found.append((there, math.hypot(x, y)))
    return min(found, key=lambda each: each[1], default=None)


def _back(table: OnTable, moved: Mapping[int, Placement]) -> list[Point]:
    """The shift back to where a panel lay, its turn and remnant kept: a place so narrow that only it goes in is not found by
    looking for room."""
    number, now = next(iter(moved.items()))
    before = table.laid.get(number)
    if before is None or replace(before, x=now.x, y=now.y) != now:
        return []
    return [(before.x - now.x, before.y - now.y)]


def _elsewhere(table: OnTable, moved: Mapping[int, Placement]) -> str:
    """Where there is no place at this turn: whether there is one at another, or on another remnant of the lay."""
    if not all(_may_lie_so(table, placement) for placement in moved.values()):
        return "Let it lie as its grain and its cloth allow"
    if len(moved) == 1:
        ((number, placement),) = moved.items()
        for by, over in ((180.0, False), (0.0, True), (180.0, True)):
            over_or_about = {number: turned(table, placement, Turn((), by, over))}
            near = _nearest(table, over_or_about, {})
            if near is not None:
                how = " and ".join((["head to foot"] if by else []) + (["turned over"] if over else []))
                return f"There is no place for it so; {how}, the nearest is {_told(table, *near)}"
    it = "it" if len(moved) == 1 else "them"
    return f"There is no place for {it} on {_tag(moved)}; try another remnant, or take a panel out first"


def _may_lie_so(table: OnTable, placement: Placement) -> bool:
    """Whether a panel may be turned so, wherever it lies."""
    from nesting import may_be_turned

    panel = table.panel(placement)
    sheet = next(sheet for sheet in table.case.sheets if sheet.id == placement.sheet)
    return may_be_turned(placement.turn, panel, sheet) and (panel.flip or not placement.flipped)


def _told(table: OnTable, there: Mapping[int, Placement], far: float) -> str:
    """Where panels would lie, in words."""
    places = []
    for number, placement in there.items():
        left, near = lies_at(table.panel(placement), placement, table.corners[placement.sheet])
        place = f"{telling.fine(round(left, 1))} from the left and {telling.fine(round(near, 1))} from the near edge"
        places.append(place if len(there) == 1 else f"for {number} {place}")
    return f"{'; '.join(places)} ({telling.fine(round(far, 1))} away)"


def _these(moved: Mapping[int, Placement]) -> str:
    numbers = ", ".join(str(number) for number in moved)
    return f"panel{'s' if len(moved) > 1 else ''} {numbers}"


def _tag(moved: Mapping[int, Placement]) -> str:
    return next(iter(moved.values())).sheet


def will_not_do(table: OnTable, tag: str, placement: Placement) -> str:
    """Why a remnant will not do for a panel at all."""
    piece = table.asked.panels[placement.panel].piece
    why = next((over.reasons for over in table.asked.passed_over if over.tag == tag and over.piece == piece), ())
    return f"{tag} will not do for {piece}{': ' if why else ''}{'; '.join(why)}"


def changed(table: OnTable, laid: Mapping[int, Placement], numbers: tuple[int, ...], how: Change) -> OnTable:
    """The lay with panels lying so; `numbers` are those that the change was about."""
    return replace(
        table,
        laid=dict(sorted(laid.items())),
        changed=numbers,
        said=(*table.said, _in_words(how, numbers)),
        next=table.next + isinstance(how, PutIn),
    )


def _in_words(how: Change, changed: tuple[int, ...]) -> str:
    numbers = ", ".join(str(number) for number in (how.panels if not isinstance(how, PutIn) else changed))
    if isinstance(how, TakeOut):
        return f"{numbers} taken out"
    if isinstance(how, PutIn):
        return f"{numbers} put in"
    return f"{numbers} {'moved' if isinstance(how, Move) else 'turned'}"
