"""A ring of trued panels against the development of a cone, and the wash against ISO 5077.

Development of a frustum (elementary geometry, in any textbook of sheet-metal or pattern development; *mem*): cut open along
its slant s it lies flat as a sector of an annulus, whose angle is 360° × (R − r) / s for the radii R and r of its ends, and
whose arcs are as long as its ends' girths.

ISO 5077 (*Textiles: determination of dimensional change in washing and drying*): (after − before) / before × 100 %, a minus
for shrinkage; see references.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from stash.drafting import Draft, panel
from stash.sewn_ring import rings
from stash.washing import Size, change, shrunk_to
from stash.words import Line

INCH = 25.4


@given(
    length=st.floats(50, 300), narrow=st.floats(20, 150), more=st.floats(1, 80), count=st.integers(3, 36), seam=st.floats(0, 9)
)
def test_a_ring_of_panels_is_the_development_of_a_frustum(
    length: float, narrow: float, more: float, count: int, seam: float
) -> None:
    assume(more / (2 * length) < 0.5)
    draft = Draft(length=length, wide=narrow + more, narrow=narrow, sides=seam, count=count)
    *_, ring = rings(draft)
    end, other = (edge.along_arcs / (2 * math.pi) for edge in (ring.outer, ring.inner))
    assert ring.turn == pytest.approx(360 * (end - other) / length)
    radii = panel(draft).radii
    assert radii is not None
    assert radii[0] - radii[1] == pytest.approx(length)
    assert math.radians(ring.turn) * radii[0] == pytest.approx(ring.outer.along_arcs)


def test_the_ring_of_the_29_inch_measure_is_a_cone_of_263_degrees() -> None:
    """*Common practice, no source*, for the measures: 7/48, 1/8 and 1/12 of 29 in on the cut line, sixteen, ¼ in seams."""
    draft = Draft(length=7 / 48 * 29 * INCH, wide=29 / 8 * INCH, narrow=29 / 12 * INCH, on=Line.CUT, sides=INCH / 4, count=16)
    *_, ring = rings(draft)
    girths = (ring.outer.along_arcs - ring.inner.along_arcs) / (2 * math.pi)
    assert 360 * girths / draft.length == pytest.approx(ring.turn)
    assert ring.turn == pytest.approx(262.8, abs=0.05)


@pytest.mark.parametrize(
    ("before", "after", "percent"), [(1000, 940, -6.0), (600, 576, -4.0), (350, 350, 0.0), (350, 357, 2.0)]
)
def test_dimensional_change_as_iso_5077_has_it(before: float, after: float, percent: float) -> None:
    assert change(before, after) == pytest.approx(percent)
    assert shrunk_to(Size(before, 100, 100 * before, 180), percent, 0).length == pytest.approx(after)


def test_linen_washed() -> None:
    """1000 × 600 mm, 108 g, −6 % warp, −4 % weft: 940 × 576 mm, 0.54144 m², 199.5 g/m² (calc)."""
    after = shrunk_to(Size(1000, 600, 600_000, 108 / 0.6), -6, -4)
    assert (after.length, after.width, after.area / 1e6) == pytest.approx((940, 576, 0.54144))
    assert round(after.weight, 1) == 199.5
