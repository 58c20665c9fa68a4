"""Chalked lays hold their remnants under initials and up to a day; from the next day on another lay may take them."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from stash import CannotBeDone, Refused, Workroom, asking, cutting, lays, remnants
from stash.refusals import Held, NothingQualifies
from stash.words import LayState, RemnantState

from .scenes import cuffs, linen, rows, scrap, whole_stash


class Days:
    """A clock that a test moves on by days."""

    def __init__(self) -> None:
        self.now = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.now += timedelta(seconds=1)
        return self.now

    def pass_by(self, days: int) -> None:
        self.now += timedelta(days=days)


@pytest.fixture
def days() -> Days:
    return Days()


@pytest.fixture
def bin_(stash_file: Path, days: Days) -> Workroom:
    workroom = Workroom.open(stash_file, clock=days)
    linen(workroom)
    scrap(workroom, "L1")
    cuffs(workroom, count=4)
    return workroom


def tried(workroom: Workroom) -> lays.Lay:
    asked = asking.ask(workroom, "cuffs")
    return lays.record(workroom, asked, rows(asked, 2), by="MB")


def test_a_lay_holds_for_two_weeks_unless_it_is_said_otherwise(bin_: Workroom, days: Days) -> None:
    lay = lays.chalk(bin_, tried(bin_).number, by="AK")
    assert lay.holds_until == date(2026, 3, 16)
    lays.rub_out(bin_, lay.number, by="AK")
    assert lays.chalk(bin_, tried(bin_).number, by="AK", until=date(2026, 3, 5)).holds_until == date(2026, 3, 5)


def test_a_day_that_is_over_is_refused(bin_: Workroom, stash_file: Path) -> None:
    number = tried(bin_).number
    before = whole_stash(stash_file)
    with pytest.raises(Refused, match="would hold until 2026-03-01, which is over"):
        lays.chalk(bin_, number, by="AK", until=date(2026, 3, 1))
    assert whole_stash(stash_file) == before


def test_up_to_its_last_day_nobody_else_has_the_remnant(bin_: Workroom, days: Days) -> None:
    second = tried(bin_)
    lays.chalk(bin_, tried(bin_).number, by="AK", until=date(2026, 3, 5))
    days.pass_by(3)
    with pytest.raises(Held, match="held by lay 2, chalked by AK until 2026-03-05"):
        lays.chalk(bin_, second.number, by="MB")
    with pytest.raises(NothingQualifies, match="lay 2 holds it"):
        asking.ask(bin_, "cuffs")


def test_from_the_next_day_on_another_lay_may_take_it_and_that_rubs_the_first_out(bin_: Workroom, days: Days) -> None:
    first = lays.chalk(bin_, tried(bin_).number, by="AK", until=date(2026, 3, 5))
    days.pass_by(4)
    second = lays.chalk(bin_, tried(bin_).number, by="MB")
    assert remnants.get(bin_, "L1").held_by == second.number
    over = lays.get(bin_, first.number)
    assert (over.state, over.note) == (LayState.RUBBED_OUT, "held until 2026-03-05; lay 2 took L1")
    with pytest.raises(CannotBeDone, match="rubbed out"):
        cutting.cut(bin_, first.number, by="AK")


def test_as_long_as_nobody_takes_it_the_lay_may_still_be_cut(bin_: Workroom, days: Days) -> None:
    lay = lays.chalk(bin_, tried(bin_).number, by="AK", until=date(2026, 3, 5))
    days.pass_by(9)
    assert remnants.get(bin_, "L1").state is RemnantState.HELD
    assert cutting.cut(bin_, lay.number, by="AK").lay.state is LayState.CUT


def test_of_two_people_who_chalk_at_once_one_has_the_remnant(bin_: Workroom, stash_file: Path) -> None:
    numbers = [tried(bin_).number for _ in range(4)]
    bin_.close()

    def chalk(number: int) -> str:
        with Workroom.open(stash_file) as mine:
            try:
                lays.chalk(mine, number, by=f"P{number}")
            except Held:
                return "held"
        return "chalked"

    with ThreadPoolExecutor(4) as people:
        assert sorted(people.map(chalk, numbers)) == ["chalked", "held", "held", "held"]
    with Workroom.open(stash_file) as after:
        (holder,) = (n for n in numbers if lays.get(after, n).state is LayState.CHALKED)
        assert remnants.get(after, "L1").held_by == holder
