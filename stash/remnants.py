"""Remnants: logging one, showing it, keeping it apart.

A remnant is measured however it lies on the table. It is turned onto its grain, mirrored onto its right side and turned so
that its nap runs along the grain arrow (+x) once, when it is logged; nothing after that asks how it was measured.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from shapely import LineString, Polygon

from nesting import Ring

from .cloths import Cloth
from .outlines import Measured
from .words import EdgeKind, Face, FaultKind, Nap, RemnantState, Source
from .workroom import Workroom


@dataclass(frozen=True, slots=True)
class NewFault:
    """A hole or flaw as measured, in the same coordinates as the outline. A ring of two points is a tear."""

    kind: FaultKind
    ring: Ring
    face: Face = Face.BOTH


@dataclass(frozen=True, slots=True, kw_only=True)
class NewRemnant:
    """A remnant as it is told to the stash.

    `grain_angle`: degrees, counter-clockwise, from the x of the measured outline to the grain arrow (the warp).
    `face_up`: the face that was up when it was measured. `nap`: which way it runs; must be said for a one-way cloth.
    `mass`: g, if the remnant itself was weighed; else it follows from area and g/m². `washed`: how ("cold, by hand"), "" if
    not. `place` is made if there is none of that name.
    """

    tag: str
    cloth: str
    outline: Measured
    grain_angle: float = 0.0
    face_up: Face = Face.RIGHT
    nap: Nap | None = None
    faults: tuple[NewFault, ...] = ()
    place: str = ""
    washed: str = ""
    mass: float | None = None
    source: Source = Source.FOUND
    note: str = ""


@dataclass(frozen=True, slots=True)
class Fault:
    """A hole or flaw on the grain and right side: a polygon, or a line for a tear."""

    kind: FaultKind
    shape: Polygon | LineString
    face: Face


@dataclass(frozen=True, slots=True)
class Edge:
    """Part of the rim that is not plainly cut."""

    kind: EdgeKind
    line: LineString


@dataclass(frozen=True, slots=True, kw_only=True)
class Remnant:
    """A remnant in the stash, on the grain and right side up (mm, mm², g).

    `outline` has no holes: those are faults. `area` is the cloth that is there: outline less holes, as booked.
    `length`, `width`: its greatest extent along and across the grain; `rect_length`, `rect_width`: its largest rectangle.
    """

    id: int
    tag: str
    cloth: Cloth
    state: RemnantState
    outline: Polygon
    faults: tuple[Fault, ...]
    edges: tuple[Edge, ...]
    rough: bool
    one_way: bool
    area: float
    mass: float
    weighed: bool
    length: float
    width: float
    rect_length: float
    rect_width: float
    place: str
    washed: str
    source: Source | None
    note: str
    grain_angle: float
    face_up: Face
    nap: Nap | None
    parent: str | None
    children: tuple[str, ...]
    held_by: int | None
    quarantine: str
    logged_at: datetime
    revision: int

    @property
    def shape(self) -> Polygon:
        """The cloth that is there: the outline less the holes."""
        raise NotImplementedError


def log(workroom: Workroom, remnant: NewRemnant, *, by: str = "") -> Remnant:
    """Log a remnant: settle its outline, put it in the bin, post the entry.

    Raises Refused (Taken, Unknown, BadOutline …) and then nothing is kept.
    """
    raise NotImplementedError


def get(workroom: Workroom, tag: str) -> Remnant:
    """The remnant of that tag (capitals do not matter). Raises Unknown, with close tags."""
    raise NotImplementedError


def put_apart(workroom: Workroom, tag: str, reason: str, *, by: str) -> Remnant:
    """Quarantine a remnant (moth, mould, unknown dust): no lay may use it until a named person releases it."""
    raise NotImplementedError


def release(workroom: Workroom, tag: str, *, by: str) -> Remnant:
    """Let a remnant out of quarantine, under the name of whoever says so."""
    raise NotImplementedError
