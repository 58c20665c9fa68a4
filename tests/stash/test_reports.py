"""Reports against a slow, plain reckoning over the entries as they are listed; what was undone is left out; filters."""

from __future__ import annotations

from collections import defaultdict
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from stash import (
    Workroom,
    book,
    cutting,
    envelopes,
    keepers,
    leaving,
    losing,
    measuring,
    outlines,
    remnants,
    reported,
    reports,
    settings,
    splitting,
    undoing,
)
from stash.envelopes import NewEnvelope
from stash.measuring import Measures
from stash.refusals import Refused, Unknown
from stash.reported import Asked, Quantity
from stash.words import Account, Event, Source

from .scenes import chalked, cuffs, linen, scrap

DAYS = [datetime(2025, 11, 20, 9, tzinfo=UTC)]


def clock() -> datetime:
    """Half a day later at each look, so that a few events take months."""
    DAYS[0] += timedelta(hours=29)
    return DAYS[0]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory, fresh_stash: Path) -> Workroom:
    """A workroom in which all that a report tells has happened, from November to the spring."""
    import shutil

    path = shutil.copy(fresh_stash, tmp_path_factory.mktemp("reports") / "w.fent")
    opened = Workroom.open(path, clock=clock)
    settings.choose_currency(opened, "EUR")
    linen(opened)
    linen(opened, "red union", fibres={"linen": 55, "cotton": 45}, colour="red", weight=260.0)
    scrap(opened, "L1", price=1000, source=Source.BOUGHT)
    scrap(opened, "L2", length=300, width=200, came_on=date(2019, 5, 1))
    scrap(opened, "L3", length=250, width=220)
    scrap(opened, "R1", "red union", source=Source.GIVEN)
    scrap(opened, "R2", "red union", price=250)
    envelopes.add(opened, NewEnvelope(tag="E1", cloth="blue linen", mass=10.0), by="MB")
    cuffs(opened, count=12)
    first = cutting.cut(opened, chalked(opened, most={"L1": 3, "L2": 2}).number, by="MB", spoiled=[1], uncut=[2])
    keeper = first.sheets[0].keepers[0].tag
    measuring.measure_again(opened, keeper, Measures(outline=outlines.rectangle(150, 90)), by="MB")
    wrong = cutting.cut(opened, chalked(opened, most={"L3": 2}).number, by="MB")
    undoing.undo(opened, wrong.entry, why="three", by="MB")
    cutting.cut(opened, wrong.lay.number, by="MB", spoiled=[1])
    splitting.split(opened, "R1", [splitting.across(150)], by="MB")
    leaving.give_away(opened, "R1A", to="the school", by="MB")
    leaving.sell(opened, "R1B", price=700, by="MB")
    leaving.throw_away(opened, keeper, by="MB")
    losing.not_there(opened, "R2", by="MB")
    envelopes.take_out(opened, "E1", 2.5, by="MB")
    gone = leaving.throw_away(opened, keepers.waiting(opened)[0].tag, by="MB")
    undoing.undo(opened, gone.entry, why="still there", by="MB")
    return opened


def standing(workroom: Workroom) -> list[book.Entry]:
    return [each for each in book.entries(workroom) if each.event is not Event.UNDONE and each.undone_by is None]


def total(entries: list[book.Entry], account: Account, detail: str | None = None) -> Quantity:
    lines = [line for entry in entries for line in entry.lines if line.account is account and detail in (None, line.detail)]
    return Quantity(sum(line.area for line in lines), sum(line.mass for line in lines))


def test_months_are_what_the_entries_say(made: Workroom) -> None:
    by_month: dict[str, list[book.Entry]] = defaultdict(list)
    for entry in standing(made):
        by_month[f"{entry.at:%Y-%m}"].append(entry)
    found = reports.months(made)
    assert [each.name for each in found] == sorted(by_month)
    assert len(found) >= 2
    left = Quantity()
    for each in found:
        entries = by_month[each.name]
        left += total(entries, Account.BIN)
        assert each.left == left
        assert dict(each.came) == {
            source: Quantity() - amount for source in Source if (amount := total(entries, Account.IN, source)) != Quantity()
        }
        for name, account, detail in (
            ("panels", Account.CUT_WORK, None),
            ("spoiled", Account.RAG_BAG, "spoiled"),
            ("rag_bag", Account.RAG_BAG, "offcuts"),
            ("given", Account.OUT, "given"),
            ("sold", Account.OUT, "sold"),
            ("thrown", Account.OUT, "thrown"),
            ("lost", Account.LOST, None),
            ("re_measured", Account.RE_MEASURED, None),
            ("shrunk", Account.SHRUNK, None),
        ):
            assert getattr(each, name) == total(entries, account, detail), name
        change = each.came_in - each.panels - each.spoiled - each.rag_bag - each.went - each.lost - each.re_measured
        assert change == total(entries, Account.BIN)
    balance = {t.account: (t.area, t.mass) for t in book.balance(made).totals}
    assert (left.area, left.mass) == balance[Account.BIN]


def test_years_are_their_months_together(made: Workroom) -> None:
    years, months = reports.years(made), reports.months(made)
    assert [year.name for year in years] == ["2025", "2026"]
    for year in years:
        mine = [month for month in months if month.name.startswith(year.name)]
        assert year.panels == sum((month.panels for month in mine), Quantity())
        assert year.came_in == sum((month.came_in for month in mine), Quantity())
        assert year.left == mine[-1].left
        assert (year.paid, year.got) == (sum(month.paid for month in mine), sum(month.got for month in mine))
    assert sum(year.paid for year in years) == 1250
    assert sum(year.got for year in years) == 700


def test_what_a_job_has_used_adds_up(made: Workroom) -> None:
    (used,) = reports.jobs(made)
    cuts = [entry for entry in standing(made) if entry.event is Event.CUT]
    assert (used.job, used.cuts, used.good) == ("cuffs", 2, 4)
    assert (used.used_up, used.keepers) == (3, sum(line.detail == "keeper" for entry in cuts for line in entry.lines))
    assert used.taken == used.panels + used.spoiled + used.rag_bag + used.returned
    assert used.panels == total(cuts, Account.CUT_WORK)
    assert used.not_bought == used.panels
    assert used.share_used == used.panels.area / (used.taken.area - used.returned.area)
    assert used.panels.area == pytest.approx(4 * 600_000, abs=2)
    assert reports.report(made).in_all == reported.Used(
        job="all jobs", **{name: getattr(used, name) for name in reported.Used.__dataclass_fields__ if name != "job"}
    )


def test_the_bin_adds_up_in_every_way(made: Workroom) -> None:
    found = reports.in_bin(made)
    for groups in (found.by_fibre, found.by_weight, found.by_colour, found.by_age):
        assert sum((group.cloth for group in groups), Quantity()) == found.all.cloth
        assert sum(group.remnants for group in groups) == found.all.remnants
        assert sum(group.envelopes for group in groups) == found.all.envelopes == 1
    balance = {t.account: (t.area, t.mass) for t in book.balance(made).totals}
    assert (found.all.cloth.area, found.all.cloth.mass) == balance[Account.BIN]
    assert {group.name for group in found.by_fibre} == {"linen"}
    assert "5 years and more" in {group.name for group in found.by_age}


def test_a_blend_is_named_by_its_fibres(workroom: Workroom) -> None:
    linen(workroom, "union", fibres={"cotton": 45, "linen": 55}, weight=99.9, colour="")
    linen(workroom, "three", fibres={"wool": 60, "silk": 30, "hemp": 10}, weight=350.0)
    scrap(workroom, "U1", "union")
    scrap(workroom, "T1", "three", length=900)
    found = reports.in_bin(workroom)
    assert [group.name for group in found.by_fibre] == ["wool, silk and hemp", "linen and cotton"]
    assert [group.name for group in found.by_weight] == ["under 100 g/m²", "350 g/m² and more"]
    assert [group.name for group in found.by_colour] == ["blue", "not said"]
    assert [group.name for group in found.by_age] == ["under 3 months"]


def test_what_has_lain_longest(made: Workroom) -> None:
    found = reports.longest(made)
    assert [lain.came_on for lain in found] == sorted(lain.came_on for lain in found)
    assert (found[0].tag[:2], found[0].came_on) == ("L2", date(2019, 5, 1))
    assert found[0].days == (found[1].days if found[1].came_on == found[0].came_on else found[0].days)
    assert len(reports.longest(made, most=1)) == 1
    assert all(lain.cloth == "red union" for lain in reports.longest(made, Asked(cloth="red union")))


def test_planned_against_cut(made: Workroom) -> None:
    second, first = reports.planned(made)
    assert (first.lay, first.planned, first.cut, first.spoiled, first.uncut) == (1, 5, 3, 1, 1)
    assert (second.lay, second.planned, second.cut, second.spoiled, second.uncut) == (2, 2, 1, 1, 0)
    keeper = next(each for each in book.entries(made, event=Event.MEASURED_AGAIN))
    (line,) = [line for line in keeper.lines if line.account is Account.BIN]
    assert first.otherwise == Quantity(line.area, line.mass)
    assert second.otherwise == Quantity()
    cut = next(entry for entry in standing(made) if entry.event is Event.CUT and entry.lay == 1)
    assert first.computed == total([cut], Account.BIN, "keeper")
    assert abs(first.on - cut.at.date()) <= timedelta(days=2)  # the clock goes on at each look


def test_a_period(made: Workroom) -> None:
    entries = standing(made)
    days = sorted({entry.at.date() for entry in entries})
    since, until = days[4], days[-4]
    mine = [entry for entry in entries if since <= entry.at.date() <= until]
    found = reports.report(made, Asked(since=since, until=until))
    assert found.entries == len(mine)
    assert found.in_all.panels == total([entry for entry in mine if entry.event is Event.CUT], Account.CUT_WORK)
    assert sum((month.came_in for month in found.months), Quantity()) == Quantity() - total(mine, Account.IN)
    before = [entry for entry in entries if entry.at.date() <= until]
    assert found.months[-1].left == total(before, Account.BIN)
    assert {each.lay for each in found.planned} == {entry.lay for entry in mine if entry.event is Event.CUT}


def test_a_job_and_a_cloth(made: Workroom) -> None:
    assert reports.jobs(made, Asked(job="CUFFS", cloth="blue linen")) == reports.jobs(made)
    assert reports.jobs(made, Asked(cloth="red union")) == ()
    red = reports.report(made, Asked(cloth="red union"))
    assert red.years[-1].got == 700
    assert sum(year.paid for year in red.years) == 250
    assert (red.bin.all.remnants, red.planned) == (0, ())
    with pytest.raises(Unknown, match="no job 'coats'"):
        reports.report(made, Asked(job="coats"))
    with pytest.raises(Unknown, match="no cloth"):
        reports.report(made, Asked(cloth="silk"))
    with pytest.raises(Refused, match="before it begins"):
        reports.report(made, Asked(since=date(2026, 3, 2), until=date(2026, 3, 1)))


def test_an_empty_workroom(workroom: Workroom) -> None:
    found = reports.report(workroom)
    assert (found.entries, found.jobs, found.months, found.planned, found.longest) == (0, (), (), (), ())
    assert (found.bin.all.remnants, found.in_all.share_used) == (0, 0.0)


def test_remnants_that_were_struck_out_are_in_no_report(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)
    undoing.undo(workroom, 1, why="no", by="MB")
    assert reports.months(workroom) == ()
    assert reports.in_bin(workroom).all.remnants == 0
    assert remnants.get(workroom, "L1×").area == 120_000
