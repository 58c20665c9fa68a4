"""The workroom's own rules."""

from __future__ import annotations

import pytest

from stash import Refused, Workroom, settings


def test_defaults_then_what_was_changed(workroom: Workroom) -> None:
    assert settings.read(workroom) == settings.Settings()
    settings.change(workroom, narrowest=30, gap=0)
    settings.change(workroom, narrowest=35)
    assert settings.read(workroom) == settings.Settings(narrowest=35, gap=0)


def test_the_smallest_keeper_can_just_be_weighed() -> None:
    """ASTM D3776-20, option C: a piece of at least 100 cm² is weighed for mass per unit area."""
    assert settings.Settings().smallest_keeper == 100 * 100


@pytest.mark.parametrize(
    ("changes", "why"),
    [({"narowest": 3}, "no setting 'narowest'"), ({"gap": -1}, "gap is -1"), ({"edge": float("nan")}, "edge is nan")],
)
def test_changes_that_are_refused_change_nothing(workroom: Workroom, changes: dict[str, float], why: str) -> None:
    with pytest.raises(Refused, match=why):
        settings.change(workroom, **({"selvedge": 12.0} | changes))
    assert settings.read(workroom) == settings.Settings()
