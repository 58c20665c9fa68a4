"""What of a pattern is sewn to what, with its ease; and the pattern proved: does it go together as it was meant to.

Two edges that are sewn side by side run opposite ways: where one begins the other ends. At either end of such a seam the two
corners beside it add up to a straight line, or the edge that runs on across the seam has a kink.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from .given import a_figure, key_of, unknown
from .patterns import Pattern, Piece, Seam, pattern_of, row_of
from .refusals import Refused, Taken
from .tables import PatternRow
from .workroom import Workroom

EASE_WITHIN = 1.0
"""mm by which edges sewn together may miss their ease: cut parts are held to 1 to 3 mm (Industrial Cutting of Textile
Materials, Table 13.1)."""
SMOOTH = 1.0
"""Degrees: a smaller kink at a seam cannot be seen in cloth (common practice, no source)."""
NOTCHES_WITHIN = 1.0
"""mm by which notches that meet may be apart."""
LEFT_TO_HOLD = 3.0
"""mm of an allowance that must be left, once it has frayed, for a seam to hold (common practice, no source)."""
MOST_EASE = 300.0


class Matter(StrEnum):
    """What a finding is about."""

    EASE = "ease"
    KINK = "kink"
    NOTCHES = "notches"
    NARROW = "narrowest place"
    FRAYING = "fraying"


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that was looked at: whether it is as it should be, where, the figure and what is asked of it (mm, degrees)."""

    good: bool
    matter: Matter
    where: str
    figure: float
    asked: float


@dataclass(frozen=True, slots=True)
class SeamProved:
    """A seam: the lengths of its two edges (mm), and the kink at either end (degrees: its two corners less 180), none where it
    is sewn face to face."""

    seam: Seam
    first: float
    second: float
    kinks: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class PieceProved:
    """A piece: its corners (edge before, edge after, inner angle in degrees), its narrowest place (mm) and the edges that it
    lies between, its least allowance, the area (mm²) of the one and of as many as the pattern takes."""

    name: str
    corners: tuple[tuple[str, str, float], ...]
    narrowest: float
    between: tuple[str, str]
    least_allowance: float
    area: float
    set_area: float


@dataclass(frozen=True, slots=True)
class Proof:
    """A pattern, proved: its pieces and seams, and what was found of each. `area`: of a whole set, mm²; `mass`: what it weighs
    in the cloth that was named, g."""

    pattern: str
    cloth: str | None
    pieces: tuple[PieceProved, ...]
    seams: tuple[SeamProved, ...]
    findings: tuple[Finding, ...]
    area: float
    mass: float | None

    @property
    def good(self) -> bool:
        """Whether nothing was found wrong."""
        return all(finding.good for finding in self.findings)


def sew(workroom: Workroom, pattern: str, seam: Seam) -> Pattern:
    """Say that two edges of a pattern are sewn together. Raises Unknown, Taken, Refused."""
    with workroom.writing() as session:
        row = row_of(session, pattern)
        found = pattern_of(row)
        first, second = (_named(found, text) for text in (seam.first, seam.second))
        ease = a_figure(seam.ease, "ease", unit="mm", least=-MOST_EASE, above=False, most=MOST_EASE)
        if any({first, second} == {old.first, old.second} for old in found.seams):
            raise Taken(f"{first} is sewn to {second} already", where="seam", next="Unpick it first, to say another ease")
        row.seams = [*(row.seams or []), {"first": first, "second": second, "ease": ease, "face_to_face": seam.face_to_face}]
        session.flush()
        return pattern_of(row)


def unpick(workroom: Workroom, pattern: str, first: str, second: str) -> Pattern:
    """Say that two edges are not sewn together after all. Raises Unknown, Refused."""
    with workroom.writing() as session:
        row = row_of(session, pattern)
        found = pattern_of(row)
        pair = {_named(found, first), _named(found, second)}
        kept = [seam for seam in row.seams or [] if {seam["first"], seam["second"]} != pair]
        if len(kept) == len(row.seams or []):
            raise Refused(f"{' and '.join(sorted(pair))} are not sewn together", where="seam", expected=_seams_of(row))
        row.seams = kept
        session.flush()
        return pattern_of(row)


def _seams_of(row: PatternRow) -> str:
    said = [f"{seam['first']} to {seam['second']}" for seam in row.seams or []]
    return f"one of the seams: {'; '.join(said)}" if said else "a pattern with seams"


def _named(pattern: Pattern, text: str) -> str:
    """ "piece/edge" as they are called in the pattern. Raises Unknown, Refused."""
    piece_name, slash, edge_name = (part.strip() for part in text.partition("/"))
    if not slash:
        raise Refused(f"{text!r} is not an edge of a piece", where="seam", expected="PIECE/EDGE, such as gore/left side")
    by_key = {key_of(piece.name): piece for piece in pattern.pieces}
    piece = by_key.get(key_of(piece_name))
    if piece is None:
        raise unknown(
            "piece", piece_name, [piece.name for piece in pattern.pieces], listed=f"fent pattern show {pattern.name}"
        )
    edges = {key_of(edge.name): edge.name for edge in piece.edges}
    if key_of(edge_name) not in edges:
        raise unknown(f"edge of {piece.name}", edge_name, edges.values(), listed=f"fent pattern show {pattern.name}")
    return f"{piece.name}/{edges[key_of(edge_name)]}"


def seams_of(pattern: Pattern) -> tuple[Seam, ...]:
    """The seams of a pattern: those that were told, and those that make a ring of equal tapered panels."""
    rings = [
        Seam(f"{piece.name}/left side", f"{piece.name}/right side")
        for piece in pattern.pieces
        if piece.draft is not None and piece.count > 1
    ]
    told = [{seam.first, seam.second} for seam in pattern.seams]
    return (*pattern.seams, *(ring for ring in rings if {ring.first, ring.second} not in told))


def prove(workroom: Workroom, name: str, *, cloth: str | None = None) -> Proof:
    """Prove a pattern, in a cloth if one is named. Raises Unknown; Refused for a pattern without pieces."""
    from . import cloths

    with workroom.reading() as session:
        pattern = pattern_of(row_of(session, name))
        material = cloths.get(workroom, cloth) if cloth is not None else None
    if not pattern.pieces:
        raise Refused(f"{pattern.name} has no pieces", where="pattern", expected="a pattern with at least one piece")
    shapes = {piece.name: _Shape.of(piece) for piece in pattern.pieces}
    pieces = tuple(_piece(piece, shapes[piece.name]) for piece in pattern.pieces)
    proved = tuple(_seam(seam, shapes) for seam in seams_of(pattern))
    frays = material.frays if material is not None else None
    found = [finding for each in proved for finding in _of_seam(each, shapes)]
    found += [finding for each in pieces for finding in _of_piece(each, frays)]
    area = sum(piece.set_area for piece in pieces)
    mass = area / 1e6 * material.weight if material is not None else None
    return Proof(pattern.name, material.name if material else None, pieces, proved, tuple(found), area, mass)


@dataclass(frozen=True, slots=True)
class _Shape:
    """A piece as it is sewn: the length of each edge, where its notches lie, the inner angle where each edge begins."""

    piece: Piece
    lengths: Mapping[str, float]
    angles: Mapping[str, float]

    @classmethod
    def of(cls, piece: Piece) -> _Shape:
        from .piece_lines import edge_lines

        lines = edge_lines(piece)
        names = [edge.name for edge in piece.edges if not lines[edge.name].is_empty]
        angles = {
            name: _inner_angle(list(lines[names[i - 1]].coords), list(lines[name].coords)) for i, name in enumerate(names)
        }
        return cls(piece, {name: float(line.length) for name, line in lines.items()}, angles)

    def at_start(self, edge: str) -> float:
        """The inner angle where an edge begins."""
        return self.angles.get(edge, 180.0)

    def at_end(self, edge: str) -> float:
        """The inner angle where an edge ends."""
        names = list(self.angles)
        return self.angles[names[(names.index(edge) + 1) % len(names)]] if edge in names else 180.0


def _inner_angle(before: Sequence[tuple[float, ...]], after: Sequence[tuple[float, ...]]) -> float:
    """The angle inside the corner between two edges of a counter-clockwise ring, degrees."""
    into = math.atan2(before[-1][1] - before[-2][1], before[-1][0] - before[-2][0])
    out_of = math.atan2(after[1][1] - after[0][1], after[1][0] - after[0][0])
    return 180.0 - ((math.degrees(out_of - into) + 180.0) % 360.0 - 180.0)


def _seam(seam: Seam, shapes: Mapping[str, _Shape]) -> SeamProved:
    (one, a), (other, b) = (_parts(text) for text in (seam.first, seam.second))
    first, second = shapes[one], shapes[other]
    kinks = (
        first.at_start(a) + second.at_end(b) - 180.0,
        first.at_end(a) + second.at_start(b) - 180.0,
    )
    return SeamProved(seam, first.lengths[a], second.lengths[b], () if seam.face_to_face else kinks)


def _parts(text: str) -> tuple[str, str]:
    piece, _, edge = text.partition("/")
    return piece, edge


def _of_seam(proved: SeamProved, shapes: Mapping[str, _Shape]) -> Iterator[Finding]:
    seam = proved.seam
    where = f"{seam.first} to {seam.second}"
    longer = proved.first - proved.second
    yield Finding(abs(longer - seam.ease) <= EASE_WITHIN, Matter.EASE, where, longer, seam.ease)
    for kink in proved.kinks:
        yield Finding(abs(kink) <= SMOOTH, Matter.KINK, where, kink, 0.0)
    (one, a), (other, b) = (_parts(text) for text in (seam.first, seam.second))
    here = sorted(notch.at for notch in shapes[one].piece.notches if notch.edge == a)
    there = sorted(
        notch.at if seam.face_to_face else proved.second - notch.at for notch in shapes[other].piece.notches if notch.edge == b
    )
    if len(here) != len(there):
        yield Finding(False, Matter.NOTCHES, where, len(here), len(there))
        return
    for mine, theirs in zip(here, there, strict=True):
        yield Finding(abs(mine - theirs) <= NOTCHES_WITHIN + abs(seam.ease), Matter.NOTCHES, where, mine, theirs)


def _piece(piece: Piece, shape: _Shape) -> PieceProved:
    from .piece_lines import narrowest

    names = list(shape.angles)
    corners = tuple((names[i - 1], name, shape.angles[name]) for i, name in enumerate(names))
    across, one, other = narrowest(piece)
    sewn = [edge.allowance for edge in piece.edges if edge.allowance > 0]
    area = float(piece.cut_line.area)
    return PieceProved(piece.name, corners, across, (one, other), min(sewn, default=0.0), area, area * piece.count)


def _of_piece(proved: PieceProved, frays: float | None) -> Iterator[Finding]:
    """The narrowest place must be wider than two allowances pressed into it; what frays must leave enough to hold."""
    yield Finding(
        proved.narrowest > 2 * proved.least_allowance, Matter.NARROW, proved.name, proved.narrowest, 2 * proved.least_allowance
    )
    if frays is not None and proved.least_allowance > 0:
        asked = frays + LEFT_TO_HOLD
        yield Finding(proved.least_allowance >= asked, Matter.FRAYING, proved.name, proved.least_allowance, asked)
