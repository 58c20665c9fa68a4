"""The descriptions that may be mended: how each is looked over and put down, and how it is said in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import exists, select
from sqlalchemy.orm import Session

from .cloths import a_fraying, a_repeat, a_selvedge, a_shrinkage, a_thickness, a_width, must_be_free
from .fibres import in_words, make_up
from .given import a_day, a_description, a_name, key_of
from .refusals import Held, Refused, Taken, WrongState
from .remnants import place_row_of
from .settings import a_price
from .squareness import a_skew
from .tables import FibreRow, RemnantRow
from .words import RemnantState, Source

KEPT = (RemnantState.IN_BIN, RemnantState.HELD, RemnantState.LOST)


@dataclass(frozen=True, slots=True)
class Description:
    """`put`: look a new value over and put it down (session, row, value, today); `words`: what it is now."""

    put: Callable[[Session, Any, Any, date], None]
    words: Callable[[Any], str]


def plain(name: str, look_over: Callable[[Any], Any]) -> Description:
    """A column that is what was given, looked over."""

    def put(_session: Session, row: Any, value: Any, _today: date) -> None:
        setattr(row, name, look_over(value))

    return Description(put, lambda row: said(getattr(row, name)))


def said(value: Any) -> str:
    """A value in words."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)


def text(name: str) -> Description:
    """A short description, which may be empty."""
    return plain(name, lambda value: a_description(str(value), name))


NOTE = plain("note", lambda value: str(value).strip())


def yes_or_no(value: Any) -> bool:
    if not isinstance(value, bool):
        raise Refused(f"{value!s:.30} is neither yes nor no", where="description", expected="yes or no")
    return value


def _put_cloth_name(session: Session, row: Any, value: Any, _today: date) -> None:
    name = a_name(str(value), "cloth")
    if key_of(name) != row.key:
        must_be_free(session, name)
    row.name, row.key = name, key_of(name)


def named(what: str) -> Description:
    """The name of a thing of which no two have the same."""

    def put(session: Session, row: Any, value: Any, _today: date) -> None:
        name = a_name(str(value), what)
        table = type(row)
        if key_of(name) != row.key and session.scalar(select(table.id).where(table.key == key_of(name))) is not None:
            raise Taken(f"there is a {what} {name!r} already", where=what, next="Choose another name")
        row.name, row.key = name, key_of(name)

    return Description(put, lambda row: said(row.name))


def _put_fibres(_session: Session, row: Any, value: Any, _today: date) -> None:
    shares = make_up(value)
    old = {part.fibre: part for part in row.fibres}
    for fibre, share in shares.items():
        if fibre in old:
            old[fibre].share = share
    kept = [old[fibre] for fibre in shares if fibre in old]
    row.fibres = [*kept, *(FibreRow(fibre=fibre, share=share) for fibre, share in shares.items() if fibre not in old)]


def _put_one_way(session: Session, row: Any, value: Any, _today: date) -> None:
    there = exists().where(RemnantRow.cloth_id == row.id, RemnantRow.state.in_(KEPT))
    if yes_or_no(value) and not row.one_way and session.scalar(select(there)):
        raise WrongState(
            f"there are remnants of {row.name}, and which way their nap runs was not said",
            where="one way",
            expected="a cloth of which no remnant is kept",
            next="Add it as another cloth that is one way, and log its remnants there with their nap",
        )
    row.one_way = value


def _put_faces_alike(session: Session, row: Any, value: Any, _today: date) -> None:
    if yes_or_no(value) == row.faces_alike:
        return
    lies_otherwise(session, row.id, "whether its two faces are alike decides how panels may lie on it")
    row.faces_alike = value


def _stripe(name: str, look_over: Callable[[Any], Any]) -> Description:
    """A cloth's repeat, or whether it is even: it decides how panels may lie."""

    def put(session: Session, row: Any, value: Any, _today: date) -> None:
        new = look_over(value)
        if new != getattr(row, name):
            lies_otherwise(session, row.id, "its stripe decides how panels may lie on it")
            setattr(row, name, new)

    return Description(put, lambda row: said(getattr(row, name)))


def lies_otherwise(session: Session, cloth_id: int, why: str) -> None:
    """Lays tried on a cloth's remnants must be tried again. Raises Held where a lay holds one."""
    mine = select(RemnantRow).where(RemnantRow.cloth_id == cloth_id)
    held = session.scalar(mine.where(RemnantRow.state == RemnantState.HELD).limit(1))
    if held is not None:
        raise _held(held, why)
    for remnant in session.scalars(mine.where(RemnantRow.state == RemnantState.IN_BIN)):
        remnant.revision += 1


def _put_washed(_session: Session, row: Any, value: Any, _today: date) -> None:
    washed = a_description(str(value), "washing")
    if bool(washed) != bool(row.washed):
        if row.state is RemnantState.HELD:
            raise _held(row, "a job may ask for washed cloth")
        row.revision += 1
    row.washed = washed


def _held(row: RemnantRow, why: str) -> Held:
    return Held(
        f"lay {row.held_by_id} holds {row.tag}, and {why}",
        where="remnant",
        expected="a remnant that no lay holds",
        next=f"Cut lay {row.held_by_id}, or rub it out with `fent lay rub-out {row.held_by_id}`",
    )


def _put_place(session: Session, row: Any, value: Any, _today: date) -> None:
    row.place = place_row_of(session, str(value))


def _put_came_on(_session: Session, row: Any, value: Any, today: date) -> None:
    row.came_on = a_day(value, "the day it came", today)


def _put_price(session: Session, row: Any, value: Any, _today: date) -> None:
    row.price = a_price(session, value)


def a_source(value: Any) -> Source:
    try:
        return Source(value)
    except ValueError:
        raise Refused(f"{value!s:.30} is no source", where="source", expected=f"one of: {', '.join(Source)}") from None


PLACE = Description(_put_place, lambda row: row.place.name if row.place else "")
PRICE = Description(_put_price, lambda row: said(row.price))

OF_CLOTH: Mapping[str, Description] = {
    "name": Description(_put_cloth_name, lambda row: said(row.name)),
    "fibres": Description(_put_fibres, lambda row: in_words({part.fibre: part.share / 100 for part in row.fibres})),
    "weave": text("weave"),
    "colour": text("colour"),
    "lot": text("lot"),
    "width": plain("width", a_width),
    "selvedge": plain("selvedge", a_selvedge),
    "one_way": Description(_put_one_way, lambda row: said(row.one_way)),
    "faces_alike": Description(_put_faces_alike, lambda row: said(row.faces_alike)),
    "shrinks_warp": plain("shrinks_warp", a_shrinkage),
    "shrinks_weft": plain("shrinks_weft", a_shrinkage),
    "frays": plain("frays", a_fraying),
    "thickness": plain("thickness", a_thickness),
    "repeat_along": _stripe("repeat_along", lambda value: a_repeat(value, "repeat along the grain")),
    "repeat_across": _stripe("repeat_across", lambda value: a_repeat(value, "repeat across the grain")),
    "bar": text("bar"),
    "uneven_along": _stripe("uneven_along", yes_or_no),
    "uneven_across": _stripe("uneven_across", yes_or_no),
    "price": PRICE,
    "note": NOTE,
}
OF_REMNANT: Mapping[str, Description] = {
    "place": PLACE,
    "washed": Description(_put_washed, lambda row: said(row.washed)),
    "source": plain("source", a_source),
    "came_on": Description(_put_came_on, lambda row: said(row.came_on)),
    "price": PRICE,
    "skew": plain("skew", a_skew),
    "note": NOTE,
}
OF_ENVELOPE: Mapping[str, Description] = {"lot": text("lot"), "place": PLACE, "note": NOTE}
OF_PLACE: Mapping[str, Description] = {"name": named("place")}
OF_PATTERN: Mapping[str, Description] = {"name": named("pattern"), "note": NOTE}
OF_JOB: Mapping[str, Description] = {
    "name": named("job"),
    "matched": plain("matched", yes_or_no),
    "mirrored": plain("mirrored", yes_or_no),
    "note": NOTE,
}
