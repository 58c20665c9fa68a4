"""Labels: a camera reads the tag back off the page as it is printed, all words stand on their own label, sheets are as sold.

The codes are read by OpenCV from a picture of the page; segno and reportlab made it.
"""

from __future__ import annotations

import shutil
from dataclasses import replace
from itertools import combinations
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pypdfium2
import pytest
from shapely import box

from cli.label_page import KNOWN, LabelSheet, has_code, label_sheets, label_strip, sheet_for
from cli.papers import LEAST_TYPE, Papers, paper_named
from cli.shown import Shown, as_told
from stash import Workroom, remnants

from ..stash import scenes
from .conftest import Type

A4, LETTER = paper_named("A4"), paper_named("Letter")


@pytest.fixture(scope="module")
def some(tmp_path_factory: pytest.TempPathFactory, empty: Path) -> list[Any]:
    """Remnants with long and short names."""
    with Workroom.open(shutil.copy(empty, tmp_path_factory.mktemp("labels") / "w.fent")) as workroom:
        scenes.linen(workroom, one_way=True, lot="L-7")
        scenes.scrap(workroom, "L1", nap="along", washed="cold, by hand, and pressed while it was damp")
        told = [remnants.look_at(workroom, "L1")]
    long = replace(told[0].cloth, name="a very long name of a cloth that nobody would write on a label", one_way=False)
    return [
        told[0],
        replace(told[0], tag="THE-LAST-OF-THE-BLUE-CURTAIN-17B", cloth=long, one_way=False),
        *(replace(told[0], tag=f"MF-{n:02}") for n in range(40)),
    ]


def read_back(papers: Papers, page: int, scale: float = 5.0) -> set[str]:
    """What OpenCV reads on a page."""
    image = pypdfium2.PdfDocument(papers.as_pdf())[page].render(scale=scale).to_pil().convert("L")
    found, texts, _, _ = cv2.QRCodeDetector().detectAndDecodeMulti(np.asarray(image))
    return {text for text in texts if text} if found else set()


@pytest.mark.slow
def test_a_camera_reads_the_tags_of_a_sheet(some: list[Any]) -> None:
    sheet = sheet_for((63.5, 38.1), A4)
    assert sheet is not None
    papers = label_sheets(some[2:6], sheet, A4, Shown())
    assert read_back(papers, 0, 2.5) == {each.tag for each in some[2:6]}


@pytest.mark.parametrize("size", [(38, 19), *(pytest.param(size, marks=pytest.mark.slow) for size in ((62, 29), (105, 74)))])
def test_a_camera_reads_the_tag_of_each_label_of_a_strip(some: list[Any], size: tuple[float, float]) -> None:
    papers = label_strip([some[0], some[2]], size, Shown())
    assert [read_back(papers, n) for n in range(2)] == [{"L1"}, {"MF-00"}]
    assert all((page.width, page.height) == size for page in papers.pages)


EVERY = [(known, paper_named(name)) for name, sheets in KNOWN.items() for known in sheets]


@pytest.mark.parametrize(("sheet", "paper"), EVERY)
def test_what_is_written_stands_on_its_own_label(some: list[Any], sheet: LabelSheet, paper: Any) -> None:
    places = [box(p.x, p.y, p.x + p.width, p.y + p.height) for p in sheet.places(paper)]
    assert len(places) == sheet.across * sheet.down
    assert all(box(0, 0, paper.width, paper.height).contains(place) for place in places)
    assert not any(one.buffer(-0.01).intersects(other.buffer(-0.01)) for one, other in combinations(places, 2))
    page = label_sheets(some[:3], sheet, paper, as_told("in")).pages[0]
    for place, remnant in zip(places, some[:3], strict=False):
        words = [word for word in page.words if place.intersects(word.room)]
        assert {word.owner for word in words} == {remnant.tag}
        assert all(place.buffer(-1.5).contains(word.room) and word.size >= LEAST_TYPE for word in words)
        assert not any(a.room.buffer(-0.02).intersects(b.room) for a, b in combinations(words, 2))
        assert any("washed" in word.text for word in words)
        assert ("nap" if remnant.one_way else "grain") in {word.text for word in words}


def test_a_label_tells_what_is_asked_of_one(some: list[Any]) -> None:
    (page,) = label_strip(some[:1], (105, 74), Shown()).pages
    said = [word.text for word in page.words]
    assert said[0] == "L1"
    assert said[1:5] == ["blue linen, lot L-7", "400 × 300 mm", "180 g/m², 21.6 g", "100 % linen"]
    assert said[6:] == ["nap"]
    assert said[5].startswith("washed: cold, by hand")


@pytest.mark.slow
def test_a_begun_sheet_is_used_up(some: list[Any]) -> None:
    sheet = sheet_for((70, 37), A4)
    assert sheet is not None
    papers = label_sheets(some[:27], sheet, A4, Shown(), first=23)
    assert [len({word.owner for word in page.words}) for page in papers.pages] == [2, 24, 1]
    first = papers.pages[0].words[0].room
    places = list(sheet.places(A4))
    assert box(places[22].x, places[22].y, places[22].x + 70, places[22].y + 37).contains(first)


def test_other_measures_are_set_out_from_the_middle() -> None:
    sheet = sheet_for((50, 30), A4)
    assert sheet == LabelSheet(50, 30, 4, 9)
    places = list(sheet.places(A4))
    assert places[0].x == pytest.approx(210 - places[3].x - 50)
    assert sheet_for((300, 30), A4) is None
    assert sheet_for((66.7, 25.4), LETTER) == KNOWN["Letter"][0]


def test_a_long_tag_is_written_in_full_and_may_have_no_code(some: list[Any]) -> None:
    small = (25.4, 12.7)
    (page,) = label_strip([some[1]], small, Shown()).pages
    assert "".join(word.text for word in page.words[:2]) == some[1].tag
    assert not has_code(some[1].tag, small)
    assert has_code(some[0].tag, small)


def test_an_envelope_has_a_label_and_a_missing_code_is_said(stocked: Type) -> None:
    stocked("envelope", "add", "THE-LAST-OF-THE-BLUE-17", "--cloth", "navy linen", "--mass", "12 g", "--lot", "L-9")
    said = stocked("bin", "labels", "the-last-of-the-blue-17", "--strip", "--label", "25mm x 12.5mm", "--file", "e.pdf")
    assert said.status == 0
    assert "in words only: THE-LAST-OF-THE-BLUE-17" in said.words
    said = stocked("bin", "labels", "the-last-of-the-blue-17", "--strip", "--file", "f.pdf")
    assert "words only" not in said.words
    text = pypdfium2.PdfDocument("f.pdf")[0].get_textpage().get_text_bounded()
    assert all(part in text for part in ("navy linen, lot L-9", "offcuts, 12.0 g", "100 % linen"))


def test_labels_are_printed(stocked: Type, tmp_path: Path) -> None:
    assert "labels.pdf" in stocked("bin", "labels", "n-01", "N-02").words
    assert stocked("bin", "labels", "n-01").status == 2
    said = stocked("bin", "labels", "--place", "blue bag", "--strip", "--label", "62mm x 29mm", "--file", "s.png")
    assert said.status == 0
    image = cv2.imread(str(tmp_path / "s.png"))
    assert cv2.QRCodeDetector().detectAndDecode(image)[0] == "N-02"
    assert (
        "nothing is printed"
        in stocked("bin", "labels", "--cloth", "navy linen", "--newer-than", "2090-01-01", "--file", "n.pdf").words
    )


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (("N-77",), "N-77"),
        (("N-01", "--place", "blue bag"), "two ways"),
        (("N-01", "--label", "5 x 3 mm"), "too small"),
        (("N-01", "--label", "30cm x 5cm"), "no label of 30cm x 5cm goes on A4"),
        (("N-01", "--begin", "25"), "no label 25"),
        (("N-01", "--file", "labels.doc"), "kind of paper"),
        (("--lay", "4"), "no lay 4"),
    ],
)
def test_what_cannot_be_a_label_is_refused(stocked: Type, words: tuple[str, ...], what: str) -> None:
    said = stocked("bin", "labels", *words)
    assert said.status == 2
    assert what.lower() in said.words.lower()
