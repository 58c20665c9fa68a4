"""Descriptions mended, at any time, with a reason: who, when, what was said before and what is said now.

Quantities (area, mass, weight, outline) are not descriptions: they change through the book (`measuring`, `envelopes`,
`cloths.weigh_again`). A tag is chalked on the cloth and stays.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, cast

from sqlalchemy import select
from sqlalchemy.orm import Session

from . import cloths, envelopes, jobs, patterns, remnants
from .descriptions import OF_CLOTH, OF_ENVELOPE, OF_JOB, OF_PATTERN, OF_PLACE, OF_REMNANT, Description
from .finding import place_row_of
from .given import a_reason, initials
from .refusals import Refused
from .tables import ClothRow, EnvelopeRow, JobRow, MendedRow, PatternRow, PlaceRow, RemnantRow
from .words import Subject
from .workroom import Workroom

OF_A_CLOTH = tuple(OF_CLOTH)
OF_A_REMNANT = tuple(OF_REMNANT)
OF_AN_ENVELOPE = tuple(OF_ENVELOPE)
OF_A_PLACE = tuple(OF_PLACE)
OF_A_PATTERN = tuple(OF_PATTERN)
OF_A_JOB = tuple(OF_JOB)
THROUGH_THE_BOOK: Mapping[Subject, Mapping[str, str]] = {
    Subject.CLOTH: {"weight": "Weigh it again with `fent cloth weigh`"},
    Subject.REMNANT: dict.fromkeys(
        ("outline", "area", "mass", "length", "width", "faults", "edges", "rough", "nap"),
        "Measure it again with `fent bin measure-again`",
    )
    | {"tag": "A tag is chalked on the cloth and stays"},
    Subject.ENVELOPE: dict.fromkeys(("mass", "area"), "Weigh it again with `fent envelope weigh`")
    | {"tag": "A tag is chalked on the envelope and stays"},
}
"""What somebody may take for a description, and the way that changes it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mended:
    """A description that was mended: of what (`subject` and its `name`, as it is called now), which one, and from what to
    what, in words; `note` is the reason."""

    at: datetime
    by: str
    note: str
    subject: Subject
    name: str
    what: str
    before: str
    after: str


def mend_cloth(workroom: Workroom, cloth: str, /, *, by: str, why: str, **changes: Any) -> cloths.Cloth:
    """Mend a cloth's descriptions (`OF_A_CLOTH`), given as to `cloths.add`.

    Raises Unknown, Taken; Refused for a name that is none of them, a quantity, a change that changes nothing, and without
    initials or reason; WrongState for `one_way` where remnants of it are in the bin, whose nap nobody has told, and Held for
    `faces_alike` where a lay holds one.
    """
    with workroom.writing() as session:
        row = cloths.row_of(session, cloth)
        _mend(session, workroom, Subject.CLOTH, row, OF_CLOTH, changes, by, why)
        return cloths.cloth_of(row)


def mend_remnant(workroom: Workroom, remnant: str, /, *, by: str, why: str, **changes: Any) -> remnants.Remnant:
    """Mend a remnant's descriptions (`OF_A_REMNANT`), given as to `remnants.log`. Raises as `mend_cloth` does; Held where it
    is said to be washed, or not, and a lay holds it."""
    with workroom.writing() as session:
        row = remnants.row_of(session, remnant)
        _mend(session, workroom, Subject.REMNANT, row, OF_REMNANT, changes, by, why)
        return remnants.remnant_of(row)


def mend_envelope(workroom: Workroom, envelope: str, /, *, by: str, why: str, **changes: Any) -> envelopes.Envelope:
    """Mend an envelope's descriptions (`OF_AN_ENVELOPE`). Raises as `mend_cloth` does."""
    with workroom.writing() as session:
        row = envelopes.row_of(session, envelope)
        _mend(session, workroom, Subject.ENVELOPE, row, OF_ENVELOPE, changes, by, why)
        return envelopes.envelope_of(row)


def mend_place(workroom: Workroom, place: str, /, *, by: str, why: str, **changes: Any) -> str:
    """Call a place by another name (`OF_A_PLACE`); returns it. Raises as `mend_cloth` does."""
    with workroom.writing() as session:
        row = place_row_of(session, place)
        _mend(session, workroom, Subject.PLACE, row, OF_PLACE, changes, by, why)
        return row.name


def mend_pattern(workroom: Workroom, pattern: str, /, *, by: str, why: str, **changes: Any) -> patterns.Pattern:
    """Mend a pattern's name or note (`OF_A_PATTERN`). Raises as `mend_cloth` does."""
    with workroom.writing() as session:
        row = patterns.row_of(session, pattern)
        _mend(session, workroom, Subject.PATTERN, row, OF_PATTERN, changes, by, why)
        return patterns.pattern_of(row)


def mend_job(workroom: Workroom, job: str, /, *, by: str, why: str, **changes: Any) -> jobs.Job:
    """Mend a job's name or note (`OF_A_JOB`). Raises as `mend_cloth` does."""
    with workroom.writing() as session:
        row = jobs.row_of(session, job)
        _mend(session, workroom, Subject.JOB, row, OF_JOB, changes, by, why)
        return jobs.job_of(session, row)


def every(workroom: Workroom, *, subject: Subject | None = None, name: str | None = None) -> tuple[Mended, ...]:
    """What was mended, the newest first; of one kind if asked, and of that one of them. Quarantines and releases are among it.

    Raises Unknown for a name that is none, Refused for a name without the kind.
    """
    asked = select(MendedRow).order_by(MendedRow.id.desc())
    with workroom.reading() as session:
        if subject is not None:
            asked = asked.where(MendedRow.subject == subject)
        if name is not None:
            if subject is None:
                raise Refused("it is not said what it is the name of", where="name", expected=f"one of: {', '.join(Subject)}")
            asked = asked.where(MendedRow.subject_id == ROW_OF[subject](session, name).id)
        names: dict[tuple[Subject, int], str] = {}
        found = session.scalars(asked).all()
        for row in found:
            key = (row.subject, row.subject_id)
            if key not in names:
                names[key] = _name(cast(Row, session.get_one(TABLE[row.subject], row.subject_id)))
        return tuple(
            Mended(
                at=row.at,
                by=row.by,
                note=row.note,
                subject=row.subject,
                name=names[row.subject, row.subject_id],
                what=row.what,
                before=row.before,
                after=row.after,
            )
            for row in found
        )


Row = ClothRow | RemnantRow | EnvelopeRow | PlaceRow | PatternRow | JobRow
ROW_OF: Mapping[Subject, Callable[[Session, str], Row]] = {
    Subject.CLOTH: cloths.row_of,
    Subject.REMNANT: remnants.row_of,
    Subject.ENVELOPE: envelopes.row_of,
    Subject.PLACE: place_row_of,
    Subject.PATTERN: patterns.row_of,
    Subject.JOB: jobs.row_of,
}
TABLE: Mapping[Subject, type[Row]] = {
    Subject.CLOTH: ClothRow,
    Subject.REMNANT: RemnantRow,
    Subject.ENVELOPE: EnvelopeRow,
    Subject.PLACE: PlaceRow,
    Subject.PATTERN: PatternRow,
    Subject.JOB: JobRow,
}


def _name(row: Row) -> str:
    return row.tag if isinstance(row, RemnantRow | EnvelopeRow) else row.name


def _mend(
    session: Session,
    workroom: Workroom,
    subject: Subject,
    row: Row,
    known: Mapping[str, Description],
    changes: Mapping[str, Any],
    by: str,
    why: str,
) -> None:
    """Mend descriptions of a row, and keep what was mended. Raises Refused and what the descriptions themselves raise."""
    who = initials(by, "mending a description")
    reason = a_reason(why, "mending a description")
    for name in changes:
        if name not in known:
            way = THROUGH_THE_BOOK.get(subject, {}).get(name, "")
            thing = f"an {subject}" if subject is Subject.ENVELOPE else f"a {subject}"
            what = f"{name} is no description of {thing}" if not way else f"the {name} of {thing} is not mended"
            raise Refused(what, where=str(subject), expected=f"one of: {', '.join(known)}", next=way)
    before = {name: known[name].words(row) for name in changes}
    for name, value in changes.items():
        known[name].put(session, row, value, workroom.now().date())
    session.flush()
    mended = {name: known[name].words(row) for name in changes if known[name].words(row) != before[name]}
    if not mended:
        said = ", ".join(f"{name} {words or 'empty'}" for name, words in before.items()) or "nothing is given"
        raise Refused(f"nothing is changed: {said}", where=_name(row), expected="what shall be said instead")
    of = {"at": workroom.now(), "by": who, "note": reason, "subject": subject, "subject_id": row.id}
    session.add_all(MendedRow(what=name, before=before[name], after=words, **of) for name, words in mended.items())
    session.flush()
