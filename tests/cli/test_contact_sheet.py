"""The bin to look at: all at one scale, in the order of the list, a grid to measure by, photographs where there are any."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader
from shapely.geometry import Polygon, box

from cli.contact_sheet import Item, contact_sheet, grid
from cli.papers import POINT, paper_named
from cli.pictures import FaultDrawn, RemnantDrawn
from cli.shown import Shown

from .conftest import Type
from .test_papers import drawn, fonts_of
from .test_true_scale import all_is_inside, lines_of

LARGE = [pytest.param(*each, marks=pytest.mark.slow) for each in ((60, "Letter", "in"), (80, "A3", "cm"))]
STAIN = FaultDrawn("stain", ((20, 20), (60, 20), (60, 50), (20, 50)))


def items(count: int) -> list[Item]:
    """Scraps from 80 to 900 mm, some with a stain, some with long words."""
    found = []
    for n in range(count):
        long, wide = 80 + 820 * (n % 7) / 6, 80 + 300 * (n % 5) / 4
        notes = (
            "ecru calico, of which there is a great deal more than anyone could ever want",
            "shelf by the window",
            f"{n} mm",
        )
        found.append(Item(RemnantDrawn(f"S-{n:03}", notes, box(0, 0, long, wide), (STAIN,) if n % 3 == 0 else ())))
    return found


@pytest.mark.parametrize(
    ("count", "paper", "unit"), [(1, "A4", "mm"), pytest.param(13, "A5", "in", marks=pytest.mark.slow), *LARGE]
)
def test_they_stand_in_order_on_pages_that_hold_them(count: int, paper: str, unit: str) -> None:
    papers = contact_sheet("The bin", "some", items(count), paper_named(paper), Shown(unit))
    words = [word for page in papers.pages for word in page.words]
    assert [word.text for word in words if word.text.startswith("S-")] == [f"S-{n:03}" for n in range(count)]
    for page in papers.pages:
        rooms = [word.room for word in page.words if word.owner.startswith("S-")]
        assert all(box(5, 5, page.width - 5, page.height - 5).contains(room) for room in rooms)
        assert not any(a.intersects(b) for i, a in enumerate(rooms) for b in rooms[:i])
    assert sum(1 for _ in all_is_inside(papers)) > count
    reader = drawn(papers)
    assert all(dict(fonts_of(reader)).values())
    assert all(lines_of(page) for page in reader.pages)


def test_all_are_at_one_scale() -> None:
    papers = contact_sheet("The bin", "some", items(14), paper_named("A4"), Shown())
    told = {word.text.split("1 : ")[1].split()[0] for page in papers.pages for word in page.words if "1 : " in word.text}
    assert len(told) == 1
    scale = float(told.pop())
    long = [abs(line[2] - line[0]) for page in drawn(papers).pages for line in lines_of(page)]
    for n in range(7):
        assert any(math.isclose(each, (80 + 820 * n / 6) / scale, abs_tol=0.02) for each in long)


def test_squares_are_as_large_as_is_said() -> None:
    shape = Polygon([(0, 0), (310, 0), (310, 150), (150, 150), (150, 310), (0, 310)])
    lines = list(grid(shape, 100))
    assert sorted(round(line.length) for line in lines) == [150, 150, 150, 150, 310, 310]
    assert all(shape.covers(line) for line in lines)
    assert {round(line.bounds[0]) for line in lines if line.bounds[0] == line.bounds[2]} == {100, 200, 300}
    papers = contact_sheet("The bin", "one", [Item(RemnantDrawn("S", (), shape))], paper_named("A4"), Shown("in"))
    assert any(word.text.startswith("squares of 1 in") for word in papers.pages[0].words)


@pytest.mark.slow
def test_the_bin_on_paper_with_its_photographs(stocked: Type, tmp_path: Path) -> None:
    Image.new("RGB", (300, 200), "tan").save(tmp_path / "one.png")
    assert stocked("bin", "photograph", "N-02", "one.png", "--by", "AK").status == 0
    said = stocked("bin", "picture", "bin.pdf")
    assert said.status == 0
    assert "The picture of 3 remnants is in bin.pdf." in said.words
    (page,) = PdfReader(tmp_path / "bin.pdf").pages
    assert [text for text in page.extract_text().split() if text.startswith("N-")] == ["N-01", "N-02", "N-03"]
    assert len(page.images) == 1
    assert float(page.mediabox.width) * POINT == pytest.approx(210, abs=0.1)
    for file in (tmp_path / "stash.photographs").iterdir():
        file.unlink()  # one that is lost leaves the rest to look at
    assert stocked("bin", "picture", "bin.png", "--paper", "A5", "--place", "blue bag").status == 0
    assert Image.open(tmp_path / "bin.png").size[0] == pytest.approx(148 / 25.4 * 150, abs=2)
