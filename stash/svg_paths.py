"""The path data of SVG (SVG 2, 9.3), read strictly and made into points.

The libraries of the kind pass over what they cannot read, and take what is left for the path; a knife would follow it. Here a
path is read whole or refused, with the place where it breaks off.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field

from nesting import Point

from . import strange_files
from .curves import Affine, arc, bezier, turned
from .refusals import Refused

NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_GAP = re.compile(r"[ \t\r\n\f]*,?[ \t\r\n\f]*")
_NUMBER = re.compile(NUMBER)
_FLAG = re.compile(r"[01]")
_COMMAND = re.compile(r"[ \t\r\n\f]*([MmZzLlHhVvCcSsQqTtAa])[ \t\r\n\f]*")
TAKES = {"M": 2, "Z": 0, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7}


LARGEST_FIGURE = 1e9
"""In units of the drawing: far beyond any cloth, and far from where doubles run over."""
SMALLEST_RADIUS = 1e-9
"""A thinner ellipse is a line, as one of radius nought is (SVG 2, 9.5.1)."""


@dataclass(frozen=True, slots=True)
class Run:
    """A line without a break: its points in mm, the first not repeated where it is closed."""

    points: tuple[Point, ...]
    closed: bool


@dataclass(slots=True)
class _Pen:
    """Where a path has got to, in its own units, and what has been drawn of it, in mm."""

    place: Affine
    within: float
    at: Point = (0.0, 0.0)
    start: Point = (0.0, 0.0)
    control: Point | None = None  # of the curve before, where that is mirrored by the next
    before: str = ""
    open: list[Point] = field(default_factory=list)
    done: list[Run] = field(default_factory=list)

    def end(self, *, closed: bool) -> None:
        points = self.open
        if closed and len(points) > 1 and points[0] == points[-1]:
            points = points[:-1]
        if len(points) > 1:
            self.done.append(Run(tuple(points), closed))
        self.open = []

    def begin(self) -> None:
        if not self.open:
            self.open = [self.place.at(self.at)]


def runs(data: str, place: Affine, within: float) -> list[Run]:
    """The lines of path data, laid out by `place` and curves made straight `within` mm. Raises Refused for what is none."""
    pen, at = _Pen(place, within), 0
    data = data.rstrip(" \t\r\n\f")
    while at < len(data):
        found = _COMMAND.match(data, at)
        if found is None or (not pen.before and found[1] not in "Mm"):
            raise _broken(data, at)
        letter, at = found[1], found.end()
        groups = 0
        while True:
            figures, at = _figures(data, at, letter.upper(), first=groups == 0)
            if figures is None:
                break
            _draw(pen, letter, figures)
            groups += 1
            if len(pen.open) > strange_files.MOST_POINTS or len(pen.done) > strange_files.MOST_LINES:
                raise strange_files.too_much(f"{strange_files.MOST_POINTS} points")
            if letter in "Zz":
                break
            letter = {"M": "L", "m": "l"}.get(letter, letter)  # more pairs after a move are lines
    pen.end(closed=False)
    return pen.done


def _broken(data: str, at: int) -> Refused:
    shown = data[max(at - 12, 0) : at + 12].strip()
    return Refused(f"a path breaks off at its letter {at + 1}: …{shown!r:.40}…", where="path", expected="path data of SVG")


def _figures(data: str, at: int, letter: str, *, first: bool) -> tuple[list[float] | None, int]:
    """The figures of a command, once; None where no more follow. Raises Refused where some are missing."""
    figures: list[float] = []
    for number in range(TAKES[letter]):
        gap = _GAP.match(data, at)
        start = gap.end() if gap and not (first and number == 0) else at
        found = (_FLAG if letter == "A" and number in (3, 4) else _NUMBER).match(data, start)
        if found is None:
            if number == 0 and not first and "," not in data[at:start]:
                return None, at
            raise _broken(data, start)
        figures.append(float(found[0]))
        if abs(figures[-1]) > LARGEST_FIGURE:
            raise _broken(data, start)
        at = found.end()
    return figures, at


def _draw(pen: _Pen, letter: str, figures: list[float]) -> None:
    """One command, carried out."""
    kind = letter.upper()
    from_x, from_y = pen.at if letter.islower() else (0.0, 0.0)
    if kind == "H":
        figures = [figures[0] + from_x, pen.at[1]]
    elif kind == "V":
        figures = [pen.at[0], figures[0] + from_y]
    elif kind == "A":
        figures = [*figures[:5], figures[5] + from_x, figures[6] + from_y]
    else:
        figures = [figure + (from_x, from_y)[i % 2] for i, figure in enumerate(figures)]
    _DRAWN[kind](pen, figures)
    pen.control = pen.control if kind in "CSQT" else None
    pen.before = kind


def _move(pen: _Pen, figures: list[float]) -> None:
    pen.end(closed=False)
    pen.at = pen.start = (figures[0], figures[1])
    pen.begin()


def _close(pen: _Pen, _: list[float]) -> None:
    pen.end(closed=True)
    pen.at = pen.start


def _line(pen: _Pen, figures: list[float]) -> None:
    pen.begin()
    pen.at = (figures[0], figures[1])
    pen.open.append(pen.place.at(pen.at))


def _curve(pen: _Pen, figures: list[float]) -> None:
    """C and Q: the control points and the end."""
    controls = list(zip(figures[::2], figures[1::2], strict=True))
    pen.begin()
    pen.open += bezier([pen.place.at(point) for point in (pen.at, *controls)], pen.within)
    pen.control, pen.at = controls[-2], controls[-1]


def _smooth(kinds: str) -> Callable[[_Pen, list[float]], None]:
    """S and T: the first control point mirrors the last of the curve before, if that was of its kind."""

    def curve(pen: _Pen, figures: list[float]) -> None:
        x, y = pen.at
        known = pen.control if pen.control is not None and pen.before in kinds else pen.at
        _curve(pen, [2 * x - known[0], 2 * y - known[1], *figures])

    return curve


def _arc(pen: _Pen, figures: list[float]) -> None:
    """A: from ends to centre as SVG 2, B.2.4 and B.2.5 do it."""
    rx, ry, turn, large, sweep, x, y = figures
    (x0, y0), rx, ry = pen.at, abs(rx), abs(ry)
    if (x0, y0) == (x, y):
        return
    if min(rx, ry) < SMALLEST_RADIUS:
        _line(pen, [x, y])
        return
    phi = math.radians(turn % 360)
    cosine, sine = math.cos(phi), math.sin(phi)
    dx, dy = (x0 - x) / 2, (y0 - y) / 2
    px, py = cosine * dx + sine * dy, cosine * dy - sine * dx
    short = math.hypot(px / rx, py / ry)
    if short > 1:  # the ellipse does not reach from end to end: it is made to
        rx, ry = rx * short, ry * short
    ux, uy = px / rx, py / ry
    square = ux * ux + uy * uy
    root = math.sqrt(max(1 / square - 1, 0.0)) * (-1 if large == sweep else 1)
    cx, cy = root * uy, -root * ux  # on the unit circle
    start, end = math.atan2(uy - cy, ux - cx), math.atan2(-uy - cy, -ux - cx)
    turn_by = (end - start) % (2 * math.pi) if sweep else -((start - end) % (2 * math.pi))
    middle = Affine(
        e=cosine * cx * rx - sine * cy * ry + (x0 + x) / 2,
        f=sine * cx * rx + cosine * cy * ry + (y0 + y) / 2,
    )
    pen.begin()
    pen.open += arc((rx, ry), start, turn_by, pen.place @ middle @ turned(turn), pen.within)
    pen.open[-1] = pen.place.at((x, y))
    pen.at = (x, y)


_DRAWN: dict[str, Callable[[_Pen, list[float]], None]] = {
    "M": _move,
    "Z": _close,
    "L": _line,
    "H": _line,
    "V": _line,
    "C": _curve,
    "Q": _curve,
    "S": _smooth("CS"),
    "T": _smooth("QT"),
    "A": _arc,
}
