"""The lines of an SVG, in mm: paths and shapes through all groups, transforms and frames, curves made straight.

It may come from anyone. No entity is taken up and nothing else is fetched; how deep its groups stand in each other, how many
lines and points it has and how often it draws one thing again are limited. What cannot be read surely is refused, never left
out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from io import BytesIO
from xml.etree.ElementTree import Element

from nesting import Point

from . import strange_files, svg_looks, svg_sizes
from .curves import Affine
from .drawings import Layer
from .found_lines import Counted, FoundDrawing, FoundLine, FoundWords, joined
from .refusals import Refused
from .svg_paths import Run, runs

CURVES_WITHIN = 0.1
"""mm by which the sides may lie off a curve, as drafted arcs do: a cutter follows a line to half a millimetre at best."""
GROUPS = ("g", "a", "switch", "svg", "symbol")
NOT_DRAWN = (
    *("defs", "clipPath", "mask", "pattern", "marker", "linearGradient", "radialGradient", "filter", "metadata", "title"),
    *("desc", "style", "script", "font", "cursor", "view", "namedview", "tspan", "textPath"),
)
PASSED_OVER = {"image": "a picture", "foreignObject": "a part in another form"}
HREF = ("href", "{http://www.w3.org/1999/xlink}href")


@dataclass(frozen=True, slots=True)
class _Where:
    """Where in the drawing an element stands. `deep`: how many groups are round it; `through`: the ids that it is drawn again
    by."""

    place: Affine
    look: svg_looks.Look
    layer: str = ""
    group: str = ""
    deep: int = 0
    through: tuple[str, ...] = ()


def read(packed: bytes, *, unit: float | None = None, within: float = CURVES_WITHIN, where: str = "drawing") -> FoundDrawing:
    """What an SVG (or one packed by gzip) holds. `unit`: mm of a user unit, where a person says so.

    Raises Refused: no SVG, of unknown size, too large, or with something in it that cannot be read surely.
    """
    root = _tree(strange_files.unpacked(packed, where))
    sized = svg_sizes.of_drawing(root.attrib, unit)
    if sized is None:
        raise Refused(
            "it does not say how large it is: a frame, but no width in real units",
            where="unit",
            expected="how long one of its units is: mm, cm, in, or 1/96 in",
            next="Say so with --unit",
        )
    reader = _Reader(root, within)
    frame = Affine(a=sized.across, d=-sized.down)  # its y runs down
    reader.walk(root, _Where(frame, svg_looks.Look()))
    return FoundDrawing(
        lines=tuple(joined(reader.counted.lines)),
        words=tuple(reader.words),
        sized_by=sized.by,
        facts=reader.facts,
        passed_over=tuple(dict.fromkeys(reader.passed_over)),
    )


def _tree(text: bytes) -> Element:
    """The elements of a file. Raises Refused for what is no SVG, has entities, or is nested too deep."""
    from xml.etree.ElementTree import ParseError

    from defusedxml.common import DefusedXmlException
    from defusedxml.ElementTree import iterparse

    root: Element | None = None
    deep = count = 0
    try:
        for event, element in iterparse(BytesIO(text), events=("start", "end")):
            root = element if root is None else root
            deep += 1 if event == "start" else -1
            count += event == "start"
            if deep > strange_files.DEEPEST:
                raise strange_files.too_much(f"{strange_files.DEEPEST} groups within each other")
            if count > 2 * strange_files.MOST_LINES:
                raise strange_files.too_much(f"{2 * strange_files.MOST_LINES} elements")
    except DefusedXmlException:
        raise Refused(
            "it declares entities, which can fetch files or fill the memory",
            where="drawing",
            expected="an SVG without them",
            next="Save it as plain SVG",
        ) from None
    except (ParseError, ValueError, LookupError) as fault:
        if isinstance(fault, Refused):
            raise
        raise Refused(f"it is no SVG that can be read ({fault})", where="drawing", expected="an SVG that is whole") from None
    if root is None or _tag(root) != "svg":
        raise Refused("it is no SVG", where="drawing", expected="a file that a drawing program has saved as SVG")
    return root


def _tag(element: Element) -> str:
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


class _Reader:
    """Goes through the elements of one file."""

    def __init__(self, root: Element, within: float) -> None:
        self.within = within
        self.counted = Counted()
        self.words: list[FoundWords] = []
        self.facts: dict[str, dict[str, str]] = {}
        self.passed_over: list[str] = []
        self.by_id = {element.get("id"): element for element in root.iter() if element.get("id")}
        self.sheet = svg_looks.rules(" ".join(each.text or "" for each in root.iter() if _tag(each) == "style"))
        self.root = root

    def walk(self, element: Element, where: _Where) -> None:
        """Read an element and what is in it."""
        self.counted.look()
        tag = _tag(element)
        if tag in NOT_DRAWN or not tag:
            return
        said = svg_looks.said_of(element, tag, self.sheet)
        if said.get("display") == "none":  # nor is anything in it, whatever that says of itself
            self.passed_over.append("what is hidden")
            return
        if where.deep > strange_files.DEEPEST:
            raise strange_files.too_much(f"{strange_files.DEEPEST} groups within each other")
        here = replace(where, look=svg_looks.look(said, where.look), deep=where.deep + 1)
        if "transform" in element.attrib:
            here = replace(here, place=here.place @ svg_sizes.transform(element.attrib["transform"]))
        if tag in GROUPS:
            self._group(element, tag, here)
        elif tag == "use":
            self._again(element, here)
        elif not here.look.seen:
            self.passed_over.append("what is hidden")
        elif tag == "text":
            self._text(element, here)
        elif tag in PASSED_OVER:
            self.passed_over.append(PASSED_OVER[tag])
        else:
            self._line(element, tag, here)

    def _group(self, element: Element, tag: str, here: _Where) -> None:
        if tag == "svg" and element is not self.root:
            here = replace(here, place=here.place @ svg_sizes.inner_frame(element.attrib))
        if element is not self.root:
            part, called = element.get("data-part"), svg_looks.label(element)
            here = replace(here, layer=called or here.layer, group=part or here.group)
            if part:
                self.facts[part] = {
                    name.removeprefix("data-"): value for name, value in element.attrib.items() if name.startswith("data-")
                }
        for child in element:
            if _tag(child) != "symbol":  # that is drawn only where it is used (SVG 2, 5.5)
                self.walk(child, here)

    def _again(self, element: Element, here: _Where) -> None:
        """What `use` draws again. Raises Refused for what is not in this file, or within itself."""
        name = next((element.attrib[each] for each in HREF if each in element.attrib), "")
        meant = self.by_id.get(name[1:]) if name.startswith("#") else None
        if meant is None or name in here.through:
            what = "draws itself again within itself" if meant is not None else f"draws {name!r:.60}, which is not in it"
            raise Refused(f"it {what}", where="drawing", expected="a drawing that is whole in one file")
        x, y = (svg_sizes.length(element.get(each, "0"), each) for each in ("x", "y"))
        here = replace(here, place=here.place @ Affine(e=x, f=y), through=(*here.through, name))
        if _tag(meant) == "symbol" and "viewBox" in meant.attrib:
            frame = dict(meant.attrib) | {"x": "0", "y": "0"}
            frame |= {each: element.attrib[each] for each in ("width", "height") if each in element.attrib}
            here = replace(here, place=here.place @ svg_sizes.inner_frame(frame))
        self.walk(meant, here)

    def _text(self, element: Element, here: _Where) -> None:
        """Words, and where they begin: a name that a piece goes by, perhaps."""
        text = " ".join("".join(element.itertext()).split())[:200]
        first = next((each for each in element.iter() if each.get("x")), element)
        try:
            at = (svg_sizes.length(first.get("x", "0"), "x"), svg_sizes.length(first.get("y", "0"), "y"))
        except Refused:  # a list of places, one for each letter: words are no line, and not worth a refusal
            at = (0.0, 0.0)
        if text:
            self.words.append(FoundWords(at=here.place.at(at), text=text, group=here.group))

    def _line(self, element: Element, tag: str, here: _Where) -> None:
        drawn = list(_shape(element, tag, here.place, self.within))
        said = element.get("data-line", "")
        known = Layer(said) if said in set(Layer) else None
        if known is Layer.DRILL and tag == "circle":
            drawn = [Run((_middle(drawn[0].points),), closed=False)] if drawn else []
        for run in drawn:
            self.counted.add(
                FoundLine(
                    points=run.points,
                    closed=run.closed and len(run.points) > 2,
                    layer=here.layer,
                    colour=here.look.colour,
                    name=element.get("data-name") or element.get("id") or "",
                    group=here.group,
                    said=known,
                )
            )


def _middle(points: tuple[Point, ...]) -> Point:
    xs, ys = zip(*points, strict=True)
    return ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)


def _shape(element: Element, tag: str, place: Affine, within: float) -> Iterator[Run]:
    """The lines of a path or basic shape (SVG 2, 10). Raises Refused; an element of no known kind draws nothing."""

    def length(name: str, otherwise: str = "0") -> float:
        return svg_sizes.length(element.get(name, otherwise), name)

    if tag == "path":
        yield from runs(element.get("d", ""), place, within)
    elif tag == "line":
        ends = ((length("x1"), length("y1")), (length("x2"), length("y2")))
        yield Run(tuple(map(place.at, ends)), closed=False)
    elif tag in ("polyline", "polygon"):
        corners = svg_sizes.points(element.get("points", ""))
        if len(corners) > 1:
            yield Run(tuple(map(place.at, corners)), closed=tag == "polygon")
    elif tag == "rect":
        yield from runs(_rectangle(element, length), place, within)
    elif tag in ("circle", "ellipse"):
        rx, ry = (length("r"),) * 2 if tag == "circle" else (length("rx"), length("ry"))
        if rx > 0 and ry > 0:
            cx, cy = length("cx"), length("cy")
            half = f"A {rx!r} {ry!r} 0 0 1"
            yield from runs(f"M {cx + rx!r} {cy!r} {half} {cx - rx!r} {cy!r} {half} {cx + rx!r} {cy!r} Z", place, within)


def _rectangle(element: Element, length: svg_sizes.LengthOf) -> str:
    """A rectangle, its corners rounded or not, as path data."""
    x, y, wide, high = length("x"), length("y"), length("width"), length("height")
    if wide <= 0 or high <= 0:
        return ""
    given = [name for name in ("rx", "ry") if element.get(name, "auto") != "auto"]
    rx = min(length("rx" if "rx" in given else given[0]), wide / 2) if given else 0.0
    ry = min(length("ry" if "ry" in given else given[0]), high / 2) if given else 0.0
    if rx <= 0 or ry <= 0:
        return f"M {x!r} {y!r} h {wide!r} v {high!r} h {-wide!r} Z"
    turn = f"a {rx!r} {ry!r} 0 0 1"
    return (
        f"M {x + rx!r} {y!r} h {wide - 2 * rx!r} {turn} {rx!r} {ry!r} v {high - 2 * ry!r} {turn} {-rx!r} {ry!r} "
        f"h {2 * rx - wide!r} {turn} {-rx!r} {-ry!r} v {2 * ry - high!r} {turn} {rx!r} {-ry!r} Z"
    )
