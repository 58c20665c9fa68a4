"""A lay at work: panels on sheets, their strain, and the turns of the search between one kernel call and the next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .fields import Table
from .filling import Step, steps_of
from .instance import Instance
from .rooms import Rooms, anywhere, into_room, uniform
from .separation import measure, separate
from .strain import Shapes, empty_lay, empty_strain, strain_at

FREE, STALLED, RUNNING = 1, 2, 0
"""What `Easing.ease` answers: nothing overlaps; patience is out; the budget is spent, call again."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How the search is run: growth of the weights of overlapping pairs (least, most), fading of the others, and how many
    sweeps without the total falling are borne."""

    low: float = 1.03
    high: float = 1.20
    fade: float = 0.99
    patience: int = 200


MANNER = Manner()


class Easing:
    """Panels on sheets that may overlap, and the means to ease them apart. `panels`: of each piece, which panel it is."""

    def __init__(self, instance: Instance, tables: tuple[Table, Shapes, Rooms], panels: list[int], seed: int) -> None:
        self.instance, self.panels = instance, list(panels)
        self.t, self.shapes, self.rooms = tables
        self.rng = np.array([seed], dtype=np.uint64)
        kind = np.array([(instance.of_panel[k].start, instance.of_panel[k].stop) for k in panels], dtype=np.int64)
        self.lay = empty_lay(len(panels))
        self.lay.kind[:] = kind.reshape(-1, 2)
        self.strain = empty_strain(len(panels))

    # --- putting panels down ------------------------------------------------------------------------------------------

    def put(self, i: int, step: Step) -> None:
        s, h, x, y = step
        self.lay.shape[i], self.lay.sheet[i], self.lay.at[i] = s, h, (x, y)

    def hold(self, i: int, step: Step) -> None:
        """Put piece i down for good."""
        self.put(i, step)
        self.lay.moves[i] = False
        self.lay.kind[i] = (step[0], step[0] + 1)

    def drop_in(self, i: int, tries: int = 200) -> None:
        """Put piece i where, of `tries` random places, it strains least. If chance finds none, it stays where it is."""
        best, found = np.inf, None
        was = int(self.lay.sheet[i])
        self.lay.sheet[i] = -1
        for _ in range(tries):
            h = int(uniform(self.rng) * self.rooms.region.shape[0])
            s = int(self.lay.kind[i, 0] + int(uniform(self.rng) * (self.lay.kind[i, 1] - self.lay.kind[i, 0])))
            if self.rooms.region[h, s] == -1:
                continue
            x, y = anywhere(self.rooms, h, s, self.rng)
            value = strain_at(self.t, self.shapes, self.lay, self.strain.weight, i, s, h, x, y, best)
            if value < best:
                best, found = value, (s, h, x, y)
        if found is not None:
            self.put(i, found)
        elif was >= 0:
            self.lay.sheet[i] = was  # most of its turns have no room anywhere, and those that have one were not drawn
        else:
            raise ValueError(f"no sheet has room for panel {self.panels[i]}")

    def steps(self) -> list[Step]:
        return steps_of(self.lay)

    def keep_in(self) -> None:
        """Move every piece into its room (which may have become shorter)."""
        lay = self.lay
        for i in range(len(self.panels)):
            if lay.moves[i]:
                lay.at[i] = into_room(self.rooms, lay.sheet[i], lay.shape[i], lay.at[i, 0], lay.at[i, 1])

    # --- easing -------------------------------------------------------------------------------------------------------

    def restart(self) -> None:
        """Forget weights and the best lay, measure all depths."""
        self.strain.weight[:] = 1.0
        for i in range(len(self.panels)):
            measure(self.t, self.shapes, self.lay, self.strain.depth, i)
        self.strain.tally[:2] = np.inf, 0.0

    def ease(self, budget: float, manner: Manner = MANNER) -> int:
        touch = self.instance.touch
        return separate(
            self.t, self.shapes, self.rooms, self.lay, self.strain, self.rng, touch,
            manner.patience, budget, manner.low, manner.high, manner.fade,
        )  # fmt: skip

    @property
    def spent(self) -> float:
        return float(self.strain.tally[2])

    def back_to_least(self) -> float:
        """Back to the lay of least total depth since the last restart; returns that depth."""
        if np.isfinite(self.strain.tally[0]):
            self.lay.at[:] = self.strain.best_at
            self.lay.shape[:] = self.strain.best_shape
            self.lay.sheet[:] = self.strain.best_sheet
        return float(self.strain.tally[0])

    def random(self) -> float:
        return float(uniform(self.rng))

    def choose(self, among: Sequence[int]) -> int:
        return int(among[int(self.random() * len(among))])
