"""Exact amounts: what is shared out comes to the whole, to the last unit."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stash.amounts import booked_area, booked_mass, grams, mass_of, share_in_parts, share_out, square_mm, weight_of

weights = st.lists(st.integers(0, 10**12), min_size=1, max_size=30).filter(any)


@given(total=st.integers(0, 10**15), by=weights)
def test_shares_come_to_the_whole_and_are_less_than_a_unit_off(total: int, by: list[int]) -> None:
    shares = share_out(total, by)
    assert sum(shares) == total
    assert all(abs(share * sum(by) - total * weight) < sum(by) for share, weight in zip(shares, by, strict=True))
    assert all(share == 0 for share, weight in zip(shares, by, strict=True) if weight == 0)


def test_largest_remainder_against_a_table_of_votes() -> None:
    """A worked example of largest remainders (Hare quota) from memory of the encyclopaedias: 100 000 votes, 10 seats."""
    assert share_out(10, [47_000, 16_000, 15_900, 12_000, 6_000, 3_100]) == [5, 2, 1, 1, 1, 0]


def test_of_equal_losses_the_first_gets_the_unit() -> None:
    assert share_out(2, [1, 1, 1]) == [1, 1, 0]


@pytest.mark.parametrize(("total", "by"), [(-1, [1]), (5, [0, 0]), (5, [2, -1])])
def test_what_cannot_be_shared_out_is_refused(total: int, by: list[int]) -> None:
    with pytest.raises(ValueError, match="cannot be shared out"):
        share_out(total, by)


def test_mass_per_area_of_the_dimensional_change_example() -> None:
    """Linen 1000 × 600 mm of 108 g is 180 g/m²; shrunk by 6 % and 4 % (ISO 5077) the same 108 g are 199.5 g/m² (BS 2471)."""
    area = booked_area(1000 * 600)
    assert weight_of(area, booked_mass(108)) == pytest.approx(180, abs=1e-9)
    assert weight_of(booked_area(1000 * 0.94 * 600 * 0.96), booked_mass(108)) == pytest.approx(199.5, abs=0.05)
    assert mass_of(area, 180) == booked_mass(108)


@given(st.integers(1, 10**13), st.floats(1, 5000))
def test_mass_of_area_and_weight_of_mass_undo_each_other(area: int, weight: float) -> None:
    mass = mass_of(area, weight)
    assert abs(grams(mass) - square_mm(area) * weight / 1e6) <= 0.0005 + 1e-9 * grams(mass)


@given(
    mass=st.integers(0, 10**9),
    panels=st.lists(st.floats(1, 1e5), min_size=1, max_size=8),
    keepers=st.lists(st.floats(1, 1e6), max_size=4),
    rag=st.floats(0, 1e5),
)
def test_a_remnants_parts_come_to_the_remnant(mass: int, panels: list[float], keepers: list[float], rag: float) -> None:
    whole = booked_area(sum(panels) + sum(keepers) + rag)
    parts = share_in_parts(whole, mass, cut=sum(panels), panels=panels, keepers=keepers)
    amounts = [*parts.panels, *parts.keepers, parts.rag]
    assert (sum(area for area, _ in amounts), sum(mass for _, mass in amounts)) == (whole, mass)
    assert min(min(amount) for amount in amounts) >= 0
    for (area, _), keeper in zip(parts.keepers, keepers, strict=True):
        assert abs(area - 100 * keeper) <= len(keepers) + 2


def test_a_deficit_of_rounding_comes_off_the_largest_part() -> None:
    # 1.006 + 2.006 + 0 is 3.012, booked 3.01; but the parts are rounded up to 1.01 and 2.01.
    parts = share_in_parts(booked_area(3.012), 301, cut=1.006, panels=[1.006], keepers=[2.006])
    assert parts.panels[0][0] == 101
    assert parts.keepers[0][0] == 200
    assert parts.rag == (0, 0)


def test_panels_that_overlap_by_a_hair_share_their_union() -> None:
    parts = share_in_parts(booked_area(300), 3000, cut=199, panels=[100, 100], keepers=[])
    assert [area for area, _ in parts.panels] == [9950, 9950]
    assert parts.rag[0] == 10_100


def test_parts_larger_than_the_whole_are_a_fault_of_the_program() -> None:
    with pytest.raises(ValueError, match="more than the whole"):
        share_in_parts(booked_area(100), 10, cut=60, panels=[60], keepers=[50])
