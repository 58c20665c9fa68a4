"""When measuring a rough remnant in full would be worth it: the rule, each side of each of its bounds."""

from __future__ import annotations

import pytest

from nesting import Result
from stash import Workroom, asking, measuring, outlines, patterns, remnants, roughness
from stash.jobs import ClothRule
from stash.refusals import NothingQualifies

from .scenes import cuffs, linen, rows, scrap

# A cuff is 100 × 60 mm; with 3 mm kept from each edge it needs 106 × 66, and a fifth less is 84.8 × 52.8.


def rough(workroom: Workroom, tag: str, length: float, width: float, **said: object) -> None:
    scrap(workroom, tag, outline=outlines.rectangle(length, width, rough=True), **said)


def stock(workroom: Workroom) -> None:
    linen(workroom)
    linen(workroom, "red wool", fibres={"wool": 100})
    scrap(workroom, "M1", length=330, width=80)


@pytest.fixture
def room(stocked: Workroom) -> Workroom:
    return stocked


def worth(workroom: Workroom, count: int = 9, **said: object) -> dict[str, str]:
    cuffs(workroom, count, rule=ClothRule(fibres=("linen",)), **said)
    asked = asking.ask(workroom, "cuffs")
    return {one.tag: one.why for one in roughness.worth_measuring(workroom, asked, rows(asked))}


def test_by_weight_at_least_a_panel_beside_the_rectangle(room: Workroom) -> None:
    """50 × 40 mm is 2000 mm²; a cuff takes 6000: from 8000 mm², 1.44 g at 180 g/m², it is worth it."""
    rough(room, "A", 50, 40, mass=1.45, place="Shelf A")
    rough(room, "B", 50, 40, mass=1.43)
    rough(room, "C", 50, 40, mass=30.0)
    found = worth(room)
    assert list(found) == ["C", "A"]  # the one with most cloth first
    assert found["A"] == "by its weight there are 61 cm² of cloth beside its rectangle; one cuff takes 60 cm²"


def test_unweighed_a_fifth_may_be_lacking(room: Workroom) -> None:
    rough(room, "A", 85, 53)
    rough(room, "B", 84, 53)
    rough(room, "C", 85, 52)
    rough(room, "D", 300, 200)
    found = worth(room, 40)
    assert found == {
        "A": "its rectangle lacks 21 mm of the length and 13 mm of the width that one cuff takes, and it was not weighed",
        "D": "its rectangle holds a cuff, and what lies beside it was neither measured nor weighed",
    }


def test_not_where_the_lay_lacks_nothing(room: Workroom) -> None:
    rough(room, "A", 50, 40, mass=30.0)
    assert worth(room, 2) == {}


def test_not_of_a_cloth_that_will_not_do_nor_apart_nor_measured(room: Workroom) -> None:
    rough(room, "A", 50, 40, mass=30.0, cloth="red wool")
    rough(room, "B", 50, 40, mass=30.0)
    remnants.put_apart(room, "B", "moth", by="MB")
    rough(room, "C", 50, 40, mass=30.0)
    measuring.measure_again(room, "C", measuring.Measures(outline=outlines.rectangle(60, 50)), by="MB")
    assert worth(room) == {}


def test_washed_where_washed_is_asked(room: Workroom) -> None:
    rough(room, "A", 50, 40, mass=30.0)
    rough(room, "B", 50, 40, mass=30.0, washed="cold")
    scrap(room, "M2", length=330, width=80, washed="cold")
    cuffs(room, 9, rule=ClothRule(washed=True))
    asked = asking.ask(room, "cuffs")
    assert [one.tag for one in roughness.worth_measuring(room, asked)] == ["B"]


def test_where_nothing_qualified_the_job_itself_is_asked(workroom: Workroom) -> None:
    linen(workroom)
    rough(workroom, "A", 50, 40, mass=30.0)
    cuffs(workroom)
    with pytest.raises(NothingQualifies):
        asking.ask(workroom, "cuffs")
    (one,) = roughness.job_lacks(workroom, "cuffs")
    assert (one.tag, one.piece, one.panel_area) == ("A", "cuff", 6000)
    assert one.hidden_area == pytest.approx(30 / 180 * 1e6 - 2000)


def test_each_once_for_the_first_piece_that_lacks(room: Workroom) -> None:
    rough(room, "A", 50, 40, mass=30.0)
    patterns.add(room, "blouse", [patterns.NewPiece(name="tab", ring=((0, 0), (20, 0), (20, 20)), allowance=0)])
    cuffs(room, 9)
    asked = asking.ask(room, "cuffs")
    found = roughness.worth_measuring(room, asked, Result())
    assert [one.tag for one in found] == ["A"]


def test_a_rough_remnant_is_laid_on_by_its_rectangle(workroom: Workroom) -> None:
    linen(workroom)
    rough(workroom, "A", 220, 70)
    cuffs(workroom, 2)
    asked = asking.ask(workroom, "cuffs")
    assert rows(asked).placed == 2
