"""`fent lay`, with a stand-in for the search (`row_engine`); the real one runs in test_demo.py and test_readme.py."""

from __future__ import annotations

import json
import os
import signal
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import nesting
from nesting import Case, Result

from . import row_engine
from .conftest import Type, fingerprint


@pytest.fixture(autouse=True)
def _rows(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(nesting, "solve", row_engine.solve, raising=False)


def tried(fent: Type) -> Type:
    said = fent("lay", "try", "wheel cushion")
    assert said.status == 0, said.words
    return fent


def test_the_answer_comes_first(stocked: Type) -> None:
    said = stocked("lay", "try", "wheel cushion")
    lines = said.data.splitlines()
    assert lines[0] == "Yes: all 6 panels for wheel cushion, from 1 remnant."
    assert lines[1] == "Pull N-01 from drawer 2 for 6."
    assert lines[2] == "It is the best found in the time; a longer try may find a thriftier one."
    assert lines[3].startswith("Of 2480 cm² pulled, ")
    assert "for the bin" in lines[3]
    assert lines[5].split() == ["pull", "place", "cloth", "size", "(mm)", "panels", "used", "keepers"]
    assert lines[6].startswith("N-01  drawer 2")
    assert "Looking for 6 panels in 3 remnants, for up to 10 s." in said.words
    assert "6 of 6 panels, from 1 remnant" in said.words
    assert "fent lay chalk 1 --by INITIALS" in said.words


@pytest.mark.parametrize("kept", [True, False])
def test_the_first_compile_is_announced(kept: bool, stocked: Type, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(nesting, "kernels_are_kept", lambda: kept, raising=False)
    assert ("This is the first search on this computer" in stocked("lay", "try", "wheel cushion").words) != kept


BEST = "It is the best found in the time; a longer try may find a thriftier one."
LEAST = "Proved: no other choice of remnants opens less good cloth."
BOTH = "Proved: it cannot be done with fewer remnants, nor with as few that open less good cloth."
FEWEST = "Proved: it cannot be done with fewer remnants."


@pytest.mark.parametrize(
    ("aim", "share", "proved"),
    [
        ("least lost", 1.0, LEAST),
        ("least lost", 0.99, BEST),
        ("least lost", None, BEST),
        ("fewest", 1.0, BOTH),
        ("fewest", 0.9, BEST),  # of one remnant that need not be said
        ("fewest", 0.3, BEST),
        ("oldest first", 1.0, "Proved: no other choice of remnants is older."),
    ],
)
def test_what_is_proved_is_said_and_nothing_more(
    aim: str, share: float | None, proved: str, stocked: Type, monkeypatch: pytest.MonkeyPatch
) -> None:
    def engine(case: Case, **more: Any) -> Result:
        found = row_engine.solve(case, **more)
        assert found.cost
        return replace(found, least_cost=None if share is None else found.cost * share)

    monkeypatch.setattr(nesting, "solve", engine)
    said = stocked("lay", "try", "wheel cushion", "--aim", aim, "--lays", "1")
    assert said.data.splitlines()[2] == proved
    stocked("job", "add", "two", "--piece", "cushion/wedge: 7", "--fibre", "linen")
    if (aim, share) == ("fewest", 0.9):
        assert stocked("lay", "try", "two", "--aim", aim, "--lays", "1").data.splitlines()[2] == FEWEST


def test_show_and_picture(stocked: Type, tmp_path: Path) -> None:
    said = tried(stocked)("lay", "show", "1", "--picture", "lay.png")
    assert said.status == 0
    lines = said.data.splitlines()
    assert lines[0] == "Lay 1 for wheel cushion, tried: wedge, 6 of 6."
    heads = next(i for i, line in enumerate(lines) if line.startswith("panel  piece"))
    assert lines[heads].split()[-1] == "lies"
    assert [line.split()[0] for line in lines[heads + 1 :]] == ["1", "2", "3", "4", "5", "6"]
    assert lines[heads + 1].split() == ["1", "wedge", "N-01", "3", "3", "as", "drawn"]
    assert (tmp_path / "lay.png").read_bytes().startswith(b"\x89PNG")
    assert "The picture is in lay.png." in said.words
    found = json.loads(stocked("lay", "show", "1", "--json").data)
    assert len(found["lay"]["result"]["placements"]) == 6
    assert found["leaves"][0]["tag"] == "N-01"


def test_prove(stocked: Type) -> None:
    said = tried(stocked)("lay", "prove", "1")
    assert said.status == 0
    lines = said.data.splitlines()
    assert lines[0] == "Lay 1 is sound: all 6 panels lie on the cloth, clear of each other and of faults."
    assert lines[1] == "Asked: 2 mm between cuts, 3 mm from edges. The narrowest found:"
    assert lines[4].split()[:2] == ["N-01", "6"]
    assert "2 mm (" in lines[4]


def test_chalk_cut_and_what_comes_back(stocked: Type) -> None:
    tried(stocked)
    assert stocked("lay", "chalk", "1").status == 2  # nobody says who
    assert stocked("lay", "chalk", "1", "--by", "AK").status == 0
    assert "held by lay 1" in stocked("bin", "list").data
    again = stocked("lay", "chalk", "1", "--by", "AK")
    assert again.status == 1
    assert again.words.startswith("It cannot be done: lay 1 is chalked.")
    said = stocked("lay", "cut", "1", "--by", "AK", "--spoiled", "3", "--uncut", "5-6")
    assert said.status == 0, said.words
    assert said.data.splitlines()[0] == "Lay 1 is cut: 3 good panels for wheel cushion, 1 spoiled, 2 left uncut."
    assert "N-01A (drawer 2)" in said.data
    assert "cut from            N-01" in stocked("bin", "show", "N-01A").data
    assert "so far   3 cut, 0 chalked, 3 missing" in stocked("job", "show", "wheel cushion").data
    assert "sum to exactly zero" in stocked("book", "balance").data
    assert stocked("lay", "rub-out", "1", "--by", "AK").status == 1


@pytest.mark.parametrize("wrong", ["7", "0", "x", "5-3", "3 3"])
def test_panels_that_are_not_in_the_lay(stocked: Type, workroom: Path, wrong: str) -> None:
    tried(stocked)("lay", "chalk", "1", "--by", "AK")
    before = fingerprint(workroom)
    said = stocked("lay", "cut", "1", "--by", "AK", "--spoiled", wrong)
    assert said.status == 2, said.words
    assert fingerprint(workroom) == before


def test_margins_are_shown_changed_and_used(stocked: Type) -> None:
    assert "between two cuts              2 mm" in stocked("lay", "margins").data
    said = stocked("lay", "margins", "--gap", "1/4 in", "--smallest", "150 cm2")
    assert said.status == 0, said.words
    assert "between two cuts              6.35 mm" in said.data
    assert "smallest keeper               150 cm²" in said.data
    tried(stocked)
    assert stocked("lay", "prove", "1").data.splitlines()[1].startswith("Asked: 6.35 mm between cuts")


def test_rubbed_out(stocked: Type) -> None:
    tried(stocked)("lay", "chalk", "1", "--by", "AK")
    assert stocked("lay", "rub-out", "1", "--by", "AK", "--note", "green after all").status == 0
    assert "held" not in stocked("bin", "list").data
    assert "rubbed out" in stocked("lay", "list").data
    assert stocked("lay", "list", "--state", "chalked").data == ""


def test_a_shortage_is_said_with_its_reason(stocked: Type) -> None:
    stocked("cloth", "add", "heavy", "--fibre", "linen", "--weight", "500 g/m2")
    stocked("bin", "add", "H-01", "--cloth", "heavy", "--size", "90x90cm")
    stocked("job", "add", "big", "--piece", "cushion/wedge: 60", "--fibre", "linen", "--weight-to", "300 g/m2")
    said = stocked("lay", "try", "big")
    assert said.status == 1
    assert said.data.startswith("Not all of it: ")
    assert " of 60 panels for big" in said.data
    assert (
        "\nWhy: too little cloth will do. The panels of wedge take 9966 cm²; all that the job allows is 3529 cm²," in said.data
    )
    assert "\n  H-01, for wedge: it is 500 g/m²; at most 300 g/m² is asked\n" in said.data
    assert "It cannot be done: 52 wedge for big are missing." in said.words
    assert "kept as lay 1" in said.words


def test_a_rule_that_would_do_is_named_with_how_far(stocked: Type) -> None:
    stocked("cloth", "add", "heavy", "--fibre", "linen", "--weight", "310 g/m2")
    stocked("bin", "add", "H-01", "--cloth", "heavy", "--size", "150x150cm")
    stocked("job", "add", "big", "--piece", "cushion/wedge: 40", "--fibre", "linen", "--weight-to", "300 g/m2")
    said = stocked("lay", "try", "big")
    assert said.status == 1
    assert "\n  cloth up to 310 g/m² (up to 300 g/m² is asked): H-01\n" in said.data
    found = json.loads(stocked("lay", "try", "big", "--json").data)["shortage"]
    assert (found["cause"], found["missing"]) == ("little", {"wedge": 32})
    assert found["loosenings"][0] == {"rule": "heaviest", "now": 300.0, "to": 310.0, "tags": ["H-01"]}


def test_nothing_qualifies(stocked: Type) -> None:
    stocked("job", "add", "silk", "--piece", "cushion/wedge: 6", "--fibre", "silk")
    said = stocked("lay", "try", "silk")
    assert said.status == 1
    assert said.data.startswith("No: nothing in the bin will do for silk.\n\nMissing: 6 wedge.\nWhy: nothing in the bin")
    assert "\n  100 % linen as well (nothing but silk is asked): N-01\n" in said.data
    assert "It cannot be done: no remnant in the bin will do for silk" in said.words


def stopped_after(first: Callable[..., Result]) -> Callable[..., Result]:
    """An engine during which Ctrl-C is pressed."""

    def engine(case: Case, **more: Any) -> Result:
        os.kill(os.getpid(), signal.SIGINT)
        assert more["stop"]()
        return first(case, **more)

    return engine


@pytest.fixture
def interruptible() -> Iterator[None]:
    """Ctrl-C as at a terminal: a job in the background has it ignored, and so have the tests that it runs."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.usefixtures("interruptible")
def test_ctrl_c_shows_the_best_and_keeps_nothing(stocked: Type, workroom: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(nesting, "solve", stopped_after(row_engine.solve))
    before = fingerprint(workroom)
    said = stocked("lay", "try", "wheel cushion")
    assert said.status == 130
    assert said.data.startswith("Yes: all 6 panels for wheel cushion")
    assert "This is the best so far, and it is not kept." in said.words
    assert fingerprint(workroom) == before
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


@pytest.mark.usefixtures("interruptible")
def test_ctrl_c_before_anything_is_placed(stocked: Type, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(nesting, "solve", stopped_after(lambda case, **more: Result()))
    said = stocked("lay", "try", "wheel cushion")
    assert (said.status, said.data) == (130, "")
    assert "Stopped before any panel was placed. Nothing is kept." in said.words
