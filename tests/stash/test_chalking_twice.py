"""Two lays of one job may both be chalked only as long as the job needs the panels of both."""

from __future__ import annotations

from pathlib import Path

import pytest

from stash import Workroom, asking, cutting, jobs, lays, patterns
from stash.refusals import NotNeeded

from .scenes import cuffs, linen, rows, scrap, whole_stash


def stock(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1")
    scrap(workroom, "L2")
    cuffs(workroom, count=4, spares=1)


@pytest.fixture
def bin_(stocked: Workroom) -> Workroom:
    return stocked


def tried(workroom: Workroom, **most: int) -> int:
    """The number of a lay with so many copies from each remnant."""
    asked = asking.ask(workroom, "cuffs")
    return lays.record(workroom, asked, rows(asked, {"L1": 0, "L2": 0, **most}), by="MB").number


def test_a_second_lay_of_all_panels_is_not_chalked(bin_: Workroom, stash_file: Path) -> None:
    first, second = tried(bin_, L1=4), tried(bin_, L2=4)
    lays.chalk(bin_, first, by="AK")
    before = whole_stash(stash_file)
    with pytest.raises(NotNeeded) as refusal:
        lays.chalk(bin_, second, by="MB")
    assert refusal.value.what == "cuffs has use for 1 more cuff, and lay 2 has 4; the others are in lay 1, chalked by AK"
    assert refusal.value.where == "lay 2"
    assert "`fent lay rub-out`" in refusal.value.next
    assert whole_stash(stash_file) == before
    lays.rub_out(bin_, first, by="AK")
    assert lays.chalk(bin_, second, by="MB").state == "chalked"


def test_two_that_are_both_needed_are(bin_: Workroom) -> None:
    first, second = tried(bin_, L1=2), tried(bin_, L2=3)
    lays.chalk(bin_, first, by="AK")
    assert lays.chalk(bin_, second, by="MB").state == "chalked"
    assert jobs.get(bin_, "cuffs").pieces[0].chalked == 5


def test_a_lay_is_not_chalked_once_its_panels_are_cut(bin_: Workroom) -> None:
    first, second = tried(bin_, L1=5), tried(bin_, L2=3)
    cutting.cut(bin_, lays.chalk(bin_, first, by="AK").number, by="AK", spoiled=[1, 2])
    with pytest.raises(NotNeeded, match="cuffs has use for 2 more cuff, and lay 2 has 3; the others are cut"):
        lays.chalk(bin_, second, by="AK")
    third = tried(bin_, L2=2)
    assert lays.chalk(bin_, third, by="AK").state == "chalked"


def test_each_hand_is_counted_for_itself(workroom: Workroom) -> None:
    linen(workroom, faces_alike=False)
    scrap(workroom, "L1")
    scrap(workroom, "L2")
    cuffs(workroom, count=4, left_and_right=True)
    two_left = tried(workroom, L1=2)
    more_left = tried(workroom, L2=1)
    assert {panel.hand for number in (two_left, more_left) for panel in lays.get(workroom, number).panels} == {"left"}
    lays.chalk(workroom, two_left, by="AK")
    with pytest.raises(NotNeeded, match="cuffs has use for 2 more cuff"):
        lays.chalk(workroom, more_left, by="AK")
    assert patterns.get(workroom, "shirt").pieces[0].left_and_right
