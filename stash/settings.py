"""The workroom's own rules, kept in its stash: what is worth keeping and the margins of a lay, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass, fields

from sqlalchemy import select
from sqlalchemy.orm import Session

from .given import a_figure
from .refusals import Refused
from .tables import SettingRow
from .workroom import Workroom


@dataclass(frozen=True, slots=True)
class Settings:
    """All lengths in mm, areas in mm².

    The reasons for the defaults (where no source is named: common practice, no source):
    - `narrowest` 40: a strip that makes a finished 10 mm binding is four times as wide.
    - `smallest_keeper` 10 000 (100 cm²): the least piece that ASTM D3776-20 option C weighs for mass per area; less than
      that cannot even be told apart by its weight.
    - `gap` 2: a chalk line each, and room for the blade between two panels.
    - `edge` 3: kept from every edge, hole and flaw, as what the tape may be out by on a soft edge.
    - `selvedge` 10: a selvedge is woven tighter and often has needle holes. `raw` 6: a raw edge has lost threads.
      A margin is what is kept from that kind of edge in all (never less than `edge`).
    """

    narrowest: float = 40.0
    smallest_keeper: float = 10_000.0
    gap: float = 2.0
    edge: float = 3.0
    selvedge: float = 10.0
    raw: float = 6.0


def read(workroom: Workroom) -> Settings:
    """The workroom's settings; what was never changed has its default."""
    with workroom.reading() as session:
        return settings_of(session)


def change(workroom: Workroom, **changes: float) -> Settings:
    """Change some settings by name. Raises Refused for a name that is none or a figure that is not a length or area ≥ 0."""
    names = [field.name for field in fields(Settings)]
    for name in changes:
        if name not in names:
            raise Refused(f"there is no setting {name!r}", where="settings", expected=f"one of: {', '.join(names)}")
    with workroom.writing() as session:
        for name, value in changes.items():
            unit = "mm²" if name == "smallest_keeper" else "mm"
            session.merge(SettingRow(name=name, value=a_figure(value, name.replace("_", " "), unit=unit, above=False)))
        session.flush()
        return settings_of(session)


def settings_of(session: Session) -> Settings:
    """The settings as a transaction sees them."""
    return Settings(**{row.name: row.value for row in session.scalars(select(SettingRow).where(SettingRow.words.is_(None)))})


def currency(workroom: Workroom) -> str:
    """The currency of all prices in the stash: its ISO 4217 code, "" if none was chosen."""
    raise NotImplementedError


def choose_currency(workroom: Workroom, code: str) -> str:
    """Choose the one currency of all prices. Raises Refused for what is no code of three letters; WrongState where there are
    prices in another one."""
    raise NotImplementedError
