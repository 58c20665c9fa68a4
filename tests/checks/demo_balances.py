"""Look into the stash that `fent demo` left, with Python's own sqlite3 and none of Fent's code: run by `.ci/run`.

    python demo_balances.py FOLDER

Double entry (Pacioli, 1494): every entry sums to zero, and so does the book. Exit status 0 if it does and the job was done.
"""

from __future__ import annotations

import sqlite3
import sys
from pathlib import Path


def look(stash: sqlite3.Connection) -> list[str]:
    """What is not as it should be after the demo."""

    def number(sql: str) -> int:
        return int(stash.execute(sql).fetchone()[0] or 0)

    found = [f"entry {row[0]} sums to {row[1:]}, not to zero" for row in stash.execute(
        "SELECT entry_id, SUM(area), SUM(mass) FROM book_line GROUP BY entry_id HAVING SUM(area) <> 0 OR SUM(mass) <> 0"
    )]  # fmt: skip
    if not number("SELECT COUNT(*) FROM book_line"):
        found.append("the cloth book is empty")
    for account, what in (
        ("cut work", "no panel was cut"),
        ("rag bag", "nothing went to the rag bag"),
        ("bin", "the bin is empty"),
    ):
        held = stash.execute("SELECT SUM(area), SUM(mass) FROM book_line WHERE account = ?", (account,)).fetchone()
        if not all(held) or min(held) < 0:
            found.append(f"{what}: {held}")
    for column in ("area", "mass"):
        there = number(f"SELECT SUM({column}) FROM remnant WHERE state IN ('in the bin', 'held')")
        if there != number(f"SELECT SUM({column}) FROM book_line WHERE account = 'bin'"):
            found.append(f"the remnants in the bin have {there} of {column}, the book says otherwise")
    if number("SELECT COUNT(*) FROM remnant WHERE parent_id IS NULL") < 36:
        found.append("fewer than 36 remnants were logged")
    if not number("SELECT COUNT(*) FROM remnant WHERE parent_id IS NOT NULL AND state = 'in the bin'"):
        found.append("no keeper went back to the bin")
    if number("SELECT COUNT(*) FROM lay_panel WHERE fate = 'cut'") < 16:
        found.append("fewer than sixteen panels were cut")
    return found


def main(folder: Path) -> int:
    stashes = sorted(folder.glob("*.fent"))
    if len(stashes) != 1:
        print(f"{folder} holds {len(stashes)} stashes, not one", file=sys.stderr)
        return 1
    pictures = [path for path in folder.rglob("*") if path.suffix in {".png", ".svg", ".pdf"} and path.stat().st_size > 1000]
    stash = sqlite3.connect(f"file:{stashes[0]}?mode=ro", uri=True)
    try:
        found = look(stash) + ([] if pictures else ["no picture was drawn"])
    finally:
        stash.close()
    print("\n".join(found) or f"{stashes[0]}: every entry and the whole book sum to zero; {len(pictures)} pictures")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
