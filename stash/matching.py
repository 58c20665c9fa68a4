"""Stripes and checks: where the bars of a remnant lie, by two measurements, and what keeps a remnant from being matched.

A cloth has a repeat: from one bar to the next like it, along the grain, across it or both. On each remnant it is measured how
far one such bar lies from the left end and from the near edge, as the remnant is drawn. Always the same bar of the repeat is
meant (`ClothRow.bar` says which), in its middle, about which an even stripe is the same to either side.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from . import telling
from .bars import off_the_edge
from .cloths import a_repeat
from .given import a_figure, a_reason, initials
from .lying import Asks, ground_of, repeat_of
from .refusals import Refused
from .remnants import Remnant, must_be_free, remnant_of, row_of
from .tables import JobRow, MendedRow, PieceRow, RemnantRow
from .words import Subject
from .workroom import Workroom

BY_A_TAPE = 1.0
"""mm by which a bar at the far edge may seem to lie beyond it."""
SAME_REPEAT = 0.05
"""mm a repeat: what a matched anchor may be off."""


def asks_of(job: JobRow, *, matched: bool = True) -> Asks:
    """What a job asks of stripes and checks; nothing where they are not to be `matched` this once."""
    return Asks(job.matched and matched, job.mirrored)


def measure_bars(
    workroom: Workroom,
    tag: str,
    *,
    left: float | None = None,
    near: float | None = None,
    repeat_along: float | None = None,
    repeat_across: float | None = None,
    by: str,
    why: str = "measured",
) -> Remnant:
    """Say where the bars of a remnant lie, as it is drawn: how far (mm) the middle of one that runs across the cloth is from
    its left end (`left`), and of one that runs along the grain from its near edge (`near`).

    `repeat_along`, `repeat_across`: its own repeat, where washing or stretching has made it another than its cloth's. Lays
    tried on the remnant must be tried again. Raises Held, WrongState, Unknown; Refused where a measurement is missing or there
    is nothing to measure, and without initials.
    """
    who, reason = initials(by, "measuring the bars"), a_reason(why, "measuring the bars")
    with workroom.writing() as session:
        row = row_of(session, tag)
        must_be_free(row, to="measure its bars", even_apart=True)
        before = bars_in_words(row)
        row.repeat_along = a_repeat(repeat_along, "repeat along the grain") or row.repeat_along
        row.repeat_across = a_repeat(repeat_across, "repeat across the grain") or row.repeat_across
        low_x, low_y, _, _ = row.outline.bounds
        row.bar_x, row.bar_y = (
            None if off is None else low + off for off, low in zip(bars_told(row, left, near), (low_x, low_y), strict=True)
        )
        row.revision += 1
        of_it = {"subject": Subject.REMNANT, "subject_id": row.id, "what": "bars", "note": reason}
        session.add(MendedRow(at=workroom.now(), by=who, before=before, after=bars_in_words(row), **of_it))
        session.flush()
        return remnant_of(row)


def bars_told(row: RemnantRow, left: float | None, near: float | None) -> tuple[float | None, float | None]:
    """The two measurements, those that the repeat needs and no other. Raises Refused."""
    repeat = repeat_of(row)
    if not any(repeat):
        raise Refused(
            f"{row.cloth.name} has no stripe or check",
            where="bars",
            expected="a cloth with a repeat",
            next="Say its repeat first: fent cloth mend, with --repeat-along or --repeat-across",
        )
    found: list[float | None] = []
    low_x, low_y, high_x, high_y = row.outline.bounds
    reach = (high_x - low_x, high_y - low_y)
    told = zip(repeat, (left, near), reach, ("left end", "near edge"), ("along", "across"), strict=True)
    for step, given, there, end, way in told:
        if bool(step) != (given is not None):
            what = "is not told" if step else "is told"
            has = f"repeats every {telling.fine(step)} {way} the grain" if step else f"does not repeat {way} the grain"
            raise Refused(f"how far a bar lies from the {end} {what}, and {row.cloth.name} {has}", where="bars", expected=TWO)
        off = None if given is None else a_figure(given, f"from the {end} to a bar", unit="mm", above=False)
        # On a scrap narrower than its repeat the bar may be off the cloth, where it would go on.
        if off is not None and off > max(there, step) + BY_A_TAPE:
            raise Refused(
                f"a bar {telling.fine(off)} from the {end} is off the remnant, which measures {telling.fine(round(there, 1))} "
                f"{way} the grain",
                where="bars",
                expected=TWO,
            )
        found.append(off)
    return found[0], found[1]


TWO = "from the left end to the middle of a bar that runs across, from the near edge to one that runs along"


def bars_in_words(row: RemnantRow) -> str:
    """Where a remnant's bars lie, "" where that was not measured."""
    return _said(repeat_of(row), (row.bar_x, row.bar_y), row.outline.bounds)


def bars_said(remnant: Remnant) -> str:
    """The same of a remnant that was read."""
    repeat = (remnant.repeat_along or 0.0, remnant.repeat_across or 0.0)
    return _said(repeat, (remnant.bar_x, remnant.bar_y), remnant.outline.bounds)


def _said(repeat: tuple[float, float], bars: tuple[float | None, float | None], bounds: Sequence[float]) -> str:
    return "; ".join(
        f"every {telling.fine(step)} {way} the grain, "
        f"one {telling.fine(round(off_the_edge(bar, low, step), 2))} from its {end}"
        for step, bar, low, way, end in zip(
            repeat, bars, bounds[:2], ("along", "across"), ("left end", "near edge"), strict=True
        )
        if step and bar is not None
    )


def bars_known(row: RemnantRow) -> bool:
    """Whether all is known that matching on a remnant takes."""
    return all(bar is not None for step, bar in zip(repeat_of(row), (row.bar_x, row.bar_y), strict=True) if step)


def lattice_of(row: RemnantRow) -> dict[str, Any]:
    """The repeat of a remnant and where it lies, as a sheet has them; nothing where it has none or it is not known."""
    if not any(repeat_of(row)) or not bars_known(row):
        return {}
    return {"repeat": repeat_of(row), "repeat_at": (row.bar_x or 0.0, row.bar_y or 0.0)}


def against(piece: PieceRow, asks: Asks, row: RemnantRow, repeat: tuple[float, float] | None = None) -> Iterator[str]:
    """Why a piece that is to be matched cannot be laid on a remnant. `repeat`: the one that it must have, if one."""
    if piece.anchor is None or not asks.matched or not any(repeat_of(row)):
        return
    if not bars_known(row):
        yield f"where its bars lie is not measured (fent bin bars {row.tag})"
    elif repeat is not None and any(abs(a - b) > SAME_REPEAT for a, b in zip(repeat_of(row), repeat, strict=True)):
        yield f"its repeat is not that of the others, and {piece.name} lies half a repeat beside a bar"


def that_match(session: Session, ids: set[int], piece: PieceRow, asks: Asks) -> tuple[set[int], tuple[float, float] | None]:
    """Of remnants that will do, those on which a piece can be matched; and the repeat that these must have, if one."""
    if piece.anchor is None or not asks.matched or not ids:
        return ids, None
    rows = session.scalars(select(RemnantRow).where(RemnantRow.id.in_(ids)).order_by(RemnantRow.tag)).all()
    repeat = _commonest(rows) if piece.anchor["between"] else None
    return {row.id for row in rows if not list(against(piece, asks, row, repeat))}, repeat


def _commonest(rows: Sequence[RemnantRow]) -> tuple[float, float] | None:
    """The repeat of most of the remnants that have one."""
    known = [repeat_of(row) for row in rows if any(repeat_of(row)) and bars_known(row)]
    return max(dict.fromkeys(known), key=known.count, default=None)


__all__ = ["Asks", "against", "asks_of", "bars_in_words", "bars_said", "ground_of", "lattice_of", "measure_bars", "that_match"]
