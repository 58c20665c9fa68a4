"""Descriptions mended, at any time, with a note: who, when, what was said before and what is said now.

Quantities (area, mass, weight, outline) are not descriptions: they change through the book (`measuring`, `envelopes`,
`cloths.weigh_again`). A tag is chalked on the cloth and stays.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from .cloths import Cloth
from .envelopes import Envelope
from .remnants import Remnant
from .words import Subject
from .workroom import Workroom

OF_A_CLOTH = (
    *("name", "fibres", "weave", "colour", "lot", "width", "selvedge", "one_way", "faces_alike"),
    *("shrinks_warp", "shrinks_weft", "price", "note"),
)
OF_A_REMNANT = ("place", "washed", "source", "came_on", "price", "note")
OF_AN_ENVELOPE = ("lot", "place", "note")


@dataclass(frozen=True, slots=True, kw_only=True)
class Mended:
    """A description that was mended: of what (`subject` and its `name`, now), which one, and from what to what, in words."""

    at: datetime
    by: str
    note: str
    subject: Subject
    name: str
    what: str
    before: str
    after: str


def mend_cloth(workroom: Workroom, name: str, *, by: str, note: str, **changes: Any) -> Cloth:
    """Mend a cloth's descriptions (`OF_A_CLOTH`), given as to `cloths.add`.

    Raises Unknown, Taken; Refused for a name that is none of them, a quantity, a change that changes nothing, and without
    initials or note; WrongState for `one_way` where remnants of it are in the bin, whose nap nobody has told.
    """
    raise NotImplementedError


def mend_remnant(workroom: Workroom, tag: str, *, by: str, note: str, **changes: Any) -> Remnant:
    """Mend a remnant's descriptions (`OF_A_REMNANT`), given as to `remnants.log`. Raises as `mend_cloth` does."""
    raise NotImplementedError


def mend_envelope(workroom: Workroom, tag: str, *, by: str, note: str, **changes: Any) -> Envelope:
    """Mend an envelope's descriptions (`OF_AN_ENVELOPE`). Raises as `mend_cloth` does."""
    raise NotImplementedError


def every(workroom: Workroom, *, subject: Subject | None = None, name: str | None = None) -> tuple[Mended, ...]:
    """What was mended, the newest first; of one kind, or of one cloth, remnant or envelope, if asked. Raises Unknown."""
    raise NotImplementedError
