"""Many remnants and envelopes at once, from a table (CSV, JSON Lines): all of them or none; and remnants written as one.

How a table is read is in `table_rows`; here is what a row says. Every fault is found and told by row and column, and if there
is one, nothing is kept.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from sqlalchemy.orm import Session

from nesting import Ring

from . import cloths, envelopes, outlines, remnants
from .given import a_tag
from .refusals import Refused
from .table_rows import Columns, Row, RowFault, a_ring, one_of, rows_of
from .words import EdgeKind, Face, FaultKind, Nap, Source
from .workroom import Workroom

if TYPE_CHECKING:
    from .outlines import Measured
    from .remnants import NewFault, NewRemnant, Remnant

COLUMNS = (
    *("tag", "cloth", "kind", "length", "width", "edges", "nap", "place", "washed", "mass"),
    *("lot", "source", "came on", "price", "note", "corners", "faults", "grain angle", "face", "drawing"),
    "skew",
)
"""tag and cloth must be there. kind: rough (unless said), rectangle, corners, drawing or envelope; what has corners or a
drawing is of that kind without saying so. length along the grain, width across it. edges: one kind for all, or one for each
side with spaces between (of a rectangle near, right, far, left). mass: must be said for an envelope. lot: of an envelope, if
it is not the cloth's. came on: 2026-03-02. corners, faults: as they are typed, faults with | between; in JSON Lines lists too.
grain angle: degrees. face: the one that was up. drawing: a file beside the table. skew: degrees
by which the weft leans, above 0 to the right."""
MUST_BE = ("tag", "cloth")
CALLED = {
    "came on": "day, such as 2026-03-02",
    "mass": "weight",
    "price": "price in whole cents",
    "grain angle": "angle",
    "skew": "skew",
}
CALLED |= {name: f"list of {name}" for name in ("corners", "edges", "faults")}
TABLE = Columns(COLUMNS, MUST_BE, CALLED)


class Kind(StrEnum):
    """What a row is."""

    ROUGH = "rough"
    RECTANGLE = "rectangle"
    CORNERS = "corners"
    DRAWING = "drawing"
    ENVELOPE = "envelope"


_SIZE, _OUTLINED = ("length", "width"), ("corners", "faults", "grain angle", "face", "drawing")
NOT_FOR = {
    Kind.ENVELOPE: (*_SIZE, "edges", "nap", "washed", "came on", "price", "skew", *_OUTLINED),
    Kind.ROUGH: ("edges", "lot", "corners", "faults", "drawing"),
    Kind.RECTANGLE: ("lot", "corners", "drawing"),
    Kind.CORNERS: (*_SIZE, "lot", "drawing"),
    Kind.DRAWING: (*_SIZE, "edges", "lot", "corners", "faults"),
}
"""Columns that must be empty in a row of that kind: what they say would be lost."""


def _no_corners(text: str) -> Ring:
    raise Refused(f"{text!r:.40} are no corners", expected="a list of pairs in mm")


def _no_fault(text: str) -> NewFault:
    raise Refused(f"{text!r:.40} is no fault", expected='{"kind": …, "ring": [pairs in mm]}')


def _no_drawing(name: str) -> Any:
    raise Refused(f"{name!r:.60} cannot be looked for", expected="a table in a folder, with the drawing beside it")


@dataclass(frozen=True, slots=True)
class Reading:
    """How a cell's words become a figure: mm, g, whole cents and degrees of skew; corners, a fault, and what a drawing beside
    the table holds (a `drawn_remnants.DrawnRemnant`). They raise ValueError (Refused is one) for what is none."""

    length: Callable[[str], float] = float
    mass: Callable[[str], float] = float
    price: Callable[[str], int] = int
    skew: Callable[[str], float] = float
    corners: Callable[[str], Ring] = _no_corners
    fault: Callable[[str], NewFault] = _no_fault
    drawing: Callable[[str], Any] = _no_drawing


@dataclass(frozen=True, slots=True)
class Brought:
    """What came of it: tags of remnants and envelopes that were logged; or else all the faults, and nothing was kept."""

    remnants: tuple[str, ...]
    envelopes: tuple[str, ...]
    faults: tuple[RowFault, ...]


COLUMN_OF = {"the day it came": "came on", "washing": "washed", "outline": "corners", "grain": "grain angle"}
"""The column of what a refusal says that it is about, where it is not called so."""


class _NotKept(Exception):  # noqa: N818 - only to end a transaction
    """Ends a transaction of which nothing is kept."""


def log(workroom: Workroom, text: str, *, reading: Reading | None = None, by: str = "") -> Brought:
    """Log all that a table says, in one transaction. Faults come back as values, by row; then nothing was kept."""
    rows, faults = rows_of(text, TABLE)
    if faults:
        return Brought((), (), tuple(faults))
    kept: dict[Kind, list[str]] = {kind: [] for kind in Kind}
    with suppress(_NotKept), workroom.writing() as session:
        seen: dict[str, int] = {}
        for row in rows:
            kind, tag = _log_row(session, workroom, row, reading or Reading(), seen, by)
            kept[kind].append(tag)
            faults += row.faults
        if faults:
            raise _NotKept
    if faults:
        return Brought((), (), tuple(faults))
    logged = [tag for kind, tags in kept.items() for tag in tags if kind is not Kind.ENVELOPE]
    return Brought(tuple(logged), tuple(kept[Kind.ENVELOPE]), ())


def _log_row(
    session: Session, workroom: Workroom, row: Row, reading: Reading, seen: dict[str, int], by: str
) -> tuple[Kind, str]:
    """Log one row, if nothing is wrong with it; faults are left in the row."""
    usual = next((kind for kind in (Kind.CORNERS, Kind.DRAWING) if str(kind) in row.cells), Kind.ROUGH)
    kind = row.read("kind", lambda text: one_of(Kind, text), usual)
    for column in NOT_FOR[kind]:
        if column in row.cells:
            what = "an envelope" if kind is Kind.ENVELOPE else f"a {kind} remnant"
            if kind in (Kind.CORNERS, Kind.DRAWING):
                what = f"a remnant by its {kind}"
            row.faults.append(RowFault(row.number, column, f"{what} has no {column} of its own", "an empty cell"))
    tag = row.read("tag", lambda text: _free_tag(session, text, seen), "", needed="a tag")
    seen.setdefault(tag, row.number)
    cloth = row.read("cloth", lambda text: cloths.row_of(session, text).name, "", needed="the name of a cloth")
    new = (_envelope if kind is Kind.ENVELOPE else _remnant)(row, kind, tag, cloth, reading)
    if not row.faults and new is not None:
        try:
            if isinstance(new, envelopes.NewEnvelope):
                envelopes.add(workroom, new, by=by)
            else:
                remnants.log(workroom, new, by=by)
        except Refused as refusal:
            row.fault(refusal, COLUMN_OF)
    return kind, tag


def _free_tag(session: Session, text: str, seen: Mapping[str, int]) -> str:
    tag = a_tag(text)
    if tag in seen:
        raise Refused(f"row {seen[tag]} has the tag {tag} too", where="tag", expected="each tag once")
    remnants.tag_must_be_free(session, tag)
    return tag


def _envelope(row: Row, kind: Kind, tag: str, cloth: str, reading: Reading) -> envelopes.NewEnvelope:
    return envelopes.NewEnvelope(
        tag=tag,
        cloth=cloth,
        mass=row.read("mass", reading.mass, 0.0, needed="what is in the envelope"),
        lot=row.read("lot", str, "") or None,
        place=row.words("place"),
        source=row.read("source", lambda text: one_of(Source, text), Source.FOUND),
        note=row.words("note"),
    )


def _remnant(row: Row, kind: Kind, tag: str, cloth: str, reading: Reading) -> NewRemnant | None:
    """The remnant that a row tells, or None where its measures are none."""
    outlined = _outlined(row, kind, reading)
    no_faults: tuple[NewFault, ...] = ()
    told: dict[str, Any] = {
        "nap": row.read("nap", lambda text: one_of(Nap, text), None),
        "mass": row.read("mass", reading.mass, None),
        "source": row.read("source", lambda text: one_of(Source, text), Source.FOUND),
        "came_on": row.read("came on", date.fromisoformat, None),
        "price": row.read("price", reading.price, None),
        "skew": row.read("skew", reading.skew, None),
        "face_up": row.read("face", lambda text: one_of(Face, text), Face.RIGHT),
        "faults": row.take("faults", lambda cell: _faults(cell, reading), no_faults),
    }
    angle = row.read("grain angle", float, None)
    if angle is not None:
        told["grain_angle"] = angle
    told |= {name: row.words(name) for name in ("place", "washed", "note")}
    if kind is Kind.DRAWING:
        drawn = row.read("drawing", reading.drawing, None, needed="a file beside the table")
        if drawn is None or row.faults:
            return None
        told |= {"faults": drawn.faults, "grain_angle": drawn.grain_angle, "grain_by": drawn.grain_by}
        return remnants.NewRemnant(tag=tag, cloth=cloth, outline=drawn.outline, **told)
    if outlined is None or row.faults:
        return None
    try:
        return remnants.NewRemnant(tag=tag, cloth=cloth, outline=outlined(), **told)
    except Refused as refusal:
        row.fault(refusal, COLUMN_OF)
        return None


def _outlined(row: Row, kind: Kind, reading: Reading) -> Callable[[], Measured] | None:
    """What makes the outline of a row, once it is known that nothing else is wrong; None for a drawing."""
    if kind is Kind.DRAWING:
        return None
    plain: EdgeKind | list[EdgeKind] = EdgeKind.CUT
    if kind is Kind.CORNERS:
        none: Ring = ()
        ring = row.take("corners", lambda cell: a_ring(cell, reading.corners), none, needed="its corners")
        sides = row.read("edges", lambda text: _edges(text, len(ring)), plain)
        return lambda: outlines.by_points(ring, sides)
    length = row.read("length", reading.length, 0.0, needed="its length along the grain")
    width = row.read("width", reading.length, 0.0, needed="its width across the grain")
    kinds = row.read("edges", lambda text: _edges(text, 4), plain)
    return lambda: outlines.rectangle(length, width, kinds, rough=kind is Kind.ROUGH)


def _edges(text: str, sides: int) -> EdgeKind | list[EdgeKind]:
    """One kind for all sides, or one for each; of a rectangle near, right, far, left."""
    kinds = [one_of(EdgeKind, word) for word in text.replace(";", " ").split()]
    if len(kinds) not in (1, sides):
        named = "four: near, right, far, left" if sides == 4 else f"one for each of {sides}"
        raise Refused(f"{len(kinds)} edges", where="edges", expected=f"one kind for all sides, or {named}")
    return kinds[0] if len(kinds) == 1 else kinds


def _faults(cell: Any, reading: Reading) -> tuple[NewFault, ...]:
    """Holes and flaws: as they are typed, with | between; or a list of objects, their rings in mm. Raises Refused."""
    if isinstance(cell, str):
        return tuple(reading.fault(part.strip()) for part in cell.split("|") if part.strip())
    return tuple(
        remnants.NewFault(
            one_of(FaultKind, each["kind"]), a_ring(each["ring"], _no_corners), one_of(Face, each.get("face", "both"))
        )
        for each in cell
    )


def written(found: Sequence[Remnant]) -> str:
    """Remnants as JSON Lines that `log` reads: on the grain, right side up, in mm and g, to the last digit."""
    return "".join(json.dumps(_told(each), ensure_ascii=False) + "\n" for each in found)


def _told(remnant: Remnant) -> dict[str, Any]:
    """A remnant as a row, its empty cells left out. What lies along its sides is told side by side."""
    ring = [[float(x), float(y)] for x, y in remnant.outline.exterior.coords[:-1]]
    told: dict[str, Any] = {
        "tag": remnant.tag,
        "cloth": remnant.cloth.name,
        "kind": str(Kind.CORNERS),
        "corners": ring,
        "edges": " ".join(_kind_of_each_side(remnant, ring)),
        "faults": [
            {
                "kind": str(fault.kind),
                "ring": [[float(x), float(y)] for x, y in _rim(fault.shape)],
                "face": str(fault.face),
            }
            for fault in remnant.faults
        ],
        "nap": str(Nap.ALONG) if remnant.one_way else "",
        "mass": remnant.mass if remnant.weighed else "",
        "skew": remnant.skew if remnant.skew is not None else "",
        "place": remnant.place,
        "washed": remnant.washed,
        "source": str(remnant.source or ""),
        "came on": remnant.came_on.isoformat(),
        "price": remnant.price if remnant.price is not None else "",
        "note": " ".join(remnant.note.split()),
    }
    return {name: value for name, value in told.items() if value not in ("", [])}


def _rim(shape: Any) -> Any:
    return shape.exterior.coords[:-1] if shape.geom_type == "Polygon" else shape.coords


def _kind_of_each_side(remnant: Remnant, ring: Sequence[Sequence[float]]) -> list[str]:
    """The kind of each side: that of the edge that runs along most of it."""
    from shapely import LineString

    kinds = []
    for number, start in enumerate(ring):
        side = LineString([start, ring[(number + 1) % len(ring)]])
        along = [(float(side.intersection(edge.line.buffer(1e-3)).length), str(edge.kind)) for edge in remnant.edges]
        most, kind = max(along, default=(0.0, ""))
        kinds.append(kind if most > side.length / 2 else str(EdgeKind.CUT))
    return kinds
