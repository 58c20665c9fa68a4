"""The cloth book against the rule of double entry (Pacioli, *Summa*, 1494: every entry is posted twice, and the whole sums to
nothing), and against shapely's own areas. The stash is read with Python's sqlite3, none of Fent's code between.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from shapely import Polygon, union_all

from nesting import Placement, Result, sheet_cost
from stash import Workroom, asking, book, cloths, cutting, jobs, lays, outlines, patterns, remnants, words
from tests.checks.demo_balances import unbalanced

HOLE = ((300.0, 150.0), (340.0, 150.0), (340.0, 190.0), (300.0, 190.0))
LENGTH, WIDTH, ALLOWANCE = 100.0, 80.0, 6.35


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "stash.fent"


@pytest.fixture
def workroom(file: Path) -> Iterator[Workroom]:
    with Workroom.open(file) as opened:
        cloths.add(opened, cloths.NewCloth(name="linen", fibres={"linen": 100}, weight=187.3))
        hole = remnants.NewFault(words.FaultKind.HOLE, HOLE)
        for tag, mass in (("A1", None), ("A2", 41.137)):
            new = remnants.NewRemnant(
                tag=tag, cloth="linen", outline=outlines.rectangle(601.3, 367.9), faults=(hole,), mass=mass
            )
            remnants.log(opened, new)
        ring = ((0.0, 0.0), (LENGTH, 0.0), (LENGTH, WIDTH), (0.0, WIDTH))
        patterns.add(opened, "bag", [patterns.NewPiece(name="side", ring=ring, allowance=ALLOWANCE)])
        jobs.add(opened, "bags", [jobs.NewJobPiece(pattern="bag", piece="side", count=8)])
        yield opened


def cut_some(workroom: Workroom) -> cutting.Cut:
    """A lay placed by hand, five panels of eight on the one remnant and three on the other, chalked and cut."""
    asked = asking.ask(workroom, "bags")
    (panel,) = asked.case.panels
    left, low, *_ = Polygon(panel.outline).bounds
    corners = [("A1", x, y) for x, y in ((20, 20), (140, 20), (20, 130), (140, 130), (400, 20))]
    corners += [("A2", x, y) for x, y in ((20, 20), (140, 20), (400, 220))]
    placements = tuple(Placement(tag, panel.id, x - left, y - low) for tag, x, y in corners)
    cost = sum(sheet_cost(sheet) for sheet in asked.case.sheets)
    lay = lays.record(workroom, asked, Result(placements=placements, placed=8, complete=True, cost=cost))
    lays.chalk(workroom, lay.number, by="P")
    return cutting.cut(workroom, lay.number, by="P", spoiled=[2], uncut=[8])


def rows(file: Path, sql: str) -> list[tuple[int, ...]]:
    stash = sqlite3.connect(f"file:{file}?mode=ro", uri=True)
    try:
        return stash.execute(sql).fetchall()
    finally:
        stash.close()


def test_every_entry_sums_to_zero_and_the_bin_is_what_the_book_says(workroom: Workroom, file: Path) -> None:
    done = cut_some(workroom)
    stash = sqlite3.connect(file)
    assert not unbalanced(stash)
    stash.close()
    assert rows(file, "SELECT SUM(area), SUM(mass) FROM book_line") == [(0, 0)]
    assert rows(file, f"SELECT SUM(area), SUM(mass) FROM book_line WHERE entry_id = {done.entry}") == [(0, 0)]
    assert len(rows(file, f"SELECT id FROM book_line WHERE entry_id = {done.entry}")) > 4


def test_what_was_logged_is_cut_work_keepers_and_rag_to_the_last_unit(workroom: Workroom, file: Path) -> None:
    cut_some(workroom)
    held = {account: (area, mass) for account, area, mass in rows(
        file, "SELECT account, SUM(area), SUM(mass) FROM book_line GROUP BY account"
    )}  # fmt: skip
    logged = round((601.3 * 367.9 - 1600) * 100)
    weighed, by_area = 41_137, round((601.3 * 367.9 - 1600) / 1e6 * 187.3 * 1000)
    assert held["in"] == (-2 * logged, -weighed - by_area)
    assert sum(held[name][0] for name in ("bin", "cut work", "rag bag")) == 2 * logged
    assert sum(held[name][1] for name in ("bin", "cut work", "rag bag")) == weighed + by_area


def test_areas_are_those_of_the_shapes(workroom: Workroom, file: Path) -> None:
    """Seven panels of 112.7 × 92.7 mm (¼ in all round is 6.35 mm a side), one of them spoiled; the eighth stays cloth."""
    done = cut_some(workroom)
    panel = (LENGTH + 2 * ALLOWANCE) * (WIDTH + 2 * ALLOWANCE)
    good = rows(file, "SELECT SUM(area) FROM book_line WHERE account = 'cut work'")[0][0] / 100
    assert good == pytest.approx(6 * panel, abs=0.1) or good == pytest.approx(7 * panel, abs=0.1)
    for sheet in done.sheets:
        keepers = union_all([keeper.shape for keeper in sheet.keepers])
        assert sum(keeper.area for keeper in sheet.keepers) == pytest.approx(keepers.area, abs=0.1)
        assert sheet.panel_area + sheet.spoiled_area + sheet.rag_area + keepers.area == pytest.approx(
            601.3 * 367.9 - 1600, abs=0.1
        )
        whole = Polygon([(0, 0), (601.3, 0), (601.3, 367.9), (0, 367.9)]).difference(Polygon(HOLE))
        assert all(keeper.outline.difference(whole.buffer(0.01).union(Polygon(HOLE))).area < 0.1 for keeper in sheet.keepers)
    assert all(entry.lines for entry in book.entries(workroom))
    assert book.balance(workroom).balanced


def test_an_entry_cannot_be_changed_or_taken_away(workroom: Workroom, file: Path) -> None:
    """Entries are only appended: even someone who opens the file with another program is held to it."""
    cut_some(workroom)
    stash = sqlite3.connect(file)
    before = stash.execute("SELECT * FROM book_line ORDER BY id").fetchall()
    for sql in (
        "UPDATE book_line SET area = area + 1 WHERE id = 1",
        "DELETE FROM book_line WHERE id = 1",
        "UPDATE book_entry SET note = 'other' WHERE id = 1",
        "DELETE FROM book_entry WHERE id = 1",
    ):
        with pytest.raises(sqlite3.DatabaseError):
            stash.execute(sql)
    assert stash.execute("SELECT * FROM book_line ORDER BY id").fetchall() == before
    stash.close()
