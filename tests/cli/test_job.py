"""`fent job`."""

from __future__ import annotations

import json

from .conftest import Type


def test_a_job_is_written_down(stocked: Type) -> None:
    words = ("--fibre", "linen", "--fibre", "cotton", "--weight-from", "150", "--weight-to", "220 g/m2", "--colour", "navy")
    said = stocked("job", "add", "gift", "--piece", "cushion/wedge: 16 + 2 spare", *words)
    assert said.status == 0, said.words
    assert "The job gift is written down: 16 panels." in said.words
    assert "fent lay try gift" in said.words
    shown = stocked("job", "show", "gift").data
    assert "needed   16, and 2 spare" in shown
    assert "so far   0 cut, 0 chalked, 16 missing" in shown
    assert "cloth    nothing but cotton and linen, 150 g/m² to 220 g/m², navy" in shown


def test_a_piece_may_say_its_own_cloth(stocked: Type) -> None:
    said = stocked("job", "add", "gift", "--piece", "cushion/wedge: 4 from Navy Linen", "--fibre", "linen")
    assert said.status == 0, said.words
    rule = json.loads(stocked("job", "show", "gift", "--json").data)["pieces"][0]["rule"]
    assert [name.lower() for name in rule["cloths"]] == ["navy linen"]
    assert rule["fibres"] == ["linen"]


def test_the_list(stocked: Type) -> None:
    assert stocked("job", "list").data.splitlines() == [
        "job            piece          needed  spares  cut  chalked  missing",
        "wheel cushion  cushion/wedge       6       0    0        0        6",
    ]
