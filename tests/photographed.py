"""Plain photographs for quick tests, drawn flat with Pillow: a scale sheet and a scrap on a table, seen from straight above.

What is bent, tilted, frayed and woven is in `tests.checks.scenes_rendered`, which shares nothing with the reader.
"""

from __future__ import annotations

import io
from functools import cache

from PIL import Image, ImageDraw, ImageFilter

from stash.camera import sheet

MM = 0.6
"""mm a pixel."""
SIZE = (1000, 760)
SCRAP = ((40.0, 30.0), (330.0, 30.0), (330.0, 190.0), (210.0, 190.0), (210.0, 120.0), (40.0, 120.0))
"""mm from the picture's upper left, y downwards."""
HOLE = ((250.0, 80.0), (280.0, 80.0), (280.0, 100.0), (250.0, 100.0))
SHEET_AT = (300.0, 330.0)
FINER = 3


@cache
def picture(
    *,
    scrap: tuple[tuple[float, float], ...] = SCRAP,
    hole: tuple[tuple[float, float], ...] = HOLE,
    others: tuple[tuple[tuple[float, float], ...], ...] = (),
    cloth: str = "#2b3a67",
    table: str = "#9c7f60",
    marks: int = 6,
    line: tuple[tuple[float, float], ...] = (),
    scale: float = 1.0,
    blur: float = 0.8,
) -> Image.Image:
    """A photograph. `scale`: by how much the printed sheet is too large."""
    large = Image.new("RGB", (SIZE[0] * FINER, SIZE[1] * FINER), table)
    pen = ImageDraw.Draw(large)

    def at(points: object) -> list[tuple[float, float]]:
        return [(x / MM * FINER, y / MM * FINER) for x, y in points]  # type: ignore[attr-defined]

    if marks:
        left, top = SHEET_AT
        half_x, half_y = sheet.A4[0] / 2 * scale, sheet.A4[1] / 2 * scale
        pen.rectangle(at([(left - half_x, top - half_y), (left + half_x, top + half_y)]), fill="#f2f2ee")
        cell = sheet.MARK / sheet.CELLS
        for number, thing in list(sheet.sheet_marks(1).items())[:marks]:
            x, y = thing.ring[0]
            for row, column in sheet.dark_cells(number):
                corner = (x + column * cell, y - row * cell)
                box = [(left + corner[0] * scale, top - corner[1] * scale)]
                box.append((box[0][0] + cell * scale, box[0][1] + cell * scale))
                (x0, y0), (x1, y1) = at(box)
                pen.rectangle((x0, y0, x1 - 1, y1 - 1), fill="#141414")
    if scrap:
        pen.polygon(at(scrap), fill=cloth)
    if hole:
        pen.polygon(at(hole), fill=table)
    for other in others:
        pen.polygon(at(other), fill=cloth)
    if line:
        pen.line(at(line), fill="#e8e0c0", width=round(1.2 / MM * FINER))
    return large.resize(SIZE, Image.Resampling.BOX).filter(ImageFilter.GaussianBlur(blur))


@cache
def jpeg(**told: object) -> bytes:
    """The same as a file."""
    page = io.BytesIO()
    picture(**told).save(page, "JPEG", quality=92)  # type: ignore[arg-type]
    return page.getvalue()
