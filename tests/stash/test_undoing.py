"""Undoing: the opposite lines with a reason, everything put back; refused where later events stand on it, naming them."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlalchemy import select

from stash import (
    Workroom,
    asking,
    book,
    cloths,
    cutting,
    envelopes,
    finding,
    joining,
    keepers,
    lays,
    leaving,
    losing,
    measuring,
    mending,
    outlines,
    proving,
    remnants,
    settings,
    splitting,
    undoing,
    washing,
)
from stash.envelopes import NewEnvelope
from stash.finding import Wanted
from stash.measuring import Measures
from stash.refusals import Held, Refused, StoodOn, Unknown, WrongState
from stash.remnants import NewFault
from stash.tables import ClothRow, EnvelopeRow, LayPanelRow, LayRow, RemnantRow
from stash.words import EdgeKind, Event, FaultKind, LayState, RemnantState

from .scenes import chalked, cuffs, cut_all, linen, rows, scrap


def stock(workroom: Workroom) -> None:
    settings.choose_currency(workroom, "EUR")
    linen(workroom)
    stain = NewFault(FaultKind.STAIN, ((50, 50), (70, 50), (60, 75)))
    scrap(workroom, "L1", edges=[EdgeKind.SELVEDGE, EdgeKind.CUT, EdgeKind.RAW, EdgeKind.CUT], faults=(stain,), washed="cold")
    scrap(workroom, "L2", length=300, width=200, mass=11.5)
    scrap(workroom, "L3", length=150, width=120)
    envelopes.add(workroom, NewEnvelope(tag="E1", cloth="blue linen", mass=10.0), by="MB")
    cuffs(workroom, count=6)


@pytest.fixture
def kept(stocked: Workroom) -> Workroom:
    return stocked


ROWS = (RemnantRow, EnvelopeRow, ClothRow, LayRow, LayPanelRow)


def state(workroom: Workroom) -> dict[tuple[str, str], dict[str, object]]:
    """All that stands in the tables that an event changes, struck-out remnants left aside. Not compared: how often a remnant
    changed, which only ever goes up."""
    found = {}
    with workroom.reading() as session:
        for table in ROWS:
            for row in session.scalars(select(table)):
                said = {
                    c.key: getattr(row, c.key) for c in table.__table__.columns if c.key not in ("revision", "mass_within")
                }
                if isinstance(row, RemnantRow):
                    if row.state is RemnantState.STRUCK_OUT:
                        continue
                    said["outline"] = row.outline.wkb
                    said["faults"] = [(f.kind, f.face, f.shape.wkb) for f in row.faults]
                    said["edges"] = [(e.kind, e.line.wkb) for e in row.edges]
                found[table.__name__, str(row.id)] = said
    return found


def measure_again(workroom: Workroom) -> object:
    told = Measures(outline=outlines.by_points([(0, 0), (380, 0), (390, 280), (0, 300)]), mass=19.0, grain_angle=3)
    return measuring.measure_again(workroom, "L1", told, by="MB")


def cut_two_and_spoil_one(workroom: Workroom) -> object:
    return cutting.cut(workroom, chalked(workroom, most={"L1": 3, "L2": 2}).number, by="MB", spoiled=[1], uncut=[2])


def lose_from_a_lay(workroom: Workroom) -> object:
    chalked(workroom, most={"L1": 2, "L2": 2})
    return losing.not_there(workroom, "L2", by="MB")


def lose_all_of_a_lay(workroom: Workroom) -> object:
    chalked(workroom, most={"L2": 2})
    return losing.not_there(workroom, "L2", by="MB")


def find_again(workroom: Workroom) -> object:
    losing.not_there(workroom, "L1", by="MB")
    return losing.found_again(workroom, "L1", by="MB")


def split(workroom: Workroom) -> object:
    return splitting.split(workroom, "L1", [splitting.across(150), splitting.along(60)], by="MB")


def join(workroom: Workroom) -> object:
    return joining.join(workroom, "J1", ["L2", "L3"], Measures(outline=outlines.rectangle(430, 180)), by="MB")


EVENTS: dict[str, Callable[[Workroom], object]] = {
    "logged": lambda w: scrap(w, "L9", price=250),
    "logged, an envelope": lambda w: envelopes.put_in(w, "E1", 4.0, by="MB"),
    "cut": cut_two_and_spoil_one,
    "cut, all of it": cut_all,
    "lost": lambda w: losing.not_there(w, "L1", by="MB"),
    "lost from a lay": lose_from_a_lay,
    "lost, all that a lay had": lose_all_of_a_lay,
    "found again": find_again,
    "measured again": measure_again,
    "measured again, the same": lambda w: measuring.measure_again(
        w, "L3", Measures(outline=outlines.rectangle(150, 120)), by="MB"
    ),
    "weighed again, a cloth": lambda w: cloths.weigh_again(w, "blue linen", 195.5, within=2.0, by="MB"),
    "weighed again, an envelope": lambda w: envelopes.weigh_again(w, "E1", 7.5, by="MB"),
    "put away": lambda w: envelopes.put_away(w, "E1", ["L3"], mass=3.0, by="MB"),
    "taken out": lambda w: envelopes.take_out(w, "E1", 2.5, by="MB"),
    "thrown away": lambda w: leaving.throw_away(w, "L1", by="MB"),
    "given away": lambda w: leaving.give_away(w, "L1", to="the school", by="MB"),
    "sold": lambda w: leaving.sell(w, "L1", price=450, to="a neighbour", by="MB"),
    "split": split,
    "washed": lambda w: washing.wash(w, "L1", "hot", Measures(outline=outlines.rectangle(376, 290)), by="MB"),
    "washed, and not shrunk": lambda w: washing.wash(w, "L3", "cold", Measures(outline=outlines.rectangle(150, 120)), by="MB"),
    "joined": join,
}
BEGUN_BEFORE = {"lost from a lay", "lost, all that a lay had", "found again", "cut", "cut, all of it"}


def test_every_kind_of_event_is_undone_here() -> None:
    assert {name.split(",")[0].removesuffix(" from a lay") for name in EVENTS} == {str(e) for e in Event} - {"undone"}


@pytest.mark.parametrize("name", EVENTS)
def test_undoing_puts_everything_back(kept: Workroom, name: str) -> None:
    first = state(kept)
    EVENTS[name](kept)
    (entry,) = book.entries(kept, limit=1)
    after = book.balance(kept)
    done = undoing.undo(kept, entry.number, why="written down wrongly", by="KL")
    if name not in BEGUN_BEFORE:
        assert state(kept) == first
    assert done.undone.number == done.entry.undoes == entry.number
    assert (done.entry.event, done.entry.by, done.entry.note) == (Event.UNDONE, "KL", "written down wrongly")
    assert [(line.account, line.area, line.mass) for line in done.entry.lines] == [
        (line.account, -line.area, -line.mass) for line in entry.lines
    ]
    found = book.balance(kept)
    assert found.balanced
    assert found.entries == after.entries + 1
    (undone,) = [each for each in book.entries(kept) if each.number == entry.number]
    assert undone.undone_by == done.entry.number


@pytest.mark.parametrize("name", sorted(BEGUN_BEFORE))
def test_undoing_what_a_lay_or_a_loss_came_before(kept: Workroom, name: str) -> None:
    """Up to the event itself, told apart by running what leads to it in a copy of the day."""
    EVENTS[name](kept)
    (entry,) = book.entries(kept, limit=1)
    undoing.undo(kept, entry.number, why="no", by="MB")
    found = state(kept)
    tags = {str(said["tag"]): said for (table, _), said in found.items() if table == "RemnantRow"}
    lay = next((said for (table, _), said in found.items() if table == "LayRow"), None)
    if name == "found again":
        assert tags["L1"]["state"] is RemnantState.LOST
        return
    assert lay is not None
    assert (lay["state"], lay["cut_at"], lay["rubbed_out_at"], lay["note"]) == (LayState.CHALKED, None, None, "")
    held = {tag for tag, said in tags.items() if said["held_by_id"] == lay["id"] and said["state"] is RemnantState.HELD}
    on_it = {sheet.remnant.tag for sheet in lays.get(kept, 1).sheets}
    assert held == on_it
    assert {panel.fate.value for panel in lays.get(kept, 1).panels} == {"planned"}
    assert not any(said["parent_id"] for said in tags.values())
    assert proving.prove(kept, 1)[1].legal
    cutting.cut(kept, 1, by="MB")
    assert book.balance(kept).balanced


def test_a_cut_that_is_undone_can_be_cut_again_under_the_same_tags(kept: Workroom) -> None:
    lay = chalked(kept, most={"L1": 4})
    first = cutting.cut(kept, lay.number, by="MB")
    assert [keeper.tag for keeper in first.sheets[0].keepers] == ["L1A"]
    done = undoing.undo(kept, first.entry, why="two were spoiled", by="MB")
    assert (done.back, done.struck_out) == (("L1",), ("L1A",))
    again = cutting.cut(kept, lay.number, by="MB", spoiled=[1, 2])
    assert [keeper.tag for keeper in again.sheets[0].keepers] == ["L1A"]
    undoing.undo(kept, again.entry, why="three were spoiled", by="MB")
    assert {each.tag for each in finding.find(kept, Wanted(states=(RemnantState.STRUCK_OUT,)))} == {"L1A×", "L1A×2"}
    changed = {(each.before, each.after) for each in mending.every(kept)}
    assert changed == {("L1A", "L1A×"), ("L1A", "L1A×2")}


def test_a_tag_whose_logging_was_undone_is_free_and_lays_tried_on_it_can_still_be_shown(kept: Workroom) -> None:
    scrap(kept, "L9", length=500, width=400)
    asked = asking.ask(kept, "cuffs", only=["L9"])
    tried = lays.record(kept, asked, rows(asked), by="MB").number
    undoing.undo(kept, book.entries(kept, limit=1)[0].number, why="wrong cloth", by="MB")
    assert scrap(kept, "L9", length=90, width=90).tag == "L9"
    assert lays.get(kept, tried).sheets[0].remnant.tag == "L9×"
    assert proving.prove(kept, tried)[1].placed == 6
    assert remnants.get(kept, "L9×").state is RemnantState.STRUCK_OUT


def test_what_later_events_stand_on_is_not_undone_and_they_are_named(kept: Workroom) -> None:
    measure_again(kept)
    lay = chalked(kept, most={"L1": 2})
    done = cutting.cut(kept, lay.number, by="MB")
    leaving.throw_away(kept, done.sheets[0].keepers[0].tag, by="MB")
    before = state(kept)
    entries = [entry.number for entry in book.entries(kept)]
    thrown, cut, measured = entries[:3]
    with pytest.raises(StoodOn, match=rf"entry {measured} \(measured again, 2026-03-\d\d\), entry {cut} \(cut") as refused:
        undoing.undo(kept, 1, why="no", by="MB")
    assert refused.value.entries == (measured, cut)
    assert f"fent book undo {cut}" in refused.value.next
    with pytest.raises(StoodOn, match=rf"entry {thrown} \(thrown away"):
        undoing.undo(kept, cut, why="no", by="MB")
    assert state(kept) == before
    for number in (thrown, cut):
        undoing.undo(kept, number, why="no", by="MB")
    with pytest.raises(Held, match="lay 1 stands on entry"):
        undoing.undo(kept, measured, why="no", by="MB")
    lays.rub_out(kept, 1, by="MB")
    undoing.undo(kept, measured, why="no", by="MB")
    undoing.undo(kept, 1, why="no", by="MB")
    assert book.balance(kept).balanced


def test_an_envelope_is_undone_from_the_last(kept: Workroom) -> None:
    envelopes.put_away(kept, "E1", ["L3"], mass=3.0, by="MB")
    envelopes.take_out(kept, "E1", 5.0, by="MB")
    put_away = book.entries(kept, event=Event.PUT_AWAY)[0].number
    with pytest.raises(StoodOn, match="taken out"):
        undoing.undo(kept, put_away, why="no", by="MB")


def test_a_cloth_that_was_weighed_again_stands_under_what_was_logged_since(kept: Workroom) -> None:
    weighed = cloths.weigh_again(kept, "blue linen", 200, by="MB").entry
    assert weighed is not None
    scrap(kept, "L9")
    with pytest.raises(StoodOn, match="logged"):
        undoing.undo(kept, weighed, why="no", by="MB")


def test_a_remnant_that_went_back_whole_and_was_used_since_stops_the_undoing(kept: Workroom) -> None:
    lay = chalked(kept, most={"L1": 2, "L2": 1})
    panels = [panel.number for panel in lay.panels if panel.placement.sheet == "L2"]
    done = cutting.cut(kept, lay.number, by="MB", uncut=panels)
    leaving.throw_away(kept, "L2", by="MB")
    with pytest.raises(StoodOn, match="thrown away"):
        undoing.undo(kept, done.entry, why="no", by="MB")
    undoing.undo(kept, book.entries(kept, limit=1)[0].number, why="no", by="MB")
    undoing.undo(kept, done.entry, why="no", by="MB")
    assert remnants.get(kept, "L2").held_by == lay.number


def test_what_was_dropped_from_a_lay_stays_dropped_when_its_cut_is_undone(kept: Workroom) -> None:
    lay = chalked(kept, most={"L1": 2, "L2": 2})
    losing.not_there(kept, "L2", by="MB")
    done = cutting.cut(kept, lay.number, by="MB")
    losing.found_again(kept, "L2", by="MB")
    undoing.undo(kept, done.entry, why="no", by="MB")
    assert (remnants.get(kept, "L1").held_by, remnants.get(kept, "L2").held_by) == (lay.number, None)
    assert [sheet.dropped for sheet in lays.get(kept, lay.number).sheets] == [False, True]


def test_a_quarantine_is_not_forgotten_by_undoing(kept: Workroom) -> None:
    done = cut_all(kept)
    keeper = done.sheets[0].keepers[0].tag
    remnants.put_apart(kept, keeper, "moth", by="MB")
    with pytest.raises(WrongState, match=f"{keeper} is in quarantine: moth"):
        undoing.undo(kept, done.entry, why="no", by="MB")
    remnants.release(kept, keeper, by="MB")
    keepers.confirm(kept, [keeper], by="MB")
    assert undoing.undo(kept, done.entry, why="no", by="MB").struck_out == (keeper,)


def test_what_cannot_be_undone(kept: Workroom) -> None:
    leaving.throw_away(kept, "L3", by="MB")
    (entry,) = book.entries(kept, limit=1)
    undone = undoing.undo(kept, entry.number, why="no", by="MB").entry
    for number, kind, what in (
        (entry.number, WrongState, f"undone already, by entry {undone.number}"),
        (undone.number, WrongState, f"itself an undoing, of entry {entry.number}"),
        (99, Unknown, "there is no entry 99"),
    ):
        with pytest.raises(kind, match=what):
            undoing.undo(kept, number, why="no", by="MB")
    with pytest.raises(Refused, match="needs a reason"):
        undoing.undo(kept, 1, why=" ", by="MB")
    with pytest.raises(Refused, match="initials"):
        undoing.undo(kept, 1, why="no", by="")


def test_how_it_was_washed_is_mended_for_good(kept: Workroom) -> None:
    """Measuring again does not change how it was washed, so undoing that leaves what was mended since."""
    measure_again(kept)
    mending.mend_remnant(kept, "L1", by="MB", why="asked", washed="hot")
    undoing.undo(kept, book.entries(kept, limit=1)[0].number, why="no", by="MB")
    assert remnants.get(kept, "L1").washed == "hot"


def test_an_entry_of_an_older_fent_that_kept_no_measures(kept: Workroom) -> None:
    from stash.tables import RemnantBeforeRow

    measure_again(kept)
    with kept.writing() as session:
        session.scalars(select(RemnantBeforeRow)).one().was = None
    before = state(kept)
    with pytest.raises(WrongState, match="was not kept"):
        undoing.undo(kept, book.entries(kept, limit=1)[0].number, why="no", by="MB")
    assert state(kept) == before
