"""Every example in a docstring runs and says what it shows."""

from __future__ import annotations

import doctest
import importlib
from pathlib import Path

import pytest

from tests.test_floors import modules


def with_examples() -> list[str]:
    project = Path(__file__).resolve().parent.parent
    shown = [path for path in modules("nesting", "stash", "cli") if ">>> " in (project / path).read_text(encoding="utf-8")]
    return [".".join(path.with_suffix("").parts).removesuffix(".__init__") for path in shown]


@pytest.mark.parametrize("name", with_examples())
def test_examples_run(name: str) -> None:
    outcome = doctest.testmod(importlib.import_module(name), optionflags=doctest.ELLIPSIS)
    assert outcome.attempted
    assert not outcome.failed
