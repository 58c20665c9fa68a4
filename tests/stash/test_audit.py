"""The audit: a sound stash is clean; each kind of damage done by hand is found, and named with its place and its way out."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import pytest
from shapely import box

from stash import (
    Workroom,
    audit,
    book,
    cutting,
    envelopes,
    finding,
    joining,
    lays,
    leaving,
    losing,
    measuring,
    outlines,
    settings,
    splitting,
    undoing,
)
from stash.audit import Damage
from stash.envelopes import NewEnvelope
from stash.measuring import Measures
from stash.remnants import NewFault
from stash.words import FaultKind, RemnantState

from .conftest import once, ticking_clock
from .scenes import chalked, cuffs, linen, scrap


def stock(workroom: Workroom) -> None:
    """A workroom in which all has happened that can: entries 1 to 9 logged, 10 cut, and so on."""
    settings.choose_currency(workroom, "EUR")
    linen(workroom)
    linen(workroom, "red linen")
    hole = NewFault(FaultKind.HOLE, ((200, 100), (230, 100), (230, 130), (200, 130)))
    scrap(workroom, "L1", faults=(hole,))
    scrap(workroom, "L2", length=300, width=200, mass=11.5)
    scrap(workroom, "L3", length=250, width=220)
    scrap(workroom, "L4", length=260, width=210)
    scrap(workroom, "L5", length=340, width=240)
    scrap(workroom, "L6", length=150, width=120)
    scrap(workroom, "L7", length=150, width=130)
    scrap(workroom, "R1", "red linen")
    envelopes.add(workroom, NewEnvelope(tag="E1", cloth="blue linen", mass=10.0), by="MB")
    cuffs(workroom, count=12)
    cutting.cut(workroom, chalked(workroom, most={"L1": 3, "L2": 2}).number, by="MB", spoiled=[1], uncut=[2])
    measuring.measure_again(workroom, "L1A", Measures(outline=outlines.rectangle(150, 90)), by="MB")
    splitting.split(workroom, "L5", [splitting.across(100)], by="MB")
    joining.join(workroom, "J1", ["L6", "L7"], Measures(outline=outlines.rectangle(280, 120)), by="MB")
    losing.not_there(workroom, "R1", by="MB")
    leaving.sell(workroom, "L5A", price=200, by="MB")
    undoing.undo(workroom, book.entries(workroom, limit=1)[0].number, why="not paid", by="MB")
    chalked(workroom, most={"L3": 2, "L4": 1})


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory, fresh_stash: Path) -> Path:
    return once(stock, tmp_path_factory.mktemp("sound"), fresh_stash)


@pytest.fixture
def file(sound: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(sound, tmp_path / "stash.fent"))


def by_hand(file: Path, *statements: str, values: tuple[object, ...] = (), guarded: bool = True) -> None:
    """Write into a stash by other ways than Fent: foreign keys off, the book's guards taken away meanwhile."""
    with closing(sqlite3.connect(file, isolation_level=None)) as plain:
        guards = plain.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            plain.execute(f"DROP TRIGGER {name}")
        plain.execute("PRAGMA ignore_check_constraints = ON")
        for statement in statements:
            plain.execute(statement, values if "?" in statement else ())
        for _, sql in guards if guarded else []:
            plain.execute(sql)


def found(file: Path) -> list[tuple[Damage, str]]:
    with Workroom.open(file, clock=ticking_clock) as opened:
        return [(fault.damage, fault.place) for fault in audit.audit(opened).faults]


def test_a_sound_stash_is_clean(file: Path) -> None:
    before = file.read_bytes()
    with Workroom.open(file) as opened:
        done = audit.audit(opened)
    assert done.clean, done.faults
    assert (done.entries, done.cloths, done.remnants, done.envelopes, done.lays) == (16, 2, 13, 1, 2)
    assert file.read_bytes() == before


def test_an_empty_stash_is_clean(workroom: Workroom) -> None:
    assert audit.audit(workroom).clean


@dataclass(frozen=True)
class Done:
    """A damage: what is done to the stash, and the faults that the audit must name."""

    sql: tuple[str, ...]
    expected: tuple[tuple[Damage, str], ...]
    values: tuple[object, ...] = ()
    only: bool = True


LARGER = box(0, 0, 262, 210).wkb
OUTSIDE = box(500, 0, 600, 240).wkb
HALF = 'POLYGON "?"'
BOOKED = Damage.NOT_AS_BOOKED
DAMAGES = {
    "an entry deleted": Done(
        ("DELETE FROM book_line WHERE entry_id = 3", "DELETE FROM book_entry WHERE id = 3"),
        ((Damage.ENTRY_MISSING, "entry 3"), (BOOKED, "remnant L3")),
    ),
    "the last entry deleted": Done(
        ("DELETE FROM book_line WHERE entry_id = 16", "DELETE FROM book_entry WHERE id = 16"),
        ((BOOKED, "remnant L5A"),),
    ),
    "an entry deleted and its lines left": Done(
        ("DELETE FROM book_entry WHERE id = 4",),
        ((Damage.NOWHERE, "book_line 7"), (Damage.NOWHERE, "book_line 8"), (Damage.ENTRY_MISSING, "entry 4")),
    ),
    "a line deleted": Done(
        ("DELETE FROM book_line WHERE id = 2",),
        ((Damage.LINES_MISSING, "entry 1"), (Damage.UNBALANCED, "entry 1"), (BOOKED, "remnant L1")),
    ),
    "an amount changed": Done(
        ("UPDATE book_line SET mass = mass + 100 WHERE id = 1",),
        ((Damage.UNBALANCED, "entry 1"),),
    ),
    "an amount changed on both sides": Done(
        ("UPDATE book_line SET area = area * 2 WHERE entry_id = 4",),
        ((BOOKED, "remnant L4"),),
    ),
    "cut work turned into another piece": Done(
        ("UPDATE book_line SET detail = 'sleeve' WHERE account = 'cut work'",),
        ((Damage.CUT_WORK, "lay 1"),),
    ),
    "cut work moved to the rag bag": Done(
        ("UPDATE book_line SET account = 'rag bag' WHERE account = 'cut work'",),
        ((Damage.CUT_WORK, "lay 1"),),
    ),
    "a cut lay said to be chalked": Done(
        ("UPDATE lay SET state = 'chalked' WHERE id = 1",),
        ((Damage.CUT_WORK, "lay 1"), (Damage.NOT_HELD, "lay 1")),
        only=False,
    ),
    "an undoing that undoes less": Done(
        ("UPDATE book_line SET mass = mass - sign(mass) WHERE entry_id = 16",),
        ((Damage.WRONG_UNDOING, "entry 16"), (BOOKED, "remnant L5A")),
    ),
    "an undoing of nothing": Done(
        ("UPDATE book_entry SET undoes_id = NULL WHERE id = 16",),
        ((Damage.WRONG_UNDOING, "entry 16"),),
    ),
    "a remnant's area changed": Done(
        ("UPDATE remnant SET area = area + 500 WHERE tag = 'L4'",),
        ((BOOKED, "remnant L4"), (Damage.AREA, "remnant L4")),
    ),
    "a lost remnant put back by hand": Done(
        ("UPDATE remnant SET state = 'in the bin' WHERE tag = 'R1'",),
        ((BOOKED, "remnant R1"), (BOOKED, "remnant R1")),
    ),
    "an envelope filled by hand": Done(
        ("UPDATE envelope SET mass = mass + 5000",),
        ((BOOKED, "envelope E1"),),
    ),
    "an outline changed": Done(
        ("UPDATE remnant SET outline = ? WHERE tag = 'L4'",),
        ((Damage.AREA, "remnant L4"), (Damage.MEASURES, "remnant L4")),
        values=(LARGER,),
    ),
    "an outline swapped for one that crosses itself": Done(
        ("UPDATE remnant SET outline = ? WHERE tag = 'L4'",),
        ((Damage.OUTLINE, "remnant L4"),),
        values=(
            bytes.fromhex(
                "0103000000010000000500000000000000000000000000000000000000"
                + "0000000000005940000000000000594000000000000059400000000000000000"
                + "0000000000000000000000000000594000000000000000000000000000000000"
            ),
        ),
        only=False,
    ),
    "an outline that is none": Done(
        ("UPDATE remnant SET outline = x'00ff' WHERE tag = 'L4'",),
        ((Damage.UNREADABLE, "remnant 4"),),
    ),
    "a measure to search by changed": Done(
        ("UPDATE remnant SET length = 999 WHERE tag = 'L4'",),
        ((Damage.MEASURES, "remnant L4"),),
    ),
    "a largest rectangle larger than its remnant": Done(
        ("UPDATE remnant SET rect_width = 999 WHERE tag = 'L4'",),
        ((Damage.MEASURES, "remnant L4"),),
    ),
    "a child moved out of its parent": Done(
        ("UPDATE remnant SET outline = ? WHERE tag = 'L5A'",),
        ((Damage.OUTSIDE, "remnant L5A"),),
        values=(OUTSIDE,),
    ),
    "a child laid on the one beside it": Done(
        ("UPDATE remnant SET outline = ? WHERE tag = 'L5A'",),
        ((Damage.OVERLAP, "remnant L5A"),),
        values=(box(50, 0, 150, 240).wkb,),
    ),
    "a child given to another parent": Done(
        ("UPDATE remnant SET parent_id = (SELECT id FROM remnant WHERE tag = 'R1') WHERE tag = 'L5A'",),
        ((Damage.FAMILY, "remnant L5A"),),
        only=False,
    ),
    "a remnant that comes from itself": Done(
        ("UPDATE remnant SET parent_id = id, state = 'cut' WHERE tag = 'L5A'",),
        ((Damage.FAMILY, "remnant L5A"),),
        only=False,
    ),
    "what it was joined from forgotten": Done(
        ("DELETE FROM remnant_joined",),
        ((Damage.FAMILY, "remnant L6"), (Damage.FAMILY, "remnant L7")),
    ),
    "a part of what was joined put back": Done(
        ("UPDATE remnant SET state = 'in the bin' WHERE tag = 'L6'",),
        ((BOOKED, "remnant L6"), (Damage.FAMILY, "remnant L6")),
    ),
    "held by a lapsed lay": Done(
        ("UPDATE lay SET state = 'rubbed out' WHERE id = 2",),
        ((Damage.HELD, "remnant L3"), (Damage.HELD, "remnant L4")),
    ),
    "held by a lay that does not have it": Done(
        ("UPDATE remnant SET state = 'held', held_by_id = 2 WHERE tag = 'L5A'",),
        ((Damage.HELD, "remnant L5A"),),
    ),
    "let go behind the lay's back": Done(
        ("UPDATE remnant SET state = 'in the bin', held_by_id = NULL WHERE tag = 'L3'",),
        ((Damage.NOT_HELD, "lay 2"),),
    ),
    "a panel pushed over another": Done(
        (
            "UPDATE lay_panel SET x = (SELECT x FROM lay_panel WHERE lay_id = 2 AND number = 1) + 5, "
            "y = (SELECT y FROM lay_panel WHERE lay_id = 2 AND number = 1) WHERE lay_id = 2 AND number = 2",
        ),
        ((Damage.LAY, "lay 2"),),
    ),
    "a panel pushed off the cloth": Done(
        ("UPDATE lay_panel SET x = x - 500 WHERE lay_id = 1 AND number = 1",),
        ((Damage.LAY, "lay 1"),),
    ),
    "a panel's amount changed": Done(
        ("UPDATE lay_panel SET area = area + 100 WHERE lay_id = 1 AND fate = 'cut'",),
        ((Damage.CUT_WORK, "lay 1"),),
    ),
    "a case that cannot be read": Done(
        ("UPDATE lay SET \"case\" = '{}' WHERE id = 2",),
        ((Damage.LAY, "lay 2"),),
    ),
    "a case that is no JSON": Done(
        ("UPDATE lay SET \"case\" = '{' WHERE id = 2",),
        ((Damage.UNREADABLE, "lay 2"),),
    ),
    "fibres that do not make 100 %": Done(
        ("UPDATE cloth_fibre SET share = 9000 WHERE cloth_id = 2",),
        ((Damage.MAKE_UP, "cloth red linen"),),
    ),
    "a state that is none": Done(
        ("UPDATE remnant SET state = 'eaten' WHERE tag = 'L5A'",),
        ((Damage.UNREADABLE, "remnant.state"),),
    ),
    "a rule of its table broken": Done(
        ("UPDATE remnant SET held_by_id = 2 WHERE tag = 'L5A'",),
        ((Damage.RULE, "the file"),),
    ),
    "a remnant deleted": Done(
        ("DELETE FROM remnant WHERE tag = 'R1'",),
        ((Damage.NOWHERE, "book_line 15"), (Damage.NOWHERE, "book_line 16")),
        only=False,
    ),
}


@pytest.mark.parametrize("name", DAMAGES)
def test_damage_done_by_hand_is_found_and_named(file: Path, name: str) -> None:
    done = DAMAGES[name]
    by_hand(file, *done.sql, values=done.values)
    faults = found(file)
    for each in done.expected:
        assert each in faults, faults
    if done.only:
        assert sorted(faults) == sorted(done.expected)


def test_at_least_twelve_kinds_are_done_here() -> None:
    kinds = {damage for done in DAMAGES.values() for damage, _ in done.expected} | {Damage.GUARD, Damage.FILE}
    kinds |= {Damage.PHOTOGRAPH_MISSING, Damage.PHOTOGRAPH_CHANGED}  # in test_photographs
    assert kinds == set(Damage)


def test_guards_that_were_taken_away(file: Path) -> None:
    by_hand(file, guarded=False)
    assert [damage for damage, _ in found(file)] == [Damage.GUARD] * 5


def test_a_file_that_is_damaged(file: Path) -> None:
    with closing(sqlite3.connect(file, isolation_level=None)) as plain:
        plain.execute("PRAGMA writable_schema = ON")
        plain.execute("UPDATE sqlite_master SET rootpage = 3 WHERE name = 'ix_remnant_cloth_id'")
    assert Damage.FILE in {damage for damage, _ in found(file)}


def test_several_faults_are_told_in_order_each_with_its_way_out(file: Path) -> None:
    by_hand(
        file,
        "UPDATE lay SET state = 'rubbed out' WHERE id = 2",
        "UPDATE remnant SET area = area + 500 WHERE tag = 'L5A'",
        "DELETE FROM book_line WHERE id = 2",
    )
    with Workroom.open(file) as opened:
        done = audit.audit(opened)
    kinds = [fault.damage for fault in done.faults]
    assert kinds == sorted(kinds, key=list(Damage).index)
    assert len(set(kinds)) >= 5
    for fault in done.faults:
        assert fault.what
        assert fault.way_out


def test_the_way_out_of_a_lapsed_hold_leads_out(file: Path) -> None:
    by_hand(file, "UPDATE lay SET state = 'rubbed out' WHERE id = 2")
    with Workroom.open(file, clock=ticking_clock) as opened:
        for tag in ("L3", "L4"):
            losing.not_there(opened, tag, by="MB")
            losing.found_again(opened, tag, by="MB")
        assert audit.audit(opened).clean
        assert finding.find(opened)[-1].state is RemnantState.IN_BIN


STEPS: dict[str, Callable[[Workroom], object]] = {
    "a lay that was tried on cloth that has changed since": lambda w: (
        lays.rub_out(w, 2, by="MB"),
        measuring.measure_again(w, "L3", Measures(outline=outlines.rectangle(60, 60)), by="MB"),
    ),
    "a cut undone": lambda w: (
        undoing.undo(w, 11, why="no", by="MB"),
        undoing.undo(w, 10, why="no", by="MB"),
    ),
    "a split undone": lambda w: undoing.undo(w, 12, why="no", by="MB"),
    "a join undone": lambda w: undoing.undo(w, 13, why="no", by="MB"),
    "a loss undone": lambda w: undoing.undo(w, 14, why="no", by="MB"),
}


@pytest.mark.parametrize("name", STEPS)
def test_what_happened_properly_is_no_fault(file: Path, name: str) -> None:
    with Workroom.open(file, clock=ticking_clock) as opened:
        STEPS[name](opened)
        assert audit.audit(opened).faults == ()
