"""Run the engine over a folder of cases and table what it gives: `python -m tests.benchmarks.engine FOLDER`.

Each case is solved for each seed by `python -m nesting solve`, one after another, and the result examined with shapely.
Medians over the seeds, as text and, with --json, as a file to keep. They mean much only on a machine that does nothing else.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path
from typing import Any

from shapely import Polygon

from nesting import Case, examine, read_case, read_result

from .published import STRIPS


@dataclass(frozen=True)
class Run:
    """One case solved once. `used`: share of the strip or of the touched sheets that is panel, %. `legal`: by shapely."""

    case: str
    seed: int
    legal: bool
    placed: int
    wanted: int
    bound: int | None
    cost: float | None
    length: float | None
    used: float
    rounds: int
    seconds: float
    over: float
    peak_mb: float


def run(path: Path, seed: int, seconds: float, workers: int) -> Run:
    case = read_case(path.read_text(encoding="utf-8"))
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "result.json"
        command = [sys.executable, "-m", "nesting", "solve", str(path), "--seconds", str(seconds), "--seed", str(seed)]
        began = time.monotonic()
        child = subprocess.Popen([*command, "--workers", str(workers), "--out", str(out)], stderr=subprocess.DEVNULL)
        _, status, usage = os.wait4(child.pid, 0)
        took = time.monotonic() - began
        if status:
            raise SystemExit(f"{path.stem}, seed {seed}: the engine ended with status {os.waitstatus_to_exitcode(status)}")
        result = read_result(out.read_text(encoding="utf-8"))
    peak = usage.ru_maxrss / 1024
    return Run(
        path.stem, seed, not examine(case, result).faults, result.placed, sum(p.copies for p in case.panels), result.bound,
        result.cost, result.length, _used(case, result.length, result.cost, dict(_counts(result.placements))),
        result.rounds, took, took - seconds, peak,
    )  # fmt: skip


def _counts(placements: Sequence[Any]) -> list[tuple[str, int]]:
    names = [p.panel for p in placements]
    return [(name, names.count(name)) for name in set(names)]


def _used(case: Case, length: float | None, cost: float | None, counts: dict[str, int]) -> float:
    area = sum(Polygon(p.outline).area * counts.get(p.id, 0) for p in case.panels)
    ground = case.strip.width * (length or 0.0) if case.strip else (cost or 0.0)
    return 100 * area / ground if ground else 0.0


def table(runs: Sequence[Run], notes: dict[str, dict[str, Any]]) -> str:
    """One line a case: medians over the seeds, and what is published or known of it."""
    lines = [f"{'case':24}{'legal':>6}{'placed':>10}{'bound':>6}{'cost':>12}{'used %':>8}{'took s':>8}{'MB':>6}  known"]
    for name in sorted({r.case for r in runs}):
        mine = [r for r in runs if r.case == name]
        median = statistics.median(r.used for r in mine)
        placed = statistics.median_low([r.placed for r in mine])
        bounds = [r.bound for r in mine if r.bound is not None]
        cost = statistics.median(r.cost or 0.0 for r in mine)
        took, peak = (max(getattr(r, field) for r in mine) for field in ("seconds", "peak_mb"))
        known = _known(name, median, placed, notes)
        lines.append(
            f"{name:24}{'yes' if all(r.legal for r in mine) else 'NO':>6}{f'{placed}/{mine[0].wanted}':>10}"
            f"{min(bounds) if bounds else '-':>6}{cost:>12.0f}{median:>8.2f}{took:>8.1f}{peak:>6.0f}  {known}"
        )
    return "\n".join(lines)


def _known(name: str, used: float, placed: int, notes: dict[str, dict[str, Any]]) -> str:
    if name in STRIPS:
        p = STRIPS[name]
        marks = [f"older mean {p.older_mean} {'reached' if used >= p.older_mean else 'MISSED'}"]
        return "; ".join([*marks, f"best mean {p.best_mean} {'reached' if used >= p.best_mean else 'missed'}"])
    known = notes.get(name, {})
    if "planted" in known:
        return f"planted {known['planted']} {'reached' if placed >= known['planted'] else 'MISSED'}"
    if "optimal_boards" in known:
        return f"least boards {known['optimal_boards']}"
    return ""


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, help="a folder of cases, or one case")
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--seeds", type=int, nargs="+", default=[1, 2, 3])
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--only", nargs="*", help="names of cases, without .json")
    parser.add_argument("--json", type=Path, help="keep the runs in this file")
    asked = parser.parse_args()
    paths = sorted(asked.folder.glob("*.json")) if asked.folder.is_dir() else [asked.folder]
    paths = [p for p in paths if not asked.only or p.stem in asked.only]
    runs = []
    for path in paths:
        for seed in asked.seeds:
            runs.append(run(path, seed, asked.seconds, asked.workers))
            print(f"{path.stem} seed {seed}: {runs[-1].placed} placed, {runs[-1].used:.2f} %", file=sys.stderr, flush=True)
    notes = {p.stem: json.loads(p.read_text(encoding="utf-8")) for p in paths}
    print(table(runs, notes))
    if asked.json:
        kept = {"date": date.today().isoformat(), "machine": platform.processor(), "seconds": asked.seconds}
        asked.json.write_text(json.dumps({**kept, "runs": [asdict(r) for r in runs]}, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
