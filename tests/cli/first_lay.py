"""The real engine, content with the first complete lay: what the tests of whole jobs need of it, and no more."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from nesting import Case, Result
from nesting import solve as real_solve


def solve(
    case: Case, *, on_better: Callable[[Result], None] | None = None, stop: Callable[[], bool] | None = None, **more: Any
) -> Result:
    """As `nesting.solve`; it is told to stop once all panels are placed."""
    complete = False

    def better(result: Result) -> None:
        nonlocal complete
        complete = complete or result.complete
        if on_better is not None:
            on_better(result)

    return real_solve(case, on_better=better, stop=lambda: complete or (stop is not None and stop()), **more)
