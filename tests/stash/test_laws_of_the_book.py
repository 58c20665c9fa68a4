"""A state machine over all events of the book against a plain model of sums (`book_days`): equal after every step. At the end
the audit is clean, and what is written out is read in and written out again the same to the byte."""

from __future__ import annotations

import random
import shutil
import tempfile
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import TypeVar

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test

from stash import Workroom, audit

from .book_days import Days
from .conftest import ticking_clock
from .test_writing_out import read_in, text_of

T = TypeVar("T")


class Drawn:
    """Chosen by hypothesis, so that what fails is made as short as can be."""

    def __init__(self) -> None:
        self.data: st.DataObject | None = None

    def pick(self, among: Sequence[T]) -> T:
        assert self.data is not None
        return self.data.draw(st.sampled_from(among))

    def number(self, least: int, most: int) -> int:
        assert self.data is not None
        return self.data.draw(st.integers(least, most))


class Seeded:
    """Chosen by a generator with a seed: the same days each time."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)

    def pick(self, among: Sequence[T]) -> T:
        return self.chance.choice(among)

    def number(self, least: int, most: int) -> int:
        return self.chance.randint(least, most)


class Book(RuleBasedStateMachine):
    fresh: Path
    seen: Counter[str]

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        shutil.copy(self.fresh, self.folder / "workroom.fent")
        self.workroom = Workroom.open(self.folder / "workroom.fent", clock=ticking_clock)
        self.chooser = Drawn()
        self.days = Days(self.workroom, self.chooser)

    @initialize()
    def open_up(self) -> None:
        self.days.open_up()

    @rule(data=st.data())
    def something_happens(self, data: st.DataObject) -> None:
        self.chooser.data = data
        self.seen[self.days.happen()] += 1

    @invariant()
    def the_book_is_what_the_model_says(self) -> None:
        self.days.must_agree()

    def teardown(self) -> None:
        try:
            assert audit.audit(self.workroom).faults == ()
            text = text_of(self.folder / "workroom.fent")
            read_in(text, self.folder / "again.fent")
            assert text_of(self.folder / "again.fent") == text
        finally:
            self.workroom.close()
            shutil.rmtree(self.folder)


def run_book(fresh: Path, *, examples: int, steps: int) -> Counter[str]:
    seen: Counter[str] = Counter()
    machine = type("BookHere", (Book,), {"fresh": fresh, "seen": seen})
    chosen = settings(max_examples=examples, stateful_step_count=steps, suppress_health_check=list(HealthCheck))
    run_state_machine_as_test(machine, settings=chosen)
    return seen


def days_of(fresh: Path, folder: Path, *, events: int, seed: int) -> Days:
    """So many events, the model asked after each."""
    path = shutil.copy(fresh, folder / "days.fent")
    with Workroom.open(path, clock=ticking_clock) as opened:
        days = Days(opened, Seeded(seed))
        days.open_up()
        for _ in range(events):
            days.happen()
            days.must_agree()
        assert audit.audit(opened).faults == ()
    return days


def test_the_book_against_plain_sums(fresh_stash: Path) -> None:
    assert len(run_book(fresh_stash, examples=5, steps=12)) >= 7


def test_days_in_a_row(fresh_stash: Path, tmp_path: Path) -> None:
    days = days_of(fresh_stash, tmp_path, events=120, seed=3)
    assert len(days.seen) >= 15, days.seen


@pytest.mark.slow
def test_the_book_against_plain_sums_for_long(fresh_stash: Path) -> None:
    seen = run_book(fresh_stash, examples=12, steps=40)
    assert len(seen) >= 14, seen


@pytest.mark.slow
def test_a_thousand_events(fresh_stash: Path, tmp_path: Path) -> None:
    days = days_of(fresh_stash, tmp_path, events=1000, seed=1)
    assert set(days.seen) >= {"log", "cut", "undo", "refused to undo", "weigh_cloth", "split", "join", "find"}
