"""Cloths: a kind of fabric, what it is made of and how it may lie."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from .workroom import Workroom


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
        raise NotImplementedError


def add(workroom: Workroom, cloth: NewCloth) -> Cloth:
    """Put a cloth on the list. Raises Taken for a name in use, Refused for fibres that do not make 100 %, a weight that is
    none, and the like."""
    raise NotImplementedError


def get(workroom: Workroom, name: str) -> Cloth:
    """The cloth of that name (capitals do not matter). Raises Unknown, with close names."""
    raise NotImplementedError


def every(workroom: Workroom) -> tuple[Cloth, ...]:
    """All cloths by name."""
    raise NotImplementedError
