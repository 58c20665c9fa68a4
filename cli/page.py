"""A sheet of paper to draw on, in millimetres, with words that are measured before they are put down.

All pictures share it: remnants are set out in rows at one scale, every word is sized to the place it stands in, and what is
drawn is told apart by line, hatch and number, so that a grey print says as much as a screen. Type is measured as on `papers`,
which has the pages of a fixed size. matplotlib is loaded only here and only when a page is made.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from shapely.geometry import MultiPolygon, Polygon, box

from .papers import (
    BLACK,
    GREY,
    LEAST_TYPE,
    MOST_TYPE,
    PALE,
    POINT,
    Box,
    Dashes,
    Word,
    arrow_heads,
    bar_of_scale,
    text_size,
)

DOTS_PER_INCH = 110
KINDS = (".png", ".pdf", ".svg")

__all__ = [
    "BLACK",
    "DOTS_PER_INCH",
    "GREY",
    "KINDS",
    "LEAST_TYPE",
    "MOST_TYPE",
    "PALE",
    "POINT",
    "Box",
    "Dashes",
    "Page",
    "Word",
    "fit_text",
    "set_out",
    "text_size",
]


def fit_text(text: str, room: Polygon, middle: tuple[float, float], bold: bool = False) -> float | None:
    """The largest type, in points, at which `text` centred on `middle` stays inside `room`; None if none can be read."""
    size = MOST_TYPE
    while size >= LEAST_TYPE:
        width, height = text_size(text, size, bold)
        if room.contains(box(middle[0] - width / 2, middle[1] - height / 2, middle[0] + width / 2, middle[1] + height / 2)):
            return size
        size -= 0.5
    return None


def set_out(sizes: Sequence[tuple[float, float]], page_width: float, space: float) -> tuple[list[tuple[float, float]], float]:
    """Lower left corners of boxes set out in rows, left to right and top down, and the height that they take in all.

    Boxes of a row are level at the top; `y` runs upwards from the foot of the area. A box wider than the page stands alone.
    """
    rows: list[list[int]] = []
    left = page_width
    for number, (width, _) in enumerate(sizes):
        if not rows or left < width:
            rows.append([])
            left = page_width
        rows[-1].append(number)
        left -= width + space
    heights = [max(sizes[number][1] for number in row) for row in rows]
    total = sum(heights) + space * max(len(rows) - 1, 0)
    corners = [(0.0, 0.0)] * len(sizes)
    top = total
    for row, height in zip(rows, heights, strict=True):
        x = 0.0
        for number in row:
            corners[number] = (x, top - sizes[number][1])
            x += sizes[number][0] + space
        top -= height + space
    return corners, total


class Page:
    """One page of `width` × `height` mm; (0, 0) is its lower left corner."""

    def __init__(self, width: float, height: float) -> None:
        import matplotlib as mpl
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        mpl.rcParams["hatch.linewidth"] = 0.5
        self.width, self.height = width, height
        self.words: list[Word] = []
        self.figure = Figure(figsize=(width / 25.4, height / 25.4), dpi=DOTS_PER_INCH, facecolor="white")
        FigureCanvasAgg(self.figure)
        self._axes: Any = self.figure.add_axes((0, 0, 1, 1))
        self._axes.set_xlim(0, width)
        self._axes.set_ylim(0, height)
        self._axes.axis("off")

    def shape(
        self,
        shape: Polygon | MultiPolygon,
        *,
        line: float = 0.8,
        dashes: Dashes = "-",
        fill: str = "none",
        hatch: str | None = None,
        edge: str = BLACK,
        layer: float = 1.0,
    ) -> None:
        """Draw a polygon, its holes left open. A hatch is drawn in grey, so that numbers stay readable over it."""
        from matplotlib.patches import PathPatch
        from matplotlib.path import Path as Outline

        for part in shape.geoms if isinstance(shape, MultiPolygon) else [shape]:
            rings = [part.exterior.coords, *(ring.coords for ring in part.interiors)]
            outline = Outline.make_compound_path(*(Outline([(x, y) for x, y in ring], closed=True) for ring in rings))
            if fill != "none" or hatch:
                self._axes.add_patch(
                    PathPatch(outline, facecolor=fill, edgecolor=GREY, hatch=hatch, linewidth=0.0, zorder=layer)
                )
            if line:
                self._axes.add_patch(
                    PathPatch(outline, facecolor="none", edgecolor=edge, linewidth=line, linestyle=dashes, zorder=layer + 0.1)
                )

    def line(
        self, points: Iterable[tuple[float, float]], *, width: float = 0.8, dashes: Dashes = "-", layer: float = 1.0
    ) -> None:
        xs, ys = zip(*points, strict=True)
        self._axes.plot(xs, ys, color=BLACK, linewidth=width, linestyle=dashes, zorder=layer, solid_capstyle="butt")

    def arrow(
        self,
        tail: tuple[float, float],
        head: tuple[float, float],
        *,
        both: bool = False,
        width: float = 0.7,
        layer: float = 2.0,
    ) -> None:
        """A grain line: an arrow at its head, or at both ends if it may lie either way."""
        from matplotlib.patches import Polygon as Triangle

        if tail == head:
            return
        self.line([tail, head], width=width, layer=layer)
        for corners in arrow_heads(tail, head, both=both):
            self._axes.add_patch(Triangle(corners, closed=True, facecolor=BLACK, edgecolor="none", zorder=layer))

    def write(
        self,
        text: str,
        x: float,
        y: float,
        size: float,
        *,
        bold: bool = False,
        centred: bool = False,
        backed: bool = False,
        owner: str = "",
        layer: float = 5.0,
    ) -> Word:
        """Write one line, its middle (or its left end) at (x, y); `backed` puts white behind it."""
        width, height = text_size(text, size, bold)
        left = x - width / 2 if centred else x
        word = Word(text, Box(left, y - height / 2, width, height), size, owner)
        if backed:
            self.shape(box(left, y - height / 2, left + width, y + height / 2), line=0, fill="white", layer=layer - 0.1)
        self._axes.text(
            left + width / 2 if centred else left,
            y,
            text,
            fontsize=size,
            fontweight="bold" if bold else "normal",
            family="DejaVu Sans",
            ha="center" if centred else "left",
            va="center_baseline" if backed else "center",
            color=BLACK,
            zorder=layer,
        )
        self.words.append(word)
        return word

    def scale_bar(self, x: float, y: float, scale: float, unit: str) -> None:
        """A bar of a round length on the cloth, with its length written beside it; `scale` is mm of page for 1 mm of cloth."""
        length, said = bar_of_scale(scale, unit)
        tall, half = 1.6, length * scale / 2
        self.shape(box(x, y - tall / 2, x + half, y + tall / 2), line=0.6, fill=BLACK)
        self.shape(box(x + half, y - tall / 2, x + 2 * half, y + tall / 2), line=0.6, fill="white")
        self.write(said, x + 2 * half + 3, y, 8)

    def save(self, file: Path) -> None:
        """Write the page as the end of the file's name says (png, pdf or svg). The same page gives the same bytes."""
        stamp = {".png": {"Software": None}, ".pdf": {"CreationDate": None}, ".svg": {"Date": None}}[file.suffix.lower()]
        import matplotlib as mpl

        with mpl.rc_context({"svg.hashsalt": "fent", "svg.fonttype": "none"}):
            self.figure.savefig(file, metadata=stamp)
