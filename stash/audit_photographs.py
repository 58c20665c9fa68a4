"""The audit of the photographs: each that was kept is there, and is what it was."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from .audit import Damage, Found
from .photographs import name_of
from .tables import PhotographRow, RemnantRow

PUT_BACK = "Put the photograph back from a copy of the folder, or take a new one"


def photographs(session: Session, folder: Path | None) -> Iterator[Found]:
    """Each photograph is in the folder, and its content is the one it was kept under."""
    asked = select(PhotographRow.name, RemnantRow.tag).join(RemnantRow, PhotographRow.remnant_id == RemnantRow.id)
    for name, tag in session.execute(asked.order_by(PhotographRow.id)):
        there = None if folder is None else folder / name
        if there is None or not there.is_file():
            yield Found(Damage.PHOTOGRAPH_MISSING, f"remnant {tag}", f"{name} is not in {folder}", PUT_BACK)
        elif name_of(there.read_bytes(), there.suffix) != name:
            yield Found(Damage.PHOTOGRAPH_CHANGED, f"remnant {tag}", f"{name} is not what was kept under that name", PUT_BACK)
