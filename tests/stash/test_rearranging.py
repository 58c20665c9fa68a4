"""A lay changed by hand: every change is checked, and refused with its reason and the nearest place that works."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nesting import Placement, Result
from stash import CannotBeDone, Refused, Workroom, asking, jobs, lays, patterns, proving, rearranging
from stash.lays import Lay
from stash.on_table import Change, Move, NoPlace, OnTable, PutIn, Spot, TakeOut, Turn
from stash.refusals import Unknown, WrongState
from stash.words import LayState

from .scenes import chalked, cuffs, linen, rows, scrap, whole_stash


def stock(workroom: Workroom) -> None:
    linen(workroom)
    linen(workroom, name="green cotton", fibres={"cotton": 100})
    scrap(workroom, "L1")
    scrap(workroom, "L2", length=250, width=150)
    scrap(workroom, "C1", cloth="green cotton")
    cuffs(workroom, count=4, spares=1, rule=jobs.ClothRule(fibres=("linen",)))
    asked = asking.ask(workroom, "cuffs")
    spots = [(3, 3), (120, 3), (3, 80), (240, 200)]
    lays.record(workroom, asked, Result(tuple(Placement("L1", "cuff", x, y) for x, y in spots), placed=4), by="MB")


@pytest.fixture
def table(stocked: Workroom) -> OnTable:
    """Cuffs of 100 × 60 mm on a scrap of 400 × 300 mm, 2 mm between cuts and 3 mm from edges."""
    return rearranging.begin(stocked, 1, ["L2"])


def spot(table: OnTable, number: int) -> tuple[float, float]:
    found = table.spot(number)
    return round(found.left, 2), round(found.near, 2)


@pytest.mark.slow
def test_numbers_are_those_of_the_lay(table: OnTable) -> None:
    assert [spot(table, number) for number in table.laid] == [(3, 3), (3, 80), (120, 3), (240, 200)]


@pytest.mark.parametrize(
    ("how", "where"),
    [
        (Move((1,), to=Spot(250, 3)), {1: (250, 3)}),
        pytest.param(Move((1,), to=Spot(10, 20, "L2")), {1: (10, 20)}, marks=pytest.mark.slow),
        (Move((1, 2), by=(5, 9)), {1: (8, 12), 2: (8, 89)}),
        pytest.param(Turn((3,)), {3: (120, 3)}, marks=pytest.mark.slow),
        pytest.param(PutIn(like=4, at=Spot(20, 220)), {5: (20, 220)}, marks=pytest.mark.slow),
        pytest.param(PutIn(piece="Cuff", at=Spot(130, 10, "L2"), head_to_foot=True), {5: (130, 10)}, marks=pytest.mark.slow),
        (PutIn(like=1, at=Spot(2.5, 160)), {5: (3, 160)}),  # half a millimetre is read off no tape
    ],
)
def test_what_may_be_is_done(table: OnTable, how: Change, where: dict[int, tuple[float, float]], stocked: Workroom) -> None:
    changed = rearranging.change(table, how)
    for number, there in where.items():
        assert spot(changed, number) == pytest.approx(there, abs=0.02)
    assert changed.changed == tuple(where)
    assert {n: p for n, p in changed.laid.items() if n not in where} == {n: p for n, p in table.laid.items() if n not in where}
    lay = rearranging.keep(stocked, changed, by="MB")
    assert proving.prove(stocked, lay.number)[1].legal
    assert lay.note.startswith("changed by hand from lay 1: ")


@pytest.mark.slow
def test_a_panel_that_is_turned_lies_where_it_lay(table: OnTable) -> None:
    turned = rearranging.change(table, Turn((3,)))
    assert turned.laid[3].turn == 180
    assert turned.shape(turned.laid[3]).equals_exact(table.shape(table.laid[3]), 1e-9) or (
        turned.shape(turned.laid[3]).symmetric_difference(table.shape(table.laid[3])).area < 1e-6
    )
    assert rearranging.change(turned, Turn((3,))).laid[3].turn == 0


@pytest.mark.parametrize(
    ("how", "reason", "nearest"),
    [
        (Move((1,), to=Spot(60, 3)), "beside 3, they overlap by 24 cm²", (18, 3)),
        (Move((1,), to=Spot(19.5, 3)), "beside 3, they lie 0.5 mm apart: the gap is 2 mm", (18, 3)),
        pytest.param(Move((4,), to=Spot(310, 200)), "it sticks out of the cloth", (297, 200), marks=pytest.mark.slow),
        (Move((4,), to=Spot(299, 200)), "it lies 1 mm from the edge: 3 mm are kept", (297, 200)),
        (Move((2,), to=Spot(200, 3, "L2")), "it sticks out of the cloth", (147, 3)),
        pytest.param(PutIn(like=1, at=Spot(3, 3)), "beside 1, they overlap", (105, 65), marks=pytest.mark.slow),
    ],
)
def test_what_may_not_be_is_refused_with_the_nearest_place(
    table: OnTable, how: Change, reason: str, nearest: tuple[float, float]
) -> None:
    with pytest.raises(NoPlace) as refused:
        rearranging.change(table, how)
    assert reason in refused.value.what
    assert f"{nearest[0]:g} mm from the left and {nearest[1]:g} mm from the near edge" in refused.value.next
    there = rearranging.change(table, how, nearest=True)
    assert spot(there, there.changed[0]) == pytest.approx(nearest, abs=0.05)


def test_a_place_that_only_just_holds_a_panel_is_offered_again(table: OnTable, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where it lay, although looking for room, which goes a little round each corner, finds none."""
    monkeypatch.setattr("nesting.nearest_shift", lambda *_: None, raising=False)
    at = spot(table, 1)
    with pytest.raises(NoPlace, match="beside 3") as refused:
        rearranging.change(table, Move((1,), to=Spot(60, 3)))
    assert f"{at[0]:g} mm from the left and {at[1]:g} mm from the near edge" in refused.value.next


def test_where_there_is_no_place_that_is_said(table: OnTable) -> None:
    with pytest.raises(NoPlace, match="is turned by 90") as refused:
        rearranging.change(table, Turn((1,), by=90))
    assert refused.value.nearest is None
    assert refused.value.next == "Let it lie as its grain and its cloth allow"
    full = table
    for spot_left, near in ((3, 3), (3, 66), (125, 3), (125, 66)):
        full = rearranging.change(full, Move((len(full.said) + 1,), to=Spot(spot_left, near, "L2")))
    with pytest.raises(NoPlace, match="beside") as refused:
        rearranging.change(full, PutIn(like=1))
    assert refused.value.next == "There is no place for it on L2; try another remnant, or take a panel out first"


@pytest.mark.parametrize(
    ("how", "kind", "said"),
    [
        (Move((9,), by=(1, 1)), Refused, "no panel 9"),
        pytest.param(TakeOut((1, 7)), Refused, "no panel 7", marks=pytest.mark.slow),
        pytest.param(PutIn(like=8), Refused, "no panel 8", marks=pytest.mark.slow),
        pytest.param(PutIn(piece="collar", at=Spot(1, 1, "L1")), Refused, "needs no 'collar'", marks=pytest.mark.slow),
        pytest.param(PutIn(piece="cuff"), Refused, "not said where", marks=pytest.mark.slow),
        pytest.param(Move((1, 2), to=Spot(1, 1)), Refused, "cannot be moved to one place", marks=pytest.mark.slow),
        (Move((1,), to=Spot(1, 1, "C1")), NoPlace, "C1 will not do for cuff: it is 100 % cotton"),
    ],
)
def test_what_makes_no_sense_is_refused(stocked: Workroom, how: Change, kind: type[Exception], said: str) -> None:
    with pytest.raises(kind, match=said):
        rearranging.change(rearranging.begin(stocked, 1, ["C1"]), how)


@pytest.mark.slow
def test_no_more_is_put_in_than_the_job_has_use_for(table: OnTable) -> None:
    fifth = rearranging.change(table, PutIn(like=1))
    assert len(fifth.laid) == 5
    with pytest.raises(CannotBeDone, match="no more cuff than the 5"):
        rearranging.change(fifth, PutIn(like=1))
    instead = rearranging.change(rearranging.change(fifth, TakeOut((2,))), PutIn(like=1))
    assert list(instead.laid) == [1, 3, 4, 5, 6]


@pytest.mark.slow
def test_another_lies_as_near_as_can_be(table: OnTable) -> None:
    """Right of panel 2 and beyond panel 3, 2 mm from each."""
    assert spot(rearranging.change(table, PutIn(like=1)), 5) == pytest.approx((105, 65), abs=0.05)


def test_numbers_stay_until_it_is_kept(stocked: Workroom, table: OnTable) -> None:
    for how in (TakeOut((2,)), Move((1,), to=Spot(3, 230)), PutIn(piece="cuff", at=Spot(3, 3, "L2"))):
        table = rearranging.change(table, how)
    assert list(table.laid) == [1, 3, 4, 5]
    lay = rearranging.keep(stocked, table, by="MB")
    assert [(panel.number, panel.placement) for panel in lay.panels] == [
        (new, table.laid[old]) for new, old in enumerate([1, 3, 4, 5], 1)
    ]
    assert lay.note == "changed by hand from lay 1: 2 taken out; 1 moved; 5 put in"
    assert (lay.result.placed, lay.complete, lay.state) == (4, True, LayState.TRIED)
    assert len(lays.get(stocked, 1).panels) == 4


@pytest.mark.slow
def test_nothing_is_kept_before_it_is_kept(stocked: Workroom, stash_file: Path) -> None:
    before = whole_stash(stash_file)
    table = rearranging.begin(stocked, 1)
    for number in (1, 2, 3, 4):
        table = rearranging.change(table, TakeOut((number,)))
    with pytest.raises(Refused, match="holds no panel"):
        rearranging.keep(stocked, table)
    assert whole_stash(stash_file) == before


@pytest.mark.slow
def test_a_chalked_lay_is_replaced_when_the_new_one_is_chalked(stocked: Workroom) -> None:
    lays.chalk(stocked, 1, by="MB")
    table = rearranging.change(rearranging.begin(stocked, 1, ["L2"]), Move((1,), to=Spot(3, 3, "L2")))
    lay = rearranging.keep(stocked, table, by="MB")
    assert lay.replaces == 1
    assert lays.chalk(stocked, lay.number, by="MB").state is LayState.CHALKED
    assert lays.get(stocked, 1).state is LayState.RUBBED_OUT


@pytest.mark.slow
def test_only_what_is_tried_or_chalked_is_changed(stocked: Workroom) -> None:
    lays.rub_out(stocked, 1, by="MB")
    with pytest.raises(WrongState):
        rearranging.begin(stocked, 1)
    with pytest.raises(Unknown):
        rearranging.begin(stocked, 9)


@pytest.mark.slow
def test_the_rest_is_sought_round_what_stays(stocked: Workroom) -> None:
    kept = {panel.placement for panel in lays.get(stocked, 1).panels if panel.number in (2, 4)}
    asked = asking.ask_beside(stocked, 1, (2, 4))
    assert set(asked.case.fixed) == kept
    assert {sheet.id for sheet in asked.case.sheets} == {"L1", "L2"}
    lays.chalk(stocked, 1, by="MB")
    again = asking.ask_beside(stocked, 1, (2, 4))
    assert (set(again.case.fixed), again.replaces) == (kept, 1)
    assert again.case.panels == asked.case.panels


CHANGES = st.one_of(
    st.builds(Move, st.tuples(st.integers(1, 4)), to=st.builds(Spot, st.floats(0, 400), st.floats(0, 300))),
    st.builds(Move, st.just((1, 2)), by=st.tuples(st.floats(-200, 200), st.floats(-200, 200))),
    st.builds(Turn, st.tuples(st.integers(1, 4))),
    st.builds(PutIn, like=st.integers(1, 4)),
    st.builds(TakeOut, st.tuples(st.integers(1, 4))),
)


@pytest.mark.slow
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(CHANGES, max_size=5), st.booleans())
def test_no_change_leaves_a_lay_that_is_not_legal(stocked: Workroom, changes: list[Change], nearest: bool) -> None:
    table = rearranging.begin(stocked, 1)
    for how in changes:
        try:
            table = rearranging.change(table, how, nearest=nearest)
        except (CannotBeDone, Refused):
            continue
        lay: Lay = lays.preview(stocked, table.asked, rearranging.result_of(table)) if table.laid else lays.get(stocked, 1)
        assert len(lay.panels) == (len(table.laid) or 4)


@pytest.mark.slow
def test_pairs_stay_pairs_and_one_lot_one_lot(stocked: Workroom) -> None:
    hook = ((0, 0), (90, 0), (90, 20), (22, 20), (22, 70), (0, 70))
    patterns.add(stocked, "coat", [patterns.NewPiece(name="flap", ring=hook, allowance=0.0, left_and_right=True)])
    piece = jobs.NewJobPiece(pattern="coat", piece="flap", count=2)
    jobs.add(stocked, "flaps", [piece], pairs_together=True)
    asked = asking.ask(stocked, "flaps", only=("L1", "L2"))
    lay = lays.record(stocked, asked, rows(asked, {"L1": 9}), by="MB")
    table = rearranging.begin(stocked, lay.number, ["L2"])
    apart = rearranging.change(table, Move((1,), to=Spot(10, 10, "L2")))
    with pytest.raises(CannotBeDone, match="more of one hand of flap than of the other"):
        rearranging.keep(stocked, apart)
    both = rearranging.change(apart, Move((2,), to=Spot(120, 10, "L2")))
    assert len(rearranging.keep(stocked, both).panels) == len(lay.panels)


@pytest.mark.slow
def test_the_scene_is_as_it_is_meant(stocked: Workroom) -> None:
    assert chalked(stocked, most={"L2": 1}).panels[0].piece == "cuff"
