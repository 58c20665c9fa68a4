"""Cloths: a kind of fabric, what it is made of and how it may lie."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from . import telling
from .amounts import grams, mass_of
from .book import Posting, post
from .fibres import in_words, make_up
from .given import a_description, a_figure, a_name, initials, key_of, unknown
from .refusals import Refused, Taken
from .settings import a_price
from .tables import ClothBeforeRow, ClothRow, FibreRow, LineRow, RemnantRow
from .words import Account, Event, RemnantState
from .workroom import Workroom

HEAVIEST = 5000.0
"""g/m²: a felt carpet. Above it, a unit was mistaken."""
WIDEST = 20_000.0
"""mm."""
WIDEST_SELVEDGE = 100.0
"""mm."""
MOST_FRAYING = 50.0
"""mm."""
MOST_SHRINKAGE, MOST_GROWTH = 50.0, 20.0
"""Per cent, about which a cloth may be believed to change in a wash: felting wool goes that far, nothing goes farther."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewCloth:
    """A cloth as it is told to the stash.

    `fibres`: percentages by fibre name, 100 in all. `weight`: g/m², `weight_within`: by how much it may be out where it was
    worked out from a piece (`weighing`). `width`: mm between the selvedges, None if not known. `selvedge`: mm that panels are
    kept from its selvedges, None for the workroom's margin. `one_way`: it has a nap, pile or print that must run the same way
    in every panel. `faces_alike`: either face may show. `shrinks_warp`, `shrinks_weft`: per cent that it is expected to shrink
    along and across the grain in the first wash (below 0: it grows). `frays`: mm that a cut edge loses before it is sewn, None
    if not known. `thickness`: mm of one ply, None if not known. `price`: whole cents for a metre off the roll.
    `repeat_along`, `repeat_across`: mm from one bar of its stripe or check to the next like it, along and across the grain,
    None where there is none; `bar`: which bar of the repeat is meant when one is measured; `uneven_along`, `uneven_across`: it
    is not the same read backwards from that bar.
    """

    name: str
    fibres: Mapping[str, float]
    weight: float
    weight_within: float | None = None
    weave: str = ""
    colour: str = ""
    lot: str = ""
    width: float | None = None
    selvedge: float | None = None
    one_way: bool = False
    faces_alike: bool = False
    shrinks_warp: float | None = None
    shrinks_weft: float | None = None
    frays: float | None = None
    thickness: float | None = None
    repeat_along: float | None = None
    repeat_across: float | None = None
    bar: str = ""
    uneven_along: bool = False
    uneven_across: bool = False
    price: int | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cloth(NewCloth):
    """A cloth in the stash."""

    id: int

    @property
    def made_of(self) -> str:
        """Its make-up in words, largest part first: "55 % linen, 45 % cotton"."""
        return in_words(self.fibres)


def add(workroom: Workroom, cloth: NewCloth) -> Cloth:
    """Put a cloth on the list. Raises Taken for a name in use, Refused for fibres that do not make 100 %, a weight that is
    none, and the like."""
    name = a_name(cloth.name, "cloth")
    row = ClothRow(
        name=name,
        key=key_of(name),
        weight=a_figure(cloth.weight, "weight", unit="g/m²", most=HEAVIEST),
        weight_within=a_margin_of(cloth.weight, cloth.weight_within),
        weave=a_description(cloth.weave, "weave"),
        colour=a_description(cloth.colour, "colour"),
        lot=a_description(cloth.lot, "lot"),
        width=a_width(cloth.width),
        selvedge=a_selvedge(cloth.selvedge),
        one_way=cloth.one_way,
        faces_alike=cloth.faces_alike,
        shrinks_warp=a_shrinkage(cloth.shrinks_warp),
        shrinks_weft=a_shrinkage(cloth.shrinks_weft),
        frays=a_fraying(cloth.frays),
        thickness=a_thickness(cloth.thickness),
        repeat_along=a_repeat(cloth.repeat_along, "repeat along the grain"),
        repeat_across=a_repeat(cloth.repeat_across, "repeat across the grain"),
        bar=a_description(cloth.bar, "bar"),
        uneven_along=cloth.uneven_along,
        uneven_across=cloth.uneven_across,
        note=cloth.note.strip(),
        fibres=[FibreRow(fibre=fibre, share=share) for fibre, share in make_up(cloth.fibres).items()],
        added_at=workroom.now(),
    )
    with workroom.writing() as session:
        must_be_free(session, name)
        row.price = a_price(session, cloth.price)
        session.add(row)
        session.flush()
        return cloth_of(row)


def must_be_free(session: Session, name: str) -> None:
    """Raise Taken where there is a cloth of that name."""
    if session.scalar(select(ClothRow.id).where(ClothRow.key == key_of(name))) is not None:
        raise Taken(f"there is a cloth {name!r} already", where="cloth", next="Choose another name, or add its dye lot to it")


def a_width(given: float | None) -> float | None:
    """A width between selvedges. Raises Refused."""
    return None if given is None else a_figure(given, "width", unit="mm", most=WIDEST)


def a_selvedge(given: float | None) -> float | None:
    """What is kept from a cloth's selvedges. Raises Refused."""
    return None if given is None else a_figure(given, "selvedge", unit="mm", above=False, most=WIDEST_SELVEDGE)


def a_fraying(given: float | None) -> float | None:
    """How far cut edges fray, mm. Raises Refused."""
    return None if given is None else a_figure(given, "fraying", unit="mm", above=False, most=MOST_FRAYING)


THICKEST = 50.0
"""mm: a quilted wadding; more is not cut with shears."""


def a_thickness(given: float | None) -> float | None:
    """How thick one ply is, mm. Raises Refused."""
    return None if given is None else a_figure(given, "thickness", unit="mm", most=THICKEST)


LONGEST_REPEAT = 2000.0
"""mm: no loom repeats a stripe more rarely."""


def a_repeat(given: float | None, what: str) -> float | None:
    """From one bar to the next like it, mm; None or 0 for none. Raises Refused."""
    return None if given is None else a_figure(given, what, unit="mm", above=False, most=LONGEST_REPEAT) or None


def a_shrinkage(given: float | None) -> float | None:
    """An expected shrinkage, per cent. Raises Refused."""
    return (
        None if given is None else a_figure(given, "shrinkage", unit="%", least=-MOST_GROWTH, above=False, most=MOST_SHRINKAGE)
    )


def a_margin_of(weight: float, within: float | None) -> float | None:
    """By how much a weight may be out. Raises Refused for as much as it is."""
    return None if within is None else a_figure(within, "give or take", unit="g/m²", above=False, most=weight)


def get(workroom: Workroom, name: str) -> Cloth:
    """The cloth of that name (capitals do not matter). Raises Unknown, with close names."""
    with workroom.reading() as session:
        return cloth_of(row_of(session, name))


def every(workroom: Workroom) -> tuple[Cloth, ...]:
    """All cloths by name."""
    with workroom.reading() as session:
        return tuple(cloth_of(row) for row in session.scalars(select(ClothRow).order_by(ClothRow.key)))


def row_of(session: Session, name: str) -> ClothRow:
    """The row of the cloth of that name. Raises Unknown."""
    row = session.scalar(select(ClothRow).where(ClothRow.key == key_of(name)))
    if row is None:
        raise unknown("cloth", name, session.scalars(select(ClothRow.name)), listed="fent cloth list")
    return row


def cloth_of(row: ClothRow) -> Cloth:
    """The cloth that a row holds."""
    return Cloth(
        id=row.id,
        name=row.name,
        fibres={part.fibre: part.share / 100 for part in sorted(row.fibres, key=lambda part: (-part.share, part.fibre))},
        weight=row.weight,
        weight_within=row.weight_within,
        weave=row.weave,
        colour=row.colour,
        lot=row.lot,
        width=row.width,
        selvedge=row.selvedge,
        one_way=row.one_way,
        faces_alike=row.faces_alike,
        shrinks_warp=row.shrinks_warp,
        shrinks_weft=row.shrinks_weft,
        frays=row.frays,
        thickness=row.thickness,
        repeat_along=row.repeat_along,
        repeat_across=row.repeat_across,
        bar=row.bar,
        uneven_along=row.uneven_along,
        uneven_across=row.uneven_across,
        price=row.price,
        note=row.note,
    )


@dataclass(frozen=True, slots=True)
class WeighedAgain:
    """A cloth whose weight was put right, and what that did: the remnants whose mass by area was booked anew, by how many g in
    all, and the number of the entry (None where there were none)."""

    cloth: Cloth
    remnants: tuple[str, ...]
    mass: float
    entry: int | None


def weigh_again(
    workroom: Workroom, name: str, weight: float, *, within: float | None = None, by: str, note: str = ""
) -> WeighedAgain:
    """Put a cloth's weight right (g/m², give or take `within`), through the book: remnants in the bin whose mass is by their
    area alone have it booked anew. Raises Unknown; Refused for a weight that is none or no other, and without initials."""
    who = initials(by, "weighing a cloth again")
    weight = a_figure(weight, "weight", unit="g/m²", most=HEAVIEST)
    within = a_margin_of(weight, within)
    with workroom.writing() as session:
        cloth = row_of(session, name)
        if (cloth.weight, cloth.weight_within) == (weight, within):
            raise Refused(f"{cloth.name} is {telling.cloth_weight(weight)} already", where="weight", expected="another weight")
        before = {"weight": cloth.weight, "weight_within": cloth.weight_within}
        cloth.weight, cloth.weight_within = weight, within
        lines: list[LineRow] = []
        kept = (RemnantState.IN_BIN, RemnantState.HELD, RemnantState.LOST)
        remnants = session.scalars(select(RemnantRow).where(RemnantRow.cloth_id == cloth.id, RemnantRow.state.in_(kept)))
        booked = [row for row in remnants.all() if _by_area(row)]
        for row in booked:
            more = mass_of(row.area, weight) - row.mass
            row.mass += more
            account = Account.LOST if row.state is RemnantState.LOST else Account.BIN
            of_it = {"cloth_id": cloth.id, "remnant_id": row.id, "area": 0}
            lines.append(LineRow(account=account, detail="", mass=more, **of_it))
            lines.append(LineRow(account=Account.RE_MEASURED, detail="weight of the cloth", mass=-more, **of_it))
        posting = Posting(at=workroom.now(), event=Event.WEIGHED_AGAIN, by=who, note=note.strip())
        entry = post(session, posting, lines).id if any(line.mass for line in lines) else None
        session.add(ClothBeforeRow(cloth_id=cloth.id, entry_id=entry, at=workroom.now(), **before))
        gained = sum(line.mass for line in lines if line.account is not Account.RE_MEASURED)
        session.flush()
        return WeighedAgain(cloth_of(cloth), tuple(row.tag for row in booked), grams(gained), entry)


def _by_area(row: RemnantRow) -> bool:
    """Whether a remnant's mass is by its area alone: neither it nor what it was cut from was ever weighed."""
    while not row.weighed and row.parent is not None:
        row = row.parent
    return not row.weighed
