"""The watch on skips in `tests/conftest.py`, tried on small test files of its own."""

from __future__ import annotations

from pathlib import Path

import pytest

CONFTEST = Path(__file__).with_name("conftest.py").read_text(encoding="utf-8")
RUNS = "\ndef test_that_runs():\n    pass\n"

CASES = {
    "in_a_test": ("import pytest\ndef test_a():\n    pytest.skip('no reason')", True),
    "by_a_mark": ("import pytest\n@pytest.mark.skip(reason='later')\ndef test_a():\n    pass", True),
    "a_whole_module": ("import pytest\npytest.importorskip('no_such_library_anywhere')", True),
    "benchmarks_absent": ("def test_a(benchmarks):\n    pass", False),
    "an_expected_failure": ("import pytest\n@pytest.mark.xfail\ndef test_a():\n    assert False", False),
    "nothing_skipped": ("", False),
}


@pytest.mark.parametrize("name", CASES)
def test_an_unexpected_skip_fails_in_ci(name: str, pytester: pytest.Pytester, monkeypatch: pytest.MonkeyPatch) -> None:
    text, unexpected = CASES[name]
    monkeypatch.setenv("CI", "true")
    pytester.makeconftest(CONFTEST)
    pytester.makepyfile(test_one=text + RUNS, test_two=RUNS)
    ran = pytester.runpytest_inprocess()
    assert (ran.ret != pytest.ExitCode.OK) == unexpected
    assert ("skipped in CI, where nothing should be" in ran.stdout.str()) == unexpected


def test_outside_ci_a_skip_is_only_shown(pytester: pytest.Pytester, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CI", raising=False)
    pytester.makeconftest(CONFTEST)
    pytester.makepyfile(CASES["in_a_test"][0])
    assert pytester.runpytest_inprocess().ret == pytest.ExitCode.OK
