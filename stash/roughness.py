"""When measuring a rough remnant in full would be worth it.

The rule: the lay lacks panels; the remnant is rough, in the bin, out of quarantine, and of a cloth that the piece may be cut from;
and either (1) it was weighed, and its weight says that beside its rectangle there is at least as much cloth as one panel takes;
or (2) it was not weighed, and its rectangle holds a panel or lacks at most a fifth of one's length or width: a scrap's largest
rectangle is seldom more than four fifths of it (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

from nesting import Result

from .asking import Asked
from .workroom import Workroom

SHORT_BY = 0.2
"""The share of a panel's length or width that an unweighed rectangle may lack."""


@dataclass(frozen=True, slots=True)
class WorthMeasuring:
    """A rough remnant that is worth measuring in full, for which piece, where it is, and why, in words. `hidden_area`: mm² of
    cloth beside its rectangle as its weight says, None if it was not weighed."""

    tag: str
    piece: str
    place: str
    hidden_area: float | None
    why: str


def worth_measuring(workroom: Workroom, asked: Asked, result: Result | None = None) -> tuple[WorthMeasuring, ...]:
    """The rough remnants worth measuring, those whose weight says most first, each once. `result` None: nothing could be laid."""
    raise NotImplementedError
