"""A report on paper: A4 pages with the same figures, charts and tables as the page, drawn with matplotlib, all of it in lines
and letters that can be enlarged."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from .charts import FONT, INCH, WIDTH, Chart, charts_of
from .page import DOTS_PER_INCH, POINT, text_size
from .report_page import TableTold, tables_told, told
from .shown import Shown

if TYPE_CHECKING:
    from stash.reported import Report

A4 = (210.0, 297.0)
MARGIN, FOOT = 15.0, 12.0
TITLE, HEAD, PLAIN, SMALL, LEAST = 16.0, 12.0, 9.0, 7.0, 6.5
LETTERS_OF_CHARTS = 1.06  # their words keep their size where the chart itself is drawn smaller
LEADING = 1.4
COLUMN_SPACE = 3.0
TALL = 100.0


class Paper:
    """Pages filled from the top; what does not fit begins a new one."""

    def __init__(self) -> None:
        self.pages: list[Any] = []
        self.y = 0.0
        self.wide, self.tall = A4
        self.begin()

    @property
    def room(self) -> float:
        """mm between the margins."""
        return self.wide - 2 * MARGIN

    def begin(self) -> None:
        """A new page."""
        from matplotlib.figure import Figure

        self.pages.append(Figure(figsize=(self.wide / INCH, self.tall / INCH), facecolor="white"))
        self.y = self.tall - MARGIN

    def turn(self, *, broad: bool) -> None:
        """Go on with the page turned on its side, or upright."""
        size = (A4[1], A4[0]) if broad else A4
        if (self.wide, self.tall) != size:
            self.wide, self.tall = size
            self.begin()

    def must_fit(self, height: float) -> None:
        """Begin a new page unless so much of this one is left."""
        if self.y - height < MARGIN + FOOT:
            self.begin()

    def write(self, text: str, x: float, size: float, *, bold: bool = False, right: bool = False) -> None:
        """Words at this height, from `x` mm to the right, or up to it."""
        self.pages[-1].text(
            x / self.wide,
            self.y / self.tall,
            text,
            fontsize=size,
            fontweight="bold" if bold else "normal",
            family=FONT,
            ha="right" if right else "left",
            va="top",
            parse_math=False,
        )

    def paragraph(self, text: str, size: float = PLAIN, *, bold: bool = False) -> None:
        """Words over as many lines as they need."""
        letters = int(min(self.room, 190) / (text_size("n" * 20, size, bold)[0] / 20) * 1.12)  # most letters are narrower
        for line in wrap(text, letters):
            self.must_fit(size * POINT * LEADING)
            self.write(line, MARGIN, size, bold=bold)
            self.y -= size * POINT * LEADING
        self.y -= size * POINT * 0.5

    def two_charts(self, charts: Sequence[Chart]) -> None:
        """One chart, or two side by side at three quarters of their size."""
        from matplotlib import rc_context

        scale = (self.room - 6) / 2 / WIDTH
        tall = max(chart.height for chart in charts) * scale
        self.must_fit(tall + 18)
        for place, chart in enumerate(charts):
            x = MARGIN + place * (WIDTH * scale + 6)
            self.write(chart.title, x, PLAIN - 1.5, bold=True)
            low = self.y - 13 - chart.height * scale
            with rc_context({"font.family": FONT, "hatch.linewidth": 0.5, "font.size": 8, "text.parse_math": False}):
                left, tall_of_it = chart.left * LETTERS_OF_CHARTS, chart.height * scale - 14
                place_on_page = (x + left, low + 13, WIDTH * scale - left - 4, tall_of_it)
                sizes = (self.wide, self.tall) * 2
                part = self.pages[-1].add_axes(tuple(mm / size for mm, size in zip(place_on_page, sizes, strict=True)))
                chart.draw(part)
        self.y -= tall + 18

    def table(self, table: TableTold) -> None:
        """A table, its head repeated on each page that it goes on."""
        self.turn(broad=self._width(table, LEAST) > A4[0] - 2 * MARGIN)
        self.must_fit(40)
        self.paragraph(table.title, HEAD, bold=True)
        self.paragraph(table.about)
        if not table.rows:
            self.paragraph("Nothing of the kind.")
            return
        size, widths, heads = self._fitted(table)
        line = size * POINT * LEADING
        self._heads(table, heads, widths, size)
        for row in table.rows:
            if self.y - line < MARGIN + FOOT:
                self.begin()
                self._heads(table, heads, widths, size)
            self._row(table, row, widths, size)
        if table.more:
            self.paragraph(table.more)
        self.y -= 6

    def _fitted(self, table: TableTold) -> tuple[float, list[float], list[list[str]]]:
        """The largest type at which a table is no wider than the page (or the least that can be read), the widths of its
        columns, and its heads in lines."""
        size = PLAIN - 1
        while self._width(table, size) > self.room and size > LEAST:
            size -= 0.5
        return size, _widths(table, size), _heads_in_lines(table)

    def _width(self, table: TableTold, size: float) -> float:
        return sum(_widths(table, size)) + COLUMN_SPACE * (len(table.heads) - 1)

    def _heads(self, table: TableTold, heads: list[list[str]], widths: list[float], size: float) -> None:
        deep = max(len(lines) for lines in heads)
        for number in range(deep):
            cells = tuple(lines[number - deep + len(lines)] if number >= deep - len(lines) else "" for lines in heads)
            self._row(table, cells, widths, size, bold=True)
        from matplotlib.lines import Line2D

        y = (self.y + 0.4) / self.tall
        self.pages[-1].add_artist(Line2D([MARGIN / self.wide, 1 - MARGIN / self.wide], [y, y], color="black", linewidth=0.8))
        self.y -= 0.8

    def _row(self, table: TableTold, row: Sequence[str], widths: list[float], size: float, *, bold: bool = False) -> None:
        x = MARGIN
        for number, (cell, wide) in enumerate(zip(row, widths, strict=True)):
            right = number in table.right
            if cell:
                self.write(cell, x + wide if right else x, size, bold=bold, right=right)
            x += wide + COLUMN_SPACE
        self.y -= size * POINT * LEADING

    def save(self, file: Path, foot: str) -> None:
        """Write the pages, numbered. The same report gives the same bytes."""
        from matplotlib.backends.backend_pdf import PdfPages

        with PdfPages(file, metadata={"CreationDate": None, "Title": foot}) as book:
            for number, page in enumerate(self.pages, 1):
                said = f"{foot} · page {number} of {len(self.pages)}"
                page.text(
                    0.5, MARGIN / 2 / A4[1], said, fontsize=SMALL, family=FONT, ha="center", va="center", parse_math=False
                )
                book.savefig(page)


def _heads_in_lines(table: TableTold) -> list[list[str]]:
    return [wrap(head, 11) or [""] for head in table.heads]


def _widths(table: TableTold, size: float) -> list[float]:
    """How wide each column must be at that size of type, mm."""
    found = []
    for number, lines in enumerate(_heads_in_lines(table)):
        cells = {row[number] for row in table.rows}
        wide = [text_size(cell, size)[0] for cell in cells] + [text_size(line, size, True)[0] for line in lines]
        found.append(max(wide))
    return found


def as_pdf(found: Report, shown: Shown, file: Path) -> None:
    """The report on A4 pages."""
    _paper(found, shown).save(file, told(found, shown).title)


def as_png(found: Report, shown: Shown, file: Path) -> None:
    """The first of those pages as a picture."""
    page = _paper(found, shown).pages[0]
    page.savefig(file, dpi=DOTS_PER_INCH, metadata={"Software": None})


def _paper(found: Report, shown: Shown) -> Paper:
    words = told(found, shown)
    paper = Paper()
    paper.paragraph(words.title, TITLE, bold=True)
    paper.paragraph(words.about)
    _figures(paper, words.figures)
    charts = sorted(charts_of(found, shown), key=lambda chart: chart.height > TALL)
    for pair in zip(charts[::2], charts[1::2], strict=False):
        paper.two_charts(pair)
    if len(charts) % 2:
        paper.two_charts(charts[-1:])
    for table in tables_told(found, shown):
        paper.table(table)
    paper.turn(broad=False)
    paper.must_fit(60)
    paper.paragraph("What the words mean", HEAD, bold=True)
    for word, meaning in words.words:
        paper.paragraph(f"{word}: {meaning}", PLAIN - 1)
    paper.paragraph(words.foot, PLAIN - 1)
    return paper


def _figures(paper: Paper, figures: Sequence[Any]) -> None:
    """The figures, two in a row."""
    for left in range(0, len(figures), 2):
        paper.must_fit(14)
        top = paper.y
        for place, figure in enumerate(figures[left : left + 2]):
            x = MARGIN + place * paper.room / 2
            paper.y = top
            for text, size, bold in (
                (figure.what, SMALL + 1, False),
                (figure.amount, HEAD, True),
                (figure.more, SMALL, False),
            ):
                paper.write(text, x, size, bold=bold)
                paper.y -= size * POINT * LEADING
        paper.y = top - 15
