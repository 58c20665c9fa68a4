"""Bias binding from what a lay leaves: clear of its panels, joined to the length wanted, each cloth for itself."""

from __future__ import annotations

from itertools import combinations

import pytest
from shapely import Polygon

from stash import Workroom, asking, bias_binding, lays
from stash.refusals import Refused
from stash.remnants import NewFault
from stash.words import FaultKind

from .scenes import cuffs, linen, rows, scrap

SPOT = ((250.0, 200.0), (280.0, 200.0), (280.0, 230.0), (250.0, 230.0))


def laid(workroom: Workroom) -> lays.Lay:
    linen(workroom)
    scrap(workroom, faults=(NewFault(FaultKind.STAIN, SPOT),))
    cuffs(workroom, count=3)
    asked = asking.ask(workroom, "cuffs")
    return lays.record(workroom, asked, rows(asked))


def test_strips_lie_clear_of_panels_edges_and_flaws(workroom: Workroom) -> None:
    lay = laid(workroom)
    _, (found,) = bias_binding.from_lay(workroom, lay.number, 40.0)
    assert found.cloth == "blue linen"
    assert found.joins == len(found.strips) - 1
    assert len(found.strips) >= 3
    cloth = Polygon([(0, 0), (400, 0), (400, 300), (0, 300)])
    for strip in found.strips:
        assert strip.length >= bias_binding.SHORTEST
        assert cloth.buffer(-lay.edge + 1e-6).covers(strip.shape)
        assert strip.shape.distance(Polygon(SPOT)) >= lay.edge - 1e-6
        assert all(strip.shape.distance(panel.cut_line) >= lay.gap - 1e-3 for panel in lay.panels)
    assert all(a.shape.distance(b.shape) >= lay.gap - 1e-6 for a, b in combinations(found.strips, 2))
    assert found.length == pytest.approx(sum(s.length for s in found.strips) - found.joins * 12.0 * 2**0.5)


@pytest.mark.slow
def test_for_a_length_the_fewest_strips_are_taken(workroom: Workroom) -> None:
    number = laid(workroom).number
    _, (all_of_it,) = bias_binding.from_lay(workroom, number, 40.0)
    _, (some,) = bias_binding.from_lay(workroom, number, 40.0, length=300.0)
    assert some.enough
    assert len(some.strips) < len(all_of_it.strips)
    assert sum(s.length for s in some.strips[:-1]) < 300.0 + (some.joins - 1) * 12.0 * 2**0.5
    _, (too_much,) = bias_binding.from_lay(workroom, number, 40.0, length=50_000.0)
    assert (too_much.enough, too_much.length) == (False, all_of_it.length)


def test_a_width_that_is_none_is_refused(workroom: Workroom) -> None:
    with pytest.raises(Refused, match="width"):
        bias_binding.from_lay(workroom, laid(workroom).number, 0.0)
