"""A drawing written as DXF, in mm (`$INSUNITS` 4), each part a block, on the layers of ASTM D6673.

The numbers of that standard's layers (withdrawn in 2019) are from memory: 1 boundary, 4 notches, 6 mirror line, 7 grain line,
8 internal lines, 11 cut-outs, 13 drill holes, 14 sew line, 15 words. What it has no layer for stands on one with a plain name.
A notch is a short line from the sewing line out to the cut line, and a point at its outer end, where that standard has one.
"""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING

from .drawings import Drawing, Layer, Outline, Part, Stroke
from .words import FaultKind

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document
    from ezdxf.layouts.blocklayout import BlockLayout

VERSION = "R2000"
"""The oldest that knows `$INSUNITS`, so that the most programs read it at the right size."""
MILLIMETRES = 4
NUMBERS = {
    Layer.CUT: "1",
    Layer.NOTCH: "4",
    Layer.FOLD: "6",
    Layer.GRAIN: "7",
    Layer.INNER: "8",
    Layer.CUT_OUT: "11",
    Layer.DRILL: "13",
    Layer.SEWING: "14",
    Layer.WORDS: "15",
}
COLOURS = {Layer.CUT: 7, Layer.SEWING: 5, Layer.GRAIN: 8, Layer.FOLD: 6, Layer.HOLE: 1, Layer.FLAW: 30, Layer.KEEPER: 3}
"""As the form numbers them: 1 red, 3 green, 5 blue, 6 magenta, 7 black or white, 8 grey, 30 orange."""
FLAWS = [str(kind) for kind in FaultKind if kind is not FaultKind.HOLE]
LONGEST = 60
"""Letters of a block's name."""


def layer_name(layer: Layer) -> str:
    """The name of a kind of line's layer.

    >>> layer_name(Layer.CUT), layer_name(Layer.REMNANT)
    ('1', 'remnant')
    """
    return NUMBERS.get(layer, str(layer))


def written(drawing: Drawing) -> str:
    """The drawing as the text of a DXF file."""
    from ezdxf.filemanagement import new

    document = new(VERSION)
    document.units = MILLIMETRES
    document.header["$MEASUREMENT"] = 1  # metric
    for layer in Layer:
        document.layers.add(layer_name(layer), color=COLOURS.get(layer, 7))
    for kind in FLAWS:
        document.layers.add(kind, color=COLOURS[Layer.FLAW])
    taken: set[str] = set()  # in small letters: the form does not tell Front from front
    for part in drawing.parts:
        name = _block_name(part.name, taken)
        taken.add(name.casefold())
        _fill(document.blocks.new(name), part)
        document.modelspace().add_blockref(name, (0, 0))
    _frame(document, drawing)
    page = io.StringIO()
    document.write(page)
    return page.getvalue()


def _fill(block: BlockLayout, part: Part) -> None:
    for outline in part.outlines:
        block.add_lwpolyline(outline.ring, close=True, dxfattribs={"layer": _layer(outline)})
    for stroke in part.strokes:
        on = {"layer": _layer(stroke)}
        if len(stroke.points) == 2:
            block.add_line(*stroke.points, dxfattribs=on)
        else:
            block.add_lwpolyline(stroke.points, dxfattribs=on)
        if stroke.layer is Layer.NOTCH:
            block.add_point(stroke.points[-1], dxfattribs=on)
    for spot in part.spots:
        block.add_point(spot.at, dxfattribs={"layer": layer_name(spot.layer)})
    for words in part.words:
        on = {"layer": layer_name(Layer.WORDS)}
        text = block.add_text(_one_line(words.text), height=words.height, rotation=words.turn, dxfattribs=on)
        if words.middle:
            from ezdxf.enums import TextEntityAlignment

            text.set_placement(words.at, align=TextEntityAlignment.CENTER)
        else:
            text.set_placement(words.at)


def _layer(line: Outline | Stroke) -> str:
    """The layer of a line: a flaw's is called by its kind, since a DXF's line has no name."""
    return line.name if line.layer is Layer.FLAW and line.name else layer_name(line.layer)


def _frame(document: Document, drawing: Drawing) -> None:
    """What is seen when the file is opened: all of it."""
    left, low, right, high = drawing.bounds()
    document.header["$EXTMIN"], document.header["$EXTMAX"] = (left, low, 0), (right, high, 0)
    document.set_modelspace_vport(height=max(high - low, 1.0), center=((left + right) / 2, (low + high) / 2))


def _block_name(name: str, taken: set[str]) -> str:
    """A name that the form allows and no other part has."""
    plain = re.sub(r'[<>/\\":;?*|=`,\x00-\x1f]', "-", name).strip()[:LONGEST] or "part"
    return next(each for each in (plain, *(f"{plain} {n}" for n in range(2, 100_000))) if each.casefold() not in taken)


def _one_line(text: str) -> str:
    """Words as the form takes them: a single text has no line breaks, and % begins its codes."""
    return "".join(letter for letter in text if letter.isprintable()).replace("%%", "% %")
