"""Splitting by hand: parts within the whole, shared out to the last unit, with what they inherit."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import union_all

from nesting import Ring
from stash import Workroom, book, remnants, splitting
from stash.refusals import BadOutline, Held, Refused, WrongState
from stash.remnants import NewFault
from stash.words import Account, EdgeKind, Event, FaultKind, RemnantState

from .scenes import chalked, cuffs, linen, scrap, whole_stash


def stock(workroom: Workroom) -> None:
    linen(workroom, weight=187.3)
    hole = NewFault(FaultKind.HOLE, ((90, 90), (110, 90), (110, 110), (90, 110)))
    stain = NewFault(FaultKind.STAIN, ((290, 40), (320, 40), (320, 60), (290, 60)))
    edges = [EdgeKind.SELVEDGE, EdgeKind.CUT, EdgeKind.RAW, EdgeKind.CUT]
    scrap(workroom, "L1", length=401.3, width=299.9, edges=edges, faults=(hole, stain), place="drawer 2", washed="cold")


@pytest.fixture
def bin_(stocked: Workroom) -> Workroom:
    return stocked


def test_across_the_grain_through_a_hole_and_beside_a_stain(bin_: Workroom) -> None:
    before = remnants.get(bin_, "L1")
    done = splitting.split(bin_, "l1", [splitting.across(100), splitting.across(305.5)], by="MB", note="for the school")
    assert [part.tag for part in done.parts] == ["L1A", "L1B", "L1C"]
    assert [part.state for part in done.parts] == [RemnantState.IN_BIN] * 3
    assert done.remnant.state is RemnantState.CUT
    for part in done.parts:
        assert before.shape.buffer(1e-6).covers(part.shape)
        assert (part.parent, part.place, part.washed, part.confirmed, part.came_on) == (
            "L1",
            "drawer 2",
            "cold",
            True,
            before.came_on,
        )
    assert union_all([part.shape for part in done.parts]).area == pytest.approx(before.shape.area)
    first, second, third = done.parts
    assert first.shape.area == pytest.approx(100 * 299.9 - 10 * 20)
    assert not [fault for fault in first.faults if fault.kind is FaultKind.STAIN]
    assert [[fault.kind for fault in part.faults] for part in (second, third)] == [[FaultKind.STAIN]] * 2
    assert {edge.kind for edge in second.edges if edge.kind is not EdgeKind.CUT} == {EdgeKind.SELVEDGE, EdgeKind.RAW}
    (entry,) = book.entries(bin_, limit=1)
    assert (entry.event, entry.note, entry.number) == (Event.SPLIT, "for the school", done.entry)
    assert sum(line.area for line in entry.lines if line.area > 0) == round(before.area * 100)
    assert {line.account for line in entry.lines} == {Account.BIN}


def test_along_the_grain_and_along_a_line_of_its_own(bin_: Workroom) -> None:
    done = splitting.split(bin_, "L1", [splitting.along(150)], by="MB")
    assert [round(part.width, 1) for part in done.parts] == [150.0, 149.9]
    bent: Ring = ((10.0, 0.0), (100.0, 60.0), (200.0, 20.0))
    again = splitting.split(bin_, "L1A", [bent], by="MB")
    assert [part.tag for part in again.parts] == ["L1A1", "L1A2"]
    assert book.balance(bin_).balanced


def test_measured_from_its_own_near_left_corner(bin_: Workroom) -> None:
    """A part keeps the whole's coordinates; a person measures from the corner that she sees."""
    right = splitting.split(bin_, "L1", [splitting.across(250)], by="MB").parts[1]
    again = splitting.split(bin_, right.tag, [splitting.across(50)], by="MB")
    assert [round(part.length, 1) for part in again.parts] == [50.0, 101.3]


def test_a_crumb_goes_to_the_rag_bag(bin_: Workroom) -> None:
    done = splitting.split(bin_, "L1", [splitting.across(100), ((0.0, 2.0), (2.0, 0.0))], by="MB")
    assert len(done.parts) == 2
    (entry,) = book.entries(bin_, limit=1)
    assert [(line.detail, line.area) for line in entry.lines if line.account is Account.RAG_BAG] == [("offcuts", 200)]


@pytest.mark.parametrize(
    ("lines", "kind", "what"),
    [
        ([], Refused, "no cut is told"),
        ([splitting.across(401.3)], BadOutline, "does not divide"),
        ([splitting.across(0.1)], BadOutline, "does not divide"),
        ([splitting.along(-5)], BadOutline, "does not divide"),
        ([((5.0, 5.0),)], BadOutline, "two points"),
        ([((5.0, 5.0), (5.0, 5.0))], BadOutline, "two points"),
        ([((5.0, 5.0), (float("nan"), 5.0))], BadOutline, "no numbers"),
        ([((0.0, 0.0), (100.0, 100.0), (100.0, 0.0), (0.0, 100.0))], BadOutline, "crosses itself"),
        ([splitting.across(3.8 * i) for i in range(1, 106)], Refused, "at most 100 parts"),
    ],
)
def test_what_is_refused(bin_: Workroom, stash_file: object, lines: list[Ring], kind: type[Exception], what: str) -> None:
    before = whole_stash(stash_file)  # type: ignore[arg-type]
    with pytest.raises(kind, match=what) as said:
        splitting.split(bin_, "L1", lines, by="MB")
    assert what in str(said.value)
    assert whole_stash(stash_file) == before  # type: ignore[arg-type]


def test_what_is_held_or_in_quarantine_is_not_split(bin_: Workroom) -> None:
    cuffs(bin_, count=1)
    chalked(bin_)
    with pytest.raises(Held):
        splitting.split(bin_, "L1", [splitting.across(100)], by="MB")
    scrap(bin_, "L2")
    remnants.put_apart(bin_, "L2", "moth", by="MB")
    with pytest.raises(WrongState):
        splitting.split(bin_, "L2", [splitting.across(100)], by="MB")


@given(
    cuts=st.lists(st.tuples(st.booleans(), st.floats(5, 290)), min_size=1, max_size=5),
    mass=st.none() | st.floats(0.01, 90),
)
@settings(max_examples=10)
def test_parts_have_all_of_it_to_the_last_unit(
    cuts: list[tuple[bool, float]], mass: float | None, tmp_path_factory: pytest.TempPathFactory, fresh_stash: object
) -> None:
    import shutil

    path = shutil.copy(str(fresh_stash), tmp_path_factory.mktemp("split") / "w.fent")
    with Workroom.open(path) as opened:
        linen(opened, weight=187.3)
        before = scrap(opened, "L1", mass=mass)
        lines = [splitting.across(at) if way else splitting.along(at) for way, at in cuts]
        done = splitting.split(opened, "L1", lines, by="MB")
        (entry,) = book.entries(opened, limit=1)
        for amount, of in (("area", round(before.area * 100)), ("mass", round(before.mass * 1000))):
            assert sum(getattr(line, amount) for line in entry.lines) == 0
            assert sum(getattr(line, amount) for line in entry.lines if getattr(line, amount) > 0) == of
        assert all(abs(part.area - part.shape.area) < 0.02 for part in done.parts)
