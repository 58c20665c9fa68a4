"""Lays that the engine gives, judged by shapely (GEOS) alone: no no-fit polygon, no code of the engine.

Two judges: `legal` below, a few plain lines for cases made here, and `verify.py`, which stands outside the project beside the
shared benchmarks (ESICUP datasets, CC0, and made ones; see their README) and judges everything that a case can say.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
from shapely import Polygon, affinity
from shapely.ops import unary_union

from nesting import read_case, result_to_json, solve
from tests.conftest import BENCHMARKS
from tests.nesting.row_fill import row_fill

SLACK = 0.02  # mm that a panel may stick out or lap over by: a fifth of a chalk line's width

GORE = [[0, 0], [107.42, 15.35], [107.42, 76.73], [0, 92.08]]
HALF_ROUND = [[0, 0], [80, 0], [74, 30], [56, 52], [40, 58], [24, 52], [6, 30]]
HOOK = [[0, 0], [90, 0], [90, 20], [22, 20], [22, 70], [0, 70]]
SCRAP = [[0, 0], [260, 12], [430, 0], [455, 160], [390, 300], [210, 330], [180, 250], [30, 310], [-20, 120]]


def case(panels: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    made: dict[str, Any] = {"form": "fent-case/1", "sheets": [{"id": "scrap", "outline": SCRAP}], "panels": panels, **more}
    return made


def panel(name: str, outline: list[list[float]], copies: int, **more: Any) -> dict[str, Any]:
    return {"id": name, "outline": outline, "copies": copies, **more}


HOLED = {
    "id": "holed",
    "outline": SCRAP,
    "holes": [[[150, 100], [190, 100], [170, 140]]],
    "flaws": [[[300, 60], [340, 70], [320, 110]]],
}
STACK = {"id": "stack", "outline": [[0, 0], [330, 0], [330, 210], [0, 210]], "plies": 4}
CASES = {
    "gores on a scrap": case([panel("gore", GORE, 14)]),
    "gap and edge": case([panel("gore", GORE, 14)], gap=3, edge=6),
    "round a hole and a flaw": case([panel("half round", HALF_ROUND, 20)], sheets=[HOLED], gap=2, edge=4),
    "hidden panels may lie over the flaw": case([panel("gore", GORE, 14, hidden=True)], sheets=[HOLED], gap=2, edge=2),
    "hooks, one way and either hand": case([panel("hook", HOOK, 20, turns=[0], flip=True)], gap=1),
    "three pieces, one scrap": case(
        [panel("gore", GORE, 4), panel("hook", HOOK, 5), panel("half round", HALF_ROUND, 4)], edge=3
    ),
    "a stack of four": case([panel("gore", GORE, 16)], sheets=[STACK], gap=2),
    "two scraps, one will not do": case(
        [panel("hook", HOOK, 16, on=["b"])],
        sheets=[{"id": "a", "outline": SCRAP}, {"id": "b", "outline": SCRAP}],
    ),
    "a strip": {"form": "fent-case/1", "strip": {"width": 200}, "panels": [panel("gore", GORE, 6), panel("hook", HOOK, 4)]},
}


def solved(of: dict[str, Any], *, rounds: int = 4) -> dict[str, Any]:
    """The engine's lay of a case, as it is written to a file."""
    found: dict[str, Any] = json.loads(json.dumps(result_to_json(solve(read_case(of), rounds=rounds, seed=7))))
    return found


def laid(outline: list[list[float]], at: dict[str, Any]) -> Polygon:
    shape = affinity.scale(Polygon(outline), 1, -1, origin=(0, 0)) if at.get("flipped") else Polygon(outline)
    return affinity.translate(affinity.rotate(shape, at.get("turn", 0), origin=(0, 0)), at["x"], at["y"])


def faults_on(sheet: dict[str, Any], placed: list[tuple[dict[str, Any], Polygon]], gap: float, edge: float) -> list[str]:
    """What is wrong with the lay on one sheet."""
    holes = unary_union([Polygon(ring) for ring in sheet.get("holes", [])])
    flaws = unary_union([Polygon(ring) for ring in sheet.get("flaws", [])])
    cloth = Polygon(sheet["outline"]).difference(holes)
    found = [f"{p['id']} leaves the cloth" for p, shape in placed if shape.difference(cloth).area > SLACK * shape.length]
    found += [f"{p['id']} is too near the edge" for p, shape in placed if shape.distance(cloth.boundary) < edge - SLACK]
    if not flaws.is_empty:
        found += [
            f"{p['id']} lies over the flaw"
            for p, shape in placed
            if not p.get("hidden") and shape.distance(flaws) < edge - SLACK
        ]
    for (p, one), (q, other) in combinations(placed, 2):
        if one.intersection(other).area > SLACK * one.length or one.distance(other) < gap - SLACK:
            found.append(f"{p['id']} and {q['id']} lap or are too near")
    return found


def faults(of: dict[str, Any], result: dict[str, Any]) -> list[str]:
    """All that is wrong with a lay; of a strip, the cloth is as long as the lay."""
    panels = {p["id"]: p for p in of["panels"]}
    sheets = {sheet["id"]: sheet for sheet in of.get("sheets", [])}
    shapes = [(at, panels[at["panel"]], laid(panels[at["panel"]]["outline"], at)) for at in result["placements"]]
    if "strip" in of:
        low, high = min(s.bounds[0] for _, _, s in shapes), max(s.bounds[2] for _, _, s in shapes)
        width = of["strip"]["width"]
        sheets = {"strip": {"outline": [[low, 0], [high, 0], [high, width], [low, width]]}}
        assert result["length"] == pytest.approx(high - low, abs=SLACK)
    found = []
    for name, sheet in sheets.items():
        found += faults_on(sheet, [(p, s) for at, p, s in shapes if at["sheet"] == name], of.get("gap", 0), of.get("edge", 0))
    for at, p, _ in shapes:
        if at.get("turn", 0) not in p.get("turns", [0, 180]) or (at.get("flipped") and not p.get("flip")):
            found.append(f"{p['id']} is turned or flipped as it may not be")
        if at["sheet"] not in p.get("on", [at["sheet"]]):
            found.append(f"{p['id']} lies on a sheet that will not do")
    count = Counter[str]()
    for at, p, _ in shapes:
        count[p["id"]] += sheets[at["sheet"]].get("plies", 1)
    found += [f"{n} of {name}, {panels[name]['copies']} wanted" for name, n in count.items() if n > panels[name]["copies"]]
    if count.total() != result["placed"]:
        found.append(f"{result['placed']} said to be placed, {count.total()} are")
    return found


def copies_in_rows(of: dict[str, Any]) -> int:
    """Copies that the plain reference places."""
    given = read_case(of)
    plies = {sheet.id: sheet.plies for sheet in given.sheets}
    return sum(plies[placement.sheet] for placement in row_fill(given))


QUICK = {"gores on a scrap", "gap and edge"}


@pytest.mark.parametrize("name", [n if n in QUICK else pytest.param(n, marks=pytest.mark.slow) for n in CASES])
def test_a_lay_is_legal_and_no_worse_than_rows(name: str) -> None:
    of = CASES[name]
    result = solved(of)
    assert not faults(of, result)
    wanted = sum(p["copies"] for p in of["panels"])
    assert result["complete"] == (result["placed"] == wanted)
    if "strip" in of:
        assert result["placed"] == wanted
    else:
        assert result["placed"] >= copies_in_rows(of)
        assert result["bound"] is None or result["bound"] >= result["placed"]


def test_the_judge_sees_what_is_wrong() -> None:
    """A judge that passes everything would pass the tests above as well."""
    of = case([panel("gore", GORE, 1)], sheets=[HOLED], gap=2, edge=4)

    def judged(*places: tuple[float, float], turn: float = 0, placed: int | None = None) -> str:
        placements = [{"sheet": "holed", "panel": "gore", "x": x, "y": y, "turn": turn} for x, y in places]
        return "; ".join(faults(of, {"placements": placements, "placed": len(places) if placed is None else placed}))

    assert judged((10, 20)) == ""
    assert "leaves the cloth" in judged((-60, 20))
    assert "leaves the cloth" in judged((110, 70))  # over the hole
    assert "too near the edge" in judged((-4, 20))
    assert "over the flaw" in judged((250, 40))
    assert "lap or are too near" in judged((10, 20), (60, 40))
    assert "lap or are too near" in judged((10, 20), (10, 113))
    assert "2 of gore, 1 wanted" in judged((10, 20), (10, 116))
    assert "turned or flipped" in judged((120, 150), turn=90)
    assert "2 said to be placed" in judged((10, 20), placed=2)


# --- the shared benchmarks -----------------------------------------------------------------------------------------------

SOME = ["strip/shapes0", "jigsaw/TC002", "planted/cuff-12-*", "offcuts/offcut-03-*", "bins/bin-8-mixed"]


def run(*words: str | Path) -> str:
    """What a Python program says on standard output."""
    ran = subprocess.run([sys.executable, *map(str, words)], capture_output=True, text=True, check=False)
    assert ran.returncode < 2, ran.stderr  # 1: not legal, which is for whoever asked to judge
    return ran.stdout


def verified(case_file: Path, result_file: Path) -> dict[str, Any]:
    """What `verify.py` says of a lay."""
    said: dict[str, Any] = json.loads(run(BENCHMARKS / "verify.py", case_file, result_file))
    return said


def assert_good(path: Path, said: dict[str, Any]) -> None:
    assert said["legal"], said.get("why")
    of = json.loads(path.read_text(encoding="utf-8"))
    if "strip" in of:
        assert said["complete"]
    else:
        assert said["placed"] >= copies_in_rows(of)


@pytest.mark.parametrize("pattern", SOME)
def test_some_benchmarks_have_legal_lays(benchmarks: Path, pattern: str, tmp_path: Path) -> None:
    path = next(benchmarks.glob(f"{pattern}.json"))
    out = tmp_path / "result.json"
    out.write_text(json.dumps(solved(json.loads(path.read_text(encoding="utf-8")))), encoding="utf-8")
    assert_good(path, verified(path, out))


def solved_by_command(path: Path, folder: Path) -> dict[str, Any]:
    out = folder / "result.json"
    run("-m", "nesting", "solve", path, "--seconds", "3", "--seed", "7", "--workers", "1", "--out", out)
    return verified(path, out)


Answers = dict[Path, Future[dict[str, Any]]]


@pytest.fixture(scope="module")
def two_at_a_time(
    benchmarks: Path, request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Answers]:
    """Lays of the benchmarks that were asked for, being made as anyone would make them."""
    asked = [
        item for item in request.session.items if isinstance(item, pytest.Function) and "two_at_a_time" in item.fixturenames
    ]
    with ThreadPoolExecutor(2) as pool:
        paths = [item.callspec.params["path"] for item in asked]
        yield {path: pool.submit(solved_by_command, path, tmp_path_factory.mktemp(path.stem)) for path in paths}


@pytest.mark.slow
@pytest.mark.parametrize("path", sorted(BENCHMARKS.glob("*/*.json")) or [BENCHMARKS / "absent"], ids=lambda path: path.stem)
def test_every_benchmark_has_a_legal_lay(path: Path, two_at_a_time: Answers) -> None:
    assert_good(path, two_at_a_time[path].result())
