"""A remnant that is not on its shelf, and one that turns up again."""

from __future__ import annotations

from dataclasses import dataclass

from .plans import Lay
from .remnants import Remnant
from .workroom import Workroom


@dataclass(frozen=True, slots=True)
class NotThere:
    """What came of it. `lay`: the chalked lay that held it, as it stands without it, if one did. `missing`: how many of its
    panels the job lacks by that. `tried`: lays that were only tried on it, and cannot be chalked now."""

    remnant: Remnant
    lay: Lay | None
    missing: int
    tried: tuple[int, ...]


def not_there(workroom: Workroom, tag: str, *, by: str, note: str = "") -> NotThere:
    """A remnant is not where it should be: it is *lost* in the book from now on.

    A chalked lay that held it keeps its other remnants; its panels on this one are *uncut*, and the job lacks them again. It may
    be cut as it is, or planned again round what is chalked (`asking.ask_round`). If it holds nothing else it is rubbed out.
    Raises WrongState for one that is not in the bin; Refused without initials; Unknown.
    """
    raise NotImplementedError


def found_again(workroom: Workroom, tag: str, *, by: str, place: str | None = None, note: str = "") -> Remnant:
    """A lost remnant turned up: back into the bin, at `place` if it is said. Raises WrongState, Unknown; Refused without
    initials."""
    raise NotImplementedError
