"""The keepers that a cut gave, looked at by hand: confirmed, measured again (`measuring`), put into an envelope
(`envelopes.put_away`) or thrown away."""

from __future__ import annotations

from collections.abc import Sequence

from .remnants import Remnant
from .workroom import Workroom


def waiting(workroom: Workroom, *, lay: int | None = None) -> tuple[Remnant, ...]:
    """The keepers in the bin that nobody has looked at since they were computed, by tag; of one cut lay if asked. Raises
    Unknown."""
    raise NotImplementedError


def confirm(workroom: Workroom, tags: Sequence[str], *, by: str, place: str | None = None) -> tuple[Remnant, ...]:
    """These are as the book says, and are put away, at `place` if it is said. For all of a lay's, give the tags of
    `waiting`. Raises WrongState for one that is confirmed already or not in the bin, Unknown; Refused without initials."""
    raise NotImplementedError


def throw_away(workroom: Workroom, tag: str, *, by: str, note: str = "") -> Remnant:
    """Throw a remnant out: it is *gone*. One in quarantine may be. Raises WrongState for one that is held or not in the bin,
    Unknown; Refused without initials."""
    raise NotImplementedError
