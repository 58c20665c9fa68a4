"""What the stash says when it will not, or cannot, do what was asked.

Two families, so that the caller need only look at the family: `Refused` (what was given is wrong: exit status 2) and
`CannotBeDone` (what was given makes sense, but the bin, the lay or the file does not allow it: exit status 1). Whichever is
raised, nothing was changed.
"""

from __future__ import annotations

# ruff: noqa: N818 - these are sentences for a person, named as one would say them, not errors of the program


class Plainly(Exception):
    """A sentence for the person: what was wrong, where, what was expected, what to do next (each but the first may be "")."""

    def __init__(self, what: str, *, where: str = "", expected: str = "", next: str = "") -> None:
        self.what = what
        self.where = where
        self.expected = expected
        self.next = next
        super().__init__(what)

    def __str__(self) -> str:
        """All that is said, in one paragraph, for logs and for whoever uses the stash from Python."""
        said = f"{self.where}: {self.what}" if self.where else self.what
        parts = [said, f"Expected {self.expected}" if self.expected else "", self.next]
        return " ".join(part if part[-1] in ".?!" else part + "." for part in parts if part)


class Refused(Plainly, ValueError):
    """What was given is wrong. Exit status 2."""


class Unknown(Refused, LookupError):
    """No cloth, remnant, pattern, piece, job or lay of that name. `close` holds the names most like it."""

    def __init__(self, what: str, *, where: str = "", expected: str = "", next: str = "", close: tuple[str, ...] = ()) -> None:
        super().__init__(what, where=where, expected=expected, next=next)
        self.close = close


class Taken(Refused):
    """The name or tag is already in use."""


class BadOutline(Refused):
    """An outline that is none: it crosses itself, has a spike, no area, or numbers that are not numbers."""


class NotAStash(Refused):
    """The address leads to something else than a Fent stash, or to nowhere."""


class NewerStash(Refused):
    """The stash was written by a newer Fent, whose tables this one does not know."""


class CannotBeDone(Plainly):
    """It makes sense, but cannot be done as things are. Exit status 1."""


class Busy(CannotBeDone):
    """Another program has the stash in hand and did not let go in time."""


class ReadOnly(CannotBeDone):
    """The stash may be read but not written."""


class DiskFull(CannotBeDone):
    """There is no room to write."""


class NothingQualifies(CannotBeDone):
    """No remnant in the bin will do for a piece of the job."""


class NothingToCut(CannotBeDone):
    """The job has all its panels, cut or chalked."""


class NotNeeded(CannotBeDone):
    """The lay holds more copies than its job still needs: others are cut or chalked already."""


class WrongState(CannotBeDone):
    """The lay or remnant is not in the state that this step starts from (cutting a lay that was rubbed out, say)."""


class Held(CannotBeDone):
    """Another lay holds the remnant."""


class ChangedSince(CannotBeDone):
    """A remnant of the lay was measured again, washed, cut, quarantined or is gone since the lay was tried."""


class StoodOn(CannotBeDone):
    """Later events stand on the entry that is to be undone. `entries`: their numbers."""

    def __init__(
        self, what: str, *, where: str = "", expected: str = "", next: str = "", entries: tuple[int, ...] = ()
    ) -> None:
        super().__init__(what, where=where, expected=expected, next=next)
        self.entries = entries


class Unreachable(CannotBeDone):
    """The database at the address does not answer."""
