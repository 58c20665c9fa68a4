"""Names, tags, initials and figures as people type them."""

from __future__ import annotations

import pytest

from stash.given import a_count, a_figure, a_name, a_tag, initials, key_of, unknown
from stash.refusals import Refused


@pytest.mark.parametrize(("given", "tag"), [("l7", "L7"), (" wool-12 ", "WOOL-12"), ("a  1/2.b", "A 1/2.B"), ("7", "7")])
def test_tags_are_chalked_in_capitals(given: str, tag: str) -> None:
    assert a_tag(given) == tag


@pytest.mark.parametrize("given", ["", "  ", "-7", "L7-", "L_7", "Ä1", "L7\n8\x00", "x" * 41, "ß", "L7;", "../etc"])
def test_what_cannot_be_chalked_and_read_again_is_no_tag(given: str) -> None:
    with pytest.raises(Refused, match=r"tag") as refusal:
        a_tag(given)
    assert "L7" in refusal.value.expected


@pytest.mark.parametrize(("given", "why"), [("", "no name"), ("x" * 81, "81 letters"), ("bell\x07", "cannot be printed")])
def test_names_that_are_none(given: str, why: str) -> None:
    with pytest.raises(Refused, match=why):
        a_name(given, "cloth")


def test_capitals_and_spacing_do_not_matter() -> None:
    assert key_of(" ÉCRU  Linen") == key_of("écru linen")
    assert a_name("  blue   linen ", "cloth") == "blue linen"


@pytest.mark.parametrize("given", ["", "   ", "x" * 41])
def test_whoever_does_it_must_be_said(given: str) -> None:
    with pytest.raises(Refused, match="cutting needs the initials"):
        initials(given, "cutting")


@pytest.mark.parametrize("given", [0, -1, float("nan"), float("inf"), -float("inf"), 1e8, "wide", None, 10**400])
def test_figures_that_are_none(given: object) -> None:
    with pytest.raises(Refused) as refusal:
        a_figure(given, "width", unit="mm")  # type: ignore[arg-type]
    assert refusal.value.where == "width"
    assert refusal.value.expected == "a figure above 0 up to 10000000 mm"


def test_a_figure_may_be_its_least_where_that_is_allowed() -> None:
    assert a_figure(0, "gap", unit="mm", above=False) == 0


@pytest.mark.parametrize("given", [-1, 1.5, True, "3", 10_001])
def test_counts_that_are_none(given: object) -> None:
    with pytest.raises(Refused, match="count is"):
        a_count(given, "count")  # type: ignore[arg-type]


def test_close_names_are_offered() -> None:
    refusal = unknown("cloth", "Bleu linen", ["blue linen", "red wool"], listed="fent cloth list")
    assert refusal.close == ("blue linen",)
    assert str(refusal) == "cloth: there is no cloth 'Bleu linen'. Expected one of: blue linen."


def test_where_nothing_is_close_the_list_is_named() -> None:
    assert "fent cloth list" in unknown("cloth", "zzz", ["blue linen"], listed="fent cloth list").expected
    assert unknown("cloth", "zzz", [], listed="fent cloth list").next == "There is no cloth yet"
