"""Strips: all panels in the least length. Shorten, ease apart, go back."""

from __future__ import annotations

import numpy as np

from .easing import FREE, RUNNING, Easing
from .filling import Filler, Step
from .forms import Sheet
from .instance import Instance
from .separation import Rooms

SHORTEN = 0.01
"""The first share by which a lay is shortened; halved where it fails, doubled where it succeeds."""
FINEST = 0.0002
"""The least share."""
TRIES = 8
"""How often a length is tried again, from the least strained lay of the try before, until a shorter step is taken instead."""


class StripSearch:
    """One worker's search for a short lay."""

    def __init__(self, instance: Instance, seed: int) -> None:
        case = instance.case
        assert case.strip is not None
        self.instance, self.width = instance, case.strip.width
        panels = [k for k, p in enumerate(case.panels) for _ in range(p.copies)]
        whole = sum(2 * float(instance.half[list(instance.of_panel[k]), 0].max()) for k in panels)
        self.longest = whole + 1.0
        tables = instance.tables([_strip_as_sheet(self.longest, self.width)])
        self.easing = Easing(instance, tables, panels, seed)
        self._narrow_rooms()
        self.best: list[Step] = self._fill(tables)
        self.length = self._extent(self.best)
        self.share = SHORTEN
        self.failures = 0
        self._shorten(self.best, self.length)

    def _narrow_rooms(self) -> None:
        """Rooms of the strip are boxes between exact lines; a panel as wide as the strip keeps a room without height."""
        half = self.instance.half
        rooms: Rooms = self.easing.rooms
        for s in range(len(half)):
            fits = half[s, 1] <= self.width / 2 + self.instance.lie
            rooms.region[0, s] = -2 if fits else -1
            rooms.box[0, s, 2:] = min(half[s, 1], self.width / 2), max(self.width - half[s, 1], self.width / 2)

    def _set_length(self, length: float) -> None:
        half = self.instance.half
        box = self.easing.rooms.box[0]
        box[:, 0] = half[:, 0]
        box[:, 1] = np.maximum(length - half[:, 0], half[:, 0])

    def _fill(self, tables: object) -> list[Step]:
        case, e = self.instance.case, self.easing
        self._set_length(self.longest)
        filler = Filler((e.t, e.shapes, e.rooms), self.instance.of_panel, self.instance.areas, self.instance.touch)
        steps = filler.fill([p.copies for p in case.panels], [0], (1.0, 0.02), [])
        if len(steps) < len(e.panels):
            missing = sorted({case.panels[k].id for k in range(len(case.panels)) if not self._may_lie(k)})
            raise ValueError(f"wider than the strip at every turn: {', '.join(missing)}")
        return self._in_order(steps)

    def _may_lie(self, k: int) -> bool:
        return any(self.easing.rooms.region[0, s] != -1 for s in self.instance.of_panel[k])

    def _in_order(self, steps: list[Step]) -> list[Step]:
        """Steps in the order of the easing's pieces."""
        waiting: dict[int, list[Step]] = {}
        for step in steps:
            waiting.setdefault(self.instance.shapes[step[0]].panel, []).append(step)
        return [waiting[k].pop() for k in self.easing.panels]

    def _extent(self, steps: list[Step]) -> float:
        half = self.instance.half
        return float(max(x + half[s, 0] for s, _, x, _ in steps) - min(x - half[s, 0] for s, _, x, _ in steps))

    def _shorten(self, steps: list[Step], length: float) -> None:
        """Lay the steps down in a strip shorter than `length` by the present share."""
        half = self.instance.half
        low = min(x - half[s, 0] for s, _, x, _ in steps)
        for i, (s, h, x, y) in enumerate(steps):
            self.easing.put(i, (s, h, x - low, y))
        self._set_length(length * (1 - self.share))
        self.easing.keep_in()
        self.easing.restart()

    def adopt(self, steps: list[Step], length: float) -> None:
        """Go on from another worker's lay."""
        self.best, self.length = list(steps), length
        self.failures = 0
        self._shorten(self.best, self.length)

    def advance(self, budget: float) -> None:
        """Search for `budget` evaluations more."""
        until = self.easing.spent + budget
        while self.easing.spent < until:
            before = self.easing.spent
            state = self.easing.ease(until - self.easing.spent)
            if state == FREE:
                steps = self.easing.steps()
                length = self._extent(steps)
                if length < self.length:
                    self.best, self.length = steps, length
                self.share = min(SHORTEN, self.share * 1.5)
                self.failures = 0
                self._shorten(self.best, self.length)
            elif state != RUNNING:
                self._retry()
            if self.easing.spent == before and state != RUNNING:
                self.easing.strain.tally[2] += 1000.0  # a turn without evaluations still takes time

    def _retry(self) -> None:
        self.failures += 1
        if self.failures % TRIES == 0:
            self.share = max(FINEST, self.share * 0.5)
            self._shorten(self.best, self.length)
        else:
            self.easing.back_to_least()
        self._disturb()

    def _disturb(self) -> None:
        """Exchange two panels among the larger ones."""
        e = self.easing
        size = self.instance.half[e.lay.shape].prod(axis=1)
        large = np.argsort(-size, kind="stable")[: max(2, len(size) // 3)].tolist()
        a, b = e.choose(large), e.choose(large)
        e.lay.at[[a, b]] = e.lay.at[[b, a]]
        e.keep_in()
        e.restart()


def _strip_as_sheet(length: float, width: float) -> Sheet:
    return Sheet("strip", ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width)))
