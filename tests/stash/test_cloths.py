"""Cloths: kept as told, refused where they cannot be."""

from __future__ import annotations

from pathlib import Path

import pytest

from stash import Workroom, cloths
from stash.refusals import Refused, Taken, Unknown

from .scenes import linen, whole_stash


def test_a_cloth_is_kept_as_told(workroom: Workroom) -> None:
    told = cloths.NewCloth(
        name=" Écru  Union ",
        fibres={"cotton": 45, "flax": 55},
        weight=152.57,
        weight_within=3.5,
        weave="twill",
        colour="écru",
        lot="A/7",
        width=1450,
        selvedge=15.0,
        shrinks_warp=6.0,
        shrinks_weft=-1.5,
        price=1450,
        one_way=True,
        faces_alike=True,
        note="from the long roll",
    )
    kept = cloths.add(workroom, told)
    assert cloths.get(workroom, "ÉCRU union") == kept
    assert kept.name == "Écru Union"
    assert kept.made_of == "55 % linen, 45 % cotton"
    same = (
        *("weight", "weight_within", "weave", "colour", "lot", "width", "selvedge", "one_way", "faces_alike"),
        *("shrinks_warp", "shrinks_weft", "price", "note"),
    )
    assert [getattr(kept, name) for name in same] == [getattr(told, name) for name in same]


def test_all_cloths_by_name(workroom: Workroom) -> None:
    for name in ("Wool", "apron linen", "Batiste"):
        linen(workroom, name)
    assert [cloth.name for cloth in cloths.every(workroom)] == ["apron linen", "Batiste", "Wool"]


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"name": " "}, "no name"),
        ({"fibres": {"linen": 99}}, "99 % in all"),
        ({"fibres": {}}, "no fibre"),
        ({"weight": 0}, "weight is 0"),
        ({"weight": float("nan")}, "weight is nan"),
        ({"weight": 180_000}, "weight is 180000"),
        ({"width": -1}, "width is -1"),
        ({"width": 1e6}, "width is 1000000"),
        ({"colour": "x" * 81}, "81 letters"),
        ({"weight_within": 181}, "give or take is 181"),
        ({"weight_within": -1}, "give or take is -1"),
        ({"selvedge": -1}, "selvedge is -1"),
        ({"selvedge": 101}, "selvedge is 101"),
        ({"shrinks_warp": 50.1}, "shrinkage is 50.1"),
        ({"shrinks_weft": float("nan")}, "shrinkage is nan"),
        ({"price": -1}, "price is -1"),
        ({"price": 14.5}, "price is 14.5"),
        ({"price": True}, "price is True"),
    ],
)
def test_bad_cloths(workroom: Workroom, stash_file: Path, said: dict[str, object], why: str) -> None:
    before = whole_stash(stash_file)
    with pytest.raises(Refused, match=why):
        linen(workroom, **{"name": "blue linen", **said})  # type: ignore[arg-type]
    assert whole_stash(stash_file) == before


def test_a_name_is_taken_whatever_its_capitals(workroom: Workroom) -> None:
    linen(workroom, "Blue linen")
    with pytest.raises(Taken, match="already"):
        linen(workroom, "blue  LINEN")


def test_an_unknown_cloth(workroom: Workroom) -> None:
    linen(workroom)
    with pytest.raises(Unknown) as refusal:
        cloths.get(workroom, "bleu linen")
    assert refusal.value.close == ("blue linen",)
