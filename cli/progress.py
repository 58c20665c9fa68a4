"""What is seen on standard error while the search works, and how it is stopped by hand."""

from __future__ import annotations

import signal
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType, TracebackType
from typing import TYPE_CHECKING, Self

from .saying import many

if TYPE_CHECKING:
    from nesting import Result
    from stash.asking import Asked


ERASED = "\r\x1b[K"  # back to the line's beginning, and the line wiped
FIRST_TIME = "This is the first search on this computer: it is made ready for it first, which takes half a minute or so."


NEWS_EVERY = 0.5  # s between two looks at the clock on the line that moves


class Progress:
    """Says what is being looked for, and each better lay as it comes; at a terminal a line that moves says that it goes on."""

    def __init__(self, asked: Asked, seconds: float, *, moving: bool) -> None:
        self.wanted = sum(panel.copies for panel in asked.case.panels)
        self.remnants = len(asked.case.sheets)
        self.seconds = seconds
        self.moving = moving
        self.started = self.moved = time.monotonic()
        self.said = ""

    def __enter__(self) -> Self:
        remnants = many(self.remnants, "remnant")
        print(f"Looking for {many(self.wanted, 'panel')} in {remnants}, for up to {self.seconds:g} s.", file=sys.stderr)
        from nesting import kernels_are_kept

        if not kernels_are_kept():
            print(FIRST_TIME, file=sys.stderr)
        print("Ctrl-C stops it and shows the best so far.", file=sys.stderr)
        return self

    def better(self, result: Result) -> None:
        """Called by the engine with each better lay."""
        used = many(len({placement.sheet for placement in result.placements}), "remnant")
        after = time.monotonic() - self.started
        said = f"{result.placed} of {many(self.wanted, 'panel')}, from {used}"
        if said != self.said:  # a better lay of the same remnants is not news
            print(f"{ERASED if self.moving else ''}  after {after:3.0f} s: {said}", file=sys.stderr)
        self.said = said

    def goes_on(self) -> None:
        """Called a few times a second while the search works."""
        now = time.monotonic()
        if self.moving and now - self.moved >= NEWS_EVERY:
            self.moved = now
            so_far = f"{self.said or 'nothing yet'}; {now - self.started:.0f} s of {self.seconds:g}"
            print(f"{ERASED}  {so_far}", end="", flush=True, file=sys.stderr)

    def __exit__(self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None) -> None:
        if self.moving:
            print(ERASED, end="", flush=True, file=sys.stderr)


@contextmanager
def stopped_by_hand() -> Iterator[Callable[[], bool]]:
    """Turn the first Ctrl-C into an answer to "stop?", so that the best so far is kept; a second one interrupts as usual."""
    pressed = False

    def press(number: int, frame: FrameType | None) -> None:
        nonlocal pressed
        if pressed:
            raise KeyboardInterrupt
        pressed = True
        print("Stopping …", file=sys.stderr)

    before = signal.signal(signal.SIGINT, press)
    try:
        yield lambda: pressed
    finally:
        signal.signal(signal.SIGINT, before)
