"""A small drawing in the terminal of each sheet of a lay: its outline, its faults, its panels with their numbers."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from shutil import get_terminal_size
from typing import TYPE_CHECKING

from .sketch import ACROSS, BRAILLE, DOTS, DOWN, dots_between, within

if TYPE_CHECKING:
    from shapely import Polygon

    from stash.lays import Lay

    from .saying import Voice

Corners = Sequence[tuple[float, float]]
SIZES = ((72, 18), (100, 28), (150, 44))
"""Characters across and down, at most: the first stays on a screen of 80 × 24; with many panels it is drawn larger, no wider
than the screen, until every number has room."""
SHEETS = 6
"""Drawn at once: more roll off the screen."""
FAULT = "x"


@dataclass(frozen=True, slots=True)
class SheetSketched:
    """What is drawn of a sheet: rings in mm; panels by number."""

    outline: Corners
    panels: Mapping[int, Corners]
    faults: tuple[Corners, ...] = ()


def lay(voice: Voice, lay: Lay) -> None:
    """Draw the sheets of a lay, if there is someone to look at them."""
    if not voice.draws:
        return
    for sheet in lay.sheets[:SHEETS]:
        remnant = sheet.remnant
        rings = {panel.number: ring(panel.cut_line) for panel in sheet.panels}
        faults = tuple(tuple(getattr(fault.shape, "exterior", fault.shape).coords) for fault in remnant.faults)
        voice.line()
        voice.line(f"{remnant.tag}, {voice.shown.size(remnant.length, remnant.width)}, the grain from left to right:")
        show(voice, SheetSketched(ring(remnant.outline), rings, faults))
    if len(lay.sheets) > SHEETS:
        voice.line(f"… and {len(lay.sheets) - SHEETS} more; a picture shows them all.")


def show(voice: Voice, sheet: SheetSketched) -> None:
    """Draw a sheet as small as all its numbers can be read."""
    across = get_terminal_size().columns - 2
    drawn: list[str] = []
    for wide, high in SIZES:
        if drawn and _names(drawn) >= len(sheet.panels):
            break
        drawn = sheet_sketch(sheet, plain=not voice.braille, size=(min(wide, across), high))
    for text in drawn:
        voice.line(text)


def _names(drawn: Sequence[str]) -> int:
    """How many numbers stand in a drawing."""
    return sum(len(re.findall(r"[0-9]+", line)) for line in drawn)


def ring(shape: Polygon) -> Corners:
    return tuple((float(x), float(y)) for x, y in shape.exterior.coords[:-1])


def sheet_sketch(sheet: SheetSketched, *, plain: bool = False, size: tuple[int, int] = SIZES[0]) -> list[str]:
    """The sheet, line by line, in at most so many characters across and down; `plain`: in those of any terminal.

    >>> bands = {1: ((0, 0), (150, 0), (150, 100), (0, 100)), 2: ((150, 0), (300, 0), (300, 100), (150, 100))}
    >>> drawn = sheet_sketch(SheetSketched(((0, 0), (300, 0), (300, 100), (0, 100)), bands), plain=True)
    >>> [line.split() for line in drawn if "1" in line]
    [['*', '1', '*', '2', '*']]
    """
    across, down = (1, 1) if plain else (ACROSS, DOWN)
    tall = 2.0 if plain else 1.0  # a character is about twice as high as it is wide
    xs, ys = [x for x, _ in sheet.outline], [y for _, y in sheet.outline]
    left, low, long, wide = min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)
    scale = min((size[0] * across - 1) / max(long, 1e-9), (size[1] * down - 1) * tall / max(wide, 1e-9))
    high = round(wide * scale / tall)

    def dots(corners: Corners) -> list[tuple[int, int]]:
        return [(round((x - left) * scale), high - round((y - low) * scale / tall)) for x, y in corners]

    rows, columns = high // down + 1, round(long * scale) // across + 1
    canvas = [[" "] * columns for _ in range(rows)]
    bits: dict[tuple[int, int], int] = {}
    panels = {number: dots(corners) for number, corners in sheet.panels.items()}
    faults = [dots(corners) for corners in sheet.faults]
    for each in [dots(sheet.outline), *faults, *panels.values()]:
        for column, row in _round(each):
            cell = row // down, column // across
            bits[cell] = bits.get(cell, 0) | DOTS[row % DOWN][column % ACROSS]
    for (row, column), cell_bits in bits.items():
        if 0 <= row < rows and 0 <= column < columns:
            canvas[row][column] = "*" if plain else chr(BRAILLE + cell_bits)
    for number, corners in panels.items():
        _name(canvas, str(number), corners, across, down)
    for corners in faults:
        _name(canvas, FAULT, corners, across, down)
    return ["  " + "".join(line).rstrip() for line in canvas]


def _round(corners: Sequence[tuple[int, int]]) -> Iterator[tuple[int, int]]:
    for a, b in zip(corners, [*corners[1:], corners[0]], strict=True):
        yield from dots_between(a, b)


def _name(canvas: list[list[str]], name: str, corners: Sequence[tuple[int, int]], across: int, down: int) -> None:
    """Write a name in a shape where it stands free, as near its middle as can be; nowhere where it does not fit."""
    middle = [sum(corner[i] for corner in corners) / len(corners) for i in (0, 1)]
    rows = range(min(y for _, y in corners) // down, max(y for _, y in corners) // down + 1)
    columns = range(min(x for x, _ in corners) // across, max(x for x, _ in corners) // across + 1)
    free = [
        (abs((row + 0.5) * down - middle[1]) + abs((start + len(name) / 2) * across - middle[0]), row, start)
        for row in rows
        for start in columns
        if start + len(name) <= len(canvas[0])
        and all(canvas[row][start + n] == " " for n in range(len(name)))
        and all(within(corners, (start + n + 0.5) * across, (row + 0.5) * down) for n in range(len(name)))
    ]
    if free:
        _, row, start = min(free)
        canvas[row][start : start + len(name)] = list(name)
