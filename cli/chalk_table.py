"""The chalk measures as a table: where each panel's two marks are, by the tape."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from .papers import LINE_OF_TYPE, PALE, POINT, PaperPage, shortened, text_size

if TYPE_CHECKING:
    from nesting import ChalkMeasure
    from stash.dockets import DocketPanel, SheetDocket

    from .shown import Shown

SIZE, FINE = 8.0, 7.0
ROW = SIZE * POINT * LINE_OF_TYPE * 1.12
HEADS = 2 * ROW + 8.5  # the words over a table, and its heads
SHARES = (0.06, 0.16, 0.19, 0.18, 0.16, 0.16, 0.09)


@dataclass(frozen=True)
class Row:
    """A panel in the table: its number, name and hand, how it lies, where the tape is held, its two marks, how near it is."""

    number: str
    piece: str
    lies: str
    tape: str
    points: tuple[str, str]
    within: str

    @property
    def cells(self) -> tuple[str, ...]:
        return (self.number, self.piece, self.lies, self.tape, *self.points, self.within)


def rows_of(docket: SheetDocket, shown: Shown, tape: float) -> list[Row]:
    """The rows of a remnant; panels that are measured from the same corners stand together. `tape`: what a reading may be out
    by, mm."""
    ways: dict[str, int] = {}
    rows = []
    for each in docket.panels:
        row = row_of(each, shown, tape)
        ways.setdefault(row.tape, len(ways))
        rows.append(row)
    return sorted(rows, key=lambda row: (ways[row.tape], int(row.number)))


def row_of(each: DocketPanel, shown: Shown, tape: float) -> Row:
    """One panel's row."""
    measure = each.measure
    points = tuple(f"{told.letter}: {shown.number(told.first)}, {shown.number(told.second)}" for told in measure.points)
    return Row(
        str(each.panel.number),
        each.panel.called,
        how_it_lies(each),
        held_at(measure),
        (points[0], points[1]),
        within(measure, shown, tape),
    )


def how_it_lies(each: DocketPanel) -> str:
    """How the template, drawn as its left hand, lies: turned over or not, and turned round or not."""
    turn = each.panel.placement.turn % 360
    said = {0.0: "as drawn", 180.0: "head to foot"}.get(turn, f"turned {turn:g}°")
    return f"{said}, turned over" if is_over(each) else said


def is_over(each: DocketPanel) -> bool:
    """Whether the template lies turned over: for the right hand, or where the panel does; for both it does not."""
    return (str(each.panel.hand) == "right") != each.panel.placement.flipped


def held_at(measure: ChalkMeasure) -> str:
    """Where the tape is held: from two corners, or along a side and square off it."""
    start, end = measure.start.letter, measure.end.letter
    if measure.by == "ties":
        side = f", {'left' if measure.left else 'right'} of {start}–{end}" if measure.said else ""
        return f"from {start}, from {end}{side}"
    return f"along {start}–{end}, off it"


def within(measure: ChalkMeasure, shown: Shown, tape: float) -> str:
    """What the panel may be out by, never less than it is: rounded up to a tenth of a mm, to 1/32 of an inch."""
    most = measure.within(tape + float(shown.step) / 2)
    if math.isinf(most):
        return "by eye"
    step = Fraction("25.4") / 32 if shown.in_inches else Fraction(1, 10)
    return shown.fine(float(math.ceil(Fraction(most) / step - Fraction(1, 10**6)) * step))


def height(rows: Sequence[Row]) -> float:
    """mm that a table of these takes."""
    return HEADS + len(rows) * ROW


def rows_that_fit(room: float) -> int:
    """How many rows go into so many mm."""
    return max(1, int((room - HEADS) / ROW))


def draw(page: PaperPage, rows: Sequence[Row], shown: Shown, x: float, y: float, width: float) -> float:
    """Put a table down from `y` downwards; where it ends."""
    from shapely.geometry import box

    page.write("Where to chalk each panel", x, y - ROW / 2, SIZE + 1, bold=True)
    y -= ROW * 1.2
    unit = "in" if shown.in_inches else shown.heading
    for line in (
        f"Hold the tape at both corners named (capitals) and chalk where the two lengths meet ({unit}); so for both marks of "
        "a panel (small letters).",
        "Lay its template on them. Out by: how far any of it may lie off, if the tape is read no worse than usual.",
    ):
        page.write(shortened(line, FINE, width), x, y - 1.6, FINE)
        y -= 3.3
    y -= 0.8
    edges = _columns(x, width)
    for text, (left, room) in zip(("no.", "panel", "lies", "tape", "one mark", "other mark", "out by"), edges, strict=True):
        page.write(shortened(text, FINE, room, True), left, y - ROW / 2, FINE, bold=True)
    y -= ROW
    page.line([(x, y), (x + width, y)], width=0.6)
    for n, row in enumerate(rows):
        if n % 2:
            page.shape(box(x, y - ROW, x + width, y), line=0, fill=PALE, layer=0.5)
        for m, (text, (left, room)) in enumerate(zip(row.cells, edges, strict=True)):
            size = next((size for size in (SIZE, FINE, 6.0) if text_size(text, size, m == 0)[0] <= room), 6.0)
            page.write(_short(text, size, room, m == 0), left, y - ROW / 2, size, bold=m == 0, owner=f"row {row.number}")
        y -= ROW
    return y


def _short(text: str, size: float, room: float, bold: bool) -> str:
    """What does not fit, shortened: of a name with its hand, the name."""
    name, bracket, hand = text.rpartition(" (")
    if not bracket or text_size(text, size, bold)[0] <= room:
        return shortened(text, size, room, bold)
    return f"{shortened(name, size, room - text_size(f' ({hand}', size, bold)[0], bold)} ({hand}"


def _columns(x: float, width: float) -> list[tuple[float, float]]:
    """Where each column begins, and how much it holds."""
    found, left = [], x + 0.8
    for share in SHARES:
        found.append((left, share * width - 1.6))
        left += share * width
    return found
