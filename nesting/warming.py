"""Compiled code made ready before the clock runs: the first search on a machine compiles the kernels, which is kept."""

from __future__ import annotations

from typing import Any

import numpy as np

from .filling import CORNERS, Filler, best_corner
from .forms import Case, Panel, Sheet
from .instance import Instance
from .packing import Packing
from .separation import separate

_warm = False


def kernels_are_kept() -> bool:
    """Whether the kernels were compiled on this machine before, as far as can be told: if not, `make_ready` takes a while."""
    if _warm:
        return True
    try:
        return all(_kept(k) for k in (separate, best_corner))
    except Exception:  # numba's own affair, which may change: then it is only not said beforehand
        return False


def _kept(kernel: Any) -> bool:
    return bool(kernel._cache._cache_file._load_index())


def make_ready() -> None:
    """Compile the kernels, or load what was compiled before (a third of a second)."""
    global _warm
    if _warm:
        return
    triangle = ((0.0, 0.0), (9.0, 0.0), (0.0, 8.0))
    sheet = Sheet("s", ((0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (25.0, 40.0), (0.0, 30.0)))
    instance = Instance(Case((Panel("p", triangle, 3),), (sheet,)))
    tables = instance.tables([sheet])
    steps = Filler(tables, instance.of_panel, np.ones(1), instance.touch).fill([2], [0], CORNERS[0], [])
    Packing(instance, tables, steps[:1], [], [0], 1).advance(10.0)
    _warm = True
