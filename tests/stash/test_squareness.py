"""Cloth whose weft is not square to its warp: kept as it lies right side up, inherited, mended, and warned of."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from stash import Refused, Workroom, asking, audit, lays, measuring, mending, outlines, remnants, squareness
from stash.words import Face, Nap

from .scenes import cuffs, cut_all, linen, rows, scrap

LEANS = math.degrees(math.atan2(12, 400))  # 12 mm over 400 mm, which is 3 %


@pytest.mark.parametrize(
    ("said", "kept"),
    [({}, LEANS), ({"face_up": Face.WRONG}, -LEANS), ({"nap": Nap.AGAINST}, LEANS), ({"grain_angle": 90.0}, LEANS)],
)
def test_a_skew_is_kept_as_it_lies_right_side_up(workroom: Workroom, said: dict[str, object], kept: float) -> None:
    """Turned over across the grain what leans to the right leans to the left; turned by half it leans as before."""
    linen(workroom)
    assert scrap(workroom, "L1", skew=LEANS, **said).skew == pytest.approx(kept)


@pytest.mark.parametrize(("skew", "warned"), [(None, False), (0.0, False), (1.1, False), (1.2, True), (-1.2, True)])
def test_more_than_two_per_cent_is_warned_of(skew: float | None, warned: bool) -> None:
    assert squareness.is_skewed(skew) == warned


@pytest.mark.parametrize("skew", [31.0, -45.0, math.nan, math.inf])
def test_a_skew_that_cannot_be(workroom: Workroom, skew: float) -> None:
    linen(workroom)
    with pytest.raises(Refused, match="skew"):
        scrap(workroom, "L1", skew=skew)


def test_it_is_measured_again_and_put_right(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L2")
    again = measuring.Measures(outline=outlines.rectangle(390, 300))
    assert measuring.measure_again(workroom, "L2", replace(again, skew=2.0), by="MB").skew == 2.0
    assert measuring.measure_again(workroom, "L2", again, by="MB").skew == 2.0
    mending.mend_remnant(workroom, "L2", by="MB", why="looked again", skew=0.4)
    assert remnants.get(workroom, "L2").skew == 0.4


@pytest.mark.slow
def test_keepers_inherit_it_and_lays_name_it(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1", skew=LEANS)
    cuffs(workroom, 2)
    asked = asking.ask(workroom, "cuffs", only=("L1",))
    lay = lays.record(workroom, asked, rows(asked), by="MB")
    assert [(one.tag, round(one.per_cent, 6)) for one in squareness.out_of_square(lay)] == [("L1", 3.0)]
    lays.rub_out(workroom, lay.number, by="MB")
    done = cut_all(workroom)
    assert {keeper.skew for sheet in done.sheets if sheet.tag == "L1" for keeper in sheet.keepers} <= {LEANS}
    assert audit.audit(workroom).faults == ()
