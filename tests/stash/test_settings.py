"""The workroom's own rules."""

from __future__ import annotations

import pytest

from stash import Refused, Workroom, settings
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


def test_one_currency_for_all_prices(workroom: Workroom) -> None:
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
