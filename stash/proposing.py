"""What is proposed when the next remnant is logged: the tag after the last one, and what that one had.

Scraps come in by the bag: the next is mostly of the same cloth, goes to the same place and has the next tag.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from .tables import EnvelopeRow, RemnantRow
from .tags import following
from .workroom import Workroom


@dataclass(frozen=True, slots=True)
class Proposed:
    """A tag that is free, a cloth and a place; "" where there is nothing to go by."""

    tag: str = ""
    cloth: str = ""
    place: str = ""


def after_the_last(workroom: Workroom, tag: str = "") -> Proposed:
    """After the remnant that was logged last; for a tag, after the last whose tag begins with the same letters.

    So E-3 is proposed the cloth and place of E-2, even if N-12 came in meanwhile.
    """
    with workroom.reading() as session:
        row = _last(session, tag) or _last(session, "")
        if row is None:
            return Proposed()
        return Proposed(_free_after(session, row.tag), row.cloth.name, row.place.name if row.place else "")


def _last(session: Session, tag: str) -> RemnantRow | None:
    """The newest remnant that came from outside, of tags that begin so."""
    asked = select(RemnantRow).where(RemnantRow.parent_id.is_(None)).order_by(RemnantRow.id.desc()).limit(1)
    letters = re.match(r"\D*", tag.strip().upper())
    if letters and letters[0]:
        asked = asked.where(RemnantRow.tag.startswith(letters[0], autoescape=True))
    return session.scalar(asked)


def _free_after(session: Session, tag: str) -> str:
    """The next tag that neither a remnant nor an envelope has."""
    tag = following(tag)
    while tag and any(session.scalar(select(table.id).where(table.tag == tag)) for table in (RemnantRow, EnvelopeRow)):
        tag = following(tag)
    return tag
