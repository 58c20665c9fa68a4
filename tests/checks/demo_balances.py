"""Look into the stash that `fent demo` left, with Python's own sqlite3 and none of Fent's code: run by `.ci/run`.

    python demo_balances.py FOLDER

Double entry (Pacioli, 1494): every entry sums to zero, and so does the book. Exit status 0 if it does and the job was done.
"""

from __future__ import annotations

import sqlite3
import sys
from pathlib import Path


def unbalanced(stash: sqlite3.Connection) -> list[str]:
    """Entries that do not sum to zero, and where the bin and the book tell different stories."""
    entries = "SELECT entry_id, SUM(area), SUM(mass) FROM book_line GROUP BY entry_id HAVING SUM(area) <> 0 OR SUM(mass) <> 0"
    found = [f"entry {number} sums to {area}, {mass}" for number, area, mass in stash.execute(entries)]
    bin_lines = "SELECT remnant_id, SUM(area), SUM(mass) FROM book_line WHERE account = 'bin' GROUP BY remnant_id"
    in_book = {number: (area, mass) for number, area, mass in stash.execute(bin_lines) if (area, mass) != (0, 0)}
    there = "SELECT id, area, mass FROM remnant WHERE state IN ('in the bin', 'held')"
    in_bin = {number: (area, mass) for number, area, mass in stash.execute(there)}
    found += [
        f"remnant {number}: the bin has {in_bin.get(number)}, the book {in_book.get(number)}"
        for number in sorted(in_bin.keys() | in_book.keys())
        if in_bin.get(number) != in_book.get(number)
    ]
    return found


def undone(stash: sqlite3.Connection) -> list[str]:
    """What the demo should have done and did not."""

    def number(sql: str) -> int:
        return int(stash.execute(sql).fetchone()[0] or 0)

    least = {
        "remnants logged": (36, "SELECT COUNT(*) FROM remnant WHERE parent_id IS NULL"),
        "cloths": (5, "SELECT COUNT(*) FROM cloth"),
        "keepers back in the bin": (1, "SELECT COUNT(*) FROM remnant WHERE parent_id IS NOT NULL AND state = 'in the bin'"),
        "panels cut": (16, "SELECT COUNT(*) FROM lay_panel WHERE fate = 'cut'"),
        "mg of cut work": (1, "SELECT SUM(mass) FROM book_line WHERE account = 'cut work'"),
        "mg in the rag bag": (1, "SELECT SUM(mass) FROM book_line WHERE account = 'rag bag'"),
        "mg in the bin": (1, "SELECT SUM(mass) FROM book_line WHERE account = 'bin'"),
    }
    return [f"{number(sql)} {what}, at least {few} expected" for what, (few, sql) in least.items() if number(sql) < few]


def main(folder: Path) -> int:
    stashes = sorted(folder.glob("*.fent"))
    if len(stashes) != 1:
        print(f"{folder} holds {len(stashes)} stashes, not one", file=sys.stderr)
        return 1
    pictures = [path for path in folder.rglob("*") if path.suffix in {".png", ".svg", ".pdf"} and path.stat().st_size > 1000]
    stash = sqlite3.connect(f"file:{stashes[0]}?mode=ro", uri=True)
    try:
        found = unbalanced(stash) + undone(stash) + ([] if pictures else ["no picture was drawn"])
    finally:
        stash.close()
    print("\n".join(found) or f"{stashes[0]}: every entry sums to zero, and the bin is what the book says")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
