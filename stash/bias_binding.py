"""Bias binding out of what a lay leaves: strips at 45° clear of its panels, joined on the straight grain to a length."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nesting import Case, Sheet

from .given import a_figure
from .plans import Lay, lay_of, row_of
from .workroom import Workroom

if TYPE_CHECKING:
    from shapely import Polygon

SHORTEST = 150.0
"""mm: shorter strips are not worth a join (common practice, no source)."""
JOIN = 6.0
"""mm on either side of a join, if it is not said: as much as is pressed open in a strip of 40 mm (common practice, no
source)."""


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip: on which remnant, how long along its middle (mm), and where it lies there."""

    tag: str
    place: str
    length: float
    shape: Polygon


@dataclass(frozen=True, slots=True)
class BiasBinding:
    """Binding of one cloth: its strips, the longest first, how many joins they take, and how long they then are (mm).
    `wanted`: what was asked for, None for all that there is."""

    cloth: str
    strips: tuple[Strip, ...]
    joins: int
    length: float
    wanted: float | None

    @property
    def enough(self) -> bool:
        return self.wanted is None or self.length >= self.wanted


def from_lay(
    workroom: Workroom,
    number: int,
    width: float,
    *,
    length: float | None = None,
    join: float = JOIN,
    shortest: float = SHORTEST,
) -> tuple[Lay, tuple[BiasBinding, ...]]:
    """What a lay's remnants still give beside its panels, cloth by cloth, the most first: for a `length` the fewest strips.

    `width`: as it is cut, mm. `join`: on either side of each join. Raises Unknown; Refused for a figure that is none.
    """
    width = a_figure(width, "width", unit="mm")
    join = a_figure(join, "allowance at a join", unit="mm", above=False, most=100)
    shortest = a_figure(shortest, "shortest strip", unit="mm", above=False)
    wanted = None if length is None else a_figure(length, "length", unit="mm")
    with workroom.reading() as session:
        row = row_of(session, number)
        lay, kept = lay_of(row), row.case
    from nesting import read_case

    case = read_case(kept, where=f"lay {number}")
    by_cloth: dict[str, list[Strip]] = {}
    for sheet in lay.sheets:
        if not sheet.dropped:
            strips = by_cloth.setdefault(sheet.remnant.cloth.name, [])
            strips += _strips(
                case, sheet.remnant.tag, sheet.remnant.place, [p.cut_line for p in sheet.panels], width, shortest
            )
    found = [_joined(cloth, strips, wanted, join) for cloth, strips in by_cloth.items() if strips]
    return lay, tuple(sorted(found, key=lambda one: -one.length))


def _strips(case: Case, tag: str, place: str, panels: Sequence[Polygon], width: float, shortest: float) -> list[Strip]:
    """The strips of one remnant, clear of its edges, holes, flaws and panels."""
    from shapely.ops import unary_union

    from nesting import bias_strips, clear_cloth

    sheet: Sheet = next(sheet for sheet in case.sheets if sheet.id == tag)
    taken = unary_union([panel.buffer(case.gap) for panel in panels])
    left = clear_cloth(sheet, case.edge).difference(taken)
    found = bias_strips(left, width, gap=case.gap, shortest=shortest)
    return [Strip(tag, place, length, shape) for length, shape in zip(found.lengths, found.shapes, strict=True)]


def _joined(cloth: str, strips: Sequence[Strip], wanted: float | None, join: float) -> BiasBinding:
    """The longest strips that make the length, or all of them."""
    from nesting import joined_length

    ordered = sorted(strips, key=lambda strip: (-strip.length, strip.tag))
    count = len(ordered)
    if wanted is not None:
        lengths = [strip.length for strip in ordered]
        count = next((n for n in range(1, count + 1) if joined_length(lengths[:n], join) >= wanted), count)
    used = ordered[:count]
    return BiasBinding(cloth, tuple(used), count - 1, joined_length([strip.length for strip in used], join), wanted)
