"""How much may be cut at once: what a stack may weigh and how thick it may be."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from . import telling
from .refusals import Refused

if TYPE_CHECKING:
    from .asking import Asked


def within(asked: Asked, tags: Sequence[str], most: int) -> list[str]:
    """As many of the remnants, in their order, as one stack of up to `most` plies may have."""
    kept: list[str] = []
    for tag in tags:
        if len(kept) < most and not too_much(asked, [*kept, tag]):
            kept.append(tag)
    return kept


def too_much(asked: Asked, tags: Sequence[str]) -> str:
    """Why these remnants are too much for one stack, in words; "" if they are not."""
    every = [asked.stackable[tag] for tag in tags]
    weight = sum(one.weight for one in every)
    if weight > asked.limits.heaviest:
        return f"{telling.figure(weight, 'g/m²')} in all, and {telling.figure(asked.limits.heaviest, 'g/m²')} is allowed"
    known = [one.thickness for one in every if one.thickness is not None]
    if len(known) == len(every) and sum(known) > asked.limits.thickest:
        return f"{telling.fine(sum(known))} thick in all, and {telling.fine(asked.limits.thickest)} is allowed"
    return ""


def must_be_within(asked: Asked, plies: Sequence[tuple[str, int]]) -> None:
    """Raise Refused for a stack with one ply, and for one that is too heavy or too thick to be cut safely."""
    tags = [tag for tag, count in plies for _ in range(count)]
    if len(tags) < 2:
        raise Refused(f"{tags[0]} alone is no stack", where="stack", expected="two remnants or more, or one that is folded")
    if why := too_much(asked, tags):
        raise Refused(
            f"a stack of {len(tags)} plies is too much to cut at once: {why}",
            where="stack",
            expected="fewer plies; or another limit, if your blade is made for it: fent lay margins",
        )
