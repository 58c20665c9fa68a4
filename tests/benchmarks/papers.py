"""How long the papers for the demo's two lays take, all of them, and how large they are.

python -m tests.benchmarks.papers [--keep DIR]

The lays are sought first, which is not counted; nor is the first compile. Each command is typed as a person would.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import tempfile
import time
from pathlib import Path

from cli import scenario
from cli.main import run


def typed(*words: str) -> tuple[float, float]:
    """Type a command; the seconds that it takes by the clock, and of the processor."""
    start = time.perf_counter(), time.process_time()
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()) as said:
        status = run(words)
    assert status == 0, f"{' '.join(words)}: {said.getvalue()}"
    return time.perf_counter() - start[0], time.process_time() - start[1]


def main() -> None:
    told = argparse.ArgumentParser(description=__doc__)
    told.add_argument("--keep", type=Path, help="leave the papers in this folder")
    keep = told.parse_args().keep
    with tempfile.TemporaryDirectory() as made:
        folder = keep or Path(made)
        folder.mkdir(exist_ok=True)
        stash = Path(made) / "demo.fent"
        from stash import Workroom

        with Workroom.open(stash) as workroom:
            scenario.settle(workroom)
        at = ("--workroom", str(stash))
        for job in (scenario.CUSHION, scenario.ROLL):
            typed("lay", "try", job, "--seconds", "6", "--by", scenario.WHO, *at)
        in_all = [0.0, 0.0]
        for words in (
            ("lay", "pull", "1", "2"),
            ("lay", "docket", "1"),
            ("lay", "docket", "2"),
            ("lay", "paper", "1"),
            ("lay", "paper", "2"),
            ("bin", "labels", "--place", "drawer 2"),
        ):
            file = folder / f"{'-'.join(word.strip('-') for word in words if ' ' not in word)}.pdf"
            clock, processor = typed(*words, "--file", str(file), "--write-over", *at)
            in_all = [in_all[0] + clock, in_all[1] + processor]
            print(f"{file.name:28} {clock:6.2f} s, {processor:5.2f} s of processor {file.stat().st_size / 1000:8.0f} kB")
        print(f"{'in all':28} {in_all[0]:6.2f} s, {in_all[1]:5.2f} s of processor")


if __name__ == "__main__":
    main()
