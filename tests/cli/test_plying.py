"""Stacks and squareness as they are typed and told."""

from __future__ import annotations

from pathlib import Path

import pytest
from shapely import affinity
from shapely.geometry import Polygon, box

from cli import plying, square
from cli.pictures import FaultDrawn, KeeperDrawn, PanelDrawn, RemnantDrawn
from cli.plies_drawn import from_the_wrong_side, stacks_drawn
from cli.reading import Unreadable
from cli.shown import Shown
from nesting import marks_of
from stash import Workroom, asking, cloths, dockets, jobs, lays, offering, outlines, patterns, remnants, seeking
from stash.terms import InStack, Terms


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


@pytest.mark.parametrize("typed", ["", "N-02,,N-03", "N-02 folded at the middle", ",", "N-02 foldd", "N-02 folded across"])
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


@pytest.mark.slow
def test_of_a_panel_on_the_fold_the_half_that_is_traced_is_drawn_and_it_is_said_where_the_fold_is(tmp_path: Path) -> None:
    """A fold 100 mm from the near edge, and a panel from 60 to 140 mm that lies across it, drawn flush with the fold."""
    with Workroom.open(tmp_path / "stash.db") as opened:
        cloths.add(opened, cloths.NewCloth(name="blue linen", fibres={"linen": 100}, weight=180.0))
        remnants.log(
            opened, remnants.NewRemnant(tag="N-01", cloth="blue linen", outline=outlines.rectangle(130, 200)), by="MB"
        )
        half = ((0.0, 0.0), (100.0, 0.0), (100.0, 30.0), (0.0, 40.0))
        sides = tuple(patterns.NewEdge(name, n) for n, name in enumerate(("middle", "neck", "side", "hem")))
        patterns.add(opened, "cap", [patterns.NewPiece(name="panel", ring=half, edges=sides, fold="middle")])
        jobs.add(opened, "caps", [jobs.NewJobPiece(pattern="cap", piece="panel", count=1)])
        asked = asking.ask(opened, "caps", Terms(stacks=((InStack("N-01", True, 100.0),),)))
        (offer,) = offering.offers(asked, seeking.Effort(rounds=1))
        lay = lays.record(opened, offer.asked, offer.found.result, by="MB")
        (on_paper, *_) = dockets.docket(opened, lay.number)[1]
    (drawn,) = stacks_drawn(lay)
    assert drawn.outline.bounds[1::2] == pytest.approx((0, 100))
    assert drawn.panels[0].cut.bounds[1::2] == pytest.approx((60, 100), abs=0.1)
    assert [plying.where_folded(lay, ply, Shown()) for ply in lay.stacks[0].plies] == [
        "folded 100 mm from its near edge, right side out",
        "",
    ]
    # Its letters are those of the template, which has all four corners.
    (traced,) = on_paper.panels
    near = {mark.letter: mark.at for mark in traced.marks}
    assert all(at[1] <= 100.1 for at in near.values())
    whole = {mark.letter for mark in marks_of(traced.piece.cut_line, small=True)} if traced.piece else set()
    assert set(near) < whole


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
