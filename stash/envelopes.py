"""Envelopes: offcuts too small to outline, kept by cloth, dye lot and mass. They are in the book's balance, never in a lay.

What is only weighed has the area that its weight says (mass ÷ g/m²); what was a remnant before keeps the area it was booked with.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from .words import Source
from .workroom import Workroom


@dataclass(frozen=True, slots=True, kw_only=True)
class NewEnvelope:
    """An envelope as it is told to the stash. `lot`: None for the cloth's own dye lot. `mass`: g, 0 for an empty one."""

    tag: str
    cloth: str
    mass: float = 0.0
    lot: str | None = None
    place: str = ""
    source: Source = Source.FOUND
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope:
    """An envelope in the stash: g, and mm² as booked."""

    id: int
    tag: str
    cloth: str
    lot: str
    mass: float
    area: float
    place: str
    note: str
    opened_at: datetime


def add(workroom: Workroom, envelope: NewEnvelope, *, by: str = "") -> Envelope:
    """A new envelope, with what is in it. Raises Taken for a tag that an envelope or a remnant has, Unknown, Refused."""
    raise NotImplementedError


def get(workroom: Workroom, tag: str) -> Envelope:
    """The envelope of that tag. Raises Unknown, with close tags."""
    raise NotImplementedError


def every(workroom: Workroom, *, cloth: str | None = None) -> tuple[Envelope, ...]:
    """All envelopes by tag; of one cloth if asked. Raises Unknown."""
    raise NotImplementedError


def put_in(
    workroom: Workroom, tag: str, mass: float, *, source: Source = Source.FOUND, by: str = "", note: str = ""
) -> Envelope:
    """More offcuts into an envelope, `mass` g of them. Raises Unknown, Refused."""
    raise NotImplementedError


def put_away(workroom: Workroom, tag: str, remnants: Sequence[str], *, mass: float, by: str, note: str = "") -> Envelope:
    """Put remnants (keepers that are not worth a tag, say) into an envelope; together they weigh `mass` g.

    Their areas go over as booked; where the scale says another mass than the book, the difference is *re-measured*. They are
    then gone as remnants. Raises WrongState for one that is held, in quarantine or not in the bin; Refused for one of another
    cloth or named twice, and without initials.
    """
    raise NotImplementedError


def take_out(workroom: Workroom, tag: str, mass: float | None = None, *, by: str, note: str = "") -> Envelope:
    """Take `mass` g (None: all) out of an envelope, into the rag bag; its area goes in proportion.

    Raises Refused for more than is in it, and without initials; WrongState for an empty one.
    """
    raise NotImplementedError


def weigh_again(workroom: Workroom, tag: str, mass: float, *, by: str, note: str = "") -> Envelope:
    """Say what an envelope really weighs: the difference is *re-measured*. Raises Refused without initials."""
    raise NotImplementedError
