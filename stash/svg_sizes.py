"""How large an SVG is, and where its parts lie: lengths, frames and transforms (SVG 2, 8; CSS Values 4, 6.2)."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from .curves import Affine, turned
from .refusals import Refused
from .svg_paths import LARGEST_FIGURE, NUMBER

LengthOf = Callable[[str], float]
INCH = 25.4
A_UNIT = INCH / 96
"""mm of a user unit, where nothing else is said: CSS has 96 of them in an inch."""
MILLIMETRES = {"": A_UNIT, "px": A_UNIT, "pt": INCH / 72, "pc": INCH / 6, "in": INCH, "cm": 10.0, "mm": 1.0, "q": 0.25}
_LENGTH = re.compile(rf"\s*({NUMBER})\s*([a-zA-Z]*|%)\s*")
_TRANSFORM = re.compile(r"[\s,]*([a-zA-Z]+)\s*\(([^()]*)\)[\s,]*")
_BETWEEN = re.compile(r"[\s,]+")


@dataclass(frozen=True, slots=True)
class Sized:
    """mm of a user unit along x and along y, and what told it."""

    across: float
    down: float
    by: str


def of_drawing(attributes: Mapping[str, str], unit: float | None) -> Sized | None:
    """How large the outermost frame makes a user unit. `unit`: mm, where a person says it. None where nobody says it: a frame
    without a size in real units may be shown at any."""
    if unit is not None:
        return Sized(unit, unit, "as told")
    box = view_box(attributes)
    if box is None:
        return Sized(A_UNIT, A_UNIT, "96 units to the inch")
    wide, high = (_real(attributes.get(name, "")) for name in ("width", "height"))
    if wide is None and high is None:
        return None
    across = wide / box[2] if wide is not None else None
    down = high / box[3] if high is not None else None
    across, down = across or down or 0.0, down or across or 0.0
    if attributes.get("preserveAspectRatio", "").split()[:1] != ["none"]:
        across = down = (max if "slice" in attributes.get("preserveAspectRatio", "") else min)(across, down)
    return Sized(across, down, "its width and viewBox")


def view_box(attributes: Mapping[str, str]) -> tuple[float, float, float, float] | None:
    """The four figures of a viewBox, if there is one. Raises Refused for one that is none, or has no size."""
    text = attributes.get("viewBox")
    if text is None:
        return None
    try:
        x, y, wide, high = _figures(text)
    except ValueError:
        wide = high = 0.0
    if not (wide > 0 and high > 0):
        raise Refused(f"the viewBox {text!r:.60} is none", where="drawing", expected="four figures, the last two more than 0")
    return (x, y, wide, high)


def inner_frame(attributes: Mapping[str, str]) -> Affine:
    """Where the frame of an SVG within an SVG lies, and how it scales what is in it."""
    x, y = (length(attributes.get(name, "0"), name) for name in ("x", "y"))
    box = view_box(attributes)
    if box is None:
        return Affine(e=x, f=y)
    wide = length(attributes["width"], "width") if "width" in attributes else None
    high = length(attributes["height"], "height") if "height" in attributes else None
    if not wide or not high:
        raise Refused(
            "an SVG within it has a viewBox but no width and height", where="drawing", expected="both, or no viewBox"
        )
    across, down = wide / box[2], high / box[3]
    words = attributes.get("preserveAspectRatio", "xMidYMid meet").split()
    align = words[0] if words else "xMidYMid"
    if align != "none":
        across = down = (max if "slice" in words else min)(across, down)
    share = {"min": 0.0, "mid": 0.5, "max": 1.0}
    x += share.get(align[1:4].lower(), 0.0) * (wide - across * box[2])
    y += share.get(align[5:8].lower(), 0.0) * (high - down * box[3])
    return Affine(a=across, d=down, e=x - across * box[0], f=y - down * box[1])


def length(text: str, what: str) -> float:
    """A length in user units: `12`, `12px`, `3cm`. Raises Refused for one of unknown size (%, em) or none at all."""
    found = _LENGTH.fullmatch(text)
    unit = found[2].lower() if found else "?"
    if found is None or unit not in MILLIMETRES or abs(float(found[1])) > LARGEST_FIGURE:
        raise Refused(f"{what} is {text!r:.40}", where="drawing", expected="a length such as 12, 12px or 3cm")
    return float(found[1]) * MILLIMETRES[unit] / A_UNIT


def transform(text: str) -> Affine:
    """What a transform does: `translate(10 20) rotate(30)` turns first and shifts then. Raises Refused.

    >>> transform("translate(10 20) rotate(90)").at((1, 0))
    (10.0, 21.0)
    """
    placed, at = Affine(), 0
    while at < len(text.rstrip()):
        found = _TRANSFORM.match(text, at)
        made = None
        if found is not None:
            try:
                made = _made(found[1], _figures(found[2]))
            except ValueError:
                made = None
        if found is None or made is None:
            raise Refused(
                f"the transform {text[at : at + 40]!r} cannot be read",
                where="drawing",
                expected="translate, scale, rotate, skewX, skewY or matrix, with their figures",
            )
        placed, at = placed @ made, found.end()
    return placed


def _made(name: str, figures: list[float]) -> Affine | None:
    makes, counts = _MADE.get(name, (None, ()))
    return makes(figures) if makes is not None and len(figures) in counts else None


def _rotate(figures: list[float]) -> Affine:
    turn = turned(figures[0] % 360)
    if figures[0] % 90 == 0:  # a square stays exactly square
        turn = Affine(*(float(round(each)) for each in (turn.a, turn.b, turn.c, turn.d)))
    x, y = figures[1:] or (0.0, 0.0)
    return Affine(e=x, f=y) @ turn @ Affine(e=-x, f=-y)


def _skew(degrees: float) -> float:
    turn = turned(degrees % 180)
    if abs(turn.a) < 1e-6:
        raise ValueError(degrees)
    return turn.b / turn.a


_MADE: dict[str, tuple[Callable[[list[float]], Affine], tuple[int, ...]]] = {
    "matrix": (lambda figures: Affine(*figures), (6,)),
    "translate": (lambda figures: Affine(e=figures[0], f=(figures[1:] or [0.0])[0]), (1, 2)),
    "scale": (lambda figures: Affine(a=figures[0], d=figures[-1]), (1, 2)),
    "rotate": (_rotate, (1, 3)),
    "skewX": (lambda figures: Affine(c=_skew(figures[0])), (1,)),
    "skewY": (lambda figures: Affine(b=_skew(figures[0])), (1,)),
}


def points(text: str) -> list[tuple[float, float]]:
    """The points of a polyline or polygon. Raises Refused."""
    try:
        figures = _figures(text)
    except ValueError:
        figures = [0.0]
    if len(figures) % 2:
        raise Refused(f"the points {text[:40]!r} cannot be read", where="drawing", expected="pairs of figures")
    return list(zip(figures[::2], figures[1::2], strict=True))


def _figures(text: str) -> list[float]:
    """Figures with gaps or commas between them. Raises ValueError."""
    said = [part for part in _BETWEEN.split(text.strip()) if part]
    found: list[float] = []
    for part in said:
        each = re.findall(NUMBER, part)
        if "".join(each) != part:  # "10-5" is two figures, "1x" none
            raise ValueError(part)
        found += map(float, each)
    if any(abs(figure) > LARGEST_FIGURE for figure in found):
        raise ValueError(text)
    return found


def _real(text: str) -> float | None:
    """A width or height in mm, or None where it has no size of its own (%, or not said), or one below 0."""
    found = _LENGTH.fullmatch(text)
    if found is None or found[2].lower() not in MILLIMETRES:
        return None
    size = float(found[1]) * MILLIMETRES[found[2].lower()]
    return size if size > 0 else None
