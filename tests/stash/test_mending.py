"""Descriptions mended with a reason; quantities never."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from stash import Workroom, asking, cloths, envelopes, finding, jobs, lays, mending, patterns, remnants
from stash.refusals import ChangedSince, Held, Plainly, Refused, Taken, Unknown, WrongState
from stash.words import Source, Subject

from .scenes import chalked, cuffs, linen, rows, scrap, whole_stash


def stock(workroom: Workroom) -> None:
    linen(workroom)
    linen(workroom, "red wool", fibres={"wool": 100})
    scrap(workroom, place="Shelf A")
    envelopes.add(workroom, envelopes.NewEnvelope(tag="E1", cloth="red wool"))
    cuffs(workroom)


@pytest.fixture
def room(stocked: Workroom) -> Workroom:
    return stocked


CLOTH: dict[str, tuple[Any, str]] = {
    "name": ("navy linen", "blue linen → navy linen"),
    "fibres": ({"linen": 55, "CO": 45}, "100 % linen → 55 % linen, 45 % cotton"),
    "weave": ("twill", "plain → twill"),
    "colour": ("", "blue → "),
    "lot": ("A7", " → A7"),
    "width": (1450.0, " → 1450"),
    "selvedge": (12.5, " → 12.5"),
    "one_way": (False, ""),
    "faces_alike": (True, "no → yes"),
    "shrinks_warp": (6.0, " → 6"),
    "shrinks_weft": (-1.5, " → -1.5"),
    "frays": (4.0, " → 4"),
    "thickness": (0.4, " → 0.4"),
    "repeat_along": (20.0, " → 20"),
    "repeat_across": (50.0, " → 50"),
    "bar": ("the dark one", " → the dark one"),
    "uneven_along": (True, "no → yes"),
    "uneven_across": (True, "no → yes"),
    "price": (1450, " → 1450"),
    "note": ("from the long roll", " → from the long roll"),
}
REMNANT: dict[str, tuple[Any, str]] = {
    "place": ("Drawer 2", "Shelf A → Drawer 2"),
    "washed": ("cold", " → cold"),
    "source": (Source.GIVEN, "found → given"),
    "came_on": (date(2020, 5, 1), "2026-03-02 → 2020-05-01"),
    "price": (250, " → 250"),
    "skew": (1.5, " → 1.5"),
    "note": ("from a curtain", " → from a curtain"),
}


def test_the_tables_here_hold_every_description() -> None:
    assert tuple(CLOTH) == mending.OF_A_CLOTH
    assert tuple(REMNANT) == mending.OF_A_REMNANT


@pytest.mark.parametrize(("what", "value", "words"), [(what, *each) for what, each in CLOTH.items() if each[1]])
def test_a_cloth_is_mended(room: Workroom, what: str, value: Any, words: str) -> None:
    mended = mending.mend_cloth(room, "blue linen", by="MB", why="was wrong", **{what: value})
    kept = getattr(mended, what)
    assert kept == ({"linen": 55, "cotton": 45} if what == "fibres" else value)
    assert cloths.get(room, mended.name) == mended
    (said,) = mending.every(room)
    assert (said.subject, said.name, said.what, said.by, said.note) == (Subject.CLOTH, mended.name, what, "MB", "was wrong")
    assert f"{said.before} → {said.after}" == words


@pytest.mark.parametrize(("what", "value", "words"), [(what, *each) for what, each in REMNANT.items()])
def test_a_remnant_is_mended(room: Workroom, what: str, value: Any, words: str) -> None:
    mended = mending.mend_remnant(room, "l1", by="MB", why="was wrong", **{what: value})
    assert getattr(mended, what) == value
    assert remnants.get(room, "L1") == mended
    (said,) = mending.every(room, subject=Subject.REMNANT, name="L1")
    assert f"{said.before} → {said.after}" == words


def test_envelopes_places_patterns_and_jobs_are_mended(room: Workroom) -> None:
    said = {"by": "MB", "why": "was wrong"}
    assert mending.mend_envelope(room, "E1", lot="B2", place="Shelf B", note="thin", **said).lot == "B2"
    assert mending.mend_place(room, "shelf a", name="Shelf A, left", **said) == "Shelf A, left"
    assert remnants.get(room, "L1").place == "Shelf A, left"
    assert mending.mend_pattern(room, "shirt", name="Shirt, long", note="", **said).name == "Shirt, long"
    assert patterns.get(room, "shirt, long").name == "Shirt, long"
    assert mending.mend_job(room, "cuffs", note="for May", **said) == jobs.get(room, "cuffs")
    assert [(each.subject, each.what) for each in mending.every(room)] == [
        (Subject.JOB, "note"),
        (Subject.PATTERN, "name"),
        (Subject.PLACE, "name"),
        (Subject.ENVELOPE, "note"),
        (Subject.ENVELOPE, "place"),
        (Subject.ENVELOPE, "lot"),
    ]
    assert [each.name for each in mending.every(room, subject=Subject.PLACE, name="shelf a, left")] == ["Shelf A, left"]


def test_quarantines_are_kept_one_after_the_other(room: Workroom) -> None:
    remnants.put_apart(room, "L1", "moth", by="MB")
    kept = remnants.release(room, "L1", by="AK")
    assert (kept.quarantined_by, kept.released_by, kept.quarantine) == ("MB", "AK", "")
    assert kept.quarantined_at is not None
    assert kept.released_at is not None
    assert kept.quarantined_at < kept.released_at
    remnants.put_apart(room, "L1", "dust", by="MB")
    said = mending.every(room, subject=Subject.REMNANT, name="L1")
    assert [(each.what, each.by, each.before, each.after) for each in said] == [
        ("quarantine", "MB", "", "dust"),
        ("quarantine", "AK", "moth", ""),
        ("quarantine", "MB", "", "moth"),
    ]


Step = Callable[[Workroom], object]
WHY: dict[str, Any] = {"by": "MB", "why": "was wrong"}


@pytest.mark.parametrize(
    ("step", "kind", "why"),
    [
        (lambda w: mending.mend_cloth(w, "linnen", **WHY, colour="x"), Unknown, "no cloth"),
        (lambda w: mending.mend_cloth(w, "blue linen", **WHY, name="Red Wool"), Taken, "already"),
        (lambda w: mending.mend_cloth(w, "blue linen", **WHY, name=""), Refused, "no name"),
        (lambda w: mending.mend_cloth(w, "blue linen", **WHY, weight=170), Refused, "weight of a cloth is not mended"),
        (lambda w: mending.mend_cloth(w, "blue linen", **WHY, smell="musty"), Refused, "smell is no description"),
        (lambda w: mending.mend_cloth(w, "blue linen", **WHY, fibres={"linen": 90}), Refused, "90 % in all"),
        (lambda w: mending.mend_cloth(w, "blue linen", **WHY, width=-1), Refused, "width is -1"),
        (lambda w: mending.mend_cloth(w, "blue linen", **WHY, selvedge=500), Refused, "selvedge is 500"),
        (lambda w: mending.mend_cloth(w, "blue linen", **WHY, shrinks_warp=51), Refused, "shrinkage is 51"),
        (lambda w: mending.mend_cloth(w, "blue linen", **WHY, shrinks_weft=-21), Refused, "shrinkage is -21"),
        (lambda w: mending.mend_cloth(w, "blue linen", **WHY, frays=-1), Refused, "fraying is -1"),
        (lambda w: mending.mend_cloth(w, "blue linen", **WHY, price=-5), Refused, "price is -5"),
        (lambda w: mending.mend_cloth(w, "blue linen", **WHY, price=1.5), Refused, "price is 1.5"),
        (lambda w: mending.mend_cloth(w, "blue linen", **WHY, faces_alike="maybe"), Refused, "neither yes nor no"),
        (lambda w: mending.mend_cloth(w, "blue linen", **WHY, one_way=True), WrongState, "which way their nap runs"),
        (lambda w: mending.mend_cloth(w, "blue linen", **WHY, colour="blue"), Refused, "nothing is changed: colour blue"),
        (lambda w: mending.mend_cloth(w, "blue linen", **WHY), Refused, "nothing is changed"),
        (lambda w: mending.mend_cloth(w, "blue linen", by="", why="x", colour="red"), Refused, "initials"),
        (lambda w: mending.mend_cloth(w, "blue linen", by="MB", why=" ", colour="red"), Refused, "needs a reason"),
        (lambda w: mending.mend_remnant(w, "L9", **WHY, place="x"), Unknown, "no remnant"),
        (lambda w: mending.mend_remnant(w, "L1", **WHY, area=5), Refused, "area of a remnant is not mended"),
        (lambda w: mending.mend_remnant(w, "L1", **WHY, tag="L2"), Refused, "tag of a remnant is not mended"),
        (lambda w: mending.mend_remnant(w, "L1", **WHY, source="stolen"), Refused, "'?stolen'? is no source"),
        (lambda w: mending.mend_remnant(w, "L1", **WHY, came_on=date(2030, 1, 1)), Refused, "day it came is 2030"),
        (lambda w: mending.mend_remnant(w, "L1", **WHY, came_on="May"), Refused, "day it came is May"),
        (lambda w: mending.mend_remnant(w, "L1", **WHY, washed="x" * 81), Refused, "81 letters"),
        (lambda w: mending.mend_envelope(w, "E1", **WHY, mass=5), Refused, "mass of an envelope is not mended"),
        (lambda w: mending.mend_place(w, "Shelf Z", **WHY, name="x"), Unknown, "no place"),
        (lambda w: mending.every(w, name="L1"), Refused, "name of"),
        (lambda w: mending.every(w, subject=Subject.CLOTH, name="L1"), Unknown, "no cloth"),
        # Of several, one that is refused keeps all from being mended.
        (lambda w: mending.mend_cloth(w, "blue linen", **WHY, colour="red", width=-1), Refused, "width is -1"),
    ],
)
def test_what_is_refused_changes_nothing(room: Workroom, stash_file: Path, step: Step, kind: type[Plainly], why: str) -> None:
    before = whole_stash(stash_file)
    with pytest.raises(kind, match=why):
        step(room)
    assert whole_stash(stash_file) == before


def test_quantities_are_refused_with_the_way_that_changes_them(room: Workroom) -> None:
    with pytest.raises(Refused) as refusal:
        mending.mend_cloth(room, "blue linen", **WHY, weight=170)
    assert refusal.value.next == "Weigh it again with `fent cloth weigh`"


def test_what_lays_rely_on_makes_them_be_tried_again(room: Workroom) -> None:
    asked = asking.ask(room, "cuffs")
    tried = lays.record(room, asked, rows(asked)).number
    mending.mend_cloth(room, "blue linen", **WHY, colour="navy")
    assert not lays.get(room, tried).sheets[0].changed
    mending.mend_cloth(room, "blue linen", **WHY, faces_alike=True)
    with pytest.raises(ChangedSince):
        lays.chalk(room, tried, by="MB")
    asked = asking.ask(room, "cuffs")
    tried = lays.record(room, asked, rows(asked)).number
    mending.mend_remnant(room, "L1", **WHY, washed="cold")
    with pytest.raises(ChangedSince):
        lays.chalk(room, tried, by="MB")


def test_what_a_chalked_lay_relies_on_is_not_mended(room: Workroom) -> None:
    chalked(room)
    with pytest.raises(Held, match="lay 1 holds L1"):
        mending.mend_cloth(room, "blue linen", **WHY, faces_alike=True)
    with pytest.raises(Held, match="lay 1 holds L1"):
        mending.mend_remnant(room, "L1", **WHY, washed="cold")
    assert mending.mend_remnant(room, "L1", **WHY, place="table").place == "table"


def test_one_way_may_be_said_while_there_is_no_remnant(room: Workroom) -> None:
    assert mending.mend_cloth(room, "red wool", **WHY, one_way=True).one_way
    assert not mending.mend_cloth(room, "red wool", **WHY, one_way=False).one_way


def test_a_mended_name_is_found(room: Workroom) -> None:
    mending.mend_cloth(room, "blue linen", **WHY, name="Navy Linen")
    assert [listed.tag for listed in finding.find(room, finding.Wanted(cloth="navy linen"))] == ["L1"]
    assert mending.mend_cloth(room, "navy linen", **WHY, name="NAVY LINEN").name == "NAVY LINEN"
