"""What a remnant was before its measures changed (measured again, washed): kept whole beside the entry, and put back if the
entry is undone."""

from __future__ import annotations

from collections.abc import Container
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import inspect
from sqlalchemy.orm import Session

from .refusals import WrongState
from .settling import cloth_in
from .tables import EdgeRow, FaultRow, Moment, RemnantBeforeRow, RemnantRow
from .wkt import read, written
from .words import FaultKind

NOT_KEPT = frozenset(
    (
        *("id", "tag", "cloth_id", "parent_id", "state", "held_by_id", "place_id", "outline", "revision"),
        *("source", "price", "came_on", "note", "logged_at"),
        *("quarantined_at", "quarantined_by", "quarantine_reason", "released_at", "released_by"),
    )
)
"""Columns of a remnant that no measuring or washing changes: what it is called, where it stands, what is said of it."""


def before_of(row: RemnantRow, at: datetime) -> RemnantBeforeRow:
    """What the remnant is now, before an event changes its measures."""
    shape = cloth_in(row.outline, [fault.shape for fault in row.faults if fault.kind is FaultKind.HOLE])
    was: dict[str, Any] = {name: _plain(getattr(row, name)) for name in _kept()}
    was["outline"] = written(row.outline)
    was["faults"] = [
        {"kind": str(f.kind), "face": str(f.face), "shape": written(f.shape), "may_lie": _plain(f.may_lie)} for f in row.faults
    ]
    was["edges"] = [{"kind": str(e.kind), "line": written(e.line)} for e in row.edges]
    return RemnantBeforeRow(remnant_id=row.id, at=at, shape=shape, rough=row.rough, area=row.area, mass=row.mass, was=was)


def put_back(session: Session, row: RemnantRow, before: RemnantBeforeRow, *, but: Container[str] = ()) -> None:
    """Make the remnant what it was, but for some columns. Lays tried on it since must be tried again. Raises WrongState where
    it was not kept."""
    if before.was is None:
        raise WrongState(
            f"what {row.tag} was before it was measured again was not kept by the Fent of that day",
            where="remnant",
            expected="an entry made since",
            next=f"Measure it as it is: `fent bin measure-again {row.tag}`",
        )
    for name in _kept():
        if name in before.was and name not in but:
            setattr(row, name, _read(name, before.was[name]))
    row.outline = read(before.was["outline"])
    row.faults = [
        FaultRow(kind=f["kind"], face=f["face"], shape=read(f["shape"]), may_lie=f.get("may_lie"))
        for f in before.was["faults"]
    ]
    row.edges = [EdgeRow(kind=e["kind"], line=read(e["line"])) for e in before.was["edges"]]
    row.revision += 1
    session.flush()
    session.refresh(row)


def _kept() -> list[str]:
    return [column.key for column in inspect(RemnantRow).column_attrs if column.key not in NOT_KEPT]


def _plain(value: Any) -> Any:
    """A column's value as JSON holds it."""
    if isinstance(value, date):
        return value.isoformat()
    return str(value) if isinstance(value, StrEnum) else value


def _read(name: str, value: Any) -> Any:
    """A value from JSON as its column wants it."""
    moment = isinstance(RemnantRow.__table__.c[name].type, Moment)
    return datetime.fromisoformat(value) if moment and value is not None else value
