"""The workroom's own rules."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stash import Refused, Workroom, cloths, finding, leaving, mending, settings
from stash.refusals import WrongState

from .scenes import linen, scrap


def test_defaults_then_what_was_changed(workroom: Workroom) -> None:
    assert settings.read(workroom) == settings.Settings()
    settings.change(workroom, narrowest=30, gap=0)
    settings.change(workroom, narrowest=35)
    assert settings.read(workroom) == settings.Settings(narrowest=35, gap=0)


def test_the_smallest_keeper_can_just_be_weighed() -> None:
    """ASTM D3776-20, option C: a piece of at least 100 cm² is weighed for mass per unit area."""
    assert settings.Settings().smallest_keeper == 100 * 100


@pytest.fixture
def without_a_currency(tmp_path: Path) -> Iterator[Workroom]:
    with Workroom.open(tmp_path / "new.fent") as opened:
        yield opened


def test_one_currency_for_all_prices(without_a_currency: Workroom) -> None:
    workroom = without_a_currency
    assert settings.currency(workroom) == ""
    assert settings.choose_currency(workroom, " eur") == "EUR"
    linen(workroom)
    assert settings.choose_currency(workroom, "GBP") == settings.currency(workroom) == "GBP"
    scrap(workroom, price=250)
    assert settings.choose_currency(workroom, "GBP") == "GBP"
    with pytest.raises(WrongState, match="there are prices in GBP"):
        settings.choose_currency(workroom, "EUR")
    assert settings.currency(workroom) == "GBP"
    assert settings.read(workroom) == settings.Settings()
    settings.change(workroom, gap=1)
    assert settings.currency(workroom) == "GBP"


def test_a_price_needs_a_currency(without_a_currency: Workroom) -> None:
    """Whatever the verb: nobody knows later what 12.50 was."""
    workroom = without_a_currency
    linen(workroom)
    scrap(workroom, "L1")
    asked = "the currency of all prices is not chosen yet"
    with pytest.raises(Refused, match=asked):
        linen(workroom, "red wool", price=1450)
    with pytest.raises(Refused, match=asked):
        scrap(workroom, "L2", price=250)
    with pytest.raises(Refused, match=asked):
        mending.mend_cloth(workroom, "blue linen", by="MB", why="seen on the bill", price=1450)
    with pytest.raises(Refused, match=asked):
        mending.mend_remnant(workroom, "L1", by="MB", why="seen on the bill", price=250)
    with pytest.raises(Refused, match=asked) as refusal:
        leaving.sell(workroom, "L1", price=250, by="MB")
    assert refusal.value.next.startswith("fent book currency EUR")
    assert [each.name for each in cloths.every(workroom)] == ["blue linen"]
    assert [(each.tag, each.state) for each in finding.find(workroom)] == [("L1", "in the bin")]
    settings.choose_currency(workroom, "EUR")
    assert leaving.sell(workroom, "L1", price=250, by="MB").remnant.tag == "L1"


@pytest.mark.parametrize("code", ["", "EU", "€", "euro", "E1R", "ÄÖÜ"])
def test_currencies_that_are_none(workroom: Workroom, code: str) -> None:
    with pytest.raises(Refused, match="is no currency"):
        settings.choose_currency(workroom, code)


@pytest.mark.parametrize(
    ("changes", "why"),
    [({"narowest": 3}, "no setting 'narowest'"), ({"gap": -1}, "gap is -1"), ({"edge": float("nan")}, "edge is nan")],
)
def test_changes_that_are_refused_change_nothing(workroom: Workroom, changes: dict[str, float], why: str) -> None:
    with pytest.raises(Refused, match=why):
        settings.change(workroom, **({"selvedge": 12.0} | changes))
    assert settings.read(workroom) == settings.Settings()
