"""Paper at true scale, measured: by pypdf in the file, by a renderer on the page, SVG and DXF by other libraries."""

from __future__ import annotations

import io
import math
import shutil
import subprocess
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray
from PIL import Image
from pypdf import PageObject, PdfReader
from shapely import LineString, Polygon, box
from svgpathtools import parse_path

from cli.laps import CROSS
from cli.papers import POINT, Papers, paper_named
from cli.tiles import tiles
from cli.true_scale import Drawn, tiled, unbroken
from stash import Workroom, lays
from stash.drawings import Layer, Outline, Part, Stroke

from .conftest import Type
from .test_papers import drawn, fonts_of

Line = tuple[float, float, float, float]
HUNDRED, WITHIN = 100.0, 0.05
slow = pytest.mark.slow
PAPERS = [("A4", 15.0), *(pytest.param(*each, marks=slow) for each in (("Letter", 10.0), ("A3", 15.0), ("A0", 25.0)))]
LONG, WIDE = 900.0, 700.0
DPI = 200


def ladder() -> Drawn:
    """A rectangle full of lines of 100 mm, level and upright, so that each page has some that are whole."""
    level = [Stroke(Layer.FOLD, ((x, y), (x + HUNDRED, y))) for x in range(0, 800, 33) for y in range(20, 700, 82)]
    upright = [Stroke(Layer.FOLD, ((x, y), (x, y + HUNDRED))) for x in range(20, 900, 94) for y in range(0, 600, 29)]
    ring = ((0.0, 0.0), (LONG, 0.0), (LONG, WIDE), (0.0, WIDE))
    return Drawn("ladder", "lines of 100 mm", (Part("ladder", (Outline(Layer.CUT, ring),), tuple(level + upright)),))


def lines_of(page: PageObject) -> list[Line]:
    """Every straight piece that a page draws, where it comes to lie on it, mm."""
    found: list[Line] = []
    last: list[tuple[float, float]] = []

    def look(operator: bytes, operands: list[float], cm: list[float], _: list[float]) -> None:
        if operator in (b"m", b"l"):
            x, y = (float(o) for o in operands)
            at = (x * cm[0] + y * cm[2] + cm[4]) * POINT, (x * cm[1] + y * cm[3] + cm[5]) * POINT
            if operator == b"l":
                found.append((*last[-1], *at))
            last.append(at)

    page.extract_text(visitor_operand_before=look)
    return found


def whole_in(page: PageObject, lines: list[Line]) -> list[Line]:
    wide, high = float(page.mediabox.width) * POINT, float(page.mediabox.height) * POINT
    return [line for line in lines if box(10, 24, wide - 10, high - 10).covers(box(*line))]


def hundreds(lines: list[Line]) -> list[Line]:
    """Those that can be meant for 100 mm: within two per cent."""
    return [line for line in lines if abs(math.dist(line[:2], line[2:]) - HUNDRED) < 0.02 * HUNDRED]


def all_is_inside(papers: Papers) -> Iterator[None]:
    """Every letter of every page within that page, by a reader that is not the writer."""
    for page in pypdfium2.PdfDocument(papers.as_pdf()):
        letters = page.get_textpage()
        width, height = page.get_size()
        room = box(0, 0, width, height)
        for n in range(letters.count_chars()):
            assert room.covers(box(*letters.get_charbox(n)))
            yield


@pytest.mark.parametrize(("name", "lap"), PAPERS)
def test_100_mm_are_100_mm_on_every_tile(name: str, lap: float) -> None:
    papers = tiled("ladder", [ladder()], paper_named(name), lap)
    found = tiles(Polygon([(0, 0), (LONG, 0), (LONG, WIDE), (0, WIDE)]), paper_named(name), lap)
    pages = drawn(papers).pages[1:] if len(found.tiles) > 1 else drawn(papers).pages
    assert len(pages) == len(found.tiles)
    for page in pages:
        lines = lines_of(page)
        whole = hundreds(whole_in(page, lines))
        assert len(whole) > 1
        assert all(abs(math.dist(line[:2], line[2:]) - HUNDRED) <= WITHIN for line in whole)
        rulers = [line for line in hundreds(lines) if line[1] == line[3] < 24]
        assert [math.dist(line[:2], line[2:]) for line in rulers] == [pytest.approx(HUNDRED, abs=WITHIN)]


@slow
@pytest.mark.parametrize(("name", "lap"), [("A4", 15.0), ("Letter", 10.0), ("A3", 15.0)])
def test_neighbours_show_the_same_in_their_lap(name: str, lap: float) -> None:
    """What is drawn at one place of the cloth stands on both pages, so far apart that windows lap as promised."""
    papers = tiled("ladder", [ladder()], paper_named(name), lap)
    found = tiles(Polygon([(0, 0), (LONG, 0), (LONG, WIDE), (0, WIDE)]), paper_named(name), lap)
    pages = drawn(papers).pages[1:]
    corner = {}
    for tile, page in zip(found.tiles, pages, strict=True):
        outline = max(lines_of(page), key=lambda line: abs(line[2] - line[0]))  # the near or far edge of the rectangle
        assert abs(outline[2] - outline[0]) == pytest.approx(LONG, abs=WITHIN)
        corner[tile.column, tile.row] = min(outline[0], outline[2])
    for (column, row), x in corner.items():
        if (column + 1, row) in corner:
            step = x - corner[column + 1, row]
            assert found.window.width - step == pytest.approx(lap, abs=WITHIN)


def rendered(file: Path, number: int) -> NDArray[np.bool_]:
    """Where there is ink on a page, by pdftoppm where it is installed."""
    if shutil.which("pdftoppm"):
        words = ["pdftoppm", "-r", str(DPI), "-f", str(number), "-l", str(number), "-gray", "-png", str(file)]
        page = Image.open(io.BytesIO(subprocess.run(words, capture_output=True, check=True).stdout))
    else:
        page = pypdfium2.PdfDocument(file)[number - 1].render(scale=DPI / 72).to_pil()
    return np.asarray(page.convert("L")) < 128


@slow
def test_the_printed_page_has_squares_of_50_mm_and_2_in(tmp_path: Path) -> None:
    file = tmp_path / "map.pdf"
    tiled("ladder", [ladder()], paper_named("A4"), 15.0).save(file)
    ink = rendered(file, 1)
    mm = 25.4 / DPI
    row = ink[ink.shape[0] - round((10 + 5 + 10) / mm)]  # across both squares, below their words
    edges = np.flatnonzero(np.diff(row.astype(int)) == 1) * mm
    across = [b - a for a, b in pairwise(edges)]
    assert across[0] == pytest.approx(50.0, abs=2 * mm)
    assert across[2] == pytest.approx(50.8, abs=2 * mm)


def bent(corners: int = 40) -> Drawn:
    """A round piece with a narrow arm, a name and letters, which many pages cut."""
    ring = [
        (400 + 390 * math.cos(2 * math.pi * k / corners), 300 + 280 * math.sin(2 * math.pi * k / corners))
        for k in range(corners)
    ]
    arm = Polygon(ring).union(box(780, 290, 1250, 330))
    outline = tuple((float(x), float(y)) for x, y in arm.exterior.coords[:-1])
    part = Part("a round piece", (Outline(Layer.CUT, outline),), said={"pattern": "rounds", "count": "2"})
    return Drawn("rounds: a round piece", "a line about it " * 8, (part,), (("a", 400.0, 30.0), ("b", 1240.0, 310.0)))


@pytest.mark.parametrize("name", ["A0", *(pytest.param(each, marks=slow) for each in ("A5", "A4", "Letter", "20cm x 5m"))])
def test_words_are_inside_their_page_and_fonts_in_the_file(name: str) -> None:
    papers = tiled("rounds", [bent()], paper_named(name), 12.0)
    assert sum(1 for _ in all_is_inside(papers)) > 50
    reader = drawn(papers)
    for page in reader.pages:
        assert lines_of(page)
        assert page.extract_text().strip()
    assert all(dict(fonts_of(reader)).values())
    assert len(papers.as_pdf()) < 2_000_000
    for sheet in papers.pages:
        rooms = [word.room.buffer(-0.3) for word in sheet.words]
        assert not any(a.intersects(b) for i, a in enumerate(rooms) for b in rooms[:i])


def test_crosses_stand_clear_of_names_and_of_the_words_in_the_laps() -> None:
    """A panel on each page just where a lap of an A5 has its crosses, named larger than they are."""
    paper, lap = paper_named("A5"), 20.0
    at = [(x, y) for x in range(0, 150, 24) for y in range(0, 100, 24)]
    parts = tuple(
        Part(f"panel {n}", (Outline(Layer.CUT, ((x, y), (x + 22, y), (x + 22, y + 22), (x, y + 22))),))
        for n, (x, y) in enumerate(at)
    )
    papers = tiled("panels", [Drawn("panels", "", parts)], paper, lap)
    for page, drawn_on in zip(papers.pages[1:], drawn(papers).pages[1:], strict=True):
        lines = lines_of(drawn_on)
        short = [line for line in lines if math.dist(line[:2], line[2:]) == pytest.approx(CROSS, abs=1e-3)]
        assert len(short) >= 4
        crosses = [LineString([line[:2], line[2:]]) for line in short]
        covered = [word.text for word in page.words if word.text.startswith(("panel", "trim", "page"))]
        assert covered
        rooms = [word.room for word in page.words if word.owner]
        assert not any(room.intersects(cross) for room in rooms for cross in crosses)


@slow
def test_a_name_stands_on_each_page_that_has_much_of_the_piece() -> None:
    papers = tiled("rounds", [bent()], paper_named("A4"), 12.0)
    named = [any(word.text == "a round piece" for word in page.words) for page in papers.pages[1:]]
    assert sum(named) >= len(named) - 2
    assert sum(any(word.text == "b" for word in page.words) for page in papers.pages[1:]) in (1, 2)


def test_a_piece_that_goes_on_one_page_has_its_squares_beside_it() -> None:
    small = Drawn("cuff", "small", (Part("cuff", (Outline(Layer.CUT, ((0, 0), (150, 0), (150, 80), (0, 80))),)),))
    papers = tiled("cuff", [small], paper_named("A4"), 15.0)
    assert len(papers.pages) == 1
    assert {"50 mm", "2 in", "100 mm", "cuff"} <= {word.text for word in papers.pages[0].words}
    squares = [word.room for word in papers.pages[0].words if word.text in ("50 mm", "2 in")]
    assert not any(room.intersects(Polygon([(12, 150), (200, 150), (200, 297), (12, 297)])) for room in squares)


@slow
def test_unbroken_it_is_as_large_as_it_is() -> None:
    papers = unbroken("ladder", [ladder()])
    (page,) = drawn(papers).pages
    assert float(page.mediabox.width) * POINT == pytest.approx(LONG + 2 * 10 + 2 * 2, abs=0.1)
    assert all(abs(math.dist(line[:2], line[2:]) - HUNDRED) <= WITHIN for line in hundreds(whole_in(page, lines_of(page))))
    assert sum(1 for _ in all_is_inside(papers)) > 50
    words = {word.text for word in papers.pages[0].words}
    assert {"50 mm", "2 in"} <= words
    large = Part("roll", (Outline(Layer.CUT, ((0, 0), (6000, 0), (6000, 100), (0, 100))),))
    with pytest.raises(ValueError, match="a page ends at 5 m"):
        unbroken("roll", [Drawn("roll", "", (large,))])


# --- the commands ------------------------------------------------------------------------------------------------------------


@pytest.fixture
def tried(fent: Type, stages: dict[str, Path], workroom: Path) -> Type:
    shutil.copy(stages["tried"], workroom)
    return fent


def cut_lines(workroom: Path) -> dict[str, Polygon]:
    with Workroom.open(workroom) as opened:
        return {f"{panel.number} {panel.piece}": panel.cut_line for panel in lays.get(opened, 1).panels}


@slow
def test_a_lay_on_paper(tried: Type, tmp_path: Path) -> None:
    said = tried("lay", "paper", "1", "--file", "lay.pdf", "--paper", "A3")
    assert said.status == 0, said.words
    assert "Lay 1 for wheel cushion, at true scale, is in lay.pdf, 9 pages." in said.words
    reader = PdfReader(tmp_path / "lay.pdf")
    texts = [page.extract_text() for page in reader.pages]
    assert all(text.strip() for text in texts)
    assert "Lay 1 for wheel cushion: N-02" in texts[0]
    assert (tmp_path / "lay.pdf").stat().st_size < 2_000_000
    assert tried("lay", "paper", "1", "--file", "lay.pdf").status == 2
    alone = tried("lay", "paper", "1", "--file", "lay.pdf", "--write-over", "--only", "n-03", "--whole")
    assert alone.status == 0
    assert len(PdfReader(tmp_path / "lay.pdf").pages) == 1


@pytest.mark.parametrize("kind", ["svg", pytest.param("dxf", marks=slow)])
def test_the_whole_lay_is_read_back_by_other_libraries(kind: str, tried: Type, workroom: Path, tmp_path: Path) -> None:
    assert tried("lay", "to-drawing", "1", f"lay.{kind}").status == 0
    text = (tmp_path / f"lay.{kind}").read_text(encoding="utf-8")
    found = dict(svg_cut_lines(text) if kind == "svg" else dxf_cut_lines(text))
    expected = cut_lines(workroom)
    assert found.keys() == expected.keys()
    first = next(iter(expected))
    for name, shape in expected.items():
        assert found[name].area == pytest.approx(shape.area, rel=1e-6)
        off = [a - b for a, b in zip(found[name].centroid.coords[0], shape.centroid.coords[0], strict=True)]
        assert off[1] == pytest.approx(0, abs=1e-4)
        assert off[0] == pytest.approx(0, abs=1e-4) or name.split()[0] in (
            "7",
            "8",
            "9",
            "10",
        )  # the second remnant stands beside
    assert found[first].symmetric_difference(expected[first]).area < 1e-2


def svg_cut_lines(text: str) -> Iterator[tuple[str, Polygon]]:
    space = {"svg": "http://www.w3.org/2000/svg"}
    for group in ElementTree.fromstring(text).iterfind("svg:g", space):
        for path in group.iterfind("svg:path[@data-line='cut line']", space):
            yield (
                group.attrib["data-part"],
                Polygon([(step.start.real, -step.start.imag) for step in parse_path(path.attrib["d"])]),
            )


def dxf_cut_lines(text: str) -> Iterator[tuple[str, Polygon]]:
    document = ezdxf.read(io.StringIO(text))
    assert document.header["$INSUNITS"] == 4
    for insert in document.modelspace().query("INSERT"):
        for line in insert.virtual_entities():
            if line.dxf.layer == "1":
                yield insert.dxf.name, Polygon([(x, y) for x, y, *_ in line.get_points()])


@slow
def test_the_pieces_of_a_pattern_on_paper(tried: Type, tmp_path: Path) -> None:
    said = tried("pattern", "paper", "cushion", "--file", "wedge.pdf", "--paper", "Letter")
    assert said.status == 0, said.words
    words = " ".join(page.extract_text() for page in PdfReader(tmp_path / "wedge.pdf").pages)
    assert "wedge" in words
    assert "50 mm" in words
    assert tried("pattern", "paper", "bag", "--file", "body.pdf", "--piece", "body", "--whole").status == 0
    assert "lining" not in PdfReader(tmp_path / "body.pdf").pages[0].extract_text()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("lay", "paper", "1", "--file", "lay.svg"), "does not end in a kind of paper"),
        (("lay", "to-drawing", "1", "lay.pdf"), "does not end in a kind of drawing"),
        (("lay", "paper", "1", "--paper", "foolscap"), "there is no paper 'foolscap'"),
        (("lay", "paper", "1", "--paper", "10cm x 8cm"), "too small"),
        (("lay", "paper", "1", "--lap", "9cm"), "A lap of 90 mm is too much"),
        (("lay", "paper", "1", "--only", "N-01"), "Lay 1 does not use N-01"),
        (("pattern", "paper", "bag", "--piece", "strap"), "there is no piece"),
    ],
)
def test_what_cannot_be_printed_says_why(words: tuple[str, ...], said: str, tried: Type, tmp_path: Path) -> None:
    found = tried(*words)
    assert found.status == 2
    assert said.casefold() in found.words.casefold()
    assert not list(tmp_path.glob("*.pdf"))
