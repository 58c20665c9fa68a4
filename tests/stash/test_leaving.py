"""Given away, sold, thrown away: gone, and in the book."""

from __future__ import annotations

import pytest

from stash import Workroom, book, finding, leaving, remnants
from stash.refusals import Held, Refused, Unknown, WrongState
from stash.words import Account, Event, RemnantState

from .scenes import chalked, cuffs, linen, scrap


def stock(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1", price=300)
    scrap(workroom, "L2", length=500)


@pytest.fixture
def bin_(stocked: Workroom) -> Workroom:
    return stocked


def out(workroom: Workroom) -> tuple[book.Entry, list[tuple[Account, str, int, int]]]:
    (entry,) = book.entries(workroom, limit=1)
    return entry, [(line.account, line.detail, line.area, line.mass) for line in entry.lines]


def test_given_away(bin_: Workroom) -> None:
    done = leaving.give_away(bin_, "l1", to="the  school", by="MB", note="for dolls")
    assert done.remnant.state is RemnantState.GONE
    entry, lines = out(bin_)
    assert (entry.event, entry.whom, entry.price, entry.note) == (Event.GIVEN_AWAY, "the school", None, "for dolls")
    assert lines == [(Account.BIN, "", -12_000_000, -21_600), (Account.OUT, "given", 12_000_000, 21_600)]
    assert [each.tag for each in finding.find(bin_)] == ["L2"]


def test_sold_with_its_price_in_cents(bin_: Workroom) -> None:
    leaving.sell(bin_, "L1", price=1250, to="a neighbour", by="MB")
    entry, lines = out(bin_)
    assert (entry.event, entry.whom, entry.price) == (Event.SOLD, "a neighbour", 1250)
    assert [line[1] for line in lines] == ["", "sold"]
    leaving.sell(bin_, "L2", price=0, by="MB")
    assert (out(bin_)[0].price, out(bin_)[0].whom) == (0, "")
    assert book.entries(bin_)[-1].price == 300


def test_what_is_refused(bin_: Workroom) -> None:
    for what, kind in ((lambda: leaving.give_away(bin_, "L1", to=" ", by="MB"), Refused),
                       (lambda: leaving.give_away(bin_, "L1", to="x", by=""), Refused),
                       (lambda: leaving.sell(bin_, "L1", price=-1, by="MB"), Refused),
                       (lambda: leaving.sell(bin_, "L1", price=1.5, by="MB"), Refused),  # type: ignore[arg-type]
                       (lambda: leaving.sell(bin_, "L1", price=None, by="MB"), Refused),  # type: ignore[arg-type]
                       (lambda: leaving.sell(bin_, "L7", price=1, by="MB"), Unknown)):  # fmt: skip
        with pytest.raises(kind):
            what()
    remnants.put_apart(bin_, "L1", "moth", by="MB")
    with pytest.raises(WrongState, match="quarantine"):
        leaving.give_away(bin_, "L1", to="x", by="MB")
    with pytest.raises(WrongState, match="quarantine"):
        leaving.sell(bin_, "L1", price=1, by="MB")
    assert leaving.throw_away(bin_, "L1", by="MB").remnant.state is RemnantState.GONE
    with pytest.raises(WrongState, match="is gone"):
        leaving.throw_away(bin_, "L1", by="MB")
    cuffs(bin_, count=1)
    chalked(bin_)
    with pytest.raises(Held):
        leaving.give_away(bin_, "L2", to="x", by="MB")
