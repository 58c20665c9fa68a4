"""Exact amounts: whole hundredths of a mm², whole milligrams, and how a whole is shared out without a remainder.

A 64-bit integer holds 92 000 km² and nine million tonnes, so no stash overflows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

AREA_UNITS = 100
"""Units of booked area in a mm²."""
MASS_UNITS = 1000
"""Units of booked mass in a g."""
MM2_IN_M2 = 1_000_000


def booked_area(mm2: float) -> int:
    """Square millimetres as they are booked: the nearest 0.01 mm²."""
    return round(mm2 * AREA_UNITS)


def booked_mass(grams: float) -> int:
    """Grams as they are booked: the nearest mg."""
    return round(grams * MASS_UNITS)


def square_mm(area: int) -> float:
    """A booked area in mm²."""
    return area / AREA_UNITS


def grams(mass: int) -> float:
    """A booked mass in g."""
    return mass / MASS_UNITS


def mass_of(area: int, weight: float) -> int:
    """The booked mass of a booked area of cloth of `weight` g/m² (mass per unit area, BS 2471).

    >>> mass_of(booked_area(1000 * 600), 180)  # 0.6 m² of 180 g/m² is 108 g
    108000
    """
    return booked_mass(square_mm(area) / MM2_IN_M2 * weight)


def weight_of(area: int, mass: int) -> float:
    """g/m² of a booked area and mass.

    >>> round(weight_of(booked_area(940 * 576), booked_mass(108)), 1)
    199.5
    """
    return grams(mass) / (square_mm(area) / MM2_IN_M2)


def share_out(total: int, weights: Sequence[int]) -> list[int]:
    """Share a whole number out in proportion to whole weights (none below 0, not all 0), to the last unit.

    By largest remainder: each gets its share rounded down, and the units left over go one each to those that lost most by it,
    of equals to the first. So the shares sum to `total`, and each is less than one unit from its exact share.

    >>> share_out(100, [1, 1, 1])
    [34, 33, 33]
    """
    whole = sum(weights)
    if total < 0 or whole <= 0 or min(weights) < 0:
        raise ValueError(f"{total} cannot be shared out by {list(weights)}")
    parts = [divmod(total * weight, whole) for weight in weights]
    shares = [quotient for quotient, _ in parts]
    by_loss = sorted(range(len(parts)), key=lambda i: (-parts[i][1], i))
    for i in by_loss[: total - sum(shares)]:
        shares[i] += 1
    return shares


Amount = tuple[int, int]
"""An area in 0.01 mm² and a mass in mg."""


@dataclass(frozen=True, slots=True)
class Parts:
    """A remnant's booked area and mass, shared out among the panels cut from it, its keepers and the rag bag."""

    panels: tuple[Amount, ...]
    keepers: tuple[Amount, ...]
    rag: Amount


def share_in_parts(area: int, mass: int, *, cut: float, panels: Sequence[float], keepers: Sequence[float]) -> Parts:
    """Share a remnant out exactly (design, *The stash*): `area`, `mass` booked; the rest mm².

    `cut` is the area of the panels' union within the outline; the panels share it by their own areas. Keepers are rounded; the
    rag bag gets what remains, and where rounding leaves less than nothing, that comes off the largest part. Mass follows area
    by largest remainder. Raises ValueError where the parts are plainly larger than the whole: a fault of the geometry.
    """
    parts = [booked_area(cut), *(booked_area(keeper) for keeper in keepers)]
    rag = area - sum(parts)
    if rag < 0:
        if -rag > len(parts) + 1:  # each part and the whole are rounded by half a unit at most
            raise ValueError(f"the parts {parts} are {-rag} × 0.01 mm² more than the whole {area}")
        largest = max(range(len(parts)), key=lambda i: parts[i])
        parts[largest] += rag
        rag = 0
    shares = share_out(parts[0], [booked_area(panel) for panel in panels])
    areas = [*shares, *parts[1:], rag]
    amounts = list(zip(areas, share_out(mass, areas), strict=True))
    return Parts(tuple(amounts[: len(shares)]), tuple(amounts[len(shares) : -1]), amounts[-1])
