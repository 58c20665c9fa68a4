"""Cases and results as JSON: read with every fault named by its place, and written so that they read back the same.

The forms are `case.schema.json` and `result.schema.json` (JSON Schema 2020-12) in this folder. What a schema cannot say is
checked here: that outlines are simple, that ids are unique, that those referred to exist, that what is fixed is allowed.
"""

from __future__ import annotations

import math
import warnings
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from .documents import CaseFault, Fault, Fields, data_of, form_faults, place, unknown_fields
from .forms import Case, Flaw, Panel, Placement, Point, Result, Ring, Sheet, Strip
from .outlines import OutlineFault, mend_ring, mend_tear, ring_of
from .turns import may_be_turned

CASE_FORM = "fent-case/1"
RESULT_FORM = "fent-result/1"
STRIP = "strip"
"""What a placement on a strip names as its sheet."""

Notice = Callable[[str], None]


class UnknownField(UserWarning):
    """A field that the form does not know and that is ignored; perhaps a slip for one that it does know."""


def read_case(source: str | bytes | Fields, where: str = "case", notice: Notice | None = None) -> Case:
    """The case of a JSON text, or of the data of one.

    Outlines come out counter-clockwise, without doubled points and points on straight lines. `where` names the document in
    messages. Fields that the form does not know are ignored; `notice` is called with a sentence for each (at the top, where
    a case carries notes, only for what is nearly the name of a known field); without it they are warnings, `UnknownField`.

    Raises `CaseFault` with all faults that were found and their places.

    >>> panel = {"id": "cuff", "outline": [[0, 0], [230, 0], [218, 80], [12, 80]], "copies": 4}
    >>> read_case({"form": "fent-case/1", "strip": {"width": 1400}, "panels": [panel]}).panels[0].turns
    (0.0, 180.0)
    >>> read_case({"form": "fent-case/1", "strip": {"width": 1400}, "panels": [panel | {"outline": [[0, 0], [1, 1]]}]})
    Traceback (most recent call last):
    nesting.documents.CaseFault: case: panels[0].outline: has 2 entries: expected a ring: a list of 3 to 10,000 points
    """
    data = _checked(source, "case", where, notice)
    faults: list[Fault] = []
    sheets = tuple(_sheet(fields, i, faults) for i, fields in enumerate(data.get("sheets", [])))
    panels = tuple(_panel(fields, i, faults) for i, fields in enumerate(data["panels"]))
    case = Case(
        panels=panels,
        sheets=sheets,
        strip=Strip(float(data["strip"]["width"])) if STRIP in data else None,
        fixed=tuple(_placement(fields) for fields in data.get("fixed", [])),
        gap=float(data.get("gap", 0)),
        edge=float(data.get("edge", 0)),
    )
    faults += _not_finite(data)
    faults += _doubled("sheets", [sheet.id for sheet in sheets])
    faults += _doubled("panels", [panel.id for panel in panels])
    faults += _lost_names(data, case)
    if not faults:
        faults += _fixed_faults(case)
    if faults:
        raise CaseFault.of(faults, where)
    return case


def read_result(source: str | bytes | Fields, where: str = "result", notice: Notice | None = None) -> Result:
    """The result of a JSON text, or of the data of one; raises `CaseFault` as `read_case` does."""
    data = _checked(source, "result", where, notice)
    if faults := _not_finite(data):
        raise CaseFault.of(faults, where)
    return Result(
        placements=tuple(_placement(fields) for fields in data["placements"]),
        placed=int(data.get("placed", 0)),
        bound=None if data.get("bound") is None else int(data["bound"]),
        proved=data.get("proved", False),
        complete=data.get("complete", False),
        cost=_amount(data.get("cost")),
        least_cost=_amount(data.get("least_cost")),
        length=_amount(data.get("length")),
        least_length=_amount(data.get("least_length")),
        rounds=int(data.get("rounds", 0)),
        seed=int(data.get("seed", 0)),
        seconds=float(data.get("seconds", 0)),
    )


def case_to_json(case: Case) -> dict[str, Any]:
    """The case as data for JSON; what has its default is left out.

    >>> square = ((0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0))
    >>> case = Case(panels=(Panel("p", square, 2),), strip=Strip(90.0), gap=2.0)
    >>> read_case(case_to_json(case)) == case
    True
    """
    data: dict[str, Any] = {"form": CASE_FORM}
    if case.strip is not None:
        data[STRIP] = {"width": case.strip.width}
    else:
        data["sheets"] = [_sheet_to_json(sheet) for sheet in case.sheets]
    data["panels"] = [_panel_to_json(panel) for panel in case.panels]
    if case.fixed:
        data["fixed"] = [_placement_to_json(placement) for placement in case.fixed]
    return data | {name: value for name, value in (("gap", case.gap), ("edge", case.edge)) if value}


def result_to_json(result: Result) -> dict[str, Any]:
    """The result as data for JSON; what is not known or does not apply is null.

    >>> read_result(result_to_json(Result(placed=0, seed=7))) == Result(placed=0, seed=7)
    True
    """
    return {
        "form": RESULT_FORM,
        "placements": [_placement_to_json(placement) for placement in result.placements],
        "placed": result.placed,
        "bound": result.bound,
        "proved": result.proved,
        "complete": result.complete,
        "cost": result.cost,
        "least_cost": result.least_cost,
        "length": result.length,
        "least_length": result.least_length,
        "rounds": result.rounds,
        "seed": result.seed,
        "seconds": result.seconds,
    }


def _checked(source: str | bytes | Fields, form: str, where: str, notice: Notice | None) -> dict[str, Any]:
    """The data, when it keeps to its schema."""
    data: dict[str, Any] = data_of(source, where)
    if faults := form_faults(data, form):
        raise CaseFault.of(faults, where)
    for sentence in unknown_fields(data, form):
        if notice is None:
            warnings.warn(f"{where}: {sentence}", UnknownField, stacklevel=3)
        else:
            notice(f"{where}: {sentence}")
    return data


def _sheet(fields: Fields, i: int, faults: list[Fault]) -> Sheet:
    return Sheet(
        id=fields["id"],
        outline=_ring(fields["outline"], ("sheets", i, "outline"), faults),
        holes=tuple(_spot(hole, ("sheets", i, "holes", k), faults) for k, hole in enumerate(fields.get("holes", []))),
        flaws=tuple(_flaw(flaw, ("sheets", i, "flaws", k), faults) for k, flaw in enumerate(fields.get("flaws", []))),
        cost=_amount(fields.get("cost")),
        plies=int(fields.get("plies", 1)),
        turns=_floats(fields["turns"]) if "turns" in fields else None,
        repeat=_point(fields.get("repeat", (0, 0))),
        repeat_at=_point(fields.get("repeat_at", (0, 0))),
    )


def _panel(fields: Fields, i: int, faults: list[Fault]) -> Panel:
    return Panel(
        id=fields["id"],
        outline=_ring(fields["outline"], ("panels", i, "outline"), faults),
        copies=int(fields["copies"]),
        sound=_ring(fields["sound"], ("panels", i, "sound"), faults) if "sound" in fields else None,
        hidden=fields.get("hidden", False),
        turns=_floats(fields.get("turns", (0, 180))),
        off_grain=float(fields.get("off_grain", 0)),
        flip=fields.get("flip", False),
        anchor=_point(fields["anchor"]) if "anchor" in fields else None,
        on=tuple(fields["on"]) if "on" in fields else None,
    )


def _placement(fields: Fields) -> Placement:
    return Placement(
        sheet=fields.get("sheet", STRIP),
        panel=fields["panel"],
        x=float(fields["x"]),
        y=float(fields["y"]),
        turn=float(fields.get("turn", 0)),
        flipped=fields.get("flipped", False),
    )


def _flaw(entry: Any, steps: tuple[str | int, ...], faults: list[Fault]) -> Flaw:
    if isinstance(entry, dict):
        return Flaw(_spot(entry["ring"], (*steps, "ring"), faults), frozenset(entry.get("spares", [])))
    return Flaw(_spot(entry, steps, faults))


def _spot(points: Sequence[Sequence[float]], steps: tuple[str | int, ...], faults: list[Fault]) -> Ring:
    """A hole or flaw: a ring, or the two ends of a tear."""
    if len(points) != 2:
        return _ring(points, steps, faults)
    try:
        mend_tear(points)
    except OutlineFault as fault:
        faults.append(_outline_fault(fault, steps))
        return ()
    return tuple(_point(point) for point in points)


def _ring(points: Sequence[Sequence[float]], steps: tuple[str | int, ...], faults: list[Fault]) -> Ring:
    try:
        return ring_of(mend_ring(points))
    except OutlineFault as fault:
        faults.append(_outline_fault(fault, steps))
        return ()


def _outline_fault(fault: OutlineFault, steps: tuple[str | int, ...]) -> Fault:
    return place(*steps, *(() if fault.index is None else (fault.index,))), str(fault)


def _point(point: Sequence[float]) -> Point:
    return float(point[0]), float(point[1])


def _floats(numbers: Iterable[float]) -> tuple[float, ...]:
    return tuple(float(number) for number in numbers)


def _amount(number: float | None) -> float | None:
    return None if number is None else float(number)


def _not_finite(data: Any, steps: tuple[str | int, ...] = ()) -> list[Fault]:
    """Numbers that are none: data that was never text may hold them, and every comparison with NaN passes as not wrong.

    Of rings `mend_ring` sees to it; they are left out here, since they are most of a case.
    """
    if isinstance(data, float):
        return [] if math.isfinite(data) else [(place(*steps), f"is {data}: expected a finite number")]
    if isinstance(data, dict):
        items: Iterable[tuple[str | int, Any]] = ((name, value) for name, value in data.items() if name not in _RINGS)
    elif isinstance(data, list):
        items = enumerate(data)
    else:
        return []
    return [fault for step, value in items for fault in _not_finite(value, (*steps, step))]


_RINGS = {"outline", "sound", "holes", "flaws"}


def _doubled(name: str, ids: list[str]) -> list[Fault]:
    first: dict[str, int] = {}
    return [
        (place(name, i, "id"), f"{id_!r} is the id of {name}[{first[id_]}] already: expected one of its own")
        for i, id_ in enumerate(ids)
        if first.setdefault(id_, i) != i
    ]


def _lost_names(data: Fields, case: Case) -> list[Fault]:
    """Ids that name nothing."""
    panels = {panel.id for panel in case.panels}
    sheets = {STRIP} if case.strip else {sheet.id for sheet in case.sheets}
    faults: list[Fault] = []
    for i, panel in enumerate(case.panels):
        at: tuple[str | int, ...] = ("panels", i, "on")
        faults += [_lost(place(*at, k), id_, "sheet", sheets) for k, id_ in enumerate(panel.on or ()) if id_ not in sheets]
    for i, sheet in enumerate(data.get("sheets", [])):
        for k, flaw in enumerate(sheet.get("flaws", [])):
            spares = flaw.get("spares", []) if isinstance(flaw, dict) else []
            at = ("sheets", i, "flaws", k, "spares")
            faults += [_lost(place(*at, n), id_, "panel", panels) for n, id_ in enumerate(spares) if id_ not in panels]
    for i, placement in enumerate(case.fixed):
        if placement.sheet not in sheets:
            faults.append(_lost(place("fixed", i, "sheet"), placement.sheet, "sheet", sheets))
        if placement.panel not in panels:
            faults.append(_lost(place("fixed", i, "panel"), placement.panel, "panel", panels))
    return faults


def _lost(where: str, id_: str, kind: str, known: set[str]) -> Fault:
    shown = ", ".join(sorted(known)[:8]) + (", …" if len(known) > 8 else "")
    return where, f"{id_!r} is no {kind} of this case: {f'expected one of {shown}' if known else f'it has no {kind}'}"


def _fixed_faults(case: Case) -> list[Fault]:
    """Placements that must be in the result and that no legal result could hold. (Whether they overlap, `examine` tells.)"""
    panels = {panel.id: panel for panel in case.panels}
    sheets = {sheet.id: sheet for sheet in case.sheets}
    copies: Counter[str] = Counter()
    faults: list[Fault] = []
    for i, placement in enumerate(case.fixed):
        panel, sheet = panels[placement.panel], sheets.get(placement.sheet)
        copies[panel.id] += sheet.plies if sheet else 1
        if copies[panel.id] > panel.copies:
            words = f"fixes {copies[panel.id]} copies of {panel.id!r}: only {panel.copies} are wanted"
            faults.append((place("fixed", i), words))
        if placement.flipped and not panel.flip:
            faults.append((place("fixed", i, "flipped"), f"{panel.id!r} may not be flipped: expected false"))
        if not may_be_turned(placement.turn, panel, sheet):
            allowed = panel.turns if sheet is None or sheet.turns is None else (*panel.turns, *sheet.turns)
            words = f"{panel.id!r} may not lie turned by {placement.turn:g}: it may by "
            faults.append((place("fixed", i, "turn"), words + ", ".join(f"{turn:g}" for turn in allowed)))
        if panel.on is not None and placement.sheet not in panel.on:
            faults.append((place("fixed", i, "sheet"), f"{placement.sheet!r} will not do for {panel.id!r}: see its 'on'"))
    return faults


def _sheet_to_json(sheet: Sheet) -> dict[str, Any]:
    data: dict[str, Any] = {"id": sheet.id, "outline": _ring_to_json(sheet.outline)}
    if sheet.holes:
        data["holes"] = [_ring_to_json(hole) for hole in sheet.holes]
    if sheet.flaws:
        data["flaws"] = [_flaw_to_json(flaw) for flaw in sheet.flaws]
    if sheet.cost is not None:
        data["cost"] = sheet.cost
    if sheet.plies != 1:
        data["plies"] = sheet.plies
    if sheet.turns is not None:
        data["turns"] = list(sheet.turns)
    if any(sheet.repeat):
        data["repeat"] = list(sheet.repeat)
    if any(sheet.repeat_at):
        data["repeat_at"] = list(sheet.repeat_at)
    return data


def _panel_to_json(panel: Panel) -> dict[str, Any]:
    data: dict[str, Any] = {"id": panel.id, "outline": _ring_to_json(panel.outline), "copies": panel.copies}
    if panel.sound is not None:
        data["sound"] = _ring_to_json(panel.sound)
    if panel.hidden:
        data["hidden"] = True
    if panel.turns != (0.0, 180.0):
        data["turns"] = list(panel.turns)
    if panel.off_grain:
        data["off_grain"] = panel.off_grain
    if panel.flip:
        data["flip"] = True
    if panel.anchor is not None:
        data["anchor"] = list(panel.anchor)
    if panel.on is not None:
        data["on"] = list(panel.on)
    return data


def _placement_to_json(placement: Placement) -> dict[str, Any]:
    return {
        "sheet": placement.sheet,
        "panel": placement.panel,
        "x": placement.x,
        "y": placement.y,
        "turn": placement.turn,
        "flipped": placement.flipped,
    }


def _flaw_to_json(flaw: Flaw) -> Any:
    ring = _ring_to_json(flaw.ring)
    return {"ring": ring, "spares": sorted(flaw.spares)} if flaw.spares else ring


def _ring_to_json(ring: Ring) -> list[list[float]]:
    return [list(point) for point in ring]
