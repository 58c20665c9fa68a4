"""The audit: the whole stash gone through, and every fault in it told with its place and its way out. It changes nothing.

What is stored is held against what else is stored: entries against their lines, the book against the bin, outlines against
booked areas, children against parents, lays against the cloth they lie on. What the database itself cannot read is told
first, and what rests on it is then not looked at: one fault would be told a hundred times.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from .tables import ClothRow, EntryRow, EnvelopeRow, LayRow, PhotographRow, RemnantRow
from .workroom import Workroom

RESTORE = "Keep this file as it is, restore the last sound copy, and enter again what has happened since"
"""The way out where what was lost cannot be known."""


class Damage(StrEnum):
    """The kinds of fault that are looked for, in the order in which they are told."""

    FILE = "the file is damaged"
    UNREADABLE = "it cannot be read"
    RULE = "it breaks a rule of its table"
    NOWHERE = "it points to nothing"
    GUARD = "the book is not guarded"
    ENTRY_MISSING = "an entry is missing"
    LINES_MISSING = "lines are missing"
    UNBALANCED = "it does not sum to zero"
    WRONG_UNDOING = "it does not undo what it says"
    NOT_AS_BOOKED = "it is not what the book says"
    CUT_WORK = "its panels are not what the book says"
    OUTLINE = "its outline is none"
    AREA = "its area is not its outline's"
    MEASURES = "its measures are not its outline's"
    FAMILY = "it cannot come from that"
    OUTSIDE = "it lies outside what it was cut from"
    OVERLAP = "it overlaps what was cut beside it"
    HELD = "it is held by no chalked lay"
    NOT_HELD = "the lay does not hold it"
    LAY = "the lay is not allowed"
    MAKE_UP = "its fibres do not make 100 %"
    PHOTOGRAPH_MISSING = "its photograph is not there"
    PHOTOGRAPH_CHANGED = "its photograph is another"


@dataclass(frozen=True, slots=True)
class Found:
    """A fault: its kind, its place (an entry, a remnant, a lay …), what was found, and the way out."""

    damage: Damage
    place: str
    what: str
    way_out: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Audit:
    """What was found, and how much was looked at."""

    faults: tuple[Found, ...]
    entries: int
    cloths: int
    remnants: int
    envelopes: int
    lays: int
    photographs: int

    @property
    def clean(self) -> bool:
        """Whether nothing was found."""
        return not self.faults


Check = Callable[[Session], Iterator[Found]]


def audit(workroom: Workroom) -> Audit:
    """Go through the whole stash. Nothing is changed."""
    from . import audit_book, audit_cloth, audit_file, audit_lays, audit_photographs
    from .photographs import folder_of

    with workroom.reading() as session:
        counts = {
            name: session.scalar(select(func.count()).select_from(table)) or 0
            for name, table in (
                ("entries", EntryRow),
                ("cloths", ClothRow),
                ("remnants", RemnantRow),
                ("envelopes", EnvelopeRow),
                ("lays", LayRow),
                ("photographs", PhotographRow),
            )
        }
        found = [fault for check in audit_file.CHECKS for fault in check(session)]
        if not any(fault.damage in (Damage.FILE, Damage.UNREADABLE) for fault in found):
            checks: tuple[Check, ...] = (*audit_book.CHECKS, *audit_cloth.CHECKS, *audit_lays.CHECKS)
            found += [fault for check in checks for fault in check(session)]
            found += audit_photographs.photographs(session, folder_of(workroom))
    order = list(Damage)
    return Audit(faults=tuple(sorted(found, key=lambda fault: order.index(fault.damage))), **counts)
