"""Measuring a remnant again: a rough one in full, a keeper that came out smaller, one that was measured wrongly."""

from __future__ import annotations

from dataclasses import dataclass

from .outlines import Measured
from .remnants import NewFault, Remnant
from .words import Face, Nap
from .workroom import Workroom


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """A remnant as it is measured now; the same as when it is logged. `faults`: None keeps those that are known only where the
    outline is an unturned one of the same place, which cannot be told: so () means that there are none. `mass`: g, if it was
    weighed now."""

    outline: Measured
    grain_angle: float = 0.0
    face_up: Face = Face.RIGHT
    nap: Nap | None = None
    faults: tuple[NewFault, ...] = ()
    mass: float | None = None


def measure_again(workroom: Workroom, tag: str, measures: Measures, *, by: str, note: str = "") -> Remnant:
    """Put new measures in the place of the old, which are kept beside the entry.

    The difference in area is *re-measured*. The mass stays if it was weighed, follows the area if it was not, and is the new one
    if it is weighed now. The remnant is confirmed by it, and lays tried on it must be tried again.
    Raises Held, WrongState for one that is not in the bin; BadOutline; Refused without initials; Unknown.
    """
    raise NotImplementedError
