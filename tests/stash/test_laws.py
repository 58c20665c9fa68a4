"""The laws (design): the book sums to exactly zero after any sequence of commands; every child lies within its parent; area
and mass are conserved to the last unit; every stored lay passes the independent check."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule
from shapely import Polygon, box
from sqlalchemy import func, select

from nesting import ring_of
from stash import (
    CannotBeDone,
    Refused,
    Workroom,
    asking,
    book,
    cutting,
    finding,
    jobs,
    lays,
    outlines,
    patterns,
    proving,
    remnants,
)
from stash.finding import Wanted
from stash.remnants import NewFault, NewRemnant
from stash.tables import LineRow, RemnantRow
from stash.words import Account, Face, FaultKind, LayState, RemnantState

from .conftest import ticking_clock
from .scenes import linen, rows
from .shapes import stars

TOLERANCE = 0.01
"""mm by which a keeper may reach over its parent's rim: leftovers are computed to a thousandth of a mm, on a grid."""


class Workdays(RuleBasedStateMachine):
    """Log, try, chalk, rub out, cut, in any order; after each step everything adds up."""

    fresh: Path
    cuts: list[cutting.Cut]

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        shutil.copy(self.fresh, self.folder / "workroom.fent")
        self.workroom = Workroom.open(self.folder / "workroom.fent", clock=ticking_clock)
        self.logged = 0
        self.came_in = (0, 0)

    @initialize()
    def open_up(self) -> None:
        linen(self.workroom, weight=187.3)
        linen(self.workroom, "wool", fibres={"wool": 100}, weight=301.7, faces_alike=True)
        cuff = patterns.NewPiece(
            name="cuff", ring=((0, 0), (61.37, 3.1), (58.9, 40.03), (2.2, 37.7)), allowance=(3, 4, 5.5, 0)
        )
        gusset = patterns.NewPiece(
            name="gusset", ring=((0, 0), (50, 0), (0, 47.3)), allowance=2, left_and_right=True, hidden=True
        )
        patterns.add(self.workroom, "shirt", [cuff, gusset])
        wanted = [
            jobs.NewJobPiece(pattern="shirt", piece="cuff", count=40),
            jobs.NewJobPiece(pattern="shirt", piece="gusset", count=8, spares=2),
        ]
        jobs.add(self.workroom, "shirts", wanted)
        for shape, cloth in ((box(0, 0, 310.7, 190.3), "blue linen"), (box(-50, 0, 200.1, 140), "wool")):
            self.log(shape, cloth, 12.5, Face.WRONG, FaultKind.HOLE, None)

    @rule(
        shape=stars(least=90, most=260),
        cloth=st.sampled_from(["blue linen", "wool"]),
        angle=st.floats(-180, 180),
        face=st.sampled_from([Face.RIGHT, Face.WRONG]),
        spot=st.none() | st.sampled_from(list(FaultKind)),
        mass=st.none() | st.floats(0.5, 80),
    )
    def log(self, shape: Polygon, cloth: str, angle: float, face: Face, spot: FaultKind | None, mass: float | None) -> None:
        self.logged += 1
        x, y = shape.representative_point().coords[0]
        ring = ((x - 11.1, y - 7), (x + 13, y - 9.5), (x + 5, y + 12))
        faults = () if spot is None else (NewFault(spot, ring, face),)
        new = NewRemnant(
            tag=f"R{self.logged}",
            cloth=cloth,
            outline=outlines.by_points(ring_of(shape), ["selvedge", "raw"] + ["cut"] * (len(ring_of(shape)) - 2)),  # type: ignore[list-item]
            grain_angle=angle,
            face_up=face,
            faults=faults,
            mass=mass,
        )
        kept = remnants.log(self.workroom, new, by="MB")
        self.came_in = (self.came_in[0] + round(kept.area * 100), self.came_in[1] + round(kept.mass * 1000))

    @rule(gap=st.sampled_from([0.0, 0.37, 2.0]), edge=st.sampled_from([0.0, 3.0]), most=st.none() | st.integers(1, 3))
    def try_and_chalk(self, gap: float, edge: float, most: int | None) -> None:
        try:
            asked = asking.ask(self.workroom, "shirts", gap=gap, edge=edge)
            number = lays.record(self.workroom, asked, rows(asked, most), by="MB").number
        except CannotBeDone:
            return
        except Refused as refusal:
            assert "holds no panel" in str(refusal)  # noqa: PT017
            return
        _, found = proving.prove(self.workroom, number)
        assert found.legal, found.faults
        lays.chalk(self.workroom, number, by="MB")

    def chalked(self) -> tuple[lays.ListedLay, ...]:
        return lays.every(self.workroom, states=(LayState.CHALKED,))

    @precondition(chalked)
    @rule(data=st.data())
    def rub_out(self, data: st.DataObject) -> None:
        lays.rub_out(self.workroom, data.draw(st.sampled_from(self.chalked())).number, by="MB")

    @precondition(chalked)
    @rule(data=st.data())
    def cut(self, data: st.DataObject) -> None:
        lay = lays.get(self.workroom, data.draw(st.sampled_from(self.chalked())).number)
        fate = st.sampled_from(["cut", "cut", "spoiled", "uncut"])
        fates = data.draw(st.lists(fate, min_size=len(lay.panels), max_size=len(lay.panels)))
        named = {
            fate: [p.number for p, f in zip(lay.panels, fates, strict=False) if f == fate] for fate in ("spoiled", "uncut")
        }
        try:
            done = cutting.cut(self.workroom, lay.number, by="MB", **named)
        except Refused as refusal:
            assert "nothing was cut" in str(refusal)  # noqa: PT017
            return
        self.cuts.append(done)
        for sheet in done.sheets:
            self.conserved(sheet)
            parent = remnants.get(self.workroom, sheet.tag)
            cut_lines = [
                p.cut_line for p in done.lay.panels if p.placement.sheet == sheet.tag and p.number not in named["uncut"]
            ]
            for keeper in sheet.keepers:
                assert keeper.parent == sheet.tag
                assert parent.shape.buffer(TOLERANCE).covers(keeper.shape)
                assert all(keeper.shape.intersection(line).area < TOLERANCE * line.length for line in cut_lines)

    def conserved(self, sheet: cutting.CutSheet) -> None:
        if sheet.whole:
            return
        areas = (sheet.panel_area, sheet.spoiled_area, sheet.rag_area, *(keeper.area for keeper in sheet.keepers))
        masses = (sheet.panel_mass, sheet.spoiled_mass, sheet.rag_mass, *(keeper.mass for keeper in sheet.keepers))
        assert sum(round(area * 100) for area in areas) == round(sheet.area * 100)
        assert sum(round(mass * 1000) for mass in masses) == round(sheet.mass * 1000)
        assert min(*areas, *masses) >= 0

    @invariant()
    def the_book_sums_to_zero(self) -> None:
        found = book.balance(self.workroom)
        assert found.balanced
        totals = {total.account: (total.area, total.mass) for total in found.totals}
        assert totals[Account.IN] == (-self.came_in[0], -self.came_in[1])
        for entry in book.entries(self.workroom, limit=1):
            assert (sum(line.area for line in entry.lines), sum(line.mass for line in entry.lines)) == (0, 0)

    @invariant()
    def the_bin_is_what_the_book_says(self) -> None:
        """Remnant by remnant: what the book has in the bin is what is there, and nothing of what is not."""
        with self.workroom.reading() as session:
            sums = select(LineRow.remnant_id, func.sum(LineRow.area), func.sum(LineRow.mass)).group_by(LineRow.remnant_id)
            booked = {id_: (area, mass) for id_, area, mass in session.execute(sums.where(LineRow.account == Account.BIN))}
            for row in session.scalars(select(RemnantRow)):
                there = row.state in (RemnantState.IN_BIN, RemnantState.HELD)
                assert booked[row.id] == ((row.area, row.mass) if there else (0, 0))

    @invariant()
    def what_is_held_is_held_by_a_chalked_lay(self) -> None:
        held = finding.find(self.workroom, Wanted(states=(RemnantState.HELD,)))
        chalked = lays.every(self.workroom, states=(LayState.CHALKED,))
        assert {(line.held_by, line.tag) for line in held} == {(lay.number, tag) for lay in chalked for tag in lay.remnants}

    def teardown(self) -> None:
        self.workroom.close()
        shutil.rmtree(self.folder)


def run_workdays(fresh: Path, *, examples: int, steps: int) -> list[cutting.Cut]:
    """Run that many sequences of that many steps; returns every cut that was made."""
    from hypothesis.stateful import run_state_machine_as_test

    cuts: list[cutting.Cut] = []
    machine = type("WorkdaysHere", (Workdays,), {"fresh": fresh, "cuts": cuts})
    chosen = settings(max_examples=examples, stateful_step_count=steps, suppress_health_check=list(HealthCheck))
    run_state_machine_as_test(machine, settings=chosen)
    return cuts


def test_workdays(fresh_stash: Path) -> None:
    cuts = run_workdays(fresh_stash, examples=5, steps=9)
    assert len(cuts) >= 3  # else it proves little


@pytest.mark.slow
def test_many_workdays(fresh_stash: Path) -> None:
    cuts = run_workdays(fresh_stash, examples=25, steps=30)
    assert any(sheet.tag.startswith("R") and sheet.tag[-1].isalpha() for done in cuts for sheet in done.sheets)
