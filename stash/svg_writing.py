"""A drawing written as SVG, at true scale: width and height in mm, and a user unit is a millimetre (SVG 2, 8.6 and 8.7).

Whoever reads it again, Fent or another, finds what each line is in `data-line`, and what belongs together in groups. An SVG's
y runs down: a point (x, y) stands at (x, −y), so that the figures in the file are those of the stash.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from xml.etree import ElementTree

from nesting import Point

from .drawings import Drawing, Layer, Outline, Part, Spot, Stroke, Words

SVG = "http://www.w3.org/2000/svg"
DECIMALS = 6
"""Of a millimetre: a thousandth of what any cutter could follow, and short enough to read."""
SPOT = 1.0
"""mm across: how large a single point is drawn."""


@dataclass(frozen=True, slots=True)
class Look:
    """How a kind of line is drawn: colour, width and dashes in mm. None is told by its colour alone."""

    colour: str = "#000000"
    width: float = 0.35
    dashes: str = ""
    fill: str = "none"


LOOKS = {
    Layer.CUT: Look(width=0.5),
    Layer.SEWING: Look("#0050b0", dashes="4 2"),
    Layer.GRAIN: Look("#404040"),
    Layer.NOTCH: Look(width=0.5),
    Layer.FOLD: Look("#8000a0", dashes="8 2 1 2"),
    Layer.INNER: Look("#606060", dashes="1 1"),
    Layer.CUT_OUT: Look(width=0.5),
    Layer.DRILL: Look("#c00000"),
    Layer.REMNANT: Look("#705030", width=0.6),
    Layer.HOLE: Look("#c00000", dashes="1 1"),
    Layer.FLAW: Look("#b06000", dashes="2 1 1 1"),
    Layer.SELVEDGE: Look("#705030", width=1.2),
    Layer.RAW: Look("#705030", width=1.2, dashes="1 2"),
    Layer.KEEPER: Look("#208040", dashes="6 3"),
    Layer.MEASURE: Look(width=0.25),
    Layer.WORDS: Look(fill="#000000"),
}


def written(drawing: Drawing) -> str:
    """The drawing as the text of an SVG file, UTF-8. Raises ValueError for a drawing in which there is nothing."""
    left, low, right, high = drawing.bounds()
    size = {"width": f"{_figure(right - left)}mm", "height": f"{_figure(high - low)}mm"}
    box = " ".join(map(_figure, (left, -high, right - left, high - low)))
    root = ElementTree.Element("svg", {"xmlns": SVG, "version": "1.1", **size, "viewBox": box})
    ElementTree.SubElement(root, "title").text = _plain(drawing.title)
    _arrow_head(root)
    for number, part in enumerate(drawing.parts, 1):
        _group(root, part, number)
    ElementTree.indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ElementTree.tostring(root, encoding="unicode") + "\n"


def _group(root: ElementTree.Element, part: Part, number: int) -> None:
    said = {f"data-{name}": _plain(value) for name, value in part.said.items()}
    group = ElementTree.SubElement(root, "g", {"id": f"part-{number}", "data-part": _plain(part.name), **said})
    ElementTree.SubElement(group, "title").text = _plain(part.name)
    for outline in part.outlines:
        _path(group, outline, f"{_run(outline.ring)} Z")
    for stroke in part.strokes:
        path = _path(group, stroke, _run(stroke.points))
        if stroke.layer is Layer.GRAIN:
            path.set("marker-end", "url(#arrow)")
    for spot in part.spots:
        _spot(group, spot)
    for words in part.words:
        _words(group, words)


def _path(group: ElementTree.Element, line: Outline | Stroke, run: str) -> ElementTree.Element:
    name = {"data-name": _plain(line.name)} if line.name else {}
    return ElementTree.SubElement(group, "path", {"data-line": str(line.layer), **name, "d": run, **_drawn(line.layer)})


def _drawn(layer: Layer) -> dict[str, str]:
    look = LOOKS[layer]
    dashes = {"stroke-dasharray": look.dashes} if look.dashes else {}
    return {"fill": look.fill, "stroke": look.colour, "stroke-width": f"{look.width:g}", **dashes}


def _spot(group: ElementTree.Element, spot: Spot) -> None:
    x, y = spot.at
    at = {"cx": _figure(x), "cy": _figure(-y), "r": _figure(SPOT / 2)}
    ElementTree.SubElement(group, "circle", {"data-line": str(spot.layer), **at, **_drawn(spot.layer)})


def _words(group: ElementTree.Element, words: Words) -> None:
    x, y = _figure(words.at[0]), _figure(-words.at[1])
    # The height is that of capitals, about seven tenths of a font's size.
    said = {"x": x, "y": y, "font-size": _figure(words.height / 0.7), "font-family": "sans-serif"}
    said |= {"transform": f"rotate({_figure(-words.turn)} {x} {y})"} if words.turn else {}
    said |= {"text-anchor": "middle"} if words.middle else {}
    ElementTree.SubElement(group, "text", said).text = _plain(words.text)


def _arrow_head(root: ElementTree.Element) -> None:
    """The head of the grain line's arrow, the same on paper whatever the line is long."""
    size = {"viewBox": "0 0 10 10", "refX": "9", "refY": "5", "markerWidth": "4", "markerHeight": "4", "orient": "auto"}
    units = {"markerUnits": "userSpaceOnUse"}
    marker = ElementTree.SubElement(ElementTree.SubElement(root, "defs"), "marker", {"id": "arrow", **units, **size})
    ElementTree.SubElement(marker, "path", {"d": "M 0 1 L 10 5 L 0 9 Z", "fill": LOOKS[Layer.GRAIN].colour})


def _run(points: Iterable[Point]) -> str:
    return "M " + " L ".join(f"{_figure(x)} {_figure(-y)}" for x, y in points)


def _figure(value: float) -> str:
    """A figure without needless noughts.

    >>> _figure(-0.0), _figure(12.5), _figure(1 / 3)
    ('0', '12.5', '0.333333')
    """
    text = f"{value:.{DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _plain(text: str) -> str:
    """Words without what XML cannot hold."""
    return "".join(letter for letter in text if letter.isprintable())
