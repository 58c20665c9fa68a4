"""Cloth as the stash takes it, against the standards and handbook figures of the trade."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stash import Refused, Workroom, cloths, outlines, remnants

# Regulation (EU) No 1007/2011, Annex I, names of textile fibres: those that our reference sheet quotes from it, then others
# that a workroom meets (mem).
EU_FIBRES = [
    *("wool", "alpaca", "llama", "camel", "cashmere", "mohair", "angora", "vicuña", "yak", "silk", "cotton", "kapok", "flax"),
    *("linen", "hemp", "jute", "abaca", "ramie", "sisal", "coir"),
    *("acetate", "cupro", "modal", "triacetate", "viscose", "acrylic", "modacrylic", "polyamide", "nylon", "lyocell"),
    *("polyester", "polypropylene", "elastane"),
]
# Letter codes in the usage of DIN 60001-1.
CODES = dict(
    pair.split()
    for pair in (
        *("CO cotton", "LI linen", "WO wool", "SE silk", "RA ramie", "WP alpaca"),
        *("WS cashmere", "WM mohair", "WA angora", "WK camel", "WL llama", "WY yak"),
    )
)


@pytest.fixture
def workroom(tmp_path: Path) -> Iterator[Workroom]:
    with Workroom.open(tmp_path / "stash.fent") as opened:
        yield opened


def test_the_fibre_names_of_the_regulation_are_known(workroom: Workroom) -> None:
    for fibre in EU_FIBRES:
        cloths.add(workroom, cloths.NewCloth(name=f"plain {fibre}", fibres={fibre: 100}, weight=150))
    assert len(cloths.every(workroom)) == len(EU_FIBRES)


def test_letter_codes_are_read_and_the_one_that_is_ambiguous_is_not(workroom: Workroom) -> None:
    for code, fibre in CODES.items():
        made = cloths.add(workroom, cloths.NewCloth(name=code, fibres={code: 100}, weight=150))
        assert dict(made.fibres) == {fibre: 100}
    with pytest.raises(Refused, match="hemp"):
        cloths.add(workroom, cloths.NewCloth(name="HA", fibres={"HA": 100}, weight=150))


def log(
    workroom: Workroom, tag: str, length: float, width: float, *, weight: float, mass: float | None = None
) -> remnants.Remnant:
    if weight not in {cloth.weight for cloth in cloths.every(workroom)}:
        cloths.add(workroom, cloths.NewCloth(name=f"cotton of {weight}", fibres={"cotton": 100}, weight=weight))
    new = remnants.NewRemnant(tag=tag, cloth=f"cotton of {weight}", outline=outlines.rectangle(length, width), mass=mass)
    return remnants.log(workroom, new)


# Mass per unit area is mass ÷ area of a conditioned piece (BS 2471:2005; ASTM D3776-20, whose option C takes at least
# 100 cm²). So a piece of known area weighs area × g/m².
@pytest.mark.parametrize(
    ("length", "width", "weight", "grams"),
    [
        (100, 100, 185, 1.85),  # the least piece of option C
        (1000, 1000, 150, 150),  # a square metre
        (
            914.4,
            914.4,
            33.9057,
            28.3495,
        ),  # a square yard of a cloth of 1 oz/yd² weighs an ounce (exact units; 33.9057 is calc)
        (1500, 1000, 350, 525),
    ],
)
def test_a_piece_weighs_its_area_times_the_mass_per_area(
    workroom: Workroom, length: float, width: float, weight: float, grams: float
) -> None:
    logged = log(workroom, "A1", length, width, weight=weight)
    assert logged.area == pytest.approx(length * width)
    assert logged.mass == pytest.approx(grams, abs=0.001)
    assert not logged.weighed


def test_a_piece_that_was_weighed_keeps_its_own_mass(workroom: Workroom) -> None:
    """A selvedge may weigh more than the cloth (BS 2471: trim it before weighing): what the scales said stands."""
    logged = log(workroom, "A1", 1000, 1000, weight=150, mass=163.25)
    assert logged.mass == 163.25
    assert logged.weighed
