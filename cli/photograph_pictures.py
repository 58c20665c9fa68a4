"""Pictures of what was found in photographs: one to look at before it is kept, and a sheet of many."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .papers import GREY
from .sketch import LETTERS

if TYPE_CHECKING:
    from PIL.Image import Image

    from stash.camera import Seen

KINDS = (".jpg", ".png", ".pdf")
WIDE = 1800
"""Pixels of a picture of one photograph: letters of its corners can be read, and it mails easily."""
THUMB, COLUMNS, ROWS = 560, 4, 5
"""Of a sheet: pixels that a photograph is wide, how many are side by side, and one above the other on a page of a PDF."""
OUTLINE, HOLE, SCALE, GRAIN, PAPER, WRONG = "#e6007e", "#00a0c8", "#7fbf3f", "#ffd500", "white", "#b00000"
ENOUGH = len(LETTERS)


@dataclass(frozen=True)
class Shown:
    """A photograph with what is written under it: one that was read, or one that was not (`picture` is None where it is
    none)."""

    picture: Image | None
    title: str
    words: str
    found: bool


def looked_at(seen: Seen, grain_angle: float, title: str, words: str, wide: int = WIDE) -> Shown:
    """A photograph with the outline, holes, scale and grain drawn where they were found."""
    import numpy as np
    from PIL import Image, ImageDraw

    part = min(1.0, wide / seen.picture.shape[1])
    picture = Image.fromarray(seen.picture[:, :, ::-1])
    picture = picture.resize((round(picture.width * part), round(picture.height * part)))
    pen = ImageDraw.Draw(picture)
    thick = max(2, round(picture.width / 500))

    def drawn(ring: Any, colour: str) -> list[tuple[float, float]]:
        points = [(float(x), float(y)) for x, y in (np.asarray(ring) + 0.5) * part]
        closed = [*points, points[0]]
        pen.line(closed, fill=PAPER, width=thick + 2, joint="curve")
        pen.line(closed, fill=colour, width=thick, joint="curve")
        return points

    for scale in seen.covered:
        drawn(scale, SCALE)
    for hole in seen.holes:
        drawn(seen.in_picture(_on_sides(hole)), HOLE)
    drawn(seen.in_picture(_on_sides(seen.measured.ring)), OUTLINE)
    corners = [(float(x), float(y)) for x, y in (seen.in_picture(seen.measured.ring) + 0.5) * part]
    _letters(pen, corners, thick, picture.width)
    _arrow(pen, seen, grain_angle, part, thick)
    return Shown(picture, title, words, True)


def not_read(file: Path, title: str, words: str, wide: int = WIDE) -> Shown:
    """A photograph in which nothing was found, as far as it can be opened, and why."""
    from PIL import Image, ImageOps

    picture = None
    try:
        with Image.open(file, formats=["JPEG", "PNG", "WEBP"]) as opened:
            if opened.width * opened.height <= 130_000_000:
                opened.draft("RGB", (wide, wide))
                picture = ImageOps.exif_transpose(opened).convert("RGB")
                picture.thumbnail((wide, wide))
    except Exception:  # whatever is wrong with it has been told in `words`
        picture = None
    return Shown(picture, title, words, False)


def save_one(shown: Shown, file: Path) -> None:
    """A picture of one photograph, as large as it is."""
    assert shown.picture is not None
    wide, high = shown.picture.size
    _framed(shown, wide, high, 22, _rows([shown], wide, 22)).save(file)


def save_sheet(shown: Sequence[Shown], file: Path) -> None:
    """A sheet of many: one picture, or pages of a PDF."""
    from PIL import Image

    high = round(THUMB * 3 / 4)
    rows = _rows(shown, THUMB, 17)
    tiles = [_framed(each, THUMB, high, 17, rows) for each in shown]
    per_page = COLUMNS * ROWS if file.suffix.lower() == ".pdf" else len(tiles)
    pages = []
    for first in range(0, len(tiles), per_page):
        some = tiles[first : first + per_page]
        deep = math.ceil(len(some) / COLUMNS)
        page = Image.new("RGB", (min(COLUMNS, len(tiles)) * (THUMB + 12) + 12, deep * (some[0].height + 12) + 12), "white")
        for i, tile in enumerate(some):
            page.paste(tile, (12 + i % COLUMNS * (THUMB + 12), 12 + i // COLUMNS * (tile.height + 12)))
        pages.append(page)
    if file.suffix.lower() == ".pdf":
        pages[0].save(file, save_all=True, append_images=pages[1:], resolution=200.0)
    else:
        pages[0].save(file)


MOST_LINES = 4


def _rows(shown: Sequence[Shown], wide: int, size: int) -> int:
    """Lines of words for which there must be room under each of the photographs."""
    font = _letters_of(size - 3)
    return max(len(_wrapped(each.words, font, wide - 12)[:MOST_LINES]) for each in shown)


def _framed(shown: Shown, wide: int, high: int, size: int, rows: int) -> Image:
    """A photograph over its words, with room for so many lines; framed in red where nothing was found."""
    from PIL import Image, ImageDraw

    title, plain = _letters_of(size), _letters_of(size - 3)
    lines = _wrapped(shown.words, plain, wide - 12)[:MOST_LINES]
    room = round(size * 1.5) + rows * round((size - 3) * 1.35) + 8
    tile = Image.new("RGB", (wide, high + room), "white")
    if shown.picture is not None:
        picture = shown.picture.copy()
        picture.thumbnail((wide, high))
        tile.paste(picture, ((wide - picture.width) // 2, (high - picture.height) // 2))
    pen = ImageDraw.Draw(tile)
    if shown.picture is None:
        pen.text((wide / 2, high / 2), "no picture", font=title, fill=GREY, anchor="mm")
    if not shown.found:
        pen.rectangle((0, 0, wide - 1, tile.height - 1), outline=WRONG, width=4)
    colour = "black" if shown.found else WRONG
    pen.text((6, high + 2), shown.title if shown.found else f"{shown.title}: not read", font=title, fill=colour)
    for i, line in enumerate(lines):
        pen.text((6, high + round(size * 1.5) + i * round((size - 3) * 1.35)), line, font=plain, fill=colour)
    return tile


def _wrapped(text: str, font: Any, wide: int) -> list[str]:
    lines: list[str] = []
    for word in text.split():
        if lines and font.getlength(f"{lines[-1]} {word}") <= wide:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


@cache
def _letters_of(size: int) -> Any:
    """Letters of matplotlib's own fonts, which have × and ²; nothing of it is loaded for that."""
    from importlib.util import find_spec

    from PIL import ImageFont

    there = find_spec("matplotlib")
    for folder in (there.submodule_search_locations or []) if there else []:
        file = Path(folder) / "mpl-data" / "fonts" / "ttf" / "DejaVuSans.ttf"
        if file.is_file():
            return ImageFont.truetype(str(file), size)
    return ImageFont.load_default(size)


def _letters(pen: Any, corners: list[tuple[float, float]], thick: int, wide: int) -> None:
    """Each corner's letter beside it, away from the middle; where there are more than letters, every corner is a dot."""
    middle = [sum(corner[i] for corner in corners) / len(corners) for i in (0, 1)]
    font = _letters_of(max(14, round(wide / 60)))
    for i, (x, y) in enumerate(corners):
        pen.ellipse((x - thick, y - thick, x + thick, y + thick), fill=OUTLINE)
        if len(corners) <= ENOUGH:
            far = math.hypot(x - middle[0], y - middle[1]) or 1.0
            aside = wide / 50
            at = (x + (x - middle[0]) / far * aside, y + (y - middle[1]) / far * aside)
            pen.text(at, LETTERS[i], font=font, fill=OUTLINE, anchor="mm", stroke_width=2, stroke_fill=PAPER)


def _arrow(pen: Any, seen: Seen, angle: float, part: float, thick: int) -> None:
    """The grain, an arrow in the middle of the cloth."""
    from shapely import Polygon

    spot = Polygon(seen.measured.ring).representative_point()
    left, low, right, high = Polygon(seen.measured.ring).bounds
    half = 0.18 * max(right - left, high - low)
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    head = half * 0.25
    points = [(-half, 0.0), (half, 0.0), (half - head, head / 2), (half, 0.0), (half - head, -head / 2)]
    on_table = [(spot.x + x * c - y * s, spot.y + x * s + y * c) for x, y in points]
    line = [(float(x), float(y)) for x, y in (seen.in_picture(on_table) + 0.5) * part]
    pen.line(line, fill="black", width=thick + 3)
    pen.line(line, fill=GRAIN, width=thick)


def _on_sides(ring: Any) -> Any:
    """A ring with points along its sides, which the lens bends."""
    import numpy as np

    corners = np.asarray(ring, dtype=float)
    after = np.roll(corners, -1, axis=0)
    return np.vstack(
        [a + (b - a) * np.linspace(0, 1, 12, endpoint=False)[:, None] for a, b in zip(corners, after, strict=True)]
    )
