"""Dockets on paper: each panel drawn where it lies, everything legible, nothing on top of anything, all inside its page.

The PDFs are read back with pypdf (lines, fonts, text) and pypdfium2 (where each letter's ink is); neither drew them.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from collections import Counter
from dataclasses import replace
from functools import cache
from io import BytesIO
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest
from PIL import Image
from pypdf import PdfReader
from shapely import STRtree, box
from shapely.affinity import affine_transform
from shapely.geometry import Polygon

import nesting
from cli import chalk_table
from cli.docket_page import dockets as drawn
from cli.docket_words import in_runs
from cli.papers import LEAST_TYPE, POINT, PaperPage, Papers, paper_named, text_size
from cli.pull_page import pull_list
from cli.shown import Shown, as_told
from nesting import Placement, Result
from stash import Workroom, asking, dockets, lays, outlines, patterns, remnants
from stash.words import EdgeKind, Face, FaultKind
from stash.wrong_side import from_the_wrong_side

from ..stash import scenes
from .conftest import Type

WEDGE = tuple(patterns.tapered(210.0, 84.0, 20.0, trued=True))


def many(workroom: Workroom) -> None:
    """A sheet of 120 panels."""
    scenes.scrap(workroom, "B-1", length=1300, width=900, place="roll 3")
    scenes.cuffs(workroom, 120)


def scrap(workroom: Workroom) -> None:
    """A scrap of 80 mm with one."""
    scenes.scrap(workroom, "S-1", length=80, width=80)
    scenes.cuffs(workroom, 1, ring=((0, 0), (70, 0), (70, 50), (0, 50)))


def patches(workroom: Workroom) -> None:
    """So many so small that no number can be read where the whole is on one page."""
    scenes.scrap(workroom, "P-1", length=2400, width=1400, edges=(EdgeKind.SELVEDGE, EdgeKind.CUT, EdgeKind.RAW, EdgeKind.CUT))
    scenes.cuffs(workroom, 240, ring=((0, 0), (24, 0), (24, 24), (0, 24)))


def faulty(workroom: Workroom) -> None:
    """An odd scrap with every kind of fault and edge, and both hands of a lopsided piece."""
    ring = ((0, 0), (700, 0), (720, 300), (500, 420), (480, 300), (0, 380))
    spots = (
        remnants.NewFault(FaultKind.HOLE, ((560, 200), (590, 200), (575, 230))),
        remnants.NewFault(FaultKind.HOLE, ((640, 100), (680, 130))),
        remnants.NewFault(FaultKind.STAIN, ((600, 20), (650, 20), (650, 60), (600, 60))),
    )
    scenes.scrap(workroom, "F-1", outline=outlines.by_points(ring, edges=EdgeKind.RAW), faults=spots, washed="cold, by hand")
    piece = ((0, 0), (120, 0), (120, 40), (60, 70), (0, 70))
    scenes.cuffs(workroom, 6, ring=piece, left_and_right=True, notches=(patterns.Notch("side 1", 30.0),))


def wedges(workroom: Workroom) -> None:
    """Tapered panels with curved ends, head to foot by turns."""
    scenes.scrap(workroom, "W-1", length=760, width=420)
    scenes.cuffs(workroom, 8, ring=WEDGE, drawn="sewing", allowance=10.0)


SHEETS = {scene.__name__: scene for scene in (many, scrap, patches, faulty, wedges)}


def placed(name: str, asked: asking.Asked) -> Result:
    if name != "wedges":
        return scenes.rows(asked)
    (panel,) = asked.case.panels
    low = Polygon(panel.outline).bounds
    laid = []
    for n in range(8):
        column, row = divmod(n, 4)
        turn = 180.0 * (n % 2)
        x = 20 + 245 * column - low[0] if not turn else 20 + 245 * column + low[2]
        laid.append(Placement("W-1", panel.id, x, 60 + 88 * row, turn))
    return Result(tuple(laid), 8, complete=True)


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory, empty: Path) -> Any:
    """The lay and the dockets of a scene, made when it is first asked for."""

    @cache
    def made(name: str) -> tuple[Any, Any]:
        file = shutil.copy(empty, tmp_path_factory.mktemp(name) / "w.fent")
        with pytest.MonkeyPatch.context() as patch, Workroom.open(file) as workroom:
            patch.setattr(nesting, "solve", lambda case, **_: Result((), 0), raising=False)
            scenes.linen(workroom)
            SHEETS[name](workroom)
            asked = asking.ask(workroom, "cuffs")
            return dockets.docket(workroom, lays.record(workroom, asked, placed(name, asked), by="MB").number)

    return made


@pytest.fixture(scope="module")
def papers(found: Any) -> Any:
    @cache
    def made(name: str, paper: str = "A4", told: str = "mm") -> tuple[Papers, bytes]:
        lay, dockets_of = found(name)
        made_of = drawn(lay, dockets_of, paper_named(paper), as_told(told), 1.0)
        return made_of, made_of.as_pdf()

    return made


LARGE = ("many", "patches")
EVERY = [
    ("scrap", "A4", "mm"),
    *(pytest.param(name, "A4", "mm", marks=pytest.mark.slow) for name in SHEETS if name not in (*LARGE, "scrap")),
    pytest.param("faulty", "Letter", "in", marks=pytest.mark.slow),
    pytest.param("wedges", "A5", "cm", marks=pytest.mark.slow),
    *(pytest.param(name, "A4", "mm", marks=pytest.mark.slow) for name in LARGE),
    pytest.param("many", "Letter", "in to 1/8", marks=pytest.mark.slow),
]
EACH = [name if name in ("faulty", "scrap") else pytest.param(name, marks=pytest.mark.slow) for name in SHEETS]


@pytest.mark.parametrize(("name", "paper", "told"), EVERY)
def test_no_two_words_touch_and_all_are_on_the_page(papers: Any, name: str, paper: str, told: str) -> None:
    made, _ = papers(name, paper, told)
    for page in made.pages:
        rooms = [word.room.buffer(-0.05) for word in page.words]
        assert all(box(2, 2, page.width - 2, page.height - 2).contains(room) for room in rooms)
        tree = STRtree(rooms)
        touching = [(page.words[i].text, page.words[j].text) for i, j in tree.query(rooms, "intersects").T if i < j]
        assert not touching
        assert min(word.size for word in page.words) >= LEAST_TYPE


@pytest.mark.parametrize(("name", "paper", "told"), EVERY)
def test_the_ink_of_every_letter_is_on_the_page(papers: Any, name: str, paper: str, told: str) -> None:
    made, pdf = papers(name, paper, told)
    for page, plan in zip(pypdfium2.PdfDocument(pdf), made.pages, strict=True):
        letters = page.get_textpage()
        ink = [box(*(p * POINT for p in letters.get_charbox(n))) for n in range(letters.count_chars())]
        assert len(ink) > 60  # no page is empty
        assert all(box(2, 2, plan.width - 2, plan.height - 2).contains(each) for each in ink)


@pytest.mark.parametrize(("name", "paper", "told"), EVERY)
def test_fonts_are_embedded_and_it_is_small(papers: Any, name: str, paper: str, told: str) -> None:
    _, pdf = papers(name, paper, told)
    reader = PdfReader(BytesIO(pdf))
    fonts = [font.get_object() for page in reader.pages for font in page["/Resources"]["/Font"].values()]
    assert fonts
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts)
    assert len(pdf) < 2_000_000
    assert len(reader.pages) < 30


# --- what is drawn -------------------------------------------------------------------------------------------------------


def paths(pdf: bytes, number: int) -> list[Polygon]:
    """Every closed path of a page, mm, as it comes to lie."""
    found: list[list[tuple[float, float]]] = []

    def look(operator: bytes, operands: list[Any], cm: list[float], tm: list[float]) -> None:
        if operator in (b"m", b"l"):
            x, y = (float(o) for o in operands)
            at = (x * cm[0] + y * cm[2] + cm[4]) * POINT, (x * cm[1] + y * cm[3] + cm[5]) * POINT
            if operator == b"m":
                found.append([])
            found[-1].append(at)

    PdfReader(BytesIO(pdf)).pages[number].extract_text(visitor_operand_before=look)
    return [Polygon(run) for run in found if len(run) > 2]


def drawn_outline(every: list[Polygon], outline: Polygon) -> Polygon:
    """The largest path of as many corners: from it the scale and the shift are read off the page."""
    return max((path for path in every if len(path.exterior.coords) == len(outline.exterior.coords)), key=lambda p: p.area)


@pytest.mark.parametrize("name", [each for each in EACH if each != EACH[2]])
def test_each_panel_is_drawn_where_it_lies_and_not_mirrored(papers: Any, found: Any, name: str) -> None:
    _, (docket,) = found(name)
    _, pdf = papers(name)
    every = paths(pdf, 0)
    outline = docket.sheet.remnant.outline
    left, low, right, _ = outline.bounds
    there = drawn_outline(every, outline)
    scale = (there.bounds[2] - there.bounds[0]) / (right - left)
    to_page = (scale, 0, 0, scale, there.bounds[0] - left * scale, there.bounds[1] - low * scale)
    assert there.symmetric_difference(affine_transform(outline, to_page)).area < 0.1
    for each in docket.panels:
        for line in (each.panel.cut_line, each.panel.sewing_line):
            expected = affine_transform(line, to_page)
            assert any(path.hausdorff_distance(expected) < 0.05 for path in every), each.panel.number


@pytest.mark.parametrize("name", EACH)
def test_every_number_stands_in_its_panel_once_on_a_page(papers: Any, found: Any, name: str) -> None:
    _, (docket,) = found(name)
    made, _ = papers(name)
    numbered: Counter[int] = Counter()
    for page in made.pages:
        labels = [word for word in page.words if word.owner.isdigit() and word.text == word.owner]
        assert len({word.text for word in labels}) == len(labels)
        numbered.update(int(word.text) for word in labels)
    assert set(numbered) == {each.panel.number for each in docket.panels}


@pytest.mark.parametrize("name", [each for each in EACH if each != EACH[2]])
def test_labels_do_not_leave_their_panel(papers: Any, found: Any, name: str) -> None:
    _, (docket,) = found(name)
    made, pdf = papers(name)
    every = paths(pdf, 0)
    by_number = {str(each.panel.number): each for each in docket.panels}
    left, low, right, _ = docket.sheet.remnant.outline.bounds
    there = drawn_outline(every, docket.sheet.remnant.outline)
    scale = (there.bounds[2] - there.bounds[0]) / (right - left)
    to_page = (scale, 0, 0, scale, there.bounds[0] - left * scale, there.bounds[1] - low * scale)
    words = [word for word in made.pages[0].words if word.owner in by_number]
    assert {word.owner for word in words} == set(by_number)
    for word in words:
        panel = affine_transform(by_number[word.owner].panel.cut_line, to_page)
        assert panel.contains(word.room), word
    keepers = [affine_transform(keeper.shape, to_page) for keeper in docket.keepers]
    for word in (word for word in made.pages[0].words if word.owner == "keeper"):
        assert any(keeper.contains(word.room) for keeper in keepers)


def test_from_the_wrong_side_near_is_far_and_templates_lie_turned_over(found: Any) -> None:
    lay, (docket,) = found("faulty")
    over = from_the_wrong_side(docket)
    assert from_the_wrong_side(over).panels == docket.panels
    for there, here in zip(over.panels, docket.panels, strict=True):
        assert there.panel.cut_line.equals(affine_transform(here.panel.cut_line, (1, 0, 0, -1, 0, 0)))
        assert there.measure.points == here.measure.points
        assert there.measure.within(1.5) == pytest.approx(here.measure.within(1.5))
        for told, at in zip(there.measure.points, there.measure.laid, strict=True):
            assert there.measure.found(told) == pytest.approx(at)
    made = drawn(lay, [over], paper_named("A4"), Shown(), 1.0)
    every = paths(made.as_pdf(), 0)
    outline = over.sheet.remnant.outline
    (left, low, right, _), there = outline.bounds, drawn_outline(every, outline)
    scale = (there.bounds[2] - there.bounds[0]) / (right - left)
    to_page = (scale, 0, 0, scale, there.bounds[0] - left * scale, there.bounds[1] - low * scale)
    for each in over.panels:
        assert any(path.hausdorff_distance(affine_transform(each.panel.cut_line, to_page)) < 0.05 for path in every)
    assert "WRONG SIDE UP" in said(made.pages[0])
    by_hand = {hand: [each.panel.number for each in docket.panels if each.panel.hand == hand] for hand in ("left", "right")}
    for told, hand in ((docket, "right"), (over, "left")):  # drawn as the left hand: over for the right, or seen from behind
        assert [each.panel.number for each in told.panels if chalk_table.is_over(each)] == by_hand[hand]


@pytest.mark.slow
def test_small_panels_are_enlarged_until_they_can_be_read(papers: Any) -> None:
    made, _ = papers("patches")
    enlarged = [page for page in made.pages if any("enlarged" in word.text for word in page.words)]
    assert enlarged
    assert not [word for word in made.pages[0].words if word.owner.isdigit()]
    assert all(word.size >= LEAST_TYPE for page in enlarged for word in page.words)


@pytest.mark.slow
def test_the_letters_of_the_corners_stand_beside_them(papers: Any, found: Any) -> None:
    _, (docket,) = found("wedges")
    made, pdf = papers("wedges")
    there = drawn_outline(paths(pdf, 0), docket.sheet.remnant.outline)
    at = dict(zip("ABCD", [(0, 1), (2, 1), (2, 3), (0, 3)], strict=True))
    letters = {word.text: word for word in made.pages[0].words if word.owner == "corner" and word.text.isupper()}
    assert set(letters) == {m.letter for p in docket.proofs for m in (p.start, p.end)}
    for letter, word in letters.items():
        x, y = (there.bounds[n] for n in at[letter])
        assert word.room.distance(box(x, y, x, y)) < 4
        assert not word.room.intersects(there)


def said(page: PaperPage) -> str:
    return " ".join(word.text for word in page.words)


def test_what_a_docket_tells(papers: Any, found: Any) -> None:
    _, (docket,) = found("faulty")
    made, _ = papers("faulty")
    text = said(made.pages[0])
    assert "F-1" in text
    assert "100 % linen" in text
    assert "180 g/m²" in text
    assert "washed: cold, by hand" in text
    assert "raw edge" in text
    assert "tear" in text
    assert "hole" in text
    assert "allowance 5 mm all round" in text
    assert f"{docket.used:.0%} of the cloth" in text
    assert f"Cut in this order: {in_runs([panel.number for panel in docket.order.panels])}" in text
    assert all(keeper.tag in text for keeper in docket.keepers)
    assert re.search(r"Measure first: \w to \w \d+ mm, \w to \w \d+ mm", text)
    assert "Blades cut hands" in text
    assert "come before what is printed here" in text
    assert "nothing is held for it" in text


def test_the_table_says_what_is_measured_and_is_never_more_hopeful(papers: Any, found: Any) -> None:
    _, (docket,) = found("wedges")
    for shown in (Shown(), as_told("in"), as_told("in to 1/4")):
        rows = {row.number: row for row in chalk_table.rows_of(docket, shown, 1.0)}
        for each in docket.panels:
            row, measure = rows[str(each.panel.number)], each.measure
            assert measure.start.letter in row.tape
            assert measure.end.letter in row.tape
            for told, cell in zip(measure.points, row.points, strict=True):
                assert cell == f"{told.letter}: {shown.number(told.first)}, {shown.number(told.second)}"
            from cli.units import length

            assert float(length(row.within)) >= measure.within(1.0 + float(shown.step) / 2) - 1e-3


@pytest.mark.slow
def test_a_table_that_does_not_fit_goes_on_to_pages_of_its_own(papers: Any) -> None:
    made, _ = papers("many")
    numbers = [word.text for page in made.pages for word in page.words if word.owner == f"row {word.text}"]
    assert sorted(map(int, numbers)) == list(range(1, 121))


def test_a_name_that_is_too_long_keeps_its_hand() -> None:
    short = chalk_table._short("a pocket with a very long name (left)", 6.0, 24.0, False)
    assert short.endswith("… (left)")
    assert text_size(short, 6.0)[0] <= 24.0
    assert chalk_table._short("cuff (left)", 6.0, 24.0, False) == "cuff (left)"


def test_a_cut_off_tape_is_said(found: Any) -> None:
    lay, (docket,) = found("wedges")
    assert "Chalk all before you cut:" in said(drawn(lay, [docket], paper_named("A4"), Shown(), 5.0).pages[0])


@pytest.mark.slow
@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="pdftoppm is not installed")
@pytest.mark.parametrize("name", SHEETS)
def test_poppler_draws_the_same_pages(papers: Any, name: str, tmp_path: Path) -> None:
    """Where the ink is, by a renderer that is not ours: within the margins, and under every word that is said to be there."""
    made, pdf = papers(name)
    (tmp_path / "docket.pdf").write_bytes(pdf)
    words = ["pdftoppm", "-r", "100", "-gray", "-png", str(tmp_path / "docket.pdf"), str(tmp_path / "page")]
    subprocess.run(words, check=True, capture_output=True)
    pictures = sorted(tmp_path.glob("page*.png"))
    assert len(pictures) == len(made.pages)
    for picture, page in zip(pictures, made.pages, strict=True):
        dark = np.asarray(Image.open(picture).convert("L")) < 128
        assert dark.mean() > 0.003
        rows, columns = np.nonzero(dark)
        per_mm = 100 / 25.4
        assert columns.min() > 2 * per_mm
        assert columns.max() < (page.width - 2) * per_mm
        assert rows.min() > 2 * per_mm
        assert rows.max() < (page.height - 2) * per_mm
        for word in page.words:
            left, low, right, high = word.room.bounds
            there = dark[
                int((page.height - high) * per_mm) : int((page.height - low) * per_mm) + 1,
                int(left * per_mm) : int(right * per_mm) + 1,
            ]
            assert there.any(), word


# --- the list to pull by -------------------------------------------------------------------------------------------------


def pulled(workroom: Workroom) -> tuple[Any, ...]:
    scenes.linen(workroom)
    for number in range(1, 13):
        scenes.scrap(workroom, f"L{number}", length=120, width=80, place=f"drawer {1 + number % 3}")
    scenes.cuffs(workroom, 12)
    asked = asking.ask(workroom, "cuffs")
    lay = lays.record(workroom, asked, scenes.rows(asked), by="MB")
    return dockets.to_pull(workroom, [lay.number])


@pytest.mark.slow
def test_the_pull_list_goes_over_pages_and_names_each_place_on_each(tmp_path: Path, empty: Path) -> None:
    with Workroom.open(shutil.copy(empty, tmp_path / "w.fent")) as workroom:
        found = pulled(workroom)
    made = pull_list(found, paper_named("Letter"), as_told("in"))
    assert len(made.pages) == 2
    tags = [word.text for page in made.pages for word in page.words if re.fullmatch(r"L\d+", word.text)]
    assert tags == [each.sheet.remnant.tag for each in found]
    assert len(tags) == 12
    for page in made.pages:
        assert any(word.text.startswith("drawer") for word in page.words)
        for one, other in combinations(page.words, 2):
            assert not one.room.buffer(-0.05).intersects(other.room)
        assert all(box(2, 2, page.width - 2, page.height - 2).contains(word.room) for word in page.words)


def test_the_pull_list_warns_of_what_two_lays_want_and_cuts_no_words_off(found: Any) -> None:
    lay, (docket,) = found("scrap")
    kinds = (FaultKind.THIN, FaultKind.STAIN, FaultKind.FADE, FaultKind.SHINE, FaultKind.NEEDLE_HOLES, FaultKind.CREASE)
    faults = tuple(remnants.Fault(kind, docket.sheet.remnant.outline, Face.RIGHT) for kind in kinds)
    remnant = replace(docket.sheet.remnant, faults=faults, tag="THE-LAST-OF-THE-BLUE-CURTAIN-17B")
    one = dockets.Pulled(1, lay.job, replace(docket.sheet, remnant=remnant))
    (page,) = pull_list([one, replace(one, lay=3)], paper_named("A5"), Shown()).pages
    text = said(page)
    assert f"{remnant.tag} is wanted by lays 1 and 3: only one of them can have it." in text
    assert text.count("a crease on the right face") == 2
    assert text.count("a thin place on the right face") == 2
    rooms = [word.room.buffer(-0.05) for word in page.words]
    assert all(box(2, 2, page.width - 2, page.height - 2).contains(room) for room in rooms)
    assert not any(one.intersects(other) for one, other in combinations(rooms, 2))


# --- typed ---------------------------------------------------------------------------------------------------------------


@pytest.mark.slow
def test_a_docket_is_printed_and_nothing_is_written_over(
    fent: Type, stages: dict[str, Path], workroom: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    shutil.copy(stages["tried"], workroom)
    monkeypatch.setattr(nesting, "solve", lambda case, **_: Result((), 0), raising=False)
    assert "docket-1.pdf" in fent("lay", "docket", "1", "--paper", "letter").words
    page = PdfReader(tmp_path / "docket-1.pdf").pages[0]
    assert sorted((round(float(page.mediabox.width)), round(float(page.mediabox.height)))) == [612, 792]
    before = (tmp_path / "docket-1.pdf").read_bytes()
    assert fent("lay", "docket", "1").status == 2
    assert (tmp_path / "docket-1.pdf").read_bytes() == before
    assert fent("lay", "docket", "1", "--write-over", "--file", "docket-1.pdf").status == 0
    assert (tmp_path / "docket-1.pdf").read_bytes() != before  # A4 now
    (tmp_path / "d.png").write_text("something else")
    assert fent("lay", "pull", "1", "--file", "d.png").status == 2
    assert (tmp_path / "d.png").read_text() == "something else"


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (("docket", "1", "--paper", "foolscap"), "no paper 'foolscap'"),
        (("docket", "1", "--paper", "10cm x 15cm"), "too small"),
        (("docket", "1", "--file", "docket.svg"), "kind of paper"),
        (("docket", "1", "--file", "nowhere/docket.pdf"), "no such folder"),
        (("docket", "7"), "no lay 7"),
        (("marks", "1", "--tape", "0"), "tape"),
        (("pull", "one"), "one"),
    ],
)
def test_what_cannot_be_printed_is_refused(stocked: Type, words: tuple[str, ...], what: str) -> None:
    said = stocked("lay", *words)
    assert said.status == 2
    assert what in said.words
