"""Sheets: one more panel goes in than lies there, and the lay is eased apart until it holds it."""

from __future__ import annotations

import numpy as np

from .easing import FREE, MANNER, RUNNING, Easing, Manner
from .fields import Table
from .filling import Step
from .instance import Instance
from .rooms import Rooms
from .strain import Shapes

Tables = tuple[Table, Shapes, Rooms]


class Packing:
    """One worker's search for a lay of given panels on given sheets, starting from what is laid already.

    `wanted`: the panels, one entry for each piece. Done when `found` is a lay of all of them that overlaps nowhere.
    """

    def __init__(
        self, instance: Instance, tables: Tables, laid: list[Step], held: list[Step], more: list[int], seed: int,
        manner: Manner = MANNER,
    ) -> None:  # fmt: skip
        panels = [instance.shapes[s].panel for s, *_ in [*held, *laid]] + more
        self.easing = Easing(instance, tables, panels, seed)
        self.manner = manner
        self.found: list[Step] | None = None
        self.stalls = 0
        for i, step in enumerate(held):
            self.easing.hold(i, step)
        self.held = len(held)
        for i, step in enumerate(laid):
            self.easing.put(self.held + i, step)
        for i in range(self.held + len(laid), len(panels)):
            self.easing.lay.sheet[i] = -1  # nowhere yet: strains nothing
        for i in range(self.held + len(laid), len(panels)):
            self.easing.drop_in(i)
        self.easing.restart()

    def advance(self, budget: float) -> None:
        """Search for `budget` evaluations more, or until all lie free."""
        e = self.easing
        until = e.spent + budget
        while self.found is None and e.spent < until:
            before = e.spent
            state = e.ease(until - before, self.manner)
            if state == FREE:
                self.found = e.steps()[self.held :]
            elif state != RUNNING:
                self.stalls += 1
                self._disturb()
            if e.spent == before:
                e.strain.tally[2] += 1000.0  # a turn without evaluations still takes time

    def strained_sheets(self) -> set[int]:
        """Sheets on which the best lay so far still overlaps."""
        e = self.easing
        e.back_to_least()
        e.restart()
        over = np.flatnonzero((e.strain.depth > e.instance.touch).any(axis=1))
        return {int(h) for h in e.lay.sheet[over]}

    def _disturb(self) -> None:
        """From the least strained lay, drop some panels in anew: those that overlap, and one more."""
        e = self.easing
        e.back_to_least()
        e.restart()
        free = np.flatnonzero(e.lay.moves)
        over = [int(i) for i in free if (e.strain.depth[i] > e.instance.touch).any()]
        chosen = {e.choose(over or list(map(int, free)))}
        for _ in range(1 + self.stalls % 3):
            chosen.add(e.choose(list(map(int, free))))
        for i in sorted(chosen):
            e.drop_in(i, 20)
        e.restart()
