"""What an SVG says of an element beside its shape: its colour, whether it is seen, what it is called (SVG 2, 6; CSS 2.1, 5).

Of CSS, simple selectors are understood (`path`, `.cut`, `#front`, `path.cut`), as drawing programs write them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from .refusals import Refused

_RULE = re.compile(r"([^{}]*)\{([^{}]*)\}")
_SIMPLE = re.compile(r"([a-zA-Z]*)(?:([.#])([\w-]+))?")
_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
LABELS = ("data-layer", "label", "inkscape:label")
MOVES = ("transform", "transform-origin", "transform-box", "translate", "rotate", "scale", "offset-path", "d")
"""Properties of CSS that would move a line, or be one: they are not understood, and must not be passed over."""


@dataclass(frozen=True, slots=True)
class Look:
    """How an element is drawn: the colour of its line, else of what fills it; whether it is seen."""

    stroke: str = "none"
    fill: str = "black"
    seen: bool = True

    @property
    def colour(self) -> str:
        """As `#rrggbb`, or "" where it has none."""
        return hexed(self.stroke) or hexed(self.fill)


Rules = list[tuple[int, str, str, str, Mapping[str, str]]]
"""For each: how much it counts; tag, "." or "#", and the name ("" for any); what it says."""


def rules(text: str) -> Rules:
    """The simple rules of a style sheet, those that count most last."""
    found: Rules = []
    for selectors, body in _RULE.findall(_COMMENT.sub(" ", text)):
        said = declarations(body)
        for selector in selectors.split(","):
            simple = _SIMPLE.fullmatch(selector.strip())
            if simple is not None and (simple[1] or simple[3]):
                counts = {"#": 4, ".": 2, None: 0}[simple[2]] + bool(simple[1])
                found.append((counts, simple[1], simple[2] or "", simple[3] or "", said))
    return sorted(found, key=lambda rule: rule[0])


def declarations(text: str) -> dict[str, str]:
    """`stroke: red; fill: none` by name."""
    pairs = (part.partition(":") for part in text.split(";"))
    return {name.strip().lower(): value.replace("!important", "").strip() for name, _, value in pairs if value.strip()}


def said_of(element: Element, tag: str, sheet: Rules) -> dict[str, str]:
    """What attributes, style sheet and the element's own style say of it, in the order in which they count."""
    said = {name: value for name, value in element.attrib.items() if name in ("stroke", "fill", "display", "visibility")}
    classes, own = (element.get("class") or "").split(), element.get("id") or ""
    for _, of_tag, mark, name, body in sheet:
        named = {"": True, ".": name in classes, "#": name == own}[mark]
        if named and of_tag in ("", tag):
            said.update(body)
    said.update(declarations(element.get("style", "")))
    moved = [name for name in MOVES if name in said and said[name] != "none"]
    if moved or "transform-origin" in element.attrib or "transform-box" in element.attrib:
        raise Refused(
            f"a style moves what is drawn ({(moved or ['transform-origin'])[0]})",
            where="drawing",
            expected="transforms as attributes, as drawing programs write them",
            next="Save it as plain SVG",
        )
    return said


def look(said: Mapping[str, str], above: Look) -> Look:
    """How an element looks whose parent looks like `above`."""
    stroke, fill = said.get("stroke", "inherit"), said.get("fill", "inherit")
    visibility = said.get("visibility", "inherit")  # what is in a hidden group may say that it is seen all the same
    return Look(
        above.stroke if stroke == "inherit" else stroke,
        above.fill if fill == "inherit" else fill,
        above.seen if visibility == "inherit" else visibility not in ("hidden", "collapse"),
    )


def label(element: Element) -> str:
    """What a group is called by whoever drew it: the name of its layer, its title, or its id."""
    for name, value in element.attrib.items():
        if name.rpartition("}")[2] in LABELS and value.strip():
            return " ".join(value.split())[:80]
    title = next((child for child in element if isinstance(child.tag, str) and child.tag.rpartition("}")[2] == "title"), None)
    told = (title.text if title is not None else None) or element.get("id") or ""
    return " ".join(told.split())[:80]


def hexed(colour: str) -> str:
    """A colour as `#rrggbb`, "" for none or one that is not known.

    >>> hexed("red"), hexed("#ABC"), hexed("rgb(0, 80, 176)"), hexed("none"), hexed("url(#g)")
    ('#ff0000', '#aabbcc', '#0050b0', '', '')
    """
    from PIL import ImageColor

    try:
        red, green, blue = ImageColor.getrgb(colour.strip()[:40])[:3]
    except ValueError:
        return ""
    return f"#{red:02x}{green:02x}{blue:02x}"
