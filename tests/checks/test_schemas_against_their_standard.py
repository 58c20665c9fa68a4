"""The two schemas against JSON Schema itself (draft 2020-12, json-schema.org; `jsonschema` ships its metaschema)."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

NESTING = Path(__file__).resolve().parents[2] / "nesting"


def schema(name: str) -> dict[str, Any]:
    read: dict[str, Any] = json.loads((NESTING / f"{name}.schema.json").read_text(encoding="utf-8"))
    return read


@pytest.mark.parametrize("name", ["case", "result"])
def test_it_is_a_schema_of_the_draft_that_it_names(name: str) -> None:
    read = schema(name)
    assert read["$schema"] == Draft202012Validator.META_SCHEMA["$id"]
    Draft202012Validator.check_schema(read)


def test_shared_cases_are_cases_by_the_schema(benchmarks: Path) -> None:
    """All but the largest: jsonschema takes seconds over a thousand sheets that are all alike."""
    judge = Draft202012Validator(schema("case"))
    paths = sorted(path for path in benchmarks.glob("*/*.json") if path.stat().st_size < 100_000)
    assert len(paths) > 100
    assert not [path.name for path in paths if not judge.is_valid(json.loads(path.read_text(encoding="utf-8")))]


SQUARE = [[0, 0], [1, 0], [1, 1], [0, 1]]
PANEL = {"id": "p", "outline": SQUARE, "copies": 1}
SHEET = {"id": "s", "outline": SQUARE}
CASE: dict[str, Any] = {"form": "fent-case/1", "sheets": [SHEET], "panels": [PANEL]}
RESULT: dict[str, Any] = {
    "form": "fent-result/1",
    "placements": [],
    "placed": 0,
    "bound": None,
    "proved": False,
    "complete": False,
    "cost": 0,
    "least_cost": None,
    "length": None,
    "least_length": None,
    "rounds": 0,
    "seed": 0,
    "seconds": 0.5,
}


def test_the_plainest_case_and_result_are_valid() -> None:
    assert Draft202012Validator(schema("case")).is_valid(CASE)
    assert Draft202012Validator(schema("case")).is_valid(
        {k: v for k, v in CASE.items() if k != "sheets"} | {"strip": {"width": 9}}
    )
    assert Draft202012Validator(schema("result")).is_valid(RESULT)


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("case", CASE | {"form": "fent-case/2"}),
        ("case", {k: v for k, v in CASE.items() if k != "panels"}),
        ("case", {k: v for k, v in CASE.items() if k != "sheets"}),
        ("case", CASE | {"strip": {"width": 9}}),
        ("case", CASE | {"gap": None}),
        ("case", CASE | {"gap": -1}),
        ("case", CASE | {"panels": [PANEL | {"copies": 1.5}]}),
        ("case", CASE | {"panels": [PANEL | {"outline": SQUARE[:2]}]}),
        ("case", CASE | {"panels": [PANEL | {"id": 3}]}),
        ("case", CASE | {"sheets": [SHEET | {"plies": 0}]}),
        ("result", RESULT | {"placements": [{"panel": "p", "x": "0", "y": 0, "sheet": "s"}]}),
        ("result", RESULT | {"placed": -1}),
        ("result", {k: v for k, v in RESULT.items() if k != "placements"}),
    ],
)
def test_what_is_wrong_is_not_valid(name: str, wrong: dict[str, Any]) -> None:
    assert not Draft202012Validator(schema(name)).is_valid(wrong)
