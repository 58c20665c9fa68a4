"""The search on a strip: what it does to a lay that stalls, and the steps by which it shortens."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from nesting import Case, Panel, Strip
from nesting.instance import Instance
from nesting.strip import AGAIN, CHAINS, FINEST, SHORTEN, StripSearch

from .shapes import GORE, HOOK, box_ring

WAYS = ("_exchange_large", "_exchange_alike", "_begin_elsewhere", "_jostle")


def search(seed: int = 1) -> StripSearch:
    panels = (Panel("gore", GORE, 4), Panel("hook", HOOK, 3), Panel("patch", box_ring(40.0, 30.0), 3))
    return StripSearch(Instance(Case(panels, strip=Strip(200.0))), seed)


@pytest.mark.parametrize("way", WAYS)
def test_a_stalled_lay_is_put_out_of_order_and_keeps_its_panels(way: str) -> None:
    changed = 0
    for seed in range(5):
        it = search(seed)
        before, shapes = it.easing.lay.at.copy(), it.easing.lay.shape.copy()
        getattr(it, way)()
        after = it.easing.lay.at
        changed += not np.array_equal(before, after)
        assert np.isfinite(after).all()
        assert np.array_equal(shapes, it.easing.lay.shape)
        if way.startswith("_exchange"):
            there = Counter(map(tuple, before.tolist()))
            assert Counter(map(tuple, after.tolist())) == there
            moved = np.flatnonzero((before != after).any(axis=1)).tolist()
            assert len({it.easing.panels[i] for i in moved}) == len(moved)  # not two copies of one panel
    assert changed == 5


def test_beginning_elsewhere_keeps_the_order_round_the_strip() -> None:
    it = search()
    lay, length = it.easing.lay, it.length * (1 - it.share)
    half = it.instance.half[lay.shape, 0]
    before = lay.at[:, 0] - half
    it._begin_elsewhere()
    shift = (lay.at[:, 0] - half - before) % length
    away = np.minimum(np.abs(shift - shift[0]), length - np.abs(shift - shift[0]))
    assert away.max() < 1e-6


def test_steps_grow_smaller_and_then_begin_again() -> None:
    it = search()
    shares = [it.share]
    for _ in range(8 * CHAINS):
        it._strain = 0.0  # no link helps: each ends its chain
        it._go_on()
        if it.share != shares[-1]:
            shares.append(it.share)
    assert shares[0] == SHORTEN
    assert shares[:4] == [SHORTEN, SHORTEN / 2, SHORTEN / 4, SHORTEN / 8]
    assert min(shares) >= FINEST
    assert shares[5] == AGAIN


def test_where_all_are_copies_of_one_panel_some_jump_instead() -> None:
    it = StripSearch(Instance(Case((Panel("gore", GORE, 6),), strip=Strip(200.0))), 1)
    before = it.easing.lay.at.copy()
    it._exchange_large()
    assert not np.array_equal(before, it.easing.lay.at)
