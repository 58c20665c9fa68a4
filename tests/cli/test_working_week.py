"""The working week, in a real terminal with the real search: it can be done from the help alone, in few keystrokes."""

from __future__ import annotations

import json
import shutil
import statistics
from pathlib import Path

import pytest

from ..conftest import TMUX_ABSENT
from .conftest import Type
from .working_week import BITTEN, KEYS_A_SECOND, ROUGH, live_through_it, table

START = 1.0  # s that a command may take to start, over all its questions, on a machine that has nothing else to do


@pytest.mark.slow
@pytest.mark.skipif(not shutil.which("tmux"), reason=TMUX_ABSENT)
def test_a_working_week(fent: Type, tmp_path: Path) -> None:
    took = live_through_it(tmp_path)
    stash = str(tmp_path / "week.fent")
    assert "sum to exactly zero" in fent("book", "balance", "--workroom", stash).data
    found = json.loads(fent("bin", "list", "--all", "--json", "--workroom", stash).data)
    assert sum(1 for each in found if each["parent"] is None) == 12
    assert [each["tag"] for each in found if each["quarantine"]] == ["E-2"]
    jobs = json.loads(fent("job", "list", "--json", "--workroom", stash).data)
    assert all(piece["missing"] == 0 for job in jobs for piece in job["pieces"])
    assert "spoiled" in "".join(each.seen for each in took)
    assert "is in the envelope NE-1" in "".join(each.seen for each in took)
    for kind, most in ((ROUGH, 20.0), (BITTEN, 60.0)):
        assert statistics.median(each.keys for each in took if each.task.kind == kind) / KEYS_A_SECOND + START < most
    assert table(took).count("\n") == len(took) + 7
