"""The bin list: every filter finds what it should and nothing else."""

from __future__ import annotations

import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from stash import Workroom, cutting, finding, outlines, remnants
from stash.finding import Wanted
from stash.refusals import Refused, Unknown
from stash.words import FaultKind, RemnantState

from .scenes import chalked, cuffs, cut_all, linen, scrap


def stock(workroom: Workroom) -> None:
    linen(workroom, "blue linen", lot="A7")
    linen(workroom, "Écru union", fibres={"linen": 55, "cotton": 45}, weight=240, colour="Écru", weave="twill")
    linen(workroom, "red wool", fibres={"wool": 100}, weight=320, colour="red", weave="felt")
    scrap(workroom, "L1", "blue linen", 400, 300, place="Shelf A", came_on=date(2020, 5, 1))
    small = outlines.rectangle(150, 90, rough=True)
    scrap(workroom, "L2", "blue linen", outline=small, place="Shelf B", washed="cold")
    stain = remnants.NewFault(FaultKind.STAIN, ((0, 0), (9, 0), (9, 9)))
    scrap(workroom, "U1", "Écru union", 90, 150, place="shelf a", faults=(stain,))
    scrap(workroom, "W1", "red wool", 500, 500)
    remnants.put_apart(workroom, "W1", "moth", by="MB")


@pytest.fixture
def bin_(stocked: Workroom) -> Workroom:
    return stocked


@pytest.mark.parametrize(
    ("wanted", "tags"),
    [
        (Wanted(), "L1 L2 U1 W1"),
        (Wanted(cloth="BLUE linen"), "L1 L2"),
        (Wanted(fibre="flax"), "L1 L2 U1"),
        (Wanted(fibre="CO"), "U1"),
        (Wanted(weight_from=240), "U1 W1"),
        (Wanted(weight_to=240), "L1 L2 U1"),
        (Wanted(weight_from=200, weight_to=300), "U1"),
        (Wanted(colour="écru"), "U1"),
        (Wanted(colour="ÉCRU"), "U1"),
        (Wanted(lot="a7"), "L1 L2"),
        (Wanted(weave="Felt"), "W1"),
        (Wanted(place="SHELF A"), "L1 U1"),
        (Wanted(size=(150, 90)), "L1 L2 U1 W1"),
        (Wanted(size=(90, 151)), "L1 W1"),
        (Wanted(size=(400, 300)), "L1 W1"),
        (Wanted(size=(400, 301)), "W1"),
        (Wanted(washed=True), "L2"),
        (Wanted(washed=False), "L1 U1 W1"),
        (Wanted(quarantined=True), "W1"),
        (Wanted(quarantined=False), "L1 L2 U1"),
        (Wanted(states=(RemnantState.HELD,)), ""),
        (Wanted(free=True), "L1 L2 U1"),
        (Wanted(free=False), "W1"),
        (Wanted(rough=True), "L2"),
        (Wanted(rough=False), "L1 U1 W1"),
        (Wanted(confirmed=False), ""),
        (Wanted(confirmed=True), "L1 L2 U1 W1"),
        (Wanted(came_before=date(2020, 5, 1)), "L1"),
        (Wanted(came_before=date(2020, 4, 30)), ""),
        (Wanted(came_after=date(2020, 5, 1)), "L1 L2 U1 W1"),
        (Wanted(came_after=date(2020, 5, 2)), "L2 U1 W1"),
        (Wanted(fibre="linen", washed=False, place="shelf a", weight_from=200), "U1"),
    ],
)
def test_filters(bin_: Workroom, wanted: Wanted, tags: str) -> None:
    assert [listed.tag for listed in finding.find(bin_, wanted)] == tags.split()


def test_a_line_of_the_list_says_what_the_remnant_says(bin_: Workroom) -> None:
    for listed in finding.find(bin_):
        kept = remnants.get(bin_, listed.tag)
        same = ("area", "mass", "length", "width", "rect_length", "rect_width", "rough", "one_way", "place", "washed", "state")
        same = (*same, "confirmed", "came_on")
        assert [getattr(listed, name) for name in same] == [getattr(kept, name) for name in same]
        assert (listed.cloth, listed.colour, listed.weight) == (kept.cloth.name, kept.cloth.colour, kept.cloth.weight)
        assert listed.faults == len(kept.faults)
        assert (listed.parent, listed.held_by, listed.quarantine) == (kept.parent, kept.held_by, kept.quarantine)


@pytest.mark.parametrize(
    ("wanted", "kind", "why"),
    [
        (Wanted(cloth="green linen"), Unknown, "no cloth"),
        (Wanted(place="Shelf Z"), Unknown, "no place"),
        (Wanted(fibre="plastic"), Refused, "no fibre"),
        (Wanted(size=(0, 10)), Refused, "size is 0"),
        (Wanted(weight_from=float("nan")), Refused, "weight from is nan"),
    ],
)
def test_what_cannot_be_looked_for(bin_: Workroom, wanted: Wanted, kind: type[Refused], why: str) -> None:
    with pytest.raises(kind, match=why):
        finding.find(bin_, wanted)


def test_what_a_lay_holds_is_not_free_and_its_keepers_wait(bin_: Workroom) -> None:
    cuffs(bin_, count=1)
    lay = chalked(bin_)
    (held,) = lay.sheets
    assert held.remnant.tag in [listed.tag for listed in finding.find(bin_, Wanted(free=False))]
    done = cutting.cut(bin_, lay.number, by="MB")
    keepers = [keeper.tag for keeper in done.sheets[0].keepers]
    assert [listed.tag for listed in finding.find(bin_, Wanted(confirmed=False))] == keepers


def test_what_is_cut_is_listed_only_when_asked_for(bin_: Workroom) -> None:
    cuffs(bin_, count=1)
    done = cut_all(bin_)
    (cut_tag,) = [sheet.tag for sheet in done.sheets]
    assert cut_tag not in [listed.tag for listed in finding.find(bin_)]
    assert [listed.tag for listed in finding.find(bin_, Wanted(states=(RemnantState.CUT,)))] == [cut_tag]
    assert cut_tag in [listed.tag for listed in finding.find(bin_, Wanted(states=()))]


def test_no_geometry_is_needed_for_the_lists(stash_file: Path) -> None:
    """Its library takes longer to load than the lists to make."""
    lists = "cloths.every(w), finding.find(w), finding.lays_listed(w), book.entries(w), settings.read(w)"
    code = "import sys\nfrom stash import Workroom, book, cloths, finding, settings\n"
    code += f"with Workroom.open(sys.argv[1]) as w: {lists}"
    code += "\nprint('shapely' in sys.modules or 'numpy' in sys.modules)"
    ran = subprocess.run([sys.executable, "-c", code, str(stash_file)], capture_output=True, text=True, check=True)
    assert ran.stdout == "False\n"


def test_no_outline_is_loaded_for_a_list(bin_: Workroom, monkeypatch: pytest.MonkeyPatch) -> None:
    from stash.tables import Shape

    def refuse(*_: object) -> None:
        raise AssertionError("an outline was loaded")

    monkeypatch.setattr(Shape, "process_result_value", refuse)
    assert len(finding.find(bin_)) == 4
