"""What every test has round it: no workroom of the person's own, hypothesis without chance, and a watch on skips."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

PROJECT = Path(__file__).resolve().parent.parent
BENCHMARKS = PROJECT.parent / "shared" / "benchmarks"
BENCHMARKS_ABSENT = "the shared benchmarks are not beside the project (../shared/benchmarks)"

# One answer for one seed: examples are drawn from the test's name, not from chance. No deadline, since no test times anything.
settings.register_profile("fent", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("fent")


@pytest.fixture(scope="session")
def benchmarks() -> Path:
    """The folder of cases that lies outside the project; the test is skipped where it is absent."""
    if not BENCHMARKS.is_dir():
        pytest.skip(BENCHMARKS_ABSENT)
    return BENCHMARKS


@pytest.fixture(scope="session", autouse=True)
def _not_the_persons_workroom(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """No test may find or touch the stash of whoever runs it, nor open a window."""
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("FENT_WORKROOM", raising=False)
        for name in ("XDG_DATA_HOME", "XDG_STATE_HOME"):
            patch.setenv(name, str(tmp_path_factory.mktemp(name.lower())))
        patch.setenv("MPLBACKEND", "Agg")
        yield


class SkipWatch:
    """In CI a skipped test is a fault, unless its reason is one that this machine cannot help.

    A test that is always skipped is a check that cannot fail. Outside CI skips are only shown, as pytest does.
    """

    def __init__(self, expected: frozenset[str]) -> None:
        self.expected = expected
        self.unexpected: list[str] = []

    def note(self, report: pytest.TestReport | pytest.CollectReport) -> None:
        if not report.skipped or hasattr(report, "wasxfail"):
            return
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else str(report.longrepr)
        if reason.removeprefix("Skipped: ") not in self.expected:
            self.unexpected.append(f"{report.nodeid}: {reason}")

    pytest_runtest_logreport = note
    pytest_collectreport = note

    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        if self.unexpected:
            session.exitstatus = pytest.ExitCode.TESTS_FAILED

    def pytest_terminal_summary(self, terminalreporter: pytest.TerminalReporter) -> None:
        for line in self.unexpected:
            terminalreporter.write_line(f"SKIPPED IN CI, UNEXPECTED: {line}", red=True)


def pytest_configure(config: pytest.Config) -> None:
    if os.environ.get("CI"):
        expected = frozenset() if BENCHMARKS.is_dir() else frozenset({BENCHMARKS_ABSENT})
        config.pluginmanager.register(SkipWatch(expected), "fent-skip-watch")
