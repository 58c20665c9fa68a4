"""Choosing over whole bins, measured: `python -m tests.benchmarks.bins FOLDER`.

For each bin, in a process of its own: the time to the first complete lay, the area of the remnants that the lay touches
after so many seconds, and that against the least that any lay could touch, by a relaxation that is proved: on each remnant
no more copies than area and count bounds allow (`nesting.bounds`), and the cheapest choice of remnants that these allow
(CP-SAT, to its bound). Kernels are compiled beforehand. The figures mean much only on a machine that does nothing else.
"""

from __future__ import annotations

import argparse
import json
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from nesting import Case, Result, area_of, examine, many_hands, read_case, solve
from nesting.bounds import SheetBound, area_offer, body_areas
from nesting.choose import Chooser
from nesting.offers import Offer
from nesting.warming import make_ready

LOOKED_INTO = 150
"""Of so many remnants at most the count is proved in earnest, unless it is said; of the others the area alone."""
COUNT_EFFORT = 1.0
"""Seconds or so for the count that one remnant can hold."""
EFFORT = 20.0
"""CP-SAT's deterministic seconds for the least area."""


@dataclass(frozen=True)
class Run:
    """One bin solved once. `first`: seconds to the first complete lay, None where there was none; `touched`, `least`: mm²."""

    case: str
    seed: int
    sheets: int
    placed: int
    wanted: int
    legal: bool
    first: float | None
    touched: float
    least: float
    peak_mb: float
    rounds: int

    @property
    def ratio(self) -> float | None:
        return self.touched / self.least if self.placed == self.wanted and self.least else None


def one(path: Path, seconds: float, seed: int, workers: int, counts: int = LOOKED_INTO) -> Run:
    """Solve one bin here, and prove the least area."""
    case = read_case(path.read_text(encoding="utf-8"))
    make_ready()
    began = time.monotonic()
    first: list[float] = []

    def better(result: Result) -> None:
        if result.complete and not first:
            first.append(time.monotonic() - began)

    result = solve(case, seconds=seconds, seed=seed, workers=workers, on_better=better)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    tags = {placement.sheet for placement in result.placements}
    touched = sum(area_of(sheet) for sheet in case.sheets if sheet.id in tags)
    wanted = sum(panel.copies for panel in case.panels)
    return Run(
        path.stem, seed, len(case.sheets), result.placed, wanted, not examine(case, result).faults,
        first[0] if first else None, touched, least_area(case, counts), peak, result.rounds,
    )  # fmt: skip


def least_area(case: Case, counts: int = LOOKED_INTO) -> float:
    """The least area of remnants that any lay of all copies touches, proved; infinite where none can be."""
    case = replace(case, sheets=tuple(replace(sheet, cost=None) for sheet in case.sheets))
    areas = body_areas(case)
    wanted = [panel.copies for panel in case.panels]
    offers = [area_offer(case, h, areas) for h in range(len(case.sheets))]
    known: set[int] = set()
    with many_hands() as hands:
        while len(known) < counts:
            # What the cheapest choice rests on is looked into, until it rests on nothing that was not.
            choice = Chooser(areas, wanted, offers).choose(1.0)
            fresh = [h for h, _ in choice.picks if h not in known] if choice else []
            if not fresh:
                break
            for h, offer in zip(fresh, hands.map(_count, [(case, h) for h in fresh], 600.0), strict=True):
                offers[h] = offer
            known |= set(fresh)
    limits = Chooser(areas, wanted, offers).prove(EFFORT)
    return limits.least_cost if limits.copies == sum(wanted) else float("inf")


def _count(case: Case, number: int) -> Offer:
    bound = SheetBound(case, number)
    bound.tighten_by_reach()
    bound.tighten_by_weights(COUNT_EFFORT)
    return bound.offer


def table(runs: Sequence[Run]) -> str:
    """One line a bin, then the mean ratio."""
    lines = [f"{'bin':20}{'placed':>8}{'legal':>6}{'first s':>9}{'touched cm²':>13}{'least cm²':>11}{'ratio':>7}{'MB':>6}"]
    for run in runs:
        first = "-" if run.first is None else f"{run.first:.2f}"
        ratio = "-" if run.ratio is None else f"{run.ratio:.3f}"
        lines.append(
            f"{run.case:20}{f'{run.placed}/{run.wanted}':>8}{'yes' if run.legal else 'NO':>6}{first:>9}"
            f"{run.touched / 100:>13.0f}{run.least / 100:>11.0f}{ratio:>7}{run.peak_mb:>6.0f}"
        )
    ratios = [run.ratio for run in runs if run.ratio is not None]
    if ratios:
        lines.append(f"touched against least possible, on average: {statistics.mean(ratios):.3f} ({len(ratios)} complete)")
    return "\n".join(lines)


def in_a_process(path: Path, asked: Any, seed: int) -> Run:
    """Each bin in a process of its own, so that its peak of memory is its own."""
    command = [sys.executable, "-m", "tests.benchmarks.bins", str(path), "--alone", "--seconds", str(asked.seconds)]
    done = subprocess.run(
        [*command, "--seeds", str(seed), "--workers", str(asked.workers), "--counts", str(asked.counts)],
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        raise SystemExit(f"{path.stem}, seed {seed}: {done.stderr[-2000:]}")
    return Run(**json.loads(done.stdout))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, help="a folder of bins, or one bin")
    parser.add_argument("--seconds", type=float, default=30.0)
    parser.add_argument("--seeds", type=int, nargs="+", default=[1])
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--only", nargs="*", help="names of bins, without .json")
    parser.add_argument("--counts", type=int, default=LOOKED_INTO, help="of so many remnants a count is proved (0: areas)")
    parser.add_argument("--json", type=Path, help="keep the runs in this file")
    parser.add_argument("--alone", action="store_true", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.alone:
        print(json.dumps(asdict(one(asked.folder, asked.seconds, asked.seeds[0], asked.workers, asked.counts))))
        return
    paths = [asked.folder] if asked.folder.is_file() else list(asked.folder.glob("*.json"))
    paths = sorted((p for p in paths if not asked.only or p.stem in asked.only), key=lambda p: (len(p.read_bytes()), p.stem))
    runs = []
    for path in paths:
        for seed in asked.seeds:
            runs.append(in_a_process(path, asked, seed))
            print(table(runs[-1:]).splitlines()[1], file=sys.stderr, flush=True)
    print(table(runs))
    if asked.json:
        asked.json.write_text(json.dumps([asdict(run) for run in runs], indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
