"""A small drawing in the terminal of an outline as it was understood, to be looked at before it is kept."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from nesting import Ring

WIDE, HIGH = 44, 14
"""Characters at most: it must stay on the screen together with the question below it."""
ACROSS, DOWN = 2, 4
"""Dots in a character of the braille block, which are about as far apart either way."""
DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
BRAILLE = 0x2800
ARROWS = "→↗↑↖←↙↓↘"
PLAIN_ARROWS = (">", "/", "^", "\\", "<", "/", "v", "\\")
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def sketch(ring: Ring, grain: float, *, plain: bool = False) -> list[str]:
    """The outline as it lies on the table, its corners lettered, the grain arrow in the middle; line by line.

    `grain`: degrees, counter-clockwise, from left to right. `plain`: in the characters of any terminal.

    >>> for line in sketch(((0, 0), (300, 0), (300, 100), (0, 100)), 0, plain=True)[:2]: print(line)
    D                                            C
     ********************************************
    """
    across, down = (1, 1) if plain else (ACROSS, DOWN)
    # A character is about twice as high as it is wide, so that dots of plain drawings stand twice as far apart downwards.
    tall = 2.0 if plain else 1.0
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    left, low = min(xs), min(ys)
    scale = min((WIDE * across - 1) / max(max(xs) - left, 1e-9), (HIGH * down - 1) * tall / max(max(ys) - low, 1e-9))
    columns = max(1, math.ceil(((max(xs) - left) * scale + 1) / across))
    rows = max(1, math.ceil(((max(ys) - low) * scale / tall + 1) / down))
    high = rows * down - 1

    def dot(x: float, y: float) -> tuple[int, int]:
        return round((x - left) * scale), high - round((y - low) * scale / tall)

    cells: dict[tuple[int, int], int] = {}
    for a, b in zip(ring, [*ring[1:], ring[0]], strict=True):
        for column, row in dots_between(dot(*a), dot(*b)):
            bit = DOTS[row % DOWN][column % ACROSS] if not plain else 1
            cells[row // down, column // across] = cells.get((row // down, column // across), 0) | bit
    canvas = [[" "] * (columns + 2) for _ in range(rows + 2)]
    for (row, column), bits in cells.items():
        canvas[row + 1][column + 1] = "*" if plain else chr(BRAILLE + bits)
    corners = [dot(x, y) for x, y in ring]
    _letter(canvas, corners, across, down)
    way = (PLAIN_ARROWS if plain else ARROWS)[round((grain % 360) / 45) % 8]
    _grain(canvas, lambda row, column: within(corners, (column - 0.5) * across, (row - 0.5) * down), f"grain {way}")
    return ["".join(line).rstrip() for line in canvas if any(cell != " " for cell in line)]


def _letter(canvas: list[list[str]], corners: Sequence[tuple[int, int]], across: int, down: int) -> None:
    """Write each corner's letter beside it, away from the middle."""
    middle = [sum(corner[i] for corner in corners) / len(corners) for i in (0, 1)]
    for letter, (column, row) in zip(LETTERS, corners, strict=False):
        at_row, at_column = row // down + 1, column // across + 1
        aside = (1 if row > middle[1] else -1, 1 if column > middle[0] else -1)
        places = [(at_row + aside[0], at_column + aside[1]), (at_row, at_column + aside[1]), (at_row + aside[0], at_column)]
        for r, c in [*places, (at_row, at_column)]:
            if 0 <= r < len(canvas) and 0 <= c < len(canvas[0]) and (canvas[r][c] == " " or (r, c) == (at_row, at_column)):
                canvas[r][c] = letter
                break


def _grain(canvas: list[list[str]], inside: Callable[[int, int], bool], word: str) -> None:
    """Write the grain arrow inside the outline, as near its middle as there is room; below it where there is none."""
    room = len(word) + 2
    free = [
        (abs(row - len(canvas) // 2), abs(start + room // 2 - len(canvas[0]) // 2), row, start)
        for row in range(1, len(canvas) - 1)
        for start in range(len(canvas[0]) - room + 1)
        if all(cell == " " for cell in canvas[row][start : start + room]) and inside(row, start) and inside(row, start + room)
    ]
    if free:
        _, _, row, start = min(free)
        canvas[row][start + 1 : start + 1 + len(word)] = list(word)
    else:
        canvas.append([" ", *word])


def within(ring: Sequence[tuple[int, int]], x: float, y: float) -> bool:
    """Whether a point lies inside a ring: a ray from it crosses the rim an odd number of times."""
    crossings = 0
    for (ax, ay), (bx, by) in zip(ring, [*ring[1:], ring[0]], strict=True):
        if (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay):
            crossings += 1
    return crossings % 2 == 1


def dots_between(a: tuple[int, int], b: tuple[int, int]) -> Iterator[tuple[int, int]]:
    """The dots of a straight line."""
    steps = max(abs(b[0] - a[0]), abs(b[1] - a[1]), 1)
    for step in range(steps + 1):
        yield round(a[0] + (b[0] - a[0]) * step / steps), round(a[1] + (b[1] - a[1]) * step / steps)
