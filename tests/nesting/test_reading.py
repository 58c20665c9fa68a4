"""Cases and results: read as the form says, refused with the place of each fault, written so that they read back the same."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from nesting import (
    Case,
    CaseFault,
    Flaw,
    Panel,
    Placement,
    Result,
    Sheet,
    Strip,
    UnknownField,
    case_to_json,
    read_case,
    read_result,
    result_to_json,
)
from nesting.documents import is_plain_ring, schema
from tests.zoo import NOT_JSON, SPOILED, Spoiled, plain_case

SQUARE = ((0.0, 0.0), (90.0, 0.0), (90.0, 90.0), (0.0, 90.0))


# --- what is read ---------------------------------------------------------------------------------------------------------


def test_every_field_is_read() -> None:
    case = read_case(plain_case())
    gore, facing = case.panels
    one, two = case.sheets
    assert (one.id, one.cost, one.plies, one.turns, one.repeat, one.repeat_at) == (
        "s1",
        12.5,
        2,
        (0.0,),
        (0.0, 50.0),
        (0.0, 10.0),
    )
    assert one.holes == (((100.0, 100.0), (120.0, 100.0), (110.0, 120.0)), ((300.0, 300.0), (320.0, 310.0)))
    assert one.flaws[0].spares == frozenset()
    assert one.flaws[1] == Flaw(((5.0, 5.0), (9.0, 9.0)), frozenset({"facing"}))
    assert two == Sheet("s2", ((0.0, 0.0), (400.0, 0.0), (400.0, 300.0)))
    assert gore == Panel("gore", ((0, 0), (200, 10), (200, 70), (0, 80)), 8, off_grain=2.0, anchor=(0.0, 40.0))
    assert facing.sound == ((5, 5), (85, 5), (85, 35), (5, 35))
    assert (facing.hidden, facing.flip, facing.turns, facing.on, facing.copies) == (True, True, (0.0, 90.0), ("s1",), 3)
    assert case.fixed == (Placement("s1", "gore", 0.0, 20.0, 1.0, False),)
    assert (case.gap, case.edge, case.strip) == (2.0, 3.0, None)


def test_what_is_left_out_takes_its_default() -> None:
    panel = {"id": "p", "outline": [list(p) for p in SQUARE], "copies": 1}
    case = read_case({"form": "fent-case/1", "strip": {"width": 500}, "panels": [panel]})
    assert case == Case(panels=(Panel("p", SQUARE, 1),), strip=Strip(500.0))


def test_the_schemas_defaults_are_the_forms_defaults() -> None:
    """The schema shows a default for a reader; the data classes have it for the program. They must be the same."""
    for name, kind in (("sheet", Sheet), ("panel", Panel), ("placement", Placement), ("flaw", Flaw)):
        fields = schema("case")["$defs"][name]
        for key, field in fields.get("then", fields)["properties"].items():
            if "default" in field:
                given = field["default"]
                has: Any = kind.__dataclass_fields__[key].default
                same = list(has) if isinstance(given, list) else has
                assert same == given or (name, key) == ("placement", "sheet"), (name, key)


@pytest.mark.parametrize("form", ["case", "result"])
def test_the_schemas_are_schemas_and_name_no_host(form: str) -> None:
    Draft202012Validator.check_schema(schema(form))
    assert schema(form)["$id"] == f"urn:fent:{form}:1"


def test_outlines_are_tidied() -> None:
    data = plain_case()
    data["panels"][0]["outline"] = [[0, 80], [200, 70], [200, 40], [200, 10], [200, 10], [0, 0], [0, 80]]
    assert read_case(data).panels[0].outline == ((0, 80), (0, 0), (200, 10), (200, 70))


def test_text_bytes_and_data_are_read_alike() -> None:
    text = json.dumps(plain_case())
    assert read_case(text) == read_case(text.encode()) == read_case(b"\xef\xbb\xbf" + text.encode()) == read_case(plain_case())


# --- what is refused ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("spoiled", SPOILED, ids=lambda s: f"{'.'.join(map(str, s.path))}={str(s.value)[:20]}")
def test_each_fault_has_its_place(spoiled: Spoiled) -> None:
    with pytest.raises(CaseFault) as caught:
        read_case(spoiled.data(), where="job.json")
    assert caught.value.where == spoiled.where
    assert spoiled.word in caught.value.what
    assert str(caught.value).startswith("job.json: " + (f"{spoiled.where}: " if spoiled.where else ""))


@pytest.mark.parametrize(("text", "word"), NOT_JSON.values(), ids=NOT_JSON)
def test_what_is_no_case_at_all(text: str | bytes, word: str) -> None:
    with pytest.raises(CaseFault, match=word):
        read_case(text)
    with pytest.raises(CaseFault):
        read_result(text)


def test_all_faults_are_told_at_once() -> None:
    data = plain_case()
    data["gap"] = -1
    data["panels"][0]["copies"] = "many"
    with pytest.raises(CaseFault) as caught:
        read_case(data)
    assert [where for where, _ in caught.value.faults] == ["gap", "panels[0].copies"]
    assert len(str(caught.value).splitlines()) == 2
    data = plain_case()
    data["panels"][0]["outline"] = data["sheets"][1]["outline"] = [[0, 0], [1, 1], [2, 2]]
    with pytest.raises(CaseFault) as caught:
        read_case(data)
    assert [where for where, _ in caught.value.faults] == ["sheets[1].outline", "panels[0].outline"]


names = st.sampled_from([*plain_case(), "id", "outline", "copies"])
anything = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
    lambda below: st.lists(below) | st.dictionaries(names, below),
    max_leaves=20,
)


@given(anything)
def test_nothing_ends_in_another_exception(data: Any) -> None:
    with pytest.raises(CaseFault):
        read_case(data)


@given(st.data())
def test_nor_does_a_case_with_something_odd_in_any_place(data: st.DataObject) -> None:
    case = plain_case()
    at: Any = case
    while True:
        step = data.draw(st.sampled_from(sorted(at) if isinstance(at, dict) else range(len(at))))
        if not isinstance(at[step], dict | list) or not at[step] or data.draw(st.booleans()):
            break
        at = at[step]
    odd: list[Any] = [
        None,
        True,
        -1,
        0,
        7,
        1e308,
        10**400,
        math.nan,
        math.inf,
        "x",
        "",
        [],
        [[]],
        {},
        [1],
        [1, 2],
        [[0, 0], [1, 1]],
    ]
    at[step] = data.draw(st.sampled_from(odd))
    try:
        again = case_to_json(read_case(case, notice=lambda _: None))
    except CaseFault:
        return
    assert case_to_json(read_case(json.loads(json.dumps(again)))) == again


# --- what is not known ----------------------------------------------------------------------------------------------------


def test_notes_at_the_top_are_no_fields() -> None:
    read_case(plain_case() | {"name": "bin", "planted": 3, "area_bound": 9, "optimal_boards": 4, "use": 0.9})  # would warn


@pytest.mark.parametrize(("slip", "meant"), [("gpa", "gap"), ("egde", "edge"), ("fixd", "fixed"), ("sheet", "sheets")])
def test_a_slip_at_the_top_is_noticed(slip: str, meant: str) -> None:
    told: list[str] = []
    read_case(plain_case() | {slip: 1}, notice=told.append)
    assert told == [f"case: {slip}: is not a field of a case and is ignored; is {meant!r} meant?"]


@pytest.mark.parametrize(
    ("level", "slip", "meant"),
    [
        (("panels", 0), "off_grian", "off_grain"),
        (("panels", 1), "fliped", "flip"),
        (("sheets", 1), "flaw", "flaws"),
        (("fixed", 0), "turns", "turn"),
    ],
)
def test_a_slip_below_is_noticed(level: tuple[str, int], slip: str, meant: str) -> None:
    data = plain_case()
    data[level[0]][level[1]][slip] = 1
    with pytest.warns(UnknownField, match=rf"{level[0]}\[{level[1]}\]\.{slip}: .*is '{meant}' meant\?"):
        read_case(data)


def test_a_slip_in_a_flaw_is_noticed() -> None:
    data = plain_case()
    data["sheets"][0]["flaws"][1]["spare"] = ["gore"]
    with pytest.warns(UnknownField, match=r"sheets\[0\]\.flaws\[1\]\.spare: .*'spares'"):
        read_case(data)


def test_a_note_on_every_sheet_is_told_once() -> None:
    data = plain_case()
    for sheet in data["sheets"]:
        sheet["shelf"] = "B"
    told: list[str] = []
    read_case(data, notice=told.append)
    assert told == ["case: sheets[0].shelf: is not a field of a sheet and is ignored (and 1 more like it)"]


def test_a_missing_field_that_is_there_misspelt() -> None:
    data = plain_case()
    data["panels"][0]["outlin"] = data["panels"][0].pop("outline")
    with pytest.raises(CaseFault, match="is 'outlin' meant for it"):
        read_case(data)


# --- there and back -------------------------------------------------------------------------------------------------------


def test_a_case_reads_back_the_same() -> None:
    case = read_case(plain_case())
    assert read_case(json.dumps(case_to_json(case))) == case
    strip = Case(panels=(Panel("p", SQUARE, 1),), strip=Strip(500.0), gap=1.5)
    assert read_case(json.dumps(case_to_json(strip))) == strip


placements = st.builds(
    Placement,
    sheet=st.text(min_size=1, max_size=5),
    panel=st.text(min_size=1, max_size=5),
    x=st.floats(-2e6, 2e6),
    y=st.floats(-2e6, 2e6),
    turn=st.floats(-3600, 3600),
    flipped=st.booleans(),
)
amounts = st.none() | st.floats(0, 1e12)


@given(
    st.builds(
        Result,
        placements=st.lists(placements, max_size=4).map(tuple),
        placed=st.integers(0, 999),
        bound=st.none() | st.integers(0, 999),
        proved=st.booleans(),
        complete=st.booleans(),
        cost=amounts,
        least_cost=amounts,
        length=amounts,
        least_length=amounts,
        rounds=st.integers(0, 10**9),
        seed=st.integers(-(2**63), 2**63),
        seconds=st.floats(0, 1e6),
    )
)
def test_a_result_reads_back_the_same(result: Result) -> None:
    again = read_result(json.dumps(result_to_json(result)))
    assert (again, again.seconds) == (result, result.seconds)


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"form": "fent-case/1"}, "form"),
        ({"placements": [{"panel": "p", "x": 1}]}, "placements[0]"),
        ({"placements": [{"panel": "p", "x": 1, "y": math.nan}]}, "placements[0].y"),
        ({"bound": -1}, "bound"),
        ({"placed": None}, "placed"),
        ({"proved": "yes"}, "proved"),
        ({"cost": "12"}, "cost"),
        ({"seconds": math.inf}, "seconds"),
    ],
)
def test_a_result_that_is_none(change: dict[str, Any], where: str) -> None:
    with pytest.raises(CaseFault) as caught:
        read_result(result_to_json(Result()) | change)
    assert caught.value.where == where


# --- the quick way through the schema ---------------------------------------------------------------------------------------


numbers = st.floats() | st.integers() | st.booleans() | st.text(max_size=1)


@example([[0, 0], [True, 0], [0, "1"]])
@example([[0, 0], ["0", 0], [0, 1]])
@example([[0, 0], [0, "0"], [0, 1]])
@given(st.lists(st.lists(numbers, max_size=3), max_size=5) | st.just("xyz"))
def test_what_the_quick_look_takes_the_schema_takes(ring: Any) -> None:
    slow = Draft202012Validator({"$ref": "#/$defs/ring", "$defs": schema("case")["$defs"]})
    assert not is_plain_ring(ring, 3) or slow.is_valid(ring)


@pytest.mark.parametrize("kind", ["strip", "jigsaw", "planted", "offcuts", "bins"])
def test_every_shared_case_reads_without_a_notice(benchmarks: Path, kind: str) -> None:
    files = sorted((benchmarks / kind).glob("*.json"))
    assert files
    for file in files:
        told: list[str] = []
        case = read_case(file.read_bytes(), where=file.name, notice=told.append)
        assert not told
        assert (case.strip is not None) == (kind == "strip")
        assert sum(panel.copies for panel in case.panels) > 0
