"""The workroom's own rules, kept in its stash: what is worth keeping, the margins of a lay, the currency; each with its
reason.
They are here and not in a person's own file because they decide what is cut and kept: all who share a stash must have the
same, and a lay tried by one is chalked by another. How a person likes to see things (units, rounding, colours), who they are
(initials), where their stash is and what their scale and tape may be out by is theirs, and is kept in their own file by `cli`.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

from sqlalchemy import select
from sqlalchemy.orm import Session

from .given import a_figure, cents
from .refusals import Refused, WrongState
from .tables import ClothRow, RemnantRow, SettingRow
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
    - `selvedge` 10: a selvedge is woven tighter and often has needle holes (a cloth may have its own). `raw` 6: a raw edge
      has lost threads. A margin is what is kept from that kind of edge in all (never less than `edge`, which a cut edge has).
    - `slip` 1: what a ply of a stack slips by while it is cut, pinned or weighted down. `fold` 5: kept from a fold, which
      takes cloth to go round and is often faded.
    - `heaviest` 1500 g/m², `thickest` 5 mm: a stack in all; six plies of a shirting, four of a twill, which shears and a small
      rotary blade still go through without pushing the plies apart. What a blade may cut is for its maker to say.
    """

    narrowest: float = 40.0
    smallest_keeper: float = 10_000.0
    gap: float = 2.0
    edge: float = 3.0
    selvedge: float = 10.0
    raw: float = 6.0
    slip: float = 1.0
    fold: float = 5.0
    heaviest: float = 1500.0
    thickest: float = 5.0


UNITS = {"smallest_keeper": "mm²", "heaviest": "g/m²"}
"""Of the settings that are not in mm."""


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
            unit = UNITS.get(name, "mm")
            session.merge(SettingRow(name=name, value=a_figure(value, name.replace("_", " "), unit=unit, above=False)))
        session.flush()
        return settings_of(session)


def settings_of(session: Session) -> Settings:
    """The settings as a transaction sees them."""
    return Settings(**{row.name: row.value for row in session.scalars(select(SettingRow).where(SettingRow.words.is_(None)))})


CURRENCY = "currency"


def currency(workroom: Workroom) -> str:
    """The currency of all prices in the stash: its ISO 4217 code, "" if none was chosen."""
    with workroom.reading() as session:
        return _currency(session)


def choose_currency(workroom: Workroom, code: str) -> str:
    """Choose the one currency of all prices. Raises Refused for what is no code of three letters; WrongState where there are
    prices in another one."""
    chosen = code.strip().upper()
    if len(chosen) != 3 or not chosen.isascii() or not chosen.isalpha():
        raise Refused(f"{code!r:.20} is no currency", where="currency", expected="its three letters, such as EUR or USD")
    with workroom.writing() as session:
        before = _currency(session)
        priced = (select(table.id).where(table.price.is_not(None)).limit(1) for table in (ClothRow, RemnantRow))
        if before not in ("", chosen) and any(session.scalar(one) is not None for one in priced):
            raise WrongState(
                f"there are prices in {before}",
                where="currency",
                expected="one currency for all prices",
                next=f"Go on in {before}: prices are not converted",
            )
        session.merge(SettingRow(name=CURRENCY, value=0.0, words=chosen))
        return chosen


def a_price(session: Session, given: int | None) -> int | None:
    """A price in whole cents of the workroom's currency, None for none that is known. Raises Refused where no currency is
    chosen: 12.50 of nobody knows what would be added to other prices for years."""
    price = cents(given, "price")
    if price is not None and not _currency(session):
        raise Refused(
            "a price is given, and the currency of all prices is not chosen yet",
            where="price",
            expected="the currency first, once for the whole workroom",
            next="fent book currency EUR, or whichever it is",
        )
    return price


def _currency(session: Session) -> str:
    return session.scalar(select(SettingRow.words).where(SettingRow.name == CURRENCY)) or ""
