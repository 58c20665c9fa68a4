"""The engine's own command: exit statuses, streams, files; with a stand-in for the search, which has tests of its own."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import nesting
from nesting import Case, Placement, Result, case_to_json, examine, read_case, read_result, sheet_cost
from nesting.__main__ import main
from tests.zoo import NOT_JSON, SPOILED, Spoiled, plain_case

GORE = {"id": "gore", "outline": [[0, 0], [200, 10], [200, 70], [0, 80]], "copies": 2}
PLAIN = {"form": "fent-case/1", "sheets": [{"id": "s", "outline": [[0, 0], [500, 0], [500, 100], [0, 100]]}], "panels": [GORE]}


def stand_in(case: Case, **asked: Any) -> Result:
    """A search that lays the first panel once on the first sheet, then twice."""
    sheet, panel = case.sheets[0], case.panels[0]
    places = (Placement(sheet.id, panel.id, 0.0, 0.0), Placement(sheet.id, panel.id, 250.0, 0.0))
    for count in (1, 2):
        result = Result(
            places[:count],
            placed=count,
            bound=2,
            proved=count == 2,
            complete=count == 2,
            cost=sheet_cost(sheet),
            rounds=asked["rounds"] or 1,
            seed=asked["seed"],
            seconds=asked["seconds"],
        )
        if asked["on_better"]:
            asked["on_better"](result)
    return result


@pytest.fixture
def case_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(nesting, "solve", stand_in)
    path = tmp_path / "case.json"
    path.write_text(json.dumps(PLAIN))
    return path


def run(*argv: object) -> int:
    try:
        return main([str(each) for each in argv])
    except SystemExit as left:
        return int(str(left.code))


# --- solve ------------------------------------------------------------------------------------------------------------------


def test_solve_writes_a_result_that_passes_the_check(case_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = case_file.with_name("result.json")
    assert run("solve", case_file, "--seconds", "0.5", "--rounds", 3, "--seed", 7, "--workers", 2, "--out", out) == 0
    said = capsys.readouterr()
    assert said.out == ""
    assert "1 of 2 placed on 1 of 1 sheets" in said.err
    result = read_result(out.read_bytes())
    assert (result.seed, result.rounds, result.placed) == (7, 3, 2)
    assert examine(read_case(PLAIN), result).legal
    assert run("check", case_file, out) == 0
    assert "legal: 2 of 2 placed" in capsys.readouterr().out


def test_without_out_the_result_goes_to_standard_output(case_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("solve", case_file) == 0
    assert read_result(capsys.readouterr().out).placed == 2


def test_a_result_of_before_is_replaced_whole(case_file: Path) -> None:
    out = case_file.with_name("result.json")
    assert run("solve", case_file, "--out", out, "--seed", 1) == 0
    assert run("solve", case_file, "--out", out, "--seed", 2) == 0
    assert read_result(out.read_bytes()).seed == 2
    assert sorted(path.name for path in case_file.parent.iterdir()) == ["case.json", "result.json"]
    assert out.stat().st_mode & 0o777 == case_file.stat().st_mode & 0o777


@pytest.mark.parametrize(
    "content", ["", "a seamstress's letter", "[]", '{"form": "fent-case/1"}', '{"placements": []}', "[" * 100_000]
)
def test_nothing_else_is_written_over(case_file: Path, content: str, capsys: pytest.CaptureFixture[str]) -> None:
    out = case_file.with_name("letter.txt")
    out.write_text(content)
    assert run("solve", case_file, "--out", out) == 2
    assert out.read_text() == content
    assert "not overwritten" in capsys.readouterr().err


def test_nor_the_case_itself(case_file: Path) -> None:
    assert run("solve", case_file, "--out", case_file) == 2
    assert json.loads(case_file.read_text()) == PLAIN


def test_an_out_that_cannot_be_is_refused_before_the_search(
    case_file: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(nesting, "solve", lambda *_, **__: pytest.fail("searched all the same"))
    assert run("solve", case_file, "--out", case_file.parent) == 2
    assert "is a folder" in capsys.readouterr().err
    assert run("solve", case_file, "--out", case_file.parent / "no" / "result.json") == 2
    assert "is no folder" in capsys.readouterr().err


@pytest.mark.parametrize(
    "argv",
    [
        [],
        ["solve"],
        ["lay", "case.json"],
        ["solve", "case.json", "--seconds", "0"],
        ["solve", "case.json", "--seconds", "nan"],
        ["solve", "case.json", "--seconds", "-3"],
        ["solve", "case.json", "--seconds", "soon"],
        ["solve", "case.json", "--rounds", "-1"],
        ["solve", "case.json", "--rounds", "1.5"],
        ["solve", "case.json", "--workers", "0"],
        ["solve", "case.json", "--workers", "²"],
        ["solve", "case.json", "--seed", "-1"],
        ["solve", "case.json", "--seed", "9" * 30],
        ["solve", "case.json", "--quickly"],
        ["check", "case.json"],
    ],
)
def test_wrong_words_on_the_command_line(argv: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(*argv) == 2
    said = capsys.readouterr()
    assert (said.out, "usage:" in said.err) == ("", True)


@pytest.mark.parametrize("command", ["solve", "check"])
def test_a_case_that_is_not_there(command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "none.json"
    assert run(command, path, *([path] if command == "check" else [])) == 2
    assert capsys.readouterr().err == f"{path} cannot be read: No such file or directory\n"


@pytest.mark.parametrize("spoiled", SPOILED[::4], ids=lambda s: ".".join(map(str, s.path)))
def test_a_case_that_is_wrong(spoiled: Spoiled, case_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    case_file.write_text(json.dumps(spoiled.data()))
    out = case_file.with_name("result.json")
    assert run("solve", case_file, "--out", out) == 2
    said = capsys.readouterr().err
    assert said.startswith(f"{case_file}: ")
    assert "Traceback" not in said
    assert not out.exists()


@pytest.mark.parametrize("text", [text for text, _ in NOT_JSON.values()], ids=NOT_JSON)
def test_a_file_that_is_no_case(text: str | bytes, case_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    case_file.write_bytes(text.encode() if isinstance(text, str) else text)
    assert run("solve", case_file) == 2
    assert "Traceback" not in capsys.readouterr().err


def test_a_slip_is_told_on_standard_error(case_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    case_file.write_text(json.dumps(PLAIN | {"panels": [GORE | {"off_grian": 2}]}))
    assert run("solve", case_file) == 0
    assert "panels[0].off_grian: is not a field of a panel and is ignored; is 'off_grain' meant?" in capsys.readouterr().err


def test_a_fault_of_the_program_leaves_a_log(
    case_file: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    def broken(*_: object, **__: object) -> Result:
        raise ZeroDivisionError("in the middle of it")

    monkeypatch.setattr(nesting, "solve", broken)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    assert run("solve", case_file) == 3
    said = capsys.readouterr().err
    assert "Traceback" not in said
    log = Path(said.split("its log: ")[1].strip())
    assert "in the middle of it" in log.read_text()


# --- interruption -----------------------------------------------------------------------------------------------------------


def interrupted(body: str, case_file: Path, out: Path, signals: list[int]) -> tuple[int, str]:
    """Run the command in a process of its own with a search of that body, and send it the signals once it has begun."""
    code = f"""
import sys, time, nesting
from nesting import Placement, Result
from nesting.__main__ import main
def solve(case, *, on_better, stop, **asked):
    best = Result((Placement("s", "gore", 0.0, 0.0),), placed=1)
{body}
nesting.solve = solve
sys.exit(main(sys.argv[1:]))
"""
    process = subprocess.Popen(
        [sys.executable, "-c", code, "solve", str(case_file), "--out", str(out)],
        stderr=subprocess.PIPE,
        text=True,
        cwd=Path(nesting.__file__).parent.parent,
    )
    assert process.stderr is not None
    said = process.stderr.readline()  # it has begun
    for number in signals:
        os.kill(process.pid, number)
        said += process.stderr.readline()
    rest = process.communicate(timeout=60)[1]
    return process.returncode, said + rest


GENTLE = """
    on_better(best)
    while not stop():
        time.sleep(0.01)
    return best
"""
DEAF = """
    on_better(best)
    while True:
        time.sleep(0.01)
"""
NOTHING_YET = """
    print("looking", file=sys.stderr, flush=True)
    while True:
        time.sleep(0.01)
"""


@pytest.mark.parametrize(
    ("body", "signals"), [(GENTLE, [signal.SIGINT]), (GENTLE, [signal.SIGTERM]), (DEAF, [signal.SIGINT, signal.SIGINT])]
)
def test_interrupted_the_best_so_far_is_written(body: str, signals: list[int], case_file: Path) -> None:
    out = case_file.with_name("result.json")
    status, said = interrupted(body, case_file, out, signals)
    assert status == 130, said
    assert read_result(out.read_bytes()).placed == 1
    assert "best so far" in said
    assert "Traceback" not in said


def test_interrupted_before_there_is_a_lay_nothing_is_written(case_file: Path) -> None:
    out = case_file.with_name("result.json")
    status, said = interrupted(NOTHING_YET, case_file, out, [signal.SIGINT, signal.SIGINT])
    assert status == 130
    assert not out.exists()
    assert "Traceback" not in said


# --- check ------------------------------------------------------------------------------------------------------------------


@pytest.fixture
def check(case_file: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    """Check placements on the plain case: (exit status, output, words)."""

    def checked(placements: list[dict[str, Any]], *options: str, **claims: Any) -> tuple[int, str, str]:
        path = case_file.with_name("result.json")
        data = {"form": "fent-result/1", "placements": placements, "placed": len(placements)} | claims
        path.write_text(json.dumps(data))
        status = run("check", case_file, path, *options)
        said = capsys.readouterr()
        return status, said.out, said.err

    return checked


def test_check_tells_all_faults_and_the_narrowest_places(check: Callable[..., tuple[int, str, str]]) -> None:
    one, two = ({"sheet": "s", "panel": "gore", "x": x, "y": y} for x, y in ((10, 0), (310, -10)))
    status, out, err = check([one, two], complete=True)
    assert (status, err) == (1, "")
    assert "s, panel 2: sticks out of the cloth by" in out
    assert "s: narrowest gap 100.000 mm, panel 1 to panel 2 at (210.0" in out
    assert out.splitlines()[-1] == "not legal: 2 of 2 placed"


def test_check_as_json(check: Callable[..., tuple[int, str, str]]) -> None:
    status, out, _ = check([{"sheet": "s", "panel": "gore", "x": 30, "y": 10}], "--json")
    found = json.loads(out)
    assert (status, found["legal"], found["complete"], found["placed"]) == (0, True, False, 1)
    assert found["sheets"][0]["edge"]["distance"] == 10
    status, out, _ = check([{"sheet": "s", "panel": "gore", "x": 30, "y": 60}], "--json")
    assert (status, json.loads(out)["faults"][0]["panels"]) == (1, [1])


def test_check_of_what_is_no_result(check: Callable[..., tuple[int, str, str]]) -> None:
    status, out, err = check([{"sheet": "s", "panel": "gore", "x": 30}])
    assert (status, out) == (2, "")
    assert "placements[0]: 'y' is missing" in err


def test_the_module_runs(case_file: Path) -> None:
    """As a person would start it, with nothing replaced."""
    command = [sys.executable, "-m", "nesting", "check", str(case_file), str(case_file)]
    ran = subprocess.run(command, capture_output=True, text=True, check=False)
    assert ran.returncode == 2
    assert 'form: is "fent-case/1": expected "fent-result/1"' in ran.stderr


def test_a_whole_case_goes_through_the_door(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Everything that a case can say reaches the search unchanged."""
    seen: list[Case] = []

    def look(case: Case, **_: object) -> Result:
        seen.append(case)
        return Result()

    monkeypatch.setattr(nesting, "solve", look)
    path = tmp_path / "case.json"
    path.write_text(json.dumps(plain_case()))
    assert run("solve", path, "--out", tmp_path / "result.json") == 0
    assert case_to_json(seen[0]) == case_to_json(read_case(plain_case()))
