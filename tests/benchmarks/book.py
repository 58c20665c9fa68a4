"""The cloth book by the thousand: ten thousand random events, and every report on a hundred thousand entries.

python -m tests.benchmarks.book events 10000     sums exactly zero, audit clean; the model of tests/stash agrees
python -m tests.benchmarks.book reports 100000   how long each report takes, wall clock and processor, s
"""

from __future__ import annotations

import random
import shutil
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from itertools import count
from pathlib import Path

from shapely import box, to_wkb

from stash import Workroom, audit, book, cloths, reports
from stash.reported import Asked
from tests.stash.book_days import Days
from tests.stash.test_laws_of_the_book import Seeded

BEGIN = datetime(2016, 1, 4, 8, tzinfo=UTC)


def clock(minutes: int) -> Callable[[], datetime]:
    ticks = count()
    return lambda: BEGIN + timedelta(minutes=minutes * next(ticks))


def events(folder: Path, number: int) -> None:
    """Random events until the book has so many entries; the model is asked after each hundred, the audit at the end."""
    begun = time.process_time()
    with Workroom.open(folder / "events.fent", clock=clock(3)) as opened:
        days = Days(opened, Seeded(1))
        days.open_up()
        while days.entries < number:
            days.happen()
            if days.events % 100 == 0:
                days.must_agree()
            if days.events % 1000 == 0:
                print(f"{days.events} events, {days.entries} entries, {time.process_time() - begun:.0f} s", flush=True)
        days.must_agree()
        found = book.balance(opened)
        print(f"sums: {found.area} × 0.01 mm², {found.mass} mg, over {found.entries} entries")
        begun = time.process_time()
        faults = audit.audit(opened).faults
        print(f"audit: {len(faults)} faults, in {time.process_time() - begun:.1f} s of processor time")
        for fault in faults[:10]:
            print(f"  {fault.place}: {fault.damage}: {fault.what}")
    print(dict(days.seen.most_common()))


def reports_on(folder: Path, number: int) -> None:
    """Every report on a stash of so many entries: remnants logged, cut into panels and keepers, sold, undone, in ten years."""
    path = folder / "large.fent"
    with Workroom.open(path, clock=clock(1)) as opened:
        for i in range(60):
            name, weight = f"cloth {i}", 90.0 + 7 * i
            fibres = {"linen": 55.0, "cotton": 45.0} if i % 3 else {"wool": 100.0}
            cloths.add(opened, cloths.NewCloth(name=name, fibres=fibres, weight=weight, colour=f"colour {i % 17}"))
    fill(path, number)
    with Workroom.open(path) as opened:
        print(f"{book.balance(opened).entries} entries, balanced: {book.balance(opened).balanced}")
        year = Asked(since=date(2020, 1, 1), until=date(2020, 12, 31))
        for name, asked in (("all of it", Asked()), ("one year", year), ("one cloth", Asked(cloth="cloth 7"))):
            timed(f"report, {name}", lambda asked=asked: reports.report(opened, asked))  # type: ignore[misc]
        for part in ("in_bin", "longest", "jobs", "planned", "months", "years"):
            timed(part, lambda part=part: getattr(reports, part)(opened))  # type: ignore[misc]
        timed("balance", lambda: book.balance(opened))


def timed(name: str, work: Callable[[], object]) -> None:
    wall, processor = time.perf_counter(), time.process_time()
    work()
    print(
        f"{name:<20} {time.perf_counter() - wall:6.2f} s, {time.process_time() - processor:6.2f} s of processor time",
        flush=True,
    )


def fill(path: Path, number: int) -> None:
    """Entries by the bulk: a lay for each cut, a keeper from each; written past the program, as it would write them."""
    chance = random.Random(1)
    wkb = to_wkb(box(0, 0, 400, 300))
    blank = dict.fromkeys(("washed", "note", "confirmed_by", "quarantined_by", "quarantine_reason", "released_by"), "")
    with closing(sqlite3.connect(path, isolation_level=None)) as plain:
        plain.execute("PRAGMA foreign_keys = OFF")
        for (trigger,) in plain.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            plain.execute(f"DROP TRIGGER {trigger}")
        plain.execute("BEGIN")
        put = Putting(plain)
        put.row("pattern", id=1, name="p", key="p", added_at=f"{BEGIN:%Y-%m-%d %H:%M:%S.%f}")
        put.row("pattern_piece", id=1, pattern_id=1, name="cuff", key="cuff", sewing_line=wkb, cut_line=wkb, allowances="[]")
        live: list[int] = []
        remnant = entry = line = lay = 0

        def post(event: str, when: str, lines: list[dict[str, object]], **more: object) -> None:
            nonlocal entry, line
            entry += 1
            put.row("book_entry", id=entry, at=when, event=event, by="MB", line_count=len(lines), **more)
            for each in lines:
                line += 1
                put.row("book_line", **({"id": line, "entry_id": entry, "detail": ""} | each))

        def new(cloth: int, area: int, when: datetime, parent: int | None, price: int | None) -> int:
            nonlocal remnant
            remnant += 1
            put.row(
                "remnant", id=remnant, tag=f"T{remnant}", cloth_id=cloth, parent_id=parent, state="in the bin", outline=wkb,
                area=area, mass=area // 500, length=400.0, width=300.0, rect_length=400.0, rect_width=300.0, price=price,
                came_on=f"{when:%Y-%m-%d}", logged_at=f"{when:%Y-%m-%d %H:%M:%S.%f}", revision=1, face_up="right", **blank,
            )  # fmt: skip
            live.append(remnant)
            return remnant

        for step in range(number):
            moment = BEGIN + timedelta(minutes=48 * step)
            when = f"{moment:%Y-%m-%d %H:%M:%S.%f}"
            cloth, area = chance.randrange(1, 61), chance.randrange(2_000_000, 40_000_000)
            if len(live) < 50 or chance.random() < 0.55:
                price = chance.randrange(50, 900) if chance.random() < 0.3 else None
                mine = {"cloth_id": cloth, "remnant_id": new(cloth, area, moment, None, price)}
                source = chance.choice(("bought", "given", "found", "unpicked"))
                post("logged", when, [
                    mine | {"account": "in", "detail": source, "area": -area, "mass": -(area // 500)},
                    mine | {"account": "bin", "area": area, "mass": area // 500},
                ])  # fmt: skip
                continue
            old = live.pop(chance.randrange(len(live)))
            cloth, area, mass = plain.execute("SELECT cloth_id, area, mass FROM remnant WHERE id = ?", (old,)).fetchone()
            mine = {"cloth_id": cloth, "remnant_id": old}
            out = mine | {"account": "bin", "area": -area, "mass": -mass}
            if chance.random() < 0.2:
                plain.execute("UPDATE remnant SET state = 'gone' WHERE id = ?", (old,))
                post("sold", when, [out, mine | {"account": "out", "detail": "sold", "area": area, "mass": mass}], price=200)
                continue
            lay += 1
            job = 1 + lay // 4
            if lay % 4 == 1 or lay == 1:
                put.row("job", id=job, name=f"job {job}", key=f"job {job}", made_at=when)
                put.row("job_piece", id=job, job_id=job, piece_id=1, count=12, fibres="[]", colours="[]", weaves="[]")
            put.row("lay", id=lay, job_id=job, state="cut", case='{"panels": [], "sheets": []}', tried_at=when, cut_at=when,
                    chalked_at=when, placed=3, tried_by="MB", chalked_by="MB", cut_by="MB", rubbed_out_by="")  # fmt: skip
            plain.execute("UPDATE remnant SET state = 'cut' WHERE id = ?", (old,))
            keeper = new(cloth, area // 4, moment, old, None)
            rest = (area - area // 2 - area // 4, mass - mass // 2 - (area // 4) // 500)
            for panel in range(1, 4):
                put.row("lay_panel", lay_id=lay, number=panel, remnant_id=old, job_piece_id=job, panel="cuff", fate="cut")
            mine["job_id"] = out["job_id"] = job
            post("cut", when, [
                out,
                mine | {"account": "cut work", "detail": "cuff", "area": area // 2, "mass": mass // 2},
                mine | {"account": "rag bag", "detail": "offcuts", "area": rest[0], "mass": rest[1]},
                {"account": "bin", "detail": "keeper", "cloth_id": cloth, "remnant_id": keeper, "job_id": job,
                 "area": area // 4, "mass": (area // 4) // 500},
            ], lay_id=lay)  # fmt: skip
        plain.execute("COMMIT")


class Putting:
    """Rows put into tables, whatever else a table asks for filled with nought."""

    def __init__(self, plain: sqlite3.Connection) -> None:
        self.plain = plain
        self.needed: dict[str, dict[str, object]] = {}

    def row(self, table: str, **values: object) -> None:
        if table not in self.needed:
            told = self.plain.execute(f"PRAGMA table_info({table})").fetchall()
            noughts = {"TEXT": "", "JSON": "[]", "BLOB": b""}
            self.needed[table] = {
                name: "" if kind.startswith("VARCHAR") else noughts.get(kind, 0)
                for _, name, kind, must, default, key in told
                if must and default is None and not key
            }
        row = self.needed[table] | values
        columns = ", ".join(f'"{name}"' for name in row)
        self.plain.execute(f"INSERT INTO {table} ({columns}) VALUES ({', '.join('?' * len(row))})", list(row.values()))


def main() -> None:
    what, number = sys.argv[1], int(sys.argv[2])
    folder = Path(tempfile.mkdtemp())
    try:
        {"events": events, "reports": reports_on}[what](folder, number)
    finally:
        shutil.rmtree(folder)


if __name__ == "__main__":
    main()
