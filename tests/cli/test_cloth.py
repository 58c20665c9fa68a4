"""`fent cloth`."""

from __future__ import annotations

import json

from .conftest import LINEN, Type


def test_a_cloth_is_put_on_the_list_and_shown(fent: Type) -> None:
    added = fent(*LINEN)
    assert (added.status, added.data) == (0, "")
    assert added.words == "navy linen is on the list of cloths: 100 % linen, 185 g/m².\n"
    shown = fent("cloth", "show", "NAVY LINEN")
    assert shown.status == 0
    assert "made of   100 % linen" in shown.data
    assert "weight    185 g/m²" in shown.data
    assert "lies      either way" in shown.data


def test_fibres_and_weights_as_people_write_them(fent: Type) -> None:
    assert (
        fent("cloth", "add", "union", "--fibre", "55% linen, 45% cotton", "--weight", "5 3/4 oz/yd2", "--one-way").status == 0
    )
    cloth = json.loads(fent("cloth", "show", "union", "--json").data)
    assert cloth["fibres"] == {"linen": 55.0, "cotton": 45.0}
    # ounces per square yard: 28.349523125 g over 0.83612736 m², both exact (1959)
    assert abs(cloth["weight"] - 5.75 * 28.349523125 / 0.83612736) < 1e-9
    assert cloth["one_way"] is True


def test_several_fibres_one_after_the_other(fent: Type) -> None:
    words = ("cloth", "add", "tweed", "--fibre", "wool 80", "--fibre", "silk 20", "--weight", "300")
    said = fent(*words)
    assert said.status == 0
    assert "80 % wool, 20 % silk" in said.words
    assert "Numbers without a unit were taken as g/m²." in said.words


def test_the_list(fent: Type) -> None:
    fent(*LINEN)
    fent("cloth", "add", "calico", "--fibre", "cotton", "--weight", "4 oz/yd2", "--width", "60 in")
    said = fent("cloth", "list")
    assert said.data.splitlines() == [
        "cloth       made of         weight  weave  colour  lot    width  lies",
        "calico      100 % cotton  136 g/m²                      1524 mm  either way",
        "navy linen  100 % linen   185 g/m²         navy                  either way",
    ]
    assert "4.0 oz/yd²" in fent("cloth", "list", "--show-in", "in").data
    assert [cloth["name"] for cloth in json.loads(fent("cloth", "list", "--json").data)] == ["calico", "navy linen"]
