"""The one door to numba: `kernel` compiles a small, typed function to machine code, once, and lets go of the GIL."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from typing import TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., object])


def _cache_is_writable(folder: str) -> bool:
    """Numba keeps compiled code beside the source, or in NUMBA_CACHE_DIR, or in the user's cache folder."""
    for place in (os.environ.get("NUMBA_CACHE_DIR"), os.path.join(folder, "__pycache__"), os.path.expanduser("~/.cache")):
        if place is None:
            continue
        try:
            os.makedirs(place, exist_ok=True)
            with tempfile.TemporaryFile(dir=place):
                return True
        except OSError:
            continue
    return False


CACHED = _cache_is_writable(os.path.dirname(__file__))


def kernel(function: F) -> F:
    """Compile `function` with numba: nopython, GIL released, kept on disk where a folder can be written.

    Kernels take arrays and numbers, never objects; the state of the random generator is passed in.
    """
    return cast(F, numba.njit(cache=CACHED, nogil=True, error_model="numpy")(function))
