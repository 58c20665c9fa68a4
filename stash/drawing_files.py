"""Drawings in files, by what their names end in: SVG (also packed, `.svgz`) and DXF, read and written."""

from __future__ import annotations

from pathlib import Path

from . import dxf_reading, dxf_writing, strange_files, svg_reading, svg_writing, telling
from .drawings import Drawing
from .found_lines import FoundDrawing
from .refusals import Refused

KINDS = (".svg", ".svgz", ".dxf")
CLOSEST, LOOSEST = 0.001, 5.0
"""mm between which curves may be made straight within."""
SMALLEST_UNIT, LARGEST_UNIT = 1e-4, 1e4
"""mm that a unit of a drawing may be long."""


def read(file: Path, *, unit: float | None = None, within: float = svg_reading.CURVES_WITHIN) -> FoundDrawing:
    """What a drawing holds, in mm. `unit`: mm of one of its units, where a person says so; `within`: mm by which the sides may
    lie off a curve. Raises Refused, with the file's name: not there, too large, damaged, no drawing, of unknown size."""
    if not CLOSEST <= within <= LOOSEST:
        raise Refused(f"{telling.fine(within)} is no distance to follow curves by", where="within", expected="0.001 to 5 mm")
    if unit is not None and not SMALLEST_UNIT <= unit <= LARGEST_UNIT:
        raise Refused(f"a unit of {telling.fine(unit)} is none", where="unit", expected="0.0001 mm to 10 m")
    kind = file.suffix.lower()
    if kind not in KINDS:
        raise Refused(f"{str(file)!r} is no drawing that can be read", where="drawing", expected=f"one of: {', '.join(KINDS)}")
    held = strange_files.contents(file, "drawing")
    try:
        if kind == ".dxf":
            return dxf_reading.read(held, unit=unit, within=within)
        return svg_reading.read(held, unit=unit, within=within, where=str(file))
    except Refused as refusal:
        if refusal.where in ("drawing", "path", "curve", ""):
            refusal.where = str(file)
        raise


def written(drawing: Drawing, kind: str) -> str:
    """The text of a file of that kind (`.svg`, `.dxf`). Raises Refused for another."""
    if kind.lower() == ".svg":
        return svg_writing.written(drawing)
    if kind.lower() == ".dxf":
        return dxf_writing.written(drawing)
    raise Refused(f"{kind!r} is no kind of drawing that can be written", where="file", expected="one of: .svg, .dxf")
