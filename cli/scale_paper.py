"""The scale sheet on paper: marks that a photograph is measured by, at true scale, with a square to hold the printer to."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

INCH = 25.4
FAMILY = "DejaVu Sans"
PLAIN, SMALL = 10.0, 8.0


def write_sheets(file: Path, numbers: Sequence[int], *, letter: bool = False) -> None:
    """A PDF with a page for each sheet, at true scale."""
    from matplotlib.backends.backend_pdf import PdfPages
    from matplotlib.figure import Figure

    from stash.camera import sheet

    wide, high = sheet.LETTER if letter else sheet.A4
    with PdfPages(file, metadata={"Title": "Scale sheet", "Creator": "Fent"}) as pages:
        for number in numbers:
            page = Figure(figsize=(wide / INCH, high / INCH), facecolor="white")
            axes = page.add_axes((0, 0, 1, 1))
            axes.set_axis_off()
            axes.set_xlim(-wide / 2, wide / 2)
            axes.set_ylim(-high / 2, high / 2)
            _marks(axes, number)
            _square_and_arrow(axes, number)
            pages.savefig(page)


def _marks(axes, number: int) -> None:  # type: ignore[no-untyped-def]
    from matplotlib.collections import PolyCollection

    from stash.camera import sheet

    cell = sheet.MARK / sheet.CELLS
    boxes = []
    for mark, outlined in sheet.sheet_marks(number).items():
        left, top = outlined.ring[0]
        for row, first, last in _runs(sheet.dark_cells(mark)):
            x, y, end, low = left + first * cell, top - row * cell, left + (last + 1) * cell, top - (row + 1) * cell
            boxes.append([(x, y), (end, y), (end, low), (x, low)])
    # Rows that meet without a gap: no hairline of white is left between them where a reader draws smooth edges.
    axes.add_collection(PolyCollection(boxes, facecolors="black", edgecolors="black", linewidths=0.05, antialiaseds=False))


def _runs(cells: Sequence[tuple[int, int]]) -> list[tuple[int, int, int]]:
    """Dark cells side by side as (row, first column, last column)."""
    found: list[tuple[int, int, int]] = []
    for row, column in sorted(cells):
        if found and found[-1][0] == row and found[-1][2] == column - 1:
            found[-1] = (row, found[-1][1], column)
        else:
            found.append((row, column, column))
    return found


def _square_and_arrow(axes, number: int) -> None:  # type: ignore[no-untyped-def]
    from matplotlib.patches import FancyArrowPatch, Rectangle

    from stash.camera import sheet

    half = sheet.SQUARE / 2
    axes.add_patch(Rectangle((-half, -half), sheet.SQUARE, sheet.SQUARE, fill=False, edgecolor="0.35", linewidth=0.5))
    axes.add_patch(
        FancyArrowPatch(
            (-40, 28), (40, 28), arrowstyle="-|>", mutation_scale=14, color="0.35", linewidth=1.2, shrinkA=0, shrinkB=0
        )
    )
    words = (
        (20.0, "grain", PLAIN),
        (4.0, f"Scale sheet {number}", PLAIN),
        (-8.0, "Print at actual size (100 %).", SMALL),
        (-14.0, "This square must measure 100 mm each way.", SMALL),
        (-20.0, "If it does not, say what it measures: --square.", SMALL),
        (-32.0, "Lay it flat beside the cloth, on one table,", SMALL),
        (-38.0, "its long side along the grain.", SMALL),
    )
    for y, text, size in words:
        axes.text(0, y, text, ha="center", va="center", fontsize=size, family=FAMILY, color="0.2")
