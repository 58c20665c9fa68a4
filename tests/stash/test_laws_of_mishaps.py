"""The laws hold through everything that goes otherwise than planned: what is lost and found, measured and weighed again,
thrown away, put into envelopes; and lays planned again round what is chalked."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import initialize, invariant, precondition, rule, run_state_machine_as_test
from shapely import Polygon
from sqlalchemy import func, select

from nesting import Placement, Result, ring_of
from stash import (
    CannotBeDone,
    Refused,
    asking,
    cloths,
    envelopes,
    finding,
    keepers,
    lays,
    leaving,
    losing,
    measuring,
    outlines,
    proving,
    remnants,
)
from stash.asking import Asked
from stash.envelopes import NewEnvelope
from stash.finding import Wanted
from stash.measuring import Measures
from stash.tables import EnvelopeRow, LineRow, RemnantRow
from stash.words import Account, LayState, RemnantState

from .scenes import rows
from .shapes import stars
from .test_laws import Workdays

CLOTHS = ("blue linen", "wool")
MASS = st.floats(0.01, 60)


class Mishaps(Workdays):
    """Days of work on which all that can go otherwise does."""

    seen: Counter[str]

    @initialize()
    def open_up(self) -> None:
        super().open_up()
        for number, cloth in enumerate(CLOTHS, 1):
            envelopes.add(self.workroom, NewEnvelope(tag=f"E{number}", cloth=cloth))

    def tags(self, *states: RemnantState) -> list[str]:
        return [listed.tag for listed in finding.find(self.workroom, Wanted(states=states))]

    def in_bin(self) -> list[str]:
        return self.tags(RemnantState.IN_BIN)

    def lost(self) -> list[str]:
        return self.tags(RemnantState.LOST)

    @precondition(in_bin)
    @rule(data=st.data(), shape=stars(least=60, most=200), mass=st.none() | MASS)
    def measure_again(self, data: st.DataObject, shape: Polygon, mass: float | None) -> None:
        told = Measures(outline=outlines.by_points(ring_of(shape)), mass=mass)
        measuring.measure_again(self.workroom, data.draw(st.sampled_from(self.in_bin())), told, by="MB")
        self.seen["measured again"] += 1

    @rule(data=st.data())
    def not_there(self, data: st.DataObject) -> None:
        there = self.tags(RemnantState.HELD) or self.in_bin()
        if not there:
            return
        gone = losing.not_there(self.workroom, data.draw(st.sampled_from(there)), by="MB")
        self.seen["lost"] += 1
        if gone.lay is not None and gone.lay.state is LayState.CHALKED:
            self.plan_again(gone.lay.number)

    def plan_again(self, number: int) -> None:
        try:
            asked = asking.ask_round(self.workroom, number)
        except CannotBeDone:
            return
        again = lays.record(self.workroom, asked, round_what_is_fixed(asked), by="MB").number
        assert proving.prove(self.workroom, again)[1].legal
        lays.chalk(self.workroom, again, by="MB")
        assert lays.get(self.workroom, number).state is LayState.RUBBED_OUT
        self.seen["planned again"] += 1

    @precondition(lost)
    @rule(data=st.data())
    def found_again(self, data: st.DataObject) -> None:
        losing.found_again(self.workroom, data.draw(st.sampled_from(self.lost())), by="MB")
        self.seen["found again"] += 1

    @precondition(in_bin)
    @rule(data=st.data(), mass=MASS)
    def put_away_or_throw_away(self, data: st.DataObject, mass: float) -> None:
        row = remnants.get(self.workroom, data.draw(st.sampled_from(self.in_bin())))
        if data.draw(st.booleans()):
            leaving.throw_away(self.workroom, row.tag, by="MB")
            self.seen["thrown away"] += 1
        else:
            tag = f"E{CLOTHS.index(row.cloth.name) + 1}"
            envelopes.put_away(self.workroom, tag, [row.tag], mass=mass, by="MB")
            self.seen["put away"] += 1

    @rule(number=st.sampled_from([1, 2]), mass=MASS, what=st.sampled_from(["in", "out", "all out", "weigh"]))
    def use_an_envelope(self, number: int, mass: float, what: str) -> None:
        tag, area = f"E{number}", 0
        try:
            if what == "in":
                weight = cloths.get(self.workroom, CLOTHS[number - 1]).weight
                milligrams = round(mass * 1000)
                area = round(milligrams / 1000 / weight * 1_000_000 * 100)
                envelopes.put_in(self.workroom, tag, mass, by="MB")
                self.came_in = (self.came_in[0] + area, self.came_in[1] + milligrams)
            elif what == "weigh":
                envelopes.weigh_again(self.workroom, tag, mass, by="MB")
            else:
                envelopes.take_out(self.workroom, tag, None if what == "all out" else mass, by="MB")
        except (Refused, CannotBeDone) as refusal:
            assert any(why in str(refusal) for why in ("is empty", "more than", "by the book too"))  # noqa: PT017
            return
        self.seen[what] += 1

    @rule(cloth=st.sampled_from(CLOTHS), weight=st.floats(50, 600))
    def weigh_a_cloth_again(self, cloth: str, weight: float) -> None:
        if weight == cloths.get(self.workroom, cloth).weight:
            with pytest.raises(Refused, match="already"):
                cloths.weigh_again(self.workroom, cloth, weight, by="MB")
            return
        cloths.weigh_again(self.workroom, cloth, weight, by="MB")
        self.seen["cloth weighed again"] += 1

    @rule()
    def confirm_what_waits(self) -> None:
        if waiting := keepers.waiting(self.workroom):
            keepers.confirm(self.workroom, [keeper.tag for keeper in waiting], by="MB")
            self.seen["confirmed"] += 1

    @invariant()
    def the_bin_is_what_the_book_says(self) -> None:
        """Remnant by remnant and envelope by envelope; and so is what is lost."""
        with self.workroom.reading() as session:
            booked = {
                (of, account): sums(session, column, account)
                for of, column in (("remnant", LineRow.remnant_id), ("envelope", LineRow.envelope_id))
                for account in (Account.BIN, Account.LOST)
            }
            for row in session.scalars(select(RemnantRow)):
                there = row.state in (RemnantState.IN_BIN, RemnantState.HELD)
                amount = (row.area, row.mass)
                assert booked["remnant", Account.BIN].get(row.id, (0, 0)) == (amount if there else (0, 0))
                lost = amount if row.state is RemnantState.LOST else (0, 0)
                assert booked["remnant", Account.LOST].get(row.id, (0, 0)) == lost
            for envelope in session.scalars(select(EnvelopeRow)):
                assert booked["envelope", Account.BIN].get(envelope.id, (0, 0)) == (envelope.area, envelope.mass)
                assert min(envelope.area, envelope.mass) >= 0

    @invariant()
    def what_is_held_is_held_by_a_chalked_lay(self) -> None:
        """All of it but what was not there."""
        held = finding.find(self.workroom, Wanted(states=(RemnantState.HELD,)))
        chalked = [lays.get(self.workroom, lay.number) for lay in lays.every(self.workroom, states=(LayState.CHALKED,))]
        there = {(lay.number, sheet.remnant.tag) for lay in chalked for sheet in lay.sheets if not sheet.dropped}
        assert {(line.held_by, line.tag) for line in held} == there


def sums(session: object, column: object, account: Account) -> dict[int, tuple[int, int]]:
    asked = select(column, func.sum(LineRow.area), func.sum(LineRow.mass)).where(LineRow.account == account)  # type: ignore[call-overload]
    return {id_: (area, mass) for id_, area, mass in session.execute(asked.group_by(column))}  # type: ignore[attr-defined]


def round_what_is_fixed(asked: Asked) -> Result:
    """What is fixed, and row by row as many more as there is room for on the other sheets."""
    fixed = asked.case.fixed
    taken = {placement.sheet for placement in fixed}
    gone = {placement.panel for placement in fixed}
    free = [sheet for sheet in asked.case.sheets if sheet.id not in taken]
    from dataclasses import replace

    panels = tuple(panel for panel in asked.case.panels if panel.id not in gone)
    rest = rows(replace(asked, case=replace(asked.case, sheets=tuple(free), panels=panels, fixed=())))
    placements: tuple[Placement, ...] = (*fixed, *rest.placements)
    return Result(placements, placed=len(placements), complete=rest.complete)


def run_mishaps(fresh: Path, *, examples: int, steps: int) -> Counter[str]:
    """Run that many sequences of that many steps; how often what happened."""
    seen: Counter[str] = Counter()
    machine = type("MishapsHere", (Mishaps,), {"fresh": fresh, "cuts": [], "seen": seen})
    chosen = settings(max_examples=examples, stateful_step_count=steps, suppress_health_check=list(HealthCheck))
    run_state_machine_as_test(machine, settings=chosen)
    return seen


def test_mishaps(fresh_stash: Path) -> None:
    assert len(run_mishaps(fresh_stash, examples=5, steps=14)) >= 6  # of twelve kinds; else it proves little


@pytest.mark.slow
def test_many_mishaps(fresh_stash: Path) -> None:
    seen = run_mishaps(fresh_stash, examples=25, steps=40)
    assert len(seen) >= 11, seen
