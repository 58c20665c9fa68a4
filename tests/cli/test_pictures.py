"""Pictures: every label inside its panel, no two words on top of each other, legible without colour."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import pytest
from shapely.affinity import affine_transform, rotate, translate
from shapely.geometry import MultiPolygon, Polygon, box

from cli.page import LEAST_TYPE, Page, fit_text, set_out, text_size
from cli.pictures import FaultDrawn, KeeperDrawn, PanelDrawn, RemnantDrawn, contact_sheet, lay_picture

WEDGE = Polygon([(0, 0), (107, 7), (107, 68), (0, 82)])


def scrap() -> RemnantDrawn:
    """A remnant hardly larger than the one panel on it."""
    panel = PanelDrawn("1", translate(WEDGE, 5, 5), None, 0.0, False)
    tear = FaultDrawn("tear", ((122.0, 20.0), (126.0, 60.0)))
    return RemnantDrawn("S-01: 1 panel", ("navy linen", "drawer 2"), box(0, 0, 130, 95), (tear,), (panel,))


def sheet() -> RemnantDrawn:
    """A large one with forty panels, a keeper, rag, a hole and a stain."""
    panels = []
    for number in range(40):
        row, column = divmod(number, 10)
        shape = WEDGE if number % 2 else rotate(WEDGE, 180, origin="centroid")
        shape = translate(shape, 10 + column * 115, 10 + row * 90)
        panels.append(PanelDrawn(str(number + 1), shape, shape.buffer(-6.35, join_style="mitre"), 180.0 * (number % 2)))
    faults = (
        FaultDrawn("stain", ((1200, 100), (1260, 100), (1260, 160), (1200, 160))),
        FaultDrawn("hole", ((20, 800), (60, 790), (50, 850)), hole=True),
    )
    keeper = KeeperDrawn("keeper", box(0, 430, 1100, 700))
    rag = MultiPolygon([box(1170, 10, 1300, 400)])
    outline = Polygon([(0, 0), (1300, 0), (1320, 700), (900, 900), (0, 880)])
    return RemnantDrawn("S-02: 40 panels", ("navy linen", "shelf"), outline, faults, tuple(panels), (keeper,), rag)


def plain() -> RemnantDrawn:
    """One with nothing on it but a flaw."""
    stain = FaultDrawn("stain", ((200, 100), (260, 100), (260, 160), (200, 160)))
    return RemnantDrawn("S-04", ("rust union", "shelf by the window"), box(0, 0, 500, 300), (stain,))


def rendered(page: Page) -> list[tuple[str, Polygon]]:
    """Where matplotlib really puts each word, in mm of page: not where we think it does."""
    page.figure.canvas.draw()
    renderer = page.figure.canvas.get_renderer()  # type: ignore[attr-defined]
    per_mm = page.figure.dpi / 25.4
    found = []
    for text in page.figure.axes[0].texts:
        if text.get_text():
            extent = text.get_window_extent(renderer)
            found.append((text.get_text(), box(*(value / per_mm for value in extent.extents))))
    return found


PAGES = {
    "one scrap": lambda: lay_picture("Lay 1", ["one panel"], [scrap()]),
    "forty panels": lambda: lay_picture("Lay 2", ["forty panels"], [sheet()]),
    "both": lambda: lay_picture("Lay 3", ["41 panels"], [sheet(), scrap()]),
    "contact sheet": lambda: contact_sheet("The bin", ["all"], [scrap(), plain(), plain()] * 10),
}


@pytest.mark.parametrize("name", PAGES)
def test_no_two_words_overlap_and_none_leaves_the_page(name: str) -> None:
    page = PAGES[name]()
    words = rendered(page)
    assert len(words) == len(page.words)
    for (one, first), (other, second) in combinations(words, 2):
        assert not first.intersects(second), f"{one!r} and {other!r}"
    for text, where in words:
        assert box(0, 0, page.width, page.height).contains(where), text


@pytest.mark.parametrize(("remnant", "count"), [(scrap(), 1), (sheet(), 40)], ids=["scrap", "sheet"])
def test_every_panel_has_its_number_inside_it(remnant: RemnantDrawn, count: int) -> None:
    page = lay_picture("Lay", [], [remnant])
    numbers = {word.text: word for word in page.words if word.owner in {panel.label for panel in remnant.panels}}
    assert len(numbers) == count
    real = dict(rendered(page))
    patches = [Polygon(patch.get_path().vertices[:-1]) for patch in page.figure.axes[0].patches if hasattr(patch, "get_path")]
    for panel in remnant.panels:
        word = numbers[panel.label]
        assert word.size >= LEAST_TYPE
        drawn = [
            shape for shape in patches if shape.is_valid and similar(shape, panel.cut) and shape.contains(real[panel.label])
        ]
        assert drawn, f"{panel.label} is not inside its panel"


def similar(one: Polygon, other: Polygon) -> bool:
    """Of one shape, whatever the scale."""
    return abs(one.length**2 / one.area - other.length**2 / other.area) < 1e-6 * one.length**2 / one.area


def test_a_panel_too_small_for_its_number_makes_the_picture_larger() -> None:
    tiny = affine_transform(WEDGE, (0.06, 0, 0, 0.06, 10, 10))
    remnant = RemnantDrawn("S-03", (), box(0, 0, 1500, 900), (), (PanelDrawn("88", tiny),))
    page = lay_picture("Lay", [], [remnant])
    assert [word for word in page.words if word.owner == "88"]
    assert page.width > 297


def test_told_apart_without_colour() -> None:
    """Every colour on the page is a grey: keepers, rag, holes and flaws are told apart by hatch and line."""
    from matplotlib.colors import to_rgb

    page = lay_picture("Lay", [], [sheet()])
    for patch in page.figure.axes[0].patches:
        for colour in (patch.get_facecolor(), patch.get_edgecolor()):
            red, green, blue = to_rgb(colour)
            assert red == green == blue
    hatches = {patch.get_hatch() for patch in page.figure.axes[0].patches} - {None}
    assert len(hatches) == 4


def test_a_keepers_label_stays_clear_of_its_faults() -> None:
    stain = FaultDrawn("stain", ((40, 40), (60, 40), (60, 60), (40, 60)))
    remnant = RemnantDrawn("S-05", (), box(0, 0, 100, 100), (stain,), (), (KeeperDrawn("keeper", box(0, 0, 100, 100)),))
    page = lay_picture("Lay", [], [remnant])
    label = next(where for text, where in rendered(page) if text == "keeper")  # the first: the other stands in the key
    drawn = [Polygon(patch.get_path().vertices[:-1]) for patch in page.figure.axes[0].patches if patch.get_hatch() == "++++"]
    assert drawn
    assert not any(label.intersects(shape) for shape in drawn)


def test_set_out_in_rows() -> None:
    corners, tall = set_out([(40, 10), (50, 20), (30, 5)], 100, 5)
    assert corners == [(0, 20), (45, 10), (0, 0)]
    assert tall == 30


def test_text_is_measured() -> None:
    assert text_size("wwww", 10)[0] > text_size("iiii", 10)[0]
    assert fit_text("12", box(0, 0, 1, 1), (0.5, 0.5)) is None
    assert fit_text("12", box(0, 0, 100, 100), (50, 50)) == 14.0


@pytest.mark.parametrize("kind", [".png", ".pdf", ".svg"])
def test_the_same_picture_gives_the_same_bytes(kind: str, tmp_path: Path) -> None:
    for name in ("one", "two"):
        lay_picture("Lay", [], [scrap()]).save(tmp_path / f"{name}{kind}")
    assert (tmp_path / f"one{kind}").read_bytes() == (tmp_path / f"two{kind}").read_bytes()
