"""What a file holds, whoever drew it: lines in mm, and where each stood in the file; and open lines joined into outlines."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from nesting import Point

from . import strange_files
from .drawings import Layer
from .refusals import Refused

MEETS = 0.05
"""mm between the ends of lines that are meant to meet: less than any cutter shows, more than other programs round to."""
FARTHEST = 1e6
"""mm from the origin, the engine's own limit: beyond it a unit was mistaken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundLine:
    """A line of a file, in mm, y up. One point alone is a spot. `layer`, `colour`, `name` and `group` are what the file calls
    them ("" where it does not); `said` what it is, where the file says that in words that Fent knows."""

    points: tuple[Point, ...]
    closed: bool = False
    layer: str = ""
    colour: str = ""
    name: str = ""
    group: str = ""
    said: Layer | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundWords:
    """Words of a file and where they begin, in mm."""

    at: Point
    text: str
    group: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundDrawing:
    """All that was read of a file. `sized_by`: what told its size. `facts`: what the file says of each group. `passed_over`:
    what it holds that is no line and was left out, in words."""

    lines: tuple[FoundLine, ...]
    words: tuple[FoundWords, ...] = ()
    sized_by: str = ""
    facts: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    passed_over: tuple[str, ...] = ()


class Counted:
    """Lines as they are read, with the limits on how many there may be and how far out. Raises Refused."""

    def __init__(self) -> None:
        self.lines: list[FoundLine] = []
        self.seen = 0
        self.points = 0

    def look(self) -> None:
        """One more thing was looked at, whether it is a line or not."""
        self.seen += 1
        if self.seen > strange_files.MOST_LINES:
            raise strange_files.too_much(f"{strange_files.MOST_LINES} lines")

    def add(self, line: FoundLine) -> None:
        self.points += len(line.points)
        if self.points > strange_files.MOST_POINTS:
            raise strange_files.too_much(f"{strange_files.MOST_POINTS} points")
        for x, y in line.points:
            if not (abs(x) <= FARTHEST and abs(y) <= FARTHEST):
                raise Refused(
                    "it reaches farther than a kilometre",
                    where="drawing",
                    expected="a drawing at its true size",
                    next="Look at the unit that it is drawn in",
                )
        self.lines.append(line)


def joined(lines: Iterable[FoundLine]) -> list[FoundLine]:
    """The lines with open ones of one layer, colour and group joined where their ends meet, two by two; a line whose ends
    meet is closed. Where three meet nothing is joined: which belong together cannot be told."""
    kinds: dict[tuple[str, str, str, Layer | None], list[FoundLine]] = defaultdict(list)
    found: list[FoundLine] = []
    for line in lines:
        if line.closed or len(line.points) < 2:
            found.append(line)
        else:
            kinds[line.layer, line.colour, line.group, line.said].append(line)
    for alike in kinds.values():
        found += _chains(alike)
    return found


def _chains(lines: list[FoundLine]) -> Iterator[FoundLine]:
    """Open lines of one kind, end to end."""
    meeting = _meeting_ends(lines)
    used: set[int] = set()
    # From a loose end first, so that an open chain is found whole; what is left goes round.
    loose = [n for n in range(len(lines)) if (n, 0) not in meeting or (n, 1) not in meeting]
    for first in [*loose, *range(len(lines))]:
        if first in used:
            continue
        used.add(first)
        end = (first, 0 if (first, 1) not in meeting and (first, 0) in meeting else 1)
        points = list(lines[first].points if end[1] else reversed(lines[first].points))
        while (other := meeting.get(end)) is not None and other[0] not in used:
            used.add(other[0])
            more = lines[other[0]].points
            points += more[1:] if other[1] == 0 else list(reversed(more))[1:]
            end = (other[0], 1 - other[1])
        yield _closed_if_it_is(replace(lines[first], points=tuple(points)))


def _meeting_ends(lines: list[FoundLine]) -> dict[tuple[int, int], tuple[int, int]]:
    """For each end of a line (its number, 0 or 1) the only other end that it meets."""
    ends = {(n, side): line.points[-side] for n, line in enumerate(lines) for side in (0, 1)}
    cells: dict[tuple[int, int], list[tuple[int, int]]] = defaultdict(list)
    for end, (x, y) in ends.items():
        cells[math.floor(x / MEETS), math.floor(y / MEETS)].append(end)
    near: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for end, (x, y) in ends.items():
        column, row = math.floor(x / MEETS), math.floor(y / MEETS)
        close: list[tuple[int, int]] = []
        for dx in (-1, 0, 1):
            for dy in (-1, 0, 1):
                close += [o for o in cells.get((column + dx, row + dy), [])[:4] if math.dist(ends[o], (x, y)) <= MEETS]
        near[end] = [other for other in close if other != end]
    return {
        end: others[0]
        for end, others in near.items()
        if len(others) == 1 and len(near[others[0]]) == 1 and others[0][0] != end[0]
    }


def _closed_if_it_is(line: FoundLine) -> FoundLine:
    points = line.points
    if len(points) > 3 and math.dist(points[0], points[-1]) <= MEETS:
        return replace(line, points=points[:-1], closed=True)
    return line
