"""Sheets: which to lay on, a first lay at once, then more copies, then fewer or cheaper sheets.

A first lay comes from the constructive fill of the sheets that the chooser picks. While copies are missing, each worker
takes a sheet and tries to ease one more into it. When none is missing, each takes a choice of sheets that costs less than
the lay in hand, and tries to ease all copies into those together.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .agreeing import Agreement
from .choose import Chooser
from .clearances import cloth_of
from .filling import CORNERS, Filler, Step
from .forms import Panel, Placement
from .instance import NONE, Instance
from .offers import Choice, Counts, Offer
from .packing import Packing, Tables
from .settling import Settling
from .turns import may_be_turned

FIRST_HOPE = 0.8
"""What share of a sheet's area is hoped for before anything is laid; later it is what fills have reached."""
CHOOSING_EFFORT = 0.2
"""Deterministic seconds of CP-SAT for one choice."""
ROUNDING = 1e-6
"""By how much an area is taken larger where it is to prove something."""
MOST_TOGETHER = 40
"""The most sheets that one task eases panels about on."""
GIVE_UP = 3
"""How often a worker's task may stall before it takes another."""


@dataclass(slots=True)
class Task:
    """What a worker is at: easing `packing` on these sheets (numbers in the case), to one more copy or to a choice."""

    packing: Packing
    sheets: tuple[int, ...]
    choice: Choice | None
    together: bool = False


class SheetSearch:
    """The search over the sheets of a case, one round after another."""

    def __init__(self, instance: Instance, seed: int, workers: int, late: Callable[[], bool] = lambda: False) -> None:
        """`late`: whether the first lay has taken all the time there is; then it is not tried from the other corners."""
        case = instance.case
        self.instance, self.sheets, self.seed, self.late = instance, case.sheets, seed, late
        self.plies = [s.plies for s in case.sheets]
        self.area = [cloth_of(s).area for s in case.sheets]
        self.cost = [s.cost if s.cost is not None else a * s.plies for s, a in zip(case.sheets, self.area, strict=True)]
        self.held: dict[int, list[Step]] = {}
        for p in case.fixed:
            h = next(k for k, s in enumerate(case.sheets) if s.id == p.sheet)
            self.held.setdefault(h, []).append((instance.fixed_shape(p), h, *instance.middle_of(p)))
        self.wanted = [p.copies for p in case.panels]
        self._tables: dict[tuple[int, ...], Tables] = {}
        self._achieved: dict[int, list[Counts]] = {}
        self._failed: dict[int, list[Counts]] = {}
        self._fits = self._boxes_fit()
        self.tasks: list[Task | None] = [None] * workers
        self._serial = 0
        self._turn = 0
        self._asked = 0
        self._vain = 0
        self.no_cheaper = False
        self.laid: dict[int, list[Step]] = {}
        self._first_lay()
        self._agreement = Agreement(self)
        self._agreed = False

    # --- what a lay comes to ------------------------------------------------------------------------------------------

    def copies(self, laid: dict[int, list[Step]]) -> list[int]:
        """Copies of each panel, those held included."""
        made = [0] * len(self.wanted)
        for part in (self.held, laid):
            for h, steps in part.items():
                for s, *_ in steps:
                    made[self.instance.shapes[s].panel] += self.plies[h]
        return made

    def placed(self, laid: dict[int, list[Step]] | None = None) -> int:
        return sum(self.copies(self.laid if laid is None else laid))

    def total_cost(self, laid: dict[int, list[Step]] | None = None) -> float:
        laid = self.laid if laid is None else laid
        return float(sum(self.cost[h] for h in range(len(self.sheets)) if laid.get(h) or self.held.get(h)))

    @property
    def complete(self) -> bool:
        return self.placed() == sum(self.wanted)

    def placements(self) -> tuple[Placement, ...]:
        found = list(self.instance.case.fixed)
        for h in sorted(self.laid):
            found += [self.instance.placement(self.sheets[h].id, s, x, y) for s, _, x, y in self.laid[h]]
        return tuple(found)

    def _better(self, laid: dict[int, list[Step]]) -> bool:
        mine, other = self.placed(), self.placed(laid)
        return other > mine or (other == mine and self.total_cost(laid) < self.total_cost() * (1 - 1e-12))

    def settlings(self) -> dict[int, Settling]:
        """The lay of each sheet, to be settled."""
        found = {}
        for h, steps in sorted(self.laid.items()):
            held = [(s, 0, x, y) for s, _, x, y in self.held.get(h, [])]
            local = [(s, 0, x, y) for s, _, x, y in steps]
            found[h] = Settling(self.instance, self.sheets[h], self.tables((h,)), held, local, self._seed())
        return found

    # --- choosing -----------------------------------------------------------------------------------------------------

    def offers(self, hope: float, out: set[int]) -> list[Offer]:
        case = self.instance.case
        offers = []
        for h, sheet in enumerate(self.sheets):
            room = 0.0 if h in out else self.area[h]
            fits = [room > 0 and self._fits[h, k] for k in range(len(case.panels))]
            most = tuple(int(room / self.instance.areas[k]) if ok else 0 for k, ok in enumerate(fits))
            offers.append(Offer(sheet.id, sheet.plies, self.cost[h], most, room * hope))
        return offers

    def _boxes_fit(self) -> NDArray[np.bool_]:
        """Whether each panel's box fits in each sheet's at some turn that both allow: a quick look."""
        instance, case = self.instance, self.instance.case
        size = np.array([np.ptp(np.array(s.outline), axis=0) for s in self.sheets]) / 2 - case.edge + instance.lie
        fits = np.zeros((len(self.sheets), len(case.panels)), dtype=np.bool_)
        for k, panel in enumerate(case.panels):
            for s in instance.of_panel[k]:
                fits[:, k] |= (instance.half[s] <= size).all(axis=1) & self._allow(panel, instance.shapes[s].turn)
        return fits

    def _allow(self, panel: Panel, turn: float) -> NDArray[np.bool_]:
        on = None if panel.on is None else set(panel.on)
        ways = {s.turns: may_be_turned(turn, panel, s) for s in self.sheets}
        return np.array([(on is None or s.id in on) and ways[s.turns] for s in self.sheets], dtype=np.bool_)

    def chooser(self, demand: Sequence[int], hope: float, out: set[int], *, learnt: bool = True) -> Chooser:
        return self.chooser_of(demand, self.offers(hope, out), learnt=learnt)

    def chooser_of(self, demand: Sequence[int], offers: Sequence[Offer], *, learnt: bool = True) -> Chooser:
        chooser = Chooser(self.instance.areas.tolist(), list(demand), offers, seed=self.seed)
        if learnt:
            for h, several in self._achieved.items():
                for counts in several:
                    chooser.achieve(h, counts)
            for h, several in self._failed.items():
                for counts in several:
                    chooser.forbid(h, counts)
        return chooser

    def _hope(self) -> float:
        """The share of area that fills have reached, of those that were full."""
        best = {h: max(float(np.dot(c, self.instance.areas)) for c in several) for h, several in self._achieved.items()}
        ground = sum(self.area[h] for h in best)
        return float(np.clip(sum(best.values()) / ground, 0.3, 0.95)) if ground else FIRST_HOPE

    def most_by_area(self) -> int:
        """The most copies of those wanted that the areas allow, all sheets together: a bound, rounding allowed for."""
        chooser = self.chooser(self.wanted, 1 + ROUNDING, set(), learnt=False)
        return min(sum(self.wanted), chooser.most_copies(CHOOSING_EFFORT))

    # --- the first lay ------------------------------------------------------------------------------------------------

    def _first_lay(self) -> None:
        """Fill the sheets that are chosen, then what else it takes, until nothing more goes in."""
        left = [w - c for w, c in zip(self.wanted, self.copies({}), strict=True)]
        for h in self.held:
            left = self._fill_sheet(h, left)
        tried = set(self.held)
        choice = self.chooser(left, FIRST_HOPE, tried, learnt=False).choose(CHOOSING_EFFORT) if any(left) else None
        picks = sorted(choice.picks, key=lambda pick: -self.area[pick[0]]) if choice else []
        for h, counts in picks:  # what was chosen first: odd counts may fit no stack of several plies
            left = self._fill_sheet(h, left, counts)
        for h, _ in picks:
            left = self._fill_sheet(h, left)
        tried |= {h for h, _ in picks}
        while any(left) and len(tried) < len(self.sheets):
            h = self._next_sheet(left, tried)
            left = self._fill_sheet(h, left)
            tried.add(h)
        self.laid = {h: steps for h, steps in self.laid.items() if steps}
        alike = min(self.area) > 0.99 * max(self.area)
        if len(self.sheets) <= MOST_TOGETHER and (any(left) or alike):
            self._first_fit()

    def _first_fit(self) -> None:
        """All sheets in the order given, the largest panels first: better at times where many panels nearly fill a sheet."""
        numbers = tuple(range(len(self.sheets)))
        tables = self.tables(numbers)
        filler = Filler(tables, self.instance.of_panel, self.instance.areas, self.instance.touch)
        held = [step for steps in self.held.values() for step in steps]
        if any(plies > 1 for plies in self.plies):
            return  # the filler counts placements, not copies
        wanted = [w - c for w, c in zip(self.wanted, self.copies({}), strict=True)]
        for corner in CORNERS:
            laid: dict[int, list[Step]] = {}
            for step in filler.fill(wanted, list(numbers), corner, held):
                laid.setdefault(step[1], []).append(step)
            if self._better(laid):
                self.laid = laid
            if self.complete or self.late():
                return

    def _next_sheet(self, left: list[int], tried: set[int]) -> int:
        """The cheapest sheet that could hold all that is left or, if none could, the largest."""
        need = float(np.dot(left, self.instance.areas)) / self._hope()
        rest = [h for h in range(len(self.sheets)) if h not in tried]
        useful = [h for h in rest if self._fits[h][np.array(left) > 0].any()] or rest
        enough = [h for h in useful if self.area[h] * self.plies[h] >= need]
        return min(enough, key=lambda h: self.cost[h]) if enough else max(useful, key=lambda h: self.area[h] * self.plies[h])

    def _fill_sheet(self, h: int, left: list[int], counts: Counts | None = None) -> list[int]:
        """Lay on one sheet, besides what is there, as much of what is left (or of `counts`) as goes in; returns what is then
        left."""
        most = [n // self.plies[h] for n in left]
        if counts is not None:
            most = [min(n, m) for n, m in zip(counts, most, strict=True)]
        if not any(most):
            return left
        there = self.laid.get(h, [])
        more = self.best_fill(h, most, [*self.held.get(h, []), *there])
        self.laid[h] = there + more
        laid = self.counts(more)
        if any(n < m for n, m in zip(laid, most, strict=True)):
            self.note(h, self.counts(self.laid[h]))
        return [n - c * self.plies[h] for n, c in zip(left, laid, strict=True)]

    def best_fill(self, h: int, most: list[int], held: list[Step]) -> list[Step]:
        tables = self.tables((h,))
        region = tables[2].region
        for k, shapes in enumerate(self.instance.of_panel):
            self._fits[h, k] = any(region[0, s] != NONE for s in shapes)
        most = [n if self._fits[h, k] else 0 for k, n in enumerate(most)]
        filler = Filler(tables, self.instance.of_panel, self.instance.areas, self.instance.touch)
        local = [(s, 0, x, y) for s, _, x, y in held]
        best: list[Step] = []
        for corner in CORNERS:
            steps = filler.fill(most, [0], corner, local)
            if self._worth(steps) > self._worth(best):
                best = steps
            if len(best) == sum(most) or (best and self.late()):
                break
        return [(s, h, x, y) for s, _, x, y in best]

    def _worth(self, steps: list[Step]) -> tuple[int, float]:
        return len(steps), float(sum(self.instance.areas[self.instance.shapes[s].panel] for s, *_ in steps))

    def counts(self, steps: list[Step]) -> Counts:
        counts = [0] * len(self.wanted)
        for s, *_ in steps:
            counts[self.instance.shapes[s].panel] += 1
        return tuple(counts)

    def note(self, h: int, counts: Counts) -> None:
        if any(counts):
            self._achieved.setdefault(h, []).append(counts)

    def tables(self, numbers: tuple[int, ...]) -> Tables:
        """Tables of some sheets; only the latest few are kept."""
        if numbers not in self._tables:
            while len(self._tables) > 32:
                self._tables.pop(next(iter(self._tables)))
            self._tables[numbers] = self.instance.tables([self.sheets[h] for h in numbers])
        return self._tables[numbers]

    # --- tasks --------------------------------------------------------------------------------------------------------

    def assign(self) -> bool:
        """Give every worker without a task one; False when there is nothing left to try."""
        if self.complete and not self._agreement.over:
            self._agreed |= self._agreement.step()
            return True  # what the workers would begin with is about to change
        for w in range(len(self.tasks)):
            if self.tasks[w] is None:
                self.tasks[w] = self._cheaper() if self.complete else self._more()
        return any(t is not None for t in self.tasks)

    def _seed(self) -> int:
        self._serial += 1
        return (self.seed * 1_000_003 + self._serial) * 7919 + 1

    def _more(self) -> Task | None:
        """By turns: some of what is missing eased into all sheets together, and one more copy into a single one."""
        self._asked += 1
        task = self._together() if len(self.sheets) > 1 and self._asked % 2 else None
        return task or self._one_more() or (self._together() if len(self.sheets) > 1 else None)

    def _together(self) -> Task | None:
        """What is missing, or after each failure half as much, eased into all sheets together, panels changing places."""
        missing = [k for k, (w, c) in enumerate(zip(self.wanted, self.copies(self.laid), strict=True)) for _ in range(w - c)]
        room = self._room_left()
        numbers = tuple(sorted(sorted(room, key=lambda h: -room[h])[:MOST_TOGETHER]))
        if any(self.plies[h] > 1 for h in numbers):
            return None  # a panel that goes to another stack would change how many copies there are
        more = sorted(missing, key=lambda k: self.instance.areas[k])[: max(1, len(missing) >> self._vain)]
        if sum(room[h] for h in numbers) < sum(self.instance.areas[k] for k in more):
            self._vain += 1
            return None
        tables = self.tables(numbers)
        places = {k for k in more if any((tables[2].region[:, s] != NONE).any() for s in self.instance.of_panel[k])}
        more = [k for k in more if k in places]
        return Task(self._packing(numbers, tables, self.laid, more), numbers, None, together=True) if more else None

    def _one_more(self) -> Task | None:
        """One more copy, eased into a sheet: each sheet and each missing panel in turn."""
        made = self.copies(self.laid)
        short = [k for k in range(len(made)) if made[k] < self.wanted[k]]
        room = self._room_left()
        options = [
            (h, k)
            for k in sorted(short, key=lambda k: self.instance.areas[k])
            for h in sorted(room, key=lambda h: -room[h])
            if self.wanted[k] - made[k] >= self.plies[h] and self._fits[h, k]
            and room[h] >= self.instance.areas[k]
        ]  # fmt: skip
        for _ in range(len(options)):
            h, k = options[self._turn % len(options)]
            self._turn += 1
            tables = self.tables((h,))
            if all(tables[2].region[0, s] == NONE for s in self.instance.of_panel[k]):
                self._fits[h, k] = False
                continue
            return Task(self._packing((h,), tables, {h: self.laid.get(h, [])}, [k]), (h,), None)
        return None

    def _room_left(self) -> dict[int, float]:
        areas, shapes = self.instance.areas, self.instance.shapes
        used = {
            h: sum(float(areas[shapes[s].panel]) for s, *_ in [*self.laid.get(h, []), *self.held.get(h, [])])
            for h in range(len(self.sheets))
        }
        return {h: self.area[h] * (1 + 1e-6) - u for h, u in used.items()}

    def _packing(self, numbers: tuple[int, ...], tables: Tables, laid: dict[int, list[Step]], more: list[int]) -> Packing:
        place = {h: n for n, h in enumerate(numbers)}
        steps = [(s, place[h], x, y) for h in numbers for s, _, x, y in laid.get(h, [])]
        held = [(s, place[h], x, y) for h in numbers for s, _, x, y in self.held.get(h, [])]
        return Packing(self.instance, tables, steps, held, more, self._seed())

    def _cheaper(self) -> Task | None:
        """All copies on sheets that cost less in all."""
        if self.no_cheaper or len(self.sheets) == 1:
            return None
        cost = self.total_cost()
        now = [(h, self.counts(self.laid.get(h, []))) for h in sorted(self.laid)]
        made = tuple(w - c for w, c in zip(self.wanted, self.copies({}), strict=True))
        hint = Choice(tuple(now), made, cost, False)
        need = float(np.dot(made, self.instance.areas))
        for boldness in (0.0, 0.5, 1.0):
            # Counts sheet by sheet are only where the easing begins, so at last they may ask a little too much of a sheet.
            chooser = self.chooser(made, min(0.98, 1.08 * self._hope()) if boldness < 1 else 1.03, set())
            choice = chooser.choose(CHOOSING_EFFORT, boldness=boldness, hint=hint, below=cost * (1 - 1e-9))
            if choice is None or sum(choice.copies) < sum(made):
                continue
            if sum(self.area[h] * self.plies[h] for h, _ in choice.picks) >= need * (1 - 1e-6):
                return self._try_choice(choice)
        if not self._failed:
            self.no_cheaper = True
            return None
        self._failed.clear()  # all were tried in vain: again, from other beginnings
        return self._cheaper() if not self.no_cheaper else None

    def _try_choice(self, choice: Choice) -> Task:
        numbers = tuple(sorted(h for h, _ in choice.picks))
        tables = self.tables(numbers)
        start: dict[int, list[Step]] = {}
        more: list[int] = []
        for h, counts in choice.picks:
            have = self.laid.get(h, [])
            if self.counts(have) != counts:
                have = self.best_fill(h, list(counts), [])
            start[h] = have
            got = self.counts(have)
            for k, (want, n) in enumerate(zip(counts, got, strict=True)):
                more += [k] * max(0, want - n)
        return Task(self._packing(numbers, tables, start, more), numbers, choice)

    def collect(self) -> bool:
        """Take in what the workers have found, in their order; True if the lay became better."""
        better, self._agreed = self._agreed, False
        for w, task in enumerate(self.tasks):
            if task is None:
                continue
            if task.packing.found is not None:
                better |= self._take(task)
                self.tasks[w] = None
            elif task.packing.stalls >= GIVE_UP:
                self._give_up(task)
                self.tasks[w] = None
        if better:
            self.tasks = [None] * len(self.tasks)
        return better

    def _take(self, task: Task) -> bool:
        found = task.packing.found
        assert found is not None
        laid: dict[int, list[Step]] = {} if task.choice is not None else dict(self.laid)
        for h in task.sheets:
            laid[h] = []
        for s, n, x, y in found:
            laid[task.sheets[n]].append((s, task.sheets[n], x, y))
        laid = {h: steps for h, steps in laid.items() if steps}
        for h in task.sheets:
            self.note(h, self.counts(laid.get(h, [])))
        if not self._better(laid):
            return False
        self.laid = laid
        self._vain = 0
        return True

    def take_over(self, laid: dict[int, list[Step]]) -> bool:
        """Go on from another lay, if it is better; what the workers are at is then of no use."""
        if not self._better(laid):
            return False
        self.laid = laid
        self.tasks = [None] * len(self.tasks)
        return True

    def forbid(self, h: int, counts: Counts) -> None:
        """These counts could not be laid on a sheet: they are not to be chosen again."""
        self._failed.setdefault(h, []).append(counts)

    def _give_up(self, task: Task) -> None:
        """Remember, of a choice, what could not be eased apart."""
        if task.together:
            self._vain = (self._vain + 1) % 6
        if task.choice is None:
            return
        strained = task.packing.strained_sheets()
        for n, h in enumerate(task.sheets):
            counts = next(c for k, c in task.choice.picks if k == h)
            if n in strained and any(counts):
                self.forbid(h, counts)
