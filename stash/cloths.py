"""Cloths: a kind of fabric, what it is made of and how it may lie."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from .fibres import in_words, make_up
from .given import a_description, a_figure, a_name, key_of, unknown
from .refusals import Taken
from .tables import ClothRow, FibreRow
from .workroom import Workroom

HEAVIEST = 5000.0
"""g/m²: a felt carpet. Above it, a unit was mistaken."""
WIDEST = 20_000.0
"""mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewCloth:
    """A cloth as it is told to the stash.

    `fibres`: percentages by fibre name, 100 in all. `weight`: g/m². `width`: mm between the selvedges, None if not known.
    `one_way`: it has a nap, pile or print that must run the same way in every panel. `faces_alike`: either face may show.
    """

    name: str
    fibres: Mapping[str, float]
    weight: float
    weave: str = ""
    colour: str = ""
    lot: str = ""
    width: float | None = None
    one_way: bool = False
    faces_alike: bool = False
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
        weave=a_description(cloth.weave, "weave"),
        colour=a_description(cloth.colour, "colour"),
        lot=a_description(cloth.lot, "lot"),
        width=None if cloth.width is None else a_figure(cloth.width, "width", unit="mm", most=WIDEST),
        one_way=cloth.one_way,
        faces_alike=cloth.faces_alike,
        note=cloth.note.strip(),
        fibres=[FibreRow(fibre=fibre, share=share) for fibre, share in make_up(cloth.fibres).items()],
        added_at=workroom.now(),
    )
    with workroom.writing() as session:
        if session.scalar(select(ClothRow.id).where(ClothRow.key == row.key)) is not None:
            raise Taken(
                f"there is a cloth {name!r} already", where="cloth", next="Choose another name, or add its dye lot to it"
            )
        session.add(row)
        session.flush()
        return cloth_of(row)


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
        weave=row.weave,
        colour=row.colour,
        lot=row.lot,
        width=row.width,
        one_way=row.one_way,
        faces_alike=row.faces_alike,
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
    raise NotImplementedError
