"""Stacks and squareness as they are typed and told."""

from __future__ import annotations

import pytest
from shapely import affinity
from shapely.geometry import Polygon, box

from cli import plying, square
from cli.pictures import FaultDrawn, KeeperDrawn, PanelDrawn, RemnantDrawn
from cli.plies_drawn import from_the_wrong_side
from cli.reading import Unreadable
from cli.shown import Shown
from stash.terms import InStack


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("N-02, N-03", (InStack("N-02"), InStack("N-03"))),
        ("N-02 folded", (InStack("N-02", True),)),
        ("blue 7 folded at 14cm,N-03", (InStack("blue 7", True, 140.0), InStack("N-03"))),
        ("n-02 FOLDED AT 4 in", (InStack("n-02", True, 101.6),)),
    ],
)
def test_what_a_stack_says(typed: str, meant: tuple[InStack, ...]) -> None:
    assert plying.stack(typed) == meant


@pytest.mark.parametrize("typed", ["", "N-02,,N-03", "N-02 folded at the middle", ","])
def test_what_no_stack_says(typed: str) -> None:
    with pytest.raises(Unreadable) as said:
        plying.stack(typed)
    assert said.value.where == "--stack"


@pytest.mark.parametrize(
    ("ply", "said"),
    [
        (box(0, 0, 100, 50), "left flush, near edge flush"),
        (box(10, 5, 100, 50), "right flush, far edge flush"),
        (box(12.5, -3, 90, 40), "left 12.5 mm in, near edge 3 mm out"),
    ],
)
def test_where_a_ply_is_laid(ply: Polygon, said: str) -> None:
    assert plying.where_it_lies(ply, box(0, 0, 100, 50), Shown()) == said


@pytest.mark.parametrize(
    ("typed", "degrees"),
    [
        ("12mm over 40cm", 1.7184),
        ("12mm over 40cm right", 1.7184),
        ("1/2 in over 16 in, left", -1.7899),
        ("1.5 degrees left", -1.5),
        ("2°", 2.0),
        ("0mm over 40cm", 0.0),
    ],
)
def test_how_far_cloth_is_out_of_square(typed: str, degrees: float) -> None:
    """The tangent is what it has run off by the width: atan(12/400), atan(0.5/16)."""
    assert square.a_skew(typed) == pytest.approx(degrees, abs=1e-3)


@pytest.mark.parametrize("typed", ["", "12mm", "12mm over", "a lot", "12mm over 40cm up"])
def test_what_says_no_skew(typed: str) -> None:
    with pytest.raises(Unreadable):
        square.a_skew(typed)


def test_the_wrong_side_is_the_mirror_of_the_right_side() -> None:
    cut = Polygon([(10, 10), (90, 10), (60, 40), (10, 40)])
    drawn = RemnantDrawn(
        "N-02",
        (),
        box(0, 0, 100, 60),
        (FaultDrawn("stain", ((70, 50), (80, 50), (75, 55))),),
        (PanelDrawn("1", cut, cut.buffer(-2), 20.0, notches=(((10, 10), (12, 10)),)),),
        (KeeperDrawn("keeper", box(0, 45, 60, 60)),),
        under=(box(5, 5, 95, 65),),
    )
    over = from_the_wrong_side(drawn)
    assert over.outline.equals(affinity.scale(drawn.outline, 1, -1, origin=(0, 0)))
    assert over.panels[0].cut.equals(affinity.scale(cut, 1, -1, origin=(0, 0)))
    assert over.panels[0].grain == -20.0
    assert over.faults[0].ring == ((70, -50), (80, -50), (75, -55))
    again = from_the_wrong_side(over)
    assert again.outline.equals(drawn.outline)
    assert again.panels[0].notches == drawn.panels[0].notches
    assert again.under[0].equals(drawn.under[0])
