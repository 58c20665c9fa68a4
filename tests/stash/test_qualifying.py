"""Which remnants will do: what SQL chooses and what is said in words are the same."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, affinity
from sqlalchemy import select, true

from stash import Workroom, remnants
from stash.jobs import ClothRule
from stash.qualifying import LeastSize, against, least_size, qualifying
from stash.tables import RemnantRow

from .scenes import chalked, cuffs, linen, scrap
from .shapes import stars

RULES = [
    ClothRule(),
    ClothRule(fibres=("linen",)),
    ClothRule(fibres=("cotton", "linen")),
    ClothRule(weight_from=180),
    ClothRule(weight_from=200, weight_to=300),
    ClothRule(weight_to=180),
    ClothRule(colours=("blue", "red")),
    ClothRule(colours=("écru",), weaves=("twill",)),
    ClothRule(washed=True),
    ClothRule(cloths=("Red Wool", "blue linen")),
    ClothRule(fibres=("silk",), washed=True, weight_to=100),
]
SIZES = [LeastSize(0, 0, 0), LeastSize(160, 50, 100), LeastSize(50, 160, 100), LeastSize(50, 50, 20_000)]


def stock(workroom: Workroom) -> None:
    linen(workroom, "blue linen")
    linen(workroom, "union", fibres={"linen": 55, "cotton": 45}, weight=240, colour="Écru", weave="Twill")
    linen(workroom, "red wool", fibres={"wool": 100}, weight=320, colour="red", weave="felt")
    linen(workroom, "plain", fibres={"unknown": 100}, colour="", weave="")
    for number, cloth in enumerate(("blue linen", "union", "red wool", "plain")):
        scrap(workroom, f"A{number}", cloth, 400, 300)
        scrap(workroom, f"B{number}", cloth, 150, 90, washed="cold")
        scrap(workroom, f"C{number}", cloth, 90, 300)
    cuffs(workroom, count=1)
    chalked(workroom)
    remnants.put_apart(workroom, "B1", "moth", by="MB")


@pytest.fixture
def bin_(stocked: Workroom) -> Workroom:
    return stocked


def test_sql_and_words_agree(bin_: Workroom) -> None:
    chosen = 0
    with bin_.reading() as session:
        rows = session.scalars(select(RemnantRow)).all()
        for rule in RULES:
            for least in SIZES:
                by_sql = qualifying(session, rule, least, true())
                assert by_sql == {row.id for row in rows if not against(rule, least, row)}, (rule, least)
                chosen += len(by_sql)
    assert chosen > 50  # neither says no to everything


@pytest.mark.parametrize(
    ("tag", "rule", "said"),
    [
        ("C2", ClothRule(fibres=("linen",)), "it is 100 % wool; nothing but linen is asked"),
        ("C1", ClothRule(fibres=("cotton",)), "it is 55 % linen, 45 % cotton; nothing but cotton is asked"),
        ("C2", ClothRule(weight_to=200), "it is 320 g/m²; at most 200 g/m² is asked"),
        ("C0", ClothRule(weight_from=200), "it is 180 g/m²; at least 200 g/m² is asked"),
        ("C3", ClothRule(colours=("blue", "red")), "its colour is not said; blue or red is asked"),
        ("C2", ClothRule(weaves=("plain", "twill", "satin")), "its weave is felt; plain, twill or satin is asked"),
        ("C2", ClothRule(cloths=("blue linen",)), "it is red wool; blue linen is asked"),
        ("C0", ClothRule(washed=True), "it is not washed"),
        ("A0", ClothRule(), "lay 1 holds it"),
        ("B1", ClothRule(), "it is in quarantine: moth"),
        ("C0", ClothRule(), "it is 90 mm long on the grain; 100 mm is the least"),
    ],
)
def test_each_reason_in_words(bin_: Workroom, tag: str, rule: ClothRule, said: str) -> None:
    least = LeastSize(100, 0, 0) if "long" in said else LeastSize(0, 0, 0)
    with bin_.reading() as session:
        row = session.scalars(select(RemnantRow).where(RemnantRow.tag == tag)).one()
        assert against(rule, least, row) == (said,)


@given(shape=stars(), off_grain=st.floats(0, 45), share=st.floats(-1, 1), half=st.booleans())
def test_no_panel_is_smaller_than_the_least_size(shape: Polygon, off_grain: float, share: float, half: bool) -> None:
    """However it is turned within what is allowed: else a remnant that would do could be passed over."""
    least = least_size(shape, off_grain, edge=3)
    low_x, low_y, high_x, high_y = affinity.rotate(shape, share * off_grain + 180 * half).bounds
    assert high_x - low_x + 6 >= least.length - 1e-9
    assert high_y - low_y + 6 >= least.width - 1e-9
    assert math.isclose(least.area, shape.area)


def test_on_the_grain_the_least_size_is_the_panels_own() -> None:
    assert least_size(Polygon([(0, 0), (100, 0), (100, 60)]), 0, edge=3) == LeastSize(106, 66, 3000)
