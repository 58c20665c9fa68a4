"""Remnants and pieces traced off photographs, from the command: one, a folder, again; and what is refused."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from PIL import Image

from .. import photographed
from .conftest import LINEN, Type

STOCK = (LINEN, ("bin", "add", "N-01", "--cloth", "navy linen", "--size", "30cm x 20cm"))


@pytest.fixture
def bin_(fent: Type, tmp_path: Path) -> Type:
    for words in STOCK:
        assert fent(*words).status == 0
    (tmp_path / "N-31.jpg").write_bytes(photographed.jpeg())
    return fent


def test_a_remnant_is_logged_off_a_photograph_and_looked_at_first(bin_: Type, tmp_path: Path) -> None:
    looked = bin_("bin", "trace", "N-31", "N-31.jpg", "--look", "--picture", "found.png", "--grain", "12")
    assert looked.status == 0
    assert "with 1 hole" in looked.data
    with Image.open(tmp_path / "found.png") as picture:
        assert picture.width == photographed.SIZE[0]
    assert bin_("bin", "show", "N-31").status == 2
    said = bin_("bin", "trace", "N-31", "N-31.jpg", "--cloth", "navy linen", "--by", "AK", "--json")
    assert said.status == 0
    kept = json.loads(said.data)
    assert (kept["way"], kept["told"]) == ("photograph", "N-31.jpg, beside a scale sheet")
    assert [fault["kind"] for fault in kept["faults"]] == ["hole"]
    assert ".jpg" in bin_("bin", "photograph", "N-31").data
    assert "Nothing is wrong" in bin_("book", "audit").data


@pytest.mark.slow
def test_a_remnant_is_measured_again_by_a_photograph(bin_: Type) -> None:
    said = bin_("bin", "trace", "N-01", "N-31.jpg", "--again", "--by", "AK")
    assert said.status == 0
    assert "N-01 is measured again" in said.words
    assert "measured again" in bin_("book", "list").data


@pytest.mark.slow
def test_a_folder_is_logged_whole_or_not_at_all(bin_: Type, tmp_path: Path) -> None:
    folder = tmp_path / "drawer"
    folder.mkdir()
    (folder / "n-41.jpg").write_bytes(photographed.jpeg())
    (folder / "n-42.jpg").write_bytes(photographed.jpeg()[:9000])
    (folder / "n-43.jpg").write_bytes(photographed.jpeg(marks=0))
    (folder / "notes.txt").write_text("not a photograph")
    (folder / "n-44.jpg").symlink_to(tmp_path / "N-31.jpg")
    told = ("bin", "trace-many", "drawer", "--cloth", "navy linen", "--by", "AK")
    said = bin_(*told, "--sheet", "sheet.png")
    assert said.status == 2
    assert "broken off" in said.words
    assert "no mark" in said.words
    assert bin_("bin", "show", "N-41").status == 2
    with Image.open(tmp_path / "sheet.png") as sheet:
        assert sheet.width > 1000
    assert bin_(*told, "--those-found").status == 0
    assert bin_("bin", "show", "N-41").status == 0
    assert bin_("bin", "show", "N-44").status == 2
    assert bin_(*told, "--those-found").status == 2  # its tag is taken now


@pytest.mark.slow
def test_a_paper_piece_is_traced(bin_: Type, tmp_path: Path) -> None:
    (tmp_path / "bib.jpg").write_bytes(photographed.jpeg(hole=(), cloth="#f4f0e6"))
    said = bin_("pattern", "trace", "apron", "bib", "bib.jpg", "--allowance", "1cm", "--one-way", "--count", "2")
    assert said.status == 0
    assert "apron has its piece bib: 29" in said.words
    (tmp_path / "holed.jpg").write_bytes(photographed.jpeg(cloth="#f4f0e6"))
    assert "The paper has 1 hole" in bin_("pattern", "trace", "apron", "top", "holed.jpg").words


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (("bin", "trace", "N-31", "N-31.jpg"), "--cloth"),
        (("bin", "trace", "N-31", "none.jpg", "--look"), "here is no file none.jpg"),
        (("bin", "trace", "N-31", "N-31.jpg", "--look", "--scale", "ruler"), "sheet, a4, card"),
        (("bin", "trace", "N-31", "N-31.jpg", "--look", "--picture", "found.txt"), "kind of picture"),
        (("bin", "trace", "N-01", "N-31.jpg", "--again", "--place", "drawer 3"), "--place: it is only measured again"),
        (("bin", "trace-many", "nowhere", "--look"), "here is no folder nowhere"),
        (("bin", "scale-sheet", "sheet.png"), ".pdf"),
        (("bin", "scale-sheet", "sheet.pdf", "--number", "9"), "here is no sheet 9"),
    ],
)
def test_what_is_refused(bin_: Type, typed: tuple[str, ...], words: str) -> None:
    said = bin_(*typed)
    assert said.status == 2
    assert words in said.words
    assert bin_("bin", "show", "N-31").status == 2


@pytest.mark.slow
def test_the_scale_sheet_is_at_true_scale(fent: Type, tmp_path: Path) -> None:
    """Read back by PDFium: A4 of ISO 216, and marks of 36 mm whose rims are black."""
    import numpy as np
    import pypdfium2

    assert fent("bin", "scale-sheet", "sheet.pdf").status == 0
    document = pypdfium2.PdfDocument(tmp_path / "sheet.pdf")
    assert len(document) == 2
    wide, high = document[0].get_size()
    assert (wide * 25.4 / 72, high * 25.4 / 72) == pytest.approx((297, 210), abs=0.01)
    page = np.asarray(document[0].render(scale=254 / 72, grayscale=True).to_pil())  # ten dots a millimetre
    row = page[((105 - 77) * 10)] < 128
    first = int(row.argmax())
    assert first == pytest.approx((297 / 2 - 115.5 - 18) * 10, abs=2)
    column = page[:, round((297 / 2 - 115.5 - 17) * 10)] < 128
    assert int(column[:600].sum()) == pytest.approx(360, abs=2)
