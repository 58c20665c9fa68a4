"""Papers: sizes, true millimetres, embedded fonts, words where they are said to be. The PDFs are measured with pypdf."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader
from shapely.geometry import box

from cli.papers import POINT, Box, Papers, broken, paper_named, shortened, text_size
from cli.units import UnitFault


def drawn(papers: Papers) -> PdfReader:
    return PdfReader(BytesIO(papers.as_pdf()))


def fonts_of(reader: PdfReader) -> Iterator[tuple[str, bool]]:
    """The name of each font that a page may use, and whether it is embedded."""
    for page in reader.pages:
        for font in page["/Resources"].get("/Font", {}).values():
            told = font.get_object().get("/FontDescriptor", {})
            yield font.get_object()["/BaseFont"], "/FontFile2" in told


@pytest.mark.parametrize(
    ("said", "width", "height"),
    [("A4", 210, 297), ("a0", 841, 1189), ("Letter", 215.9, 279.4), ("60cm x 2m", 600, 2000), ("8.5in x 11in", 215.9, 279.4)],
)
def test_a_paper_is_known_by_name_or_by_size(said: str, width: float, height: float) -> None:
    paper = paper_named(said)
    assert (paper.width, paper.height) == pytest.approx((width, height))
    page = drawn(one_page(paper.name)).pages[0]
    assert float(page.mediabox.width) * POINT == pytest.approx(width, abs=0.01)
    assert float(page.mediabox.height) * POINT == pytest.approx(height, abs=0.01)


@pytest.mark.parametrize("said", ["", "foolscap", "1cm x 2cm", "20m x 3m", "A4 x", "-3 x 4"])
def test_what_is_no_paper_is_refused_with_the_names(said: str) -> None:
    with pytest.raises(UnitFault, match="Letter"):
        paper_named(said)


def one_page(paper: str) -> Papers:
    papers = Papers("one")
    papers.page(paper_named(paper)).write("word", 10, 10, 8)
    return papers


def test_a_line_of_100_mm_is_100_mm() -> None:
    papers = Papers("ruler")
    page = papers.page(paper_named("A4"), broad=True)
    page.line([(20, 30), (120, 30)])
    with page.window(Box(10, 10, 190, 190), at=(7, 11)):
        page.line([(20, 30), (20, 130)])
    found: list[tuple[float, float]] = []

    def look(operator: bytes, operands: list[float], cm: list[float], tm: list[float]) -> None:
        if operator in (b"m", b"l"):
            x, y = (float(o) for o in operands)
            found.append((x * cm[0] + y * cm[2] + cm[4], x * cm[1] + y * cm[3] + cm[5]))

    drawn(papers).pages[0].extract_text(visitor_operand_before=look)
    mm = [(x * POINT, y * POINT) for x, y in found]
    assert mm == [pytest.approx(each, abs=0.01) for each in [(20, 30), (120, 30), (27, 41), (27, 141)]]


def test_every_font_is_embedded_and_the_same_page_gives_the_same_bytes() -> None:
    papers = one_page("A5")
    papers.pages[0].write("bold: 3 5/8 in, Grüße, α, 🙂", 10, 20, 8, bold=True)
    fonts = dict(fonts_of(drawn(papers)))
    assert len(fonts) == 2
    assert all(fonts.values())
    assert papers.as_pdf() == papers.as_pdf()


def test_a_word_fills_the_box_it_is_said_to_fill(tmp_path: Path) -> None:
    import pypdfium2

    papers = Papers("words")
    page = papers.page(paper_named("A5"))
    page.write("Fjord (Äg)", 30, 100, 12)
    page.write("Fjord (Äg)", 100, 80, 12, bold=True, centred=True)
    page.write("Fjord (Äg)", 100, 60, 12, right=True)
    page.write("Fjord (Äg)", 60, 30, 12, turn=90)
    letters = pypdfium2.PdfDocument(papers.as_pdf())[0].get_textpage()
    ink = [letters.get_charbox(n) for n in range(letters.count_chars()) if letters.get_text_range(n, 1).strip()]
    each = len("Fjord(Äg)")
    for number, word in enumerate(page.words):
        x, y, width, height = word.place
        if word.turn:
            x, y, width, height = x + width / 2 - height / 2, y + height / 2 - width / 2, height, width
        boxes = [box(*(p * POINT for p in letter)) for letter in ink[number * each : number * each + each]]
        room = box(x, y, x + width, y + height)
        assert all(room.buffer(0.2).contains(letter) for letter in boxes)
        low, high = (1, 3) if word.turn else (0, 2)
        assert max(b.bounds[high] for b in boxes) - min(b.bounds[low] for b in boxes) > 0.9 * word.place.width


def test_what_a_window_leaves_out_is_not_written() -> None:
    papers = Papers("tile")
    page = papers.page(paper_named("A4"))
    with page.window(Box(10, 10, 100, 100), at=(0, 0)):
        page.write("inside", 50, 50, 8)
        page.write("outside", 150, 150, 8)
        page.shape(box(120, 120, 130, 130))
    assert [word.text for word in page.words] == ["inside"]
    assert drawn(papers).pages[0].extract_text().strip() == "inside"


def test_words_are_broken_and_shortened_to_their_room() -> None:
    lines = broken("a keeper for the bin, which lies by the selvedge", 8, 30)
    assert " ".join(lines) == "a keeper for the bin, which lies by the selvedge"
    assert max(text_size(line, 8)[0] for line in lines) <= 30
    assert text_size(shortened("unreasonably long tag", 8, 12), 8)[0] <= 12
    assert broken("", 8, 30) == []


def test_pages_are_drawn_as_png_one_by_one(tmp_path: Path) -> None:
    papers = one_page("A5")
    assert papers.save(tmp_path / "page.png") == [tmp_path / "page.png"]
    papers.page(paper_named("A5")).write("two", 10, 10, 8)
    written = papers.save(tmp_path / "page.png")
    assert [file.name for file in written] == ["page-1.png", "page-2.png"]
    assert all(file.read_bytes().startswith(b"\x89PNG") for file in written)
