"""What every test has round it: no workroom of the person's own, hypothesis without chance, and a watch on skips."""

from __future__ import annotations

import os
import shutil
from collections.abc import Generator, Iterator
from pathlib import Path
from typing import TypeVar

import pytest
from hypothesis import HealthCheck, settings

Report = TypeVar("Report", pytest.TestReport, pytest.CollectReport)

PROJECT = Path(__file__).resolve().parent.parent
BENCHMARKS = PROJECT.parent / "shared" / "benchmarks"
BENCHMARKS_ABSENT = "the shared benchmarks are not beside the project (../shared/benchmarks)"
TMUX_ABSENT = "there is no tmux, in which the working week is typed (Debian and its like: apt-get install tmux)"

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
    """In CI a skipped test is a failed one, unless its reason is one that this machine cannot help.

    A test that is always skipped is a check that cannot fail. Outside CI skips are only shown, as pytest does.
    """

    def __init__(self, expected: frozenset[str]) -> None:
        self.expected = expected

    def looked_at(self, report: Report) -> Report:
        if report.skipped and not hasattr(report, "wasxfail"):
            reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else str(report.longrepr)
            if reason.removeprefix("Skipped: ") not in self.expected:
                report.outcome = "failed"
                report.longrepr = f"skipped in CI, where nothing should be but for {sorted(self.expected)}: {reason}"
        return report

    @pytest.hookimpl(wrapper=True, tryfirst=True)
    def pytest_runtest_makereport(self) -> Generator[None, pytest.TestReport, pytest.TestReport]:
        return self.looked_at((yield))

    @pytest.hookimpl(wrapper=True, tryfirst=True)
    def pytest_make_collect_report(self) -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
        return self.looked_at((yield))


def pytest_configure(config: pytest.Config) -> None:
    if os.environ.get("CI"):
        absent = {BENCHMARKS_ABSENT: not BENCHMARKS.is_dir(), TMUX_ABSENT: not shutil.which("tmux")}
        expected = frozenset(reason for reason, is_so in absent.items() if is_so)
        config.pluginmanager.register(SkipWatch(expected), "fent-skip-watch")
