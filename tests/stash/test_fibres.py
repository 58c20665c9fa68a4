"""Fibres by generic name, everyday name and letter code; make-ups that come to 100 %."""

from __future__ import annotations

import pytest

from stash.fibres import CODES, NAMES, a_fibre, in_words, make_up
from stash.refusals import Refused

# Regulation (EU) 1007/2011, Annex I, as our reference sheet lists them; flax is sold as linen.
ANNEX_I = "wool alpaca llama camel cashmere mohair angora vicuña yak silk cotton kapok flax hemp jute abaca ramie sisal coir"


@pytest.mark.parametrize("name", ANNEX_I.split())
def test_the_generic_names_of_the_regulation_are_known(name: str) -> None:
    assert a_fibre(name.upper()) in NAMES


@pytest.mark.parametrize(("code", "name"), CODES.items())
def test_letter_codes(code: str, name: str) -> None:
    """DIN 60001-1 usage, the codes that our reference sheet calls unambiguous."""
    assert a_fibre(code.upper()) == name


def test_ha_is_asked_about() -> None:
    """DIN 60001-1 usage: HA is ambiguous, do not read it as hemp or hair without asking."""
    with pytest.raises(Refused, match="hemp or hair"):
        a_fibre("HA")


def test_a_slip_is_offered_its_neighbours() -> None:
    with pytest.raises(Refused) as refusal:
        a_fibre("coton")
    assert "cotton" in refusal.value.expected


@pytest.mark.parametrize(
    "shares", [{"linen": 100}, {"LI": 55, "co": 45.0}, {"wool": 33.33, "silk": 33.33, "cotton": 33.34}, {"unknown": 100}]
)
def test_make_ups(shares: dict[str, float]) -> None:
    assert sum(make_up(shares).values()) == 10_000


@pytest.mark.parametrize(
    ("shares", "why"),
    [
        ({}, "no fibre: 0 % in all"),
        ({"linen": 90}, "90 % in all"),
        ({"linen": 60, "cotton": 50}, "110 % in all"),
        ({"linen": 50, "flax": 50}, "linen is given twice"),
        ({"linen": 100, "cotton": 0}, "cotton is 0 %"),
        ({"linen": -5, "cotton": 105}, "linen is -5 %"),
        ({"linen": float("nan")}, "linen is nan %"),
        ({"linen": "all"}, "linen is all %"),
        ({"linen": 99.999, "cotton": 0.001}, "100 % in all"),
        ({"plastic bag": 100}, "no fibre that Fent knows"),
    ],
)
def test_make_ups_that_are_none(shares: dict[str, float], why: str) -> None:
    with pytest.raises(Refused, match=why):
        make_up(shares)


def test_in_words_the_largest_part_comes_first() -> None:
    assert in_words({"cotton": 12.5, "silk": 12.5, "wool": 75}) == "75 % wool, 12.5 % cotton, 12.5 % silk"
