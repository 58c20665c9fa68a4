"""Where flaws may lie, by degree: what each rule lets lie where, and the best cloth to the front."""

from __future__ import annotations

from typing import Any

import pytest
from shapely import Polygon

from nesting import Case, Flaw, Panel, Sheet, lay_out, solve
from stash import Workroom, asking, flaw_rules, jobs, lays, measuring, outlines, patterns, remnants, seeking
from stash.jobs import NewJobPiece
from stash.measuring import Measures
from stash.refusals import Refused
from stash.remnants import NewFault
from stash.seeking import Effort
from stash.sheets import Offered, sheet_of
from stash.tables import RemnantRow
from stash.words import Face, FaultKind, MayLie

from .scenes import linen, scrap

SPOT = ((180.0, 140.0), (200.0, 140.0), (200.0, 160.0), (180.0, 160.0))
PANELS = [Offered("front", False, False, True), Offered("seen", False, False), Offered("hidden", True, False)]
SQUARE = ((0.0, 0.0), (80.0, 0.0), (80.0, 80.0), (0.0, 80.0))


def spared(workroom: Workroom, *faults: NewFault) -> tuple[Sheet, list[set[str]]]:
    linen(workroom)
    scrap(workroom, faults=faults)
    with workroom.reading() as session:
        from stash.settings import settings_of

        row = session.query(RemnantRow).one()
        made = sheet_of(row, settings_of(session), PANELS)
    assert made is not None
    return made, [set(flaw.spares) for flaw in made.flaws]


@pytest.mark.parametrize(
    ("may_lie", "harmless"),
    [
        (MayLie.ANYWHERE, {"front", "seen", "hidden"}),
        (MayLie.NOT_THE_FRONT, {"seen", "hidden"}),
        (MayLie.HIDDEN, {"hidden"}),
        (MayLie.ALLOWANCE, set()),
    ],
)
def test_each_degree_lets_a_flaw_lie_where_it_says(workroom: Workroom, may_lie: MayLie, harmless: set[str]) -> None:
    _, found = spared(workroom, NewFault(FaultKind.STAIN, SPOT, may_lie=may_lie))
    assert found == [harmless]


def test_what_may_lie_nowhere_is_out_of_the_sheet(workroom: Workroom) -> None:
    made, found = spared(workroom, NewFault(FaultKind.STAIN, SPOT, may_lie=MayLie.NOWHERE))
    assert found == []
    assert [Polygon(hole).equals(Polygon(SPOT)) for hole in made.holes] == [True]
    with workroom.reading() as session:
        row = session.query(RemnantRow).one()
        # It is cloth all the same: counted and booked.
        assert row.area == 400 * 300 * 100


@pytest.mark.parametrize("face", Face)
@pytest.mark.parametrize("kind", flaw_rules.FLAWS)
def test_a_rule_is_by_kind_and_face(workroom: Workroom, kind: FaultKind, face: Face) -> None:
    before = dict(flaw_rules.every(workroom))
    after = flaw_rules.choose(workroom, kind, face, MayLie.NOWHERE, by="MB")
    assert {key for key in after if after[key] != before[key]} == {(kind, face)}
    assert flaw_rules.every(workroom) == after


def test_a_rule_makes_lays_be_tried_again_and_is_noted(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, faults=(NewFault(FaultKind.FADE, SPOT),))
    flaw_rules.choose(workroom, FaultKind.FADE, Face.BOTH, MayLie.ANYWHERE, by="MB")
    assert remnants.get(workroom, "L1").revision == 2
    _, found = _sheet(workroom)
    assert found == [{"front", "seen", "hidden"}]


def _sheet(workroom: Workroom) -> tuple[Sheet, list[set[str]]]:
    with workroom.reading() as session:
        from stash.settings import settings_of

        made = sheet_of(session.query(RemnantRow).one(), settings_of(session), PANELS)
    assert made is not None
    return made, [set(flaw.spares) for flaw in made.flaws]


def test_a_hole_is_no_flaw(workroom: Workroom) -> None:
    with pytest.raises(Refused, match="a hole is no cloth"):
        flaw_rules.choose(workroom, FaultKind.HOLE, Face.BOTH, MayLie.NOWHERE, by="MB")


def test_a_flaw_keeps_what_was_said_of_it(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, faults=(NewFault(FaultKind.STAIN, SPOT, may_lie=MayLie.NOWHERE),))
    (fault,) = remnants.get(workroom, "L1").faults
    assert fault.may_lie is MayLie.NOWHERE
    from stash import undoing
    from stash.book import entries

    measuring.measure_again(workroom, "L1", Measures(outline=outlines.rectangle(390, 300)), by="MB")
    assert remnants.get(workroom, "L1").faults == ()
    last = max(entry.number for entry in entries(workroom))
    undoing.undo(workroom, last, by="MB", why="wrong one")
    assert [each.may_lie for each in remnants.get(workroom, "L1").faults] == [MayLie.NOWHERE]


def job(workroom: Workroom, front: int, hidden: int) -> None:
    pieces = [
        patterns.NewPiece(name="yoke", ring=SQUARE, front=True),
        patterns.NewPiece(name="facing", ring=SQUARE, hidden=True),
    ]
    patterns.add(workroom, "shirt", pieces)
    wanted: list[Any] = [NewJobPiece(pattern="shirt", piece="yoke", count=front)] if front else []
    wanted += [NewJobPiece(pattern="shirt", piece="facing", count=hidden)] if hidden else []
    jobs.add(workroom, "shirt", wanted)


def test_the_front_gets_the_best_cloth_where_that_costs_no_panel(workroom: Workroom) -> None:
    """Two panels on a scrap for two, half of it faded on the wrong side, where a yoke may lie: it does not."""
    linen(workroom)
    half = ((0.0, 0.0), (85.0, 0.0), (85.0, 90.0), (0.0, 90.0))
    scrap(workroom, length=172, width=90, faults=(NewFault(FaultKind.FADE, half, Face.WRONG),))
    job(workroom, 1, 1)
    asked = asking.ask(workroom, "shirt")
    assert asked.front == {"yoke"}
    found = seeking.seek(asked, Effort(seconds=0.0)).result
    assert found.placed == 2
    lay = lays.record(workroom, asked, found)
    yoke = next(panel for panel in lay.panels if panel.piece == "yoke")
    assert yoke.cut_line.distance(Polygon(half)) > 0
    facing = next(panel for panel in lay.panels if panel.piece == "facing")
    assert facing.cut_line.intersects(Polygon(half))


@pytest.mark.slow
def test_the_front_lies_over_a_flaw_it_may_bear_sooner_than_be_left_out(workroom: Workroom) -> None:
    linen(workroom)
    half = ((0.0, 0.0), (85.0, 0.0), (85.0, 90.0), (0.0, 90.0))
    scrap(workroom, length=172, width=90, faults=(NewFault(FaultKind.FADE, half, Face.WRONG),))
    job(workroom, 2, 0)
    found = seeking.seek(asking.ask(workroom, "shirt"), Effort(seconds=0.0)).result
    assert found.placed == 2


@pytest.mark.parametrize(("seen", "opened"), [(True, "L2"), (False, "L1")])
def test_a_clean_remnant_is_opened_for_what_is_seen_and_a_stained_one_for_what_is_not(
    workroom: Workroom, seen: bool, opened: str
) -> None:
    """Two remnants alike but for a stain in a corner, which is in nobody's way."""
    linen(workroom)
    corner = ((0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0))
    scrap(workroom, "L1", length=300, width=200, faults=(NewFault(FaultKind.STAIN, corner),))
    scrap(workroom, "L2", length=300, width=200)
    job(workroom, int(seen), int(not seen))
    found = seeking.seek(asking.ask(workroom, "shirt"), Effort(seconds=0.0)).result
    assert [placement.sheet for placement in found.placements] == [opened]


def test_a_panel_that_may_bear_a_flaw_is_laid_over_it() -> None:
    """A hidden panel on a long sheet with a flaw at its far end: what is left is then all sound."""
    sheet = ((0.0, 0.0), (500.0, 0.0), (500.0, 82.0), (0.0, 82.0))
    flaw = ((430.0, 20.0), (470.0, 20.0), (470.0, 60.0), (430.0, 60.0))
    case = Case((Panel("p", SQUARE, 1, hidden=True),), (Sheet("s", sheet, flaws=(Flaw(flaw),)),))
    (laid,) = solve(case, seconds=0.5).placements
    assert lay_out(case.panels[0], laid).covers(Polygon(flaw))
