"""Where a flaw may come to lie in what is cut, by its kind and the face that it is on: the workroom's rules, and of a single
flaw what was said of it.

The defaults (common practice, no source): a *mark* (stain, fade, shine, crease) may lie in a hidden piece, and one on the
wrong face anywhere; a *weak place* (thin, needle holes) only in an allowance, since a hidden piece must hold, too. A flaw that
may lie in hidden pieces may lie in the allowances of seen ones, and so on down to *nowhere*.
"""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import select
from sqlalchemy.orm import Session

from .given import initials
from .refusals import Refused
from .tables import FaultRow, MendedRow, RemnantRow, SettingRow
from .words import Face, FaultKind, MayLie, RemnantState, Subject
from .workroom import Workroom

WEAK = frozenset({FaultKind.THIN, FaultKind.NEEDLE_HOLES})
"""Flaws that weaken the cloth; every other flaw is a mark."""
FLAWS = tuple(kind for kind in FaultKind if kind is not FaultKind.HOLE)
Rules = Mapping[tuple[FaultKind, Face], MayLie]
_KEPT = "flaw rules"


def default(kind: FaultKind, face: Face) -> MayLie:
    """Where a flaw may lie if the workroom has said nothing."""
    if kind in WEAK:
        return MayLie.ALLOWANCE
    return MayLie.ANYWHERE if face is Face.WRONG else MayLie.HIDDEN


def every(workroom: Workroom) -> Rules:
    """The rules of the workroom, of every kind and face."""
    with workroom.reading() as session:
        return rules_of(session)


def choose(workroom: Workroom, kind: FaultKind, face: Face, may_lie: MayLie, *, by: str) -> Rules:
    """Say where flaws of a kind on a face may lie (of a flaw on both faces, the rule for `both`). Lays that were tried must be
    tried again where a remnant has such a flaw. Raises Refused for a hole, which is no cloth, and without initials."""
    who = initials(by, "a rule for flaws")
    if kind is FaultKind.HOLE:
        raise Refused("a hole is no cloth", where="flaw", expected=f"one of: {', '.join(FLAWS)}")
    with workroom.writing() as session:
        before = rules_of(session)[kind, face]
        session.merge(SettingRow(name=_name(kind, face), value=0.0, words=str(may_lie)))
        session.info.pop(_KEPT, None)
        hurt = select(RemnantRow).join(FaultRow).where(FaultRow.kind == kind, RemnantRow.state == RemnantState.IN_BIN)
        for row in session.scalars(hurt.distinct()):
            row.revision += 1
            said = {"subject": Subject.REMNANT, "subject_id": row.id, "what": f"{kind} may lie", "note": "a rule for flaws"}
            session.add(MendedRow(at=workroom.now(), by=who, before=str(before), after=str(may_lie), **said))
        session.flush()
        return rules_of(session)


def rules_of(session: Session | None) -> Rules:
    """The rules as a transaction sees them; asked of the database once in it."""
    if session is None:
        return {(kind, face): default(kind, face) for kind in FLAWS for face in Face}
    if _KEPT not in session.info:
        rows = session.scalars(select(SettingRow).where(SettingRow.words.is_not(None)))
        said = {row.name: row.words for row in rows}
        session.info[_KEPT] = {
            (kind, face): MayLie(chosen) if (chosen := said.get(_name(kind, face))) else default(kind, face)
            for kind in FLAWS
            for face in Face
        }
    found: Rules = session.info[_KEPT]
    return found


def may_lie(fault: FaultRow, rules: Rules, *, turned_over: bool = False) -> MayLie:
    """Where a flaw may lie. On a panel that may be `turned_over` a mark on the wrong face may come to show."""
    if fault.may_lie is not None:
        return fault.may_lie
    return rules[fault.kind, Face.RIGHT if turned_over and fault.face is Face.WRONG else fault.face]


def _name(kind: FaultKind, face: Face) -> str:
    return f"flaw: {kind}, {face}"


__all__ = ["FLAWS", "WEAK", "Rules", "choose", "default", "every", "may_lie", "rules_of"]
