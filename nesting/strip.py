"""Strips: all panels in the least length. Shorten, ease apart, go back.

A length is tried by chains. The links of a chain are runs of the easing, each from the least strained lay of the one before
and with its weights forgotten, as long as that helps. Then some panels change places, and another chain begins from one of the
less strained lays that chains ended with; after a few chains a smaller step is taken from the best lay. Small steps find what
little is left in an arrangement; since only another arrangement takes more away, larger steps are then tried again.
"""

from __future__ import annotations

import numpy as np

from .easing import FREE, RUNNING, Easing, Manner
from .filling import Filler, Step
from .forms import Sheet
from .instance import Instance
from .rooms import Rooms

SHORTEN = 0.01
"""The first share by which a lay is shortened; halved after chains in vain, half as much again where the first succeeds."""
AGAIN = 0.005
"""The share tried again when a smaller one than the finest would be due."""
FINEST = 0.0006
"""The least share."""
PATIENT = Manner(patience=300)
"""A strip that stalls is borne with longer than a sheet with one panel too many."""
CHAINS = 4
"""How many chains a length is given until a smaller step is taken."""
BETTER = 0.95
"""A chain goes on while each of its links takes the strain below this share of what it was."""
LIKE = 2.5
"""Panels are of like size when neither has this many times the area of the other."""
KEPT = 12
"""Of the lays that chains ended with, how many are kept to begin others from."""


class StripSearch:
    """One worker's search for a short lay."""

    def __init__(self, instance: Instance, seed: int) -> None:
        case = instance.case
        assert case.strip is not None
        self.instance, self.width = instance, case.strip.width
        panels = [k for k, p in enumerate(case.panels) for _ in range(p.copies)]
        whole = sum(2 * float(instance.half[list(instance.of_panel[k]), 0].max()) for k in panels)
        self.longest = whole + case.gap * len(panels) + 1.0
        tables = instance.tables([_strip_as_sheet(self.longest, self.width)])
        self.easing = Easing(instance, tables, panels, seed)
        self._narrow_rooms()
        self.best: list[Step] = self._fill(tables)
        self.length = self._extent(self.best)
        self.share = SHORTEN
        self.chains = 0
        self._strain = np.inf
        self._link: list[Step] = self.best
        self._ends: list[tuple[float, list[Step]]] = []
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
            assert missing  # a strip that is long enough holds whatever is not too wide
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
        self._shorten_anew()

    def advance(self, budget: float) -> None:
        """Search for `budget` evaluations more."""
        until = self.easing.spent + budget
        while self.easing.spent < until:
            before = self.easing.spent
            state = self.easing.ease(until - self.easing.spent, PATIENT)
            if state == FREE:
                steps = self.easing.steps()
                length = self._extent(steps)
                if length < self.length:
                    self.best, self.length = steps, length
                if self.chains == 0:
                    self.share = min(SHORTEN, self.share * 1.5)
                self._shorten_anew()
            elif state != RUNNING:
                self._go_on()
            if self.easing.spent == before and state != RUNNING:
                self.easing.strain.tally[2] += 1000.0  # a turn without evaluations still takes time

    def _shorten_anew(self) -> None:
        """From the best lay, its first chain."""
        self.chains, self._strain, self._ends = 0, np.inf, []
        self._shorten(self.best, self.length)

    def _go_on(self) -> None:
        """After a stall: the next link of the chain, or another chain, or a smaller step."""
        e = self.easing
        strain = e.back_to_least()
        if strain < BETTER * self._strain:  # weights forgotten, the same lay often eases further
            self._strain, self._link = strain, e.steps()
            e.restart()
            return
        self._ends = sorted([*self._ends, (self._strain, self._link)], key=lambda end: end[0])[:KEPT]
        self.chains += 1
        self._strain = np.inf
        if self.chains % CHAINS == 0:
            self.share = self.share * 0.5 if self.share >= 2 * FINEST else AGAIN
            self._ends = []
            self._shorten(self.best, self.length)
            return
        _, steps = self._ends[int(len(self._ends) * e.random() ** 2)]
        for i, step in enumerate(steps):
            e.put(i, step)
        self._disturb()

    def _disturb(self) -> None:
        """Put the lay out of order, in one of four ways."""
        e = self.easing
        ways = (self._exchange_large, self._exchange_alike, self._begin_elsewhere, self._jostle)
        ways[int(e.random() * len(ways))]()
        e.keep_in()
        e.restart()

    def _exchange_large(self) -> None:
        """Two different panels among the larger ones."""
        size = self.instance.half[self.easing.lay.shape].prod(axis=1)
        large = np.argsort(-size, kind="stable")[: max(2, len(size) // 3)].tolist()
        self._exchange(self.easing.choose(large), large)

    def _exchange_alike(self) -> None:
        """Two different panels of like size."""
        area = self.instance.areas[self.easing.panels]
        first = int(self.easing.random() * len(area))
        self._exchange(first, np.flatnonzero((area > area[first] / LIKE) & (area < area[first] * LIKE)).tolist())

    def _exchange(self, one: int, among: list[int]) -> None:
        """One with another that is no copy of it: of those named, or else of all; where all are copies, some jump."""
        e = self.easing
        others = [k for k in among if e.panels[k] != e.panels[one]]
        others = others or [k for k in range(len(e.panels)) if e.panels[k] != e.panels[one]]
        if not others:
            self._jostle()
            return
        other = e.choose(others)
        e.lay.at[[one, other]] = e.lay.at[[other, one]]

    def _begin_elsewhere(self) -> None:
        """Cut the strip across and put its first part behind its last: the ragged end comes into the middle."""
        e = self.easing
        half = self.instance.half[e.lay.shape, 0]
        length = self.length * (1 - self.share)
        cut = e.random() * length
        low = e.lay.at[:, 0] - half
        e.lay.at[:, 0] = np.where(low < cut, low + length - cut, low - cut) + half

    def _jostle(self) -> None:
        """All panels round one of them jump a little."""
        e = self.easing
        half = self.instance.half[e.lay.shape].mean(axis=1)
        chosen = int(e.random() * len(half))
        middle, reach = e.lay.at[chosen].copy(), 2.0 * half[chosen]
        for i in np.flatnonzero(np.abs(e.lay.at - middle).max(axis=1) < reach + half):
            e.lay.at[i] = middle + (np.array([e.random(), e.random()]) - 0.5) * 2 * reach


def _strip_as_sheet(length: float, width: float) -> Sheet:
    return Sheet("strip", ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width)))
