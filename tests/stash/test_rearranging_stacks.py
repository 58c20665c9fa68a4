"""A lay in stacks or on stripes changed by hand: what one tracing makes moves as one; slip, fold, hand, stripe are kept."""

from __future__ import annotations

import pytest

from nesting import in_stack
from stash import CannotBeDone, Workroom, cloths, lays, proving, rearranging
from stash.lays import Lay
from stash.on_table import Change, Move, NoPlace, PutIn, Spot, TakeOut, Turn
from stash.terms import InStack

from .scenes import linen, scrap
from .test_stacking import HANDED, sewn, tried

pytestmark = pytest.mark.slow  # each begins with a search, if a short one


def stock(workroom: Workroom) -> None:
    """Two plies face to face, 300 × 130 and 260 × 120 mm, through which three pairs are cut; and a third scrap."""
    linen(workroom, faces_alike=False)
    for tag, length, width in (("N-01", 300, 130), ("N-02", 260, 120), ("N-03", 300, 120)):
        scrap(workroom, tag, length=length, width=width)
    sewn(workroom, HANDED, 6, left_and_right=True)
    lay, _ = tried(workroom, stacks=((InStack("N-01"), InStack("N-02")),), slip=2.0, only=("N-01", "N-02"))
    assert len(lay.stacks[0].tracings) == 3


def pairs(lay: Lay) -> list[tuple[int, int]]:
    """The panels of each tracing: on the top ply, and on the one turned over below it."""
    return [(tracing.panels[1], tracing.panels[2]) for tracing in lay.stacks[0].tracings]


def lie_on_one_another(lay: Lay) -> bool:
    by_number = {panel.number: panel for panel in lay.panels}
    plies = {ply.number: ply.lie for ply in lay.stacks[0].plies}
    return all(
        in_stack(by_number[one].cut_line, plies[1]).hausdorff_distance(in_stack(by_number[other].cut_line, plies[2])) < 0.1
        for one, other in pairs(lay)
    )


@pytest.mark.parametrize("over", [False, True])
def test_what_one_tracing_makes_moves_as_one(stocked: Workroom, over: bool) -> None:
    before = lays.get(stocked, 1)
    first = pairs(before)[0]
    table = rearranging.begin(stocked, 1)
    moved = rearranging.change(table, Move((first[over],), by=(1.0, 2.5)), nearest=True)
    assert set(moved.changed) == set(first)
    lay = rearranging.keep(stocked, moved, by="MB")
    assert proving.prove(stocked, lay.number)[1].legal
    assert lie_on_one_another(lay)
    assert [len(tracing.panels) for tracing in lay.stacks[0].tracings] == [2, 2, 2]
    assert {panel.hand for panel in lay.panels if panel.number in pairs(lay)[0]} == {"left", "right"}


def test_a_turn_turns_both(stocked: Workroom) -> None:
    one, other = pairs(lays.get(stocked, 1))[0]
    table = rearranging.begin(stocked, 1)
    turned = rearranging.change(table, Turn((one,)), nearest=True)
    assert {turned.laid[n].turn for n in (one, other)} != {table.laid[n].turn for n in (one, other)}
    assert lie_on_one_another(rearranging.keep(stocked, turned, by="MB"))


def test_the_narrower_ply_sets_the_limit(stocked: Workroom) -> None:
    """The top ply has room for it; the one below, cut back by edge and slip, has not."""
    lay = lays.get(stocked, 1)
    _, other = max(pairs(lay), key=lambda pair: lay.panels[pair[1] - 1].cut_line.bounds[2])
    table = rearranging.begin(stocked, 1)
    right = table.shape(table.laid[other]).bounds[2]
    with pytest.raises(NoPlace, match=r"edge|sticks out") as refused:
        rearranging.change(table, Move((other,), by=(257.0 - right, 0.0)))  # 3 mm from its edge, without slip
    assert refused.value.nearest is not None
    there = rearranging.change(table, Move((other,), by=(257.0 - right, 0.0)), nearest=True)
    assert there.shape(there.laid[other]).bounds[2] <= 260 - 3 - 2 + 0.02


def test_one_that_is_taken_out_takes_its_other_with_it(stocked: Workroom) -> None:
    first = pairs(lays.get(stocked, 1))[0]
    out = rearranging.change(rearranging.begin(stocked, 1), TakeOut((first[1],)))
    assert not set(first) & set(out.laid)
    lay = rearranging.keep(stocked, out, by="MB")
    assert (len(lay.panels), len(lay.stacks[0].tracings)) == (4, 2)


def test_one_that_leaves_the_stack_leaves_it_alone(stocked: Workroom) -> None:
    one, other = pairs(lays.get(stocked, 1))[0]
    table = rearranging.begin(stocked, 1, ["N-03"])
    apart = rearranging.change(table, Move((one,), to=Spot(10, 10, "N-03")))
    assert apart.laid[other] == table.laid[other]
    lay = rearranging.keep(stocked, apart, by="MB")
    assert sorted(len(tracing.panels) for tracing in lay.stacks[0].tracings) == [1, 2, 2]
    assert proving.prove(stocked, lay.number)[1].legal


def test_a_fold_is_kept_from(workroom: Workroom) -> None:
    linen(workroom, faces_alike=False)
    scrap(workroom, "N-01", length=160, width=160)
    sewn(workroom, HANDED, 2, left_and_right=True)
    lay, _ = tried(workroom, stacks=((InStack("N-01", folded=True),),), only=("N-01",))
    table = rearranging.begin(workroom, lay.number)
    number = next(p.number for p in lay.panels if p.cut_line.bounds[3] < 80)
    with pytest.raises(NoPlace) as refused:
        rearranging.change(table, Move((number,), by=(0.0, 79.0 - table.shape(table.laid[number]).bounds[3])))
    assert refused.value.nearest is not None
    along = rearranging.change(table, Move((number,), by=(20.0, 0.0)), nearest=True)
    assert len(along.changed) == 2
    kept = rearranging.keep(workroom, along, by="MB")
    assert proving.prove(workroom, kept.number)[1].legal


@pytest.mark.parametrize("how", [Move((1,), by=(17.0, 0.0)), PutIn(like=1, at=Spot(190.0, 33.0))])
def test_a_stripe_is_kept_to(workroom: Workroom, how: Change) -> None:
    """Bars every 30 mm along the grain: a panel of 100 mm that is moved by 17 comes to lie 30 from where it lay, or where it
    was."""
    from stash import asking, jobs, patterns, seeking

    cloths.add(workroom, cloths.NewCloth(name="striped", fibres={"cotton": 100}, weight=150.0, repeat_along=30.0))
    scrap(workroom, "S-01", cloth="striped", length=500, width=120, bar_left=5.0)
    piece = patterns.NewPiece(
        name="panel",
        ring=((0, 0), (100, 0), (100, 60), (0, 60)),
        allowance=4.0,
        drawn="cut",
        anchor=patterns.Anchor(point=(20.0, 30.0)),
    )
    patterns.add(workroom, "cap", [piece])
    jobs.add(workroom, "caps", [jobs.NewJobPiece(pattern="cap", piece="panel", count=3)])
    asked = asking.ask(workroom, "caps")
    found = seeking.seek(asked, seeking.Effort(seconds=0.2))
    lay = lays.record(workroom, asked, found.result, by="MB")
    table = rearranging.begin(workroom, lay.number)
    assert table.case.sheets[0].repeat[0] == 30.0
    table = rearranging.change(table, TakeOut(tuple(n for n in table.laid if n != 1)))
    with pytest.raises(NoPlace, match="misses the repeat"):
        rearranging.change(table, how)
    there = rearranging.change(table, how, nearest=True)
    assert proving.prove(workroom, rearranging.keep(workroom, there, by="MB").number)[1].legal
    moved = there.laid[there.changed[0]].x - table.laid[1].x
    assert abs(moved / 30 - round(moved / 30)) < 0.01


def test_a_refusal_changes_nothing(stocked: Workroom) -> None:
    table = rearranging.begin(stocked, 1)
    with pytest.raises(CannotBeDone):
        rearranging.change(table, PutIn(like=1, at=Spot(500, 500)))
    assert table.laid == table.began
