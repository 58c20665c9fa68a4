"""What a tape leaves unsure: against chance itself, and against what can be worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import Polygon

from nesting import Ring
from stash import outlines
from stash.outlines import Border, Corner, CornerBite, EdgeBite
from stash.refusals import Refused
from stash.tape import STATED, Tape, carried, unsure_by
from stash.tying import tie


def test_a_rectangle_is_as_unsure_as_its_length_and_width() -> None:
    """By hand: area ± is 2 × √((width · u)² + (length · u)²); a corner moves by half of each, since the middle stays."""
    sigma = 1 / math.sqrt(3)
    found = outlines.rectangle(600, 400)
    assert found.area_within == pytest.approx(STATED * sigma * math.hypot(600, 400), rel=1e-6)
    assert found.within is not None
    assert found.within == pytest.approx(STATED * sigma / 2, rel=0.3)
    twice = outlines.rectangle(600, 400, tape=Tape(2.0))
    assert twice.area_within == pytest.approx(2 * found.area_within)


def test_shifting_and_turning_as_a_whole_are_not_unsure() -> None:
    ring: Ring = ((0.0, 0.0), (500.0, 0.0), (400.0, 300.0))
    moves = np.zeros((6, 3))
    moves[0::2, 0] = moves[1::2, 1] = 1
    moves[0::2, 2], moves[1::2, 2] = [-y for _, y in ring], [x for x, _ in ring]
    assert unsure_by(ring, moves @ moves.T).corner < 1e-4  # the root of a rounding error


def test_bites_are_carried_through() -> None:
    bites = [CornerBite(Corner.FAR_RIGHT, 80, 50, slanted=True), EdgeBite(Border.NEAR, 100, 60, 30, pointed=True)]
    found = outlines.bitten(600, 400, bites)
    assert len(found.ring) == 8
    assert found.within is not None
    assert 0.5 < found.within < 3
    # A slant that takes a whole end, a bite that begins at a corner: what is moved a little stays an outline.
    ends = [CornerBite(Corner.FAR_RIGHT, 80, 400, slanted=True), EdgeBite(Border.LEFT, 0, 60, 30)]
    assert len(outlines.bitten(600, 400, ends).ring) == 6


def test_what_is_stated_holds_nineteen_corners_in_twenty() -> None:
    """1,000 sets of readings of the four-cornered scrap, each out by up to 1 mm: the least sure corner, best fitted."""
    rng = np.random.default_rng(3)
    truth = {"AB": 420.0, "BC": 311.0, "CD": 386.0, "DA": 290.0, "AC": 506.0}
    exact = np.array(tie(truth).measured.ring)
    stated = tie(truth).measured
    assert stated.within is not None
    assert stated.area_within is not None
    off, areas = [], []
    for slips in rng.uniform(-1, 1, (200, len(truth))):
        ring = tie({name: length + slip for (name, length), slip in zip(truth.items(), slips, strict=True)}).measured.ring
        off.append(best_fitted(np.array(ring), exact))
        areas.append(Polygon(ring).area - Polygon(exact).area)
    assert np.quantile(off, 0.95) == pytest.approx(stated.within, rel=0.35)
    assert STATED * np.std(areas) == pytest.approx(stated.area_within, rel=0.15)


def best_fitted(ring: np.ndarray, truth: np.ndarray) -> float:
    """The farthest corner once a ring is shifted and turned onto the truth as well as can be (Kabsch)."""
    a, b = ring - ring.mean(axis=0), truth - truth.mean(axis=0)
    u, _, vt = np.linalg.svd(a.T @ b)
    return float(np.linalg.norm(a @ u @ np.diag([1, np.sign(np.linalg.det(u @ vt))]) @ vt - b, axis=1).max())


def test_a_reading_that_can_only_be_moved_one_way_is() -> None:
    def outline(readings: object) -> Ring:
        (length,) = readings  # type: ignore[misc]
        if length > 100:
            raise Refused("too long")
        return ((0.0, 0.0), (length, 0.0), (0.0, 50.0))

    found = carried(outline, [100.0], [1.0])
    assert found[2, 2] == pytest.approx(1)


@pytest.mark.parametrize("said", [{"within": 0}, {"within": 101}, {"turns": float("nan")}, {"turns": 46}])
def test_tapes_that_are_none(said: dict[str, float]) -> None:
    with pytest.raises(Refused):
        Tape(**said)
