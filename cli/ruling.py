"""A piece's own cloth rule, as it is typed after semicolons: `; fibre linen or hemp; weight 120-150 g/m2; washed; hidden`."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from . import reading

if TYPE_CHECKING:
    from stash.jobs import ClothRule

EXPECTED = (
    "fibre NAME or NAME, weight 120-150 g/m2, weight from 120, weight to 150, colour NAME, weave NAME, washed, hidden, seen"
)
WEIGHT = re.compile(r"weight\s+(?:from\s+)?([\d.,]+)?\s*(?:(?:-|–|to)\s*([\d.,]+))?\s*(\S+)?", re.IGNORECASE)
LISTED = {"fibre": "fibres", "colour": "colours", "weave": "weaves"}


def own_rule(rule: ClothRule, clauses: Sequence[str], where: str = "--piece") -> tuple[ClothRule, bool | None]:
    """The rule with what the clauses say in its place, and whether the piece is hidden (None where that is not said).

    Raises Unreadable.
    """
    hidden: bool | None = None
    for clause in (clause.strip() for clause in clauses):
        word, _, rest = clause.partition(" ")
        name = word.lower()
        if name in ("hidden", "seen") and not rest:
            hidden = name == "hidden"
        elif name == "washed" and not rest:
            rule = replace(rule, washed=True)
        elif name in LISTED and rest.strip():
            names = tuple(each.strip() for each in re.split(r"\s+or\s+|,", rest))
            rule = _with_names(rule, name, names)
        elif name == "weight" and (said := WEIGHT.fullmatch(clause)) and (said[1] or said[2]):
            low, high = (_weight(figure, said[3], where) for figure in (said[1], said[2]))
            rule = replace(rule, weight_from=low, weight_to=high)
        else:
            raise reading.Unreadable(f"{clause!r} is no rule of cloth", EXPECTED, where)
    return rule, hidden


def _with_names(rule: ClothRule, name: str, names: tuple[str, ...]) -> ClothRule:
    if name == "fibre":
        return replace(rule, fibres=names)
    return replace(rule, colours=names) if name == "colour" else replace(rule, weaves=names)


def _weight(figure: str | None, unit: str | None, where: str) -> float | None:
    return None if figure is None else reading.of_option(reading.a_cloth_weight, f"{figure} {unit or ''}".strip(), where)
