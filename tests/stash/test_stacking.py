"""Lays in stacks: which plies, what each tracing makes, that no hand is wrong, and that every ply is proved by itself."""

from __future__ import annotations

import functools
from collections import Counter
from dataclasses import replace

import pytest
from shapely import Polygon

from nesting import Lie, in_stack, read_case
from stash import (
    CannotBeDone,
    Refused,
    Workroom,
    asking,
    audit,
    book,
    cloths,
    cutting,
    jobs,
    lays,
    losing,
    offering,
    outlines,
    patterns,
    ply_proof,
    proving,
    seeking,
)
from stash.plans import Lay, row_of
from stash.seeking import Effort
from stash.tables import LayPanelRow, LayPlyRow, LayRow
from stash.terms import InStack, Terms

from .scenes import linen, scrap

TAPERED = ((0.0, -46.0375), (107.42, -30.6915), (107.42, 30.6915), (0.0, 46.0375))
"""107.42 mm long with straight ends of 92.075 and 61.383 mm."""
HANDED = ((0.0, 0.0), (90.0, 0.0), (60.0, 40.0), (0.0, 40.0))
EDGES = tuple(patterns.NewEdge(name, n) for n, name in enumerate(("middle", "neck", "side", "hem")))
BRIEF = Effort(seconds=0.2)


def sewn(workroom: Workroom, ring: tuple[tuple[float, float], ...], count: int, **said: object) -> jobs.Job:
    """A job of one piece, drawn by its cut line."""
    piece = patterns.NewPiece(name="panel", ring=ring, allowance=4.0, drawn="cut", **said)  # type: ignore[arg-type]
    patterns.add(workroom, "cap", [piece])
    return jobs.add(workroom, "caps", [jobs.NewJobPiece(pattern="cap", piece="panel", count=count)])


def tried(workroom: Workroom, effort: Effort = BRIEF, **said: object) -> tuple[Lay, seeking.Found]:
    """The lay of the job in stacks, recorded and found sound."""
    asked = asking.ask(workroom, "caps", Terms(gap=0.0, **said))  # type: ignore[arg-type]
    (offer,) = offering.offers(asked, effort)
    lay = lays.record(workroom, offer.asked, offer.found.result, by="MB")
    assert not proving.prove(workroom, lay.number)[1].faults
    return lay, offer.found


def four_plies(workroom: Workroom, last: float = 326, **said: object) -> None:
    for tag, width in zip(("N-01", "N-02", "N-03", "N-04"), (330.0, 330.0, 330.0, last), strict=True):
        scrap(workroom, tag, length=116, width=width, **said)


STACK = tuple(InStack(tag) for tag in ("n-01", "N-02", "N-03", "N-04"))


@pytest.mark.slow
def test_sixteen_through_four_plies_are_refused_naming_the_narrow_one_and_fifteen_are_proved_best(workroom: Workroom) -> None:
    """Must show: 116 mm (warp) by 330, 330, 330 and 326 mm (weft), either way, 3 mm margin. Counts by arithmetic in
    `tests/nesting/test_stacking.py`."""
    linen(workroom)
    four_plies(workroom)
    sewn(workroom, TAPERED, 16)
    lay, found = tried(workroom, Effort(seconds=4.0), stacks=(STACK,), slip=0.0)
    assert (found.result.placed, found.result.bound, found.result.proved) == (15, 15, True)
    (refused,) = found.not_through
    assert (refused.plies, refused.through_all, refused.copies, refused.wanted) == (4, 12, 15, 16)
    (lack,) = refused.lacks
    assert (lack.tag, lack.ply, lack.tracing) == ("N-04", 4, 4)
    assert 1.0 < lack.by < 4.5
    assert (lack.shorter, lack.narrower) == pytest.approx((0.0, 4.0))
    assert min(lack.near, 326 - lack.near) < 4.5
    (stack,) = lay.stacks
    assert [ply.tag for ply in stack.plies] == ["N-01", "N-02", "N-03", "N-04"]
    assert Counter(len(tracing.panels) for tracing in stack.tracings) == {4: 3, 3: 1}
    assert all(4 not in tracing.panels for tracing in stack.tracings if len(tracing.panels) == 3)
    for edge in ply_proof.edges_of(lay):
        assert edge.distance == pytest.approx(3.0, abs=0.01)
    lays.chalk(workroom, lay.number, by="MB")
    cutting.cut(workroom, lay.number, by="MB")
    assert book.balance(workroom).balanced
    assert audit.audit(workroom).faults == ()


@pytest.mark.slow
def test_stacks_are_found_where_they_save_tracings(workroom: Workroom) -> None:
    linen(workroom)
    four_plies(workroom, last=330)
    sewn(workroom, TAPERED, 16)
    lay, found = tried(workroom, Effort(seconds=3.0), plies=4, slip=0.0)
    assert (found.result.placed, [len(stack.tracings) for stack in lay.stacks]) == (16, [4])
    assert found.not_through == ()


@pytest.mark.slow
def test_remnants_that_no_lay_of_singles_would_open_are_stacked_where_that_saves_tracings(workroom: Workroom) -> None:
    """One large remnant holds all four, which takes four tracings; four small ones of one panel each take one."""
    linen(workroom)
    scrap(workroom, "L-01", length=116, width=500)
    for tag in ("N-01", "N-02", "N-03", "N-04"):
        scrap(workroom, tag, length=116, width=100)
    sewn(workroom, TAPERED, 4)
    lay, found = tried(workroom, Effort(seconds=3.0), plies=4, slip=0.0)
    assert found.result.placed == 4
    assert [(len(stack.tracings), len(stack.plies)) for stack in lay.stacks] == [(1, 4)]


@pytest.mark.parametrize(
    ("said", "most"),
    [({"weight": 500.0}, 3), ({"weight": 180.0, "thickness": 2.4}, 2)],
)
def test_a_stack_is_no_heavier_and_no_thicker_than_is_allowed(workroom: Workroom, said: dict[str, float], most: int) -> None:
    cloths.add(workroom, cloths.NewCloth(name="blue linen", fibres={"linen": 100}, **({"weight": 180.0} | said)))
    four_plies(workroom, last=330)
    sewn(workroom, TAPERED, 16)
    with pytest.raises(Refused, match="too much to cut at once"):
        tried(workroom, stacks=(STACK,))
    asked = asking.ask(workroom, "caps", Terms(plies=4))
    from stash.stack_limits import within

    assert len(within(asked, ["N-01", "N-02", "N-03", "N-04"], 4)) == most


@pytest.mark.parametrize(
    ("stack", "what"),
    [
        ((InStack("N-01"),), "alone is no stack"),
        ((InStack("N-01"), InStack("n-01 ")), "twice"),
        ((InStack("N-01", True, 0.5),), "cannot be folded there"),
        ((InStack("N-01"), InStack("X-9")), "cannot be in a stack"),
    ],
)
def test_a_stack_that_cannot_be(workroom: Workroom, stack: tuple[InStack, ...], what: str) -> None:
    linen(workroom)
    four_plies(workroom)
    sewn(workroom, TAPERED, 2)
    with pytest.raises((Refused, CannotBeDone), match=what):
        tried(workroom, stacks=(stack,))


def test_what_is_matched_to_a_stripe_is_not_cut_through_a_stack(workroom: Workroom) -> None:
    linen(workroom, repeat_across=50.0)
    for tag in ("N-01", "N-02"):
        scrap(workroom, tag, bar_near=10.0)
    sewn(workroom, TAPERED, 4, anchor=patterns.Anchor(point=(50.0, 0.0)))
    with pytest.raises(CannotBeDone, match="stripe or check"):
        tried(workroom, stacks=((InStack("N-01"), InStack("N-02")),))


@pytest.mark.slow
def test_what_may_lie_as_it_falls_on_a_stripe_is_cut_through_a_stack(workroom: Workroom) -> None:
    linen(workroom, repeat_across=50.0)
    for tag in ("N-01", "N-02"):
        scrap(workroom, tag, bar_near=10.0)
    sewn(workroom, TAPERED, 4, anchor=patterns.Anchor(point=(50.0, 0.0)))
    lay, _ = tried(workroom, stacks=((InStack("N-01"), InStack("N-02")),), matched=False)
    assert [len(tracing.panels) for tracing in lay.stacks[0].tracings] == [2, 2]


# --- hands and faces ------------------------------------------------------------------------------------------------------


def hands(lay: Lay) -> Counter[object]:
    return Counter(panel.hand for panel in lay.panels)


@pytest.mark.slow
def test_one_tracing_face_to_face_makes_a_left_and_a_right(workroom: Workroom) -> None:
    linen(workroom, faces_alike=False)
    for tag in ("N-01", "N-02"):
        scrap(workroom, tag, length=100, width=50)
    sewn(workroom, HANDED, 2, left_and_right=True)
    lay, _ = tried(workroom, stacks=((InStack("N-01"), InStack("N-02")),))
    ((tracing,), plies) = lay.stacks[0].tracings, lay.stacks[0].plies
    assert len(tracing.panels) == 2
    assert [ply.lie.flipped for ply in plies] == [False, True]
    assert hands(lay) == {"left": 1, "right": 1}
    assert not any(panel.placement.flipped for panel in lay.panels)


def test_a_fold_makes_a_pair_and_keeps_off_the_fold(workroom: Workroom) -> None:
    linen(workroom, faces_alike=False)
    scrap(workroom, "N-01", length=120, width=140)
    sewn(workroom, HANDED, 2, left_and_right=True)
    lay, _ = tried(workroom, stacks=((InStack("N-01", folded=True),),))
    (stack,) = lay.stacks
    assert [(ply.tag, ply.fold, ply.half) for ply in stack.plies] == [("N-01", 70.0, "near"), ("N-01", 70.0, "far")]
    assert (len(stack.tracings), hands(lay)) == (1, {"left": 1, "right": 1})
    assert all(abs(y - 70.0) >= 5.0 - 0.01 for panel in lay.panels for _, y in panel.cut_line.exterior.coords)


@pytest.mark.slow
def test_a_piece_with_one_hand_is_cut_in_the_near_half_of_a_fold_alone(workroom: Workroom) -> None:
    """Of cloth with two faces: in the far half it would be a panel that nobody drew."""
    linen(workroom, faces_alike=False)
    scrap(workroom, "N-01", length=120, width=140)
    sewn(workroom, HANDED, 2)
    lay, _ = tried(workroom, stacks=((InStack("N-01", folded=True),),))
    assert [set(tracing.panels) for stack in lay.stacks for tracing in stack.tracings] == [{1}]


@pytest.mark.slow
def test_what_was_named_and_is_not_done_is_said(workroom: Workroom) -> None:
    """The fold of N-01 makes the pair, which leaves nothing for N-02 under it, and has no room for what is drawn on it."""
    linen(workroom, faces_alike=False)
    scrap(workroom, "N-01", length=130, width=140)
    scrap(workroom, "N-02", length=130, width=200)
    half = patterns.NewPiece(name="front", ring=((0, 0), (100, 0), (100, 80), (0, 90)), edges=EDGES, fold="middle")
    hand = patterns.NewPiece(name="panel", ring=HANDED, allowance=4.0, drawn="cut", left_and_right=True)
    patterns.add(workroom, "cap", [half, hand])
    pieces = [jobs.NewJobPiece(pattern="cap", piece=name, count=count) for name, count in (("front", 1), ("panel", 2))]
    jobs.add(workroom, "caps", pieces)
    _, found = tried(workroom, stacks=((InStack("N-01", folded=True), InStack("N-02")),))
    assert found.idle == ("N-02",)
    assert found.cut_whole == ("front",)
    assert found.result.placed == 3


@pytest.mark.slow
@pytest.mark.parametrize("alike", [True, False])
def test_no_stack_ever_makes_a_wrong_hand(workroom: Workroom, alike: bool) -> None:
    """Whatever lies turned over: on one-faced cloth no placement is flipped, and each panel's shape is that of its hand."""
    linen(workroom, faces_alike=alike)
    for tag in ("N-01", "N-02", "N-03"):
        scrap(workroom, tag, length=200, width=100)
    sewn(workroom, HANDED, 10, left_and_right=True)
    lay, found = tried(workroom, Effort(seconds=3.0), plies=3)
    assert found.result.placed == 10
    if alike:
        return
    assert hands(lay) == {"left": 5, "right": 5}
    for panel in lay.panels:
        assert not panel.placement.flipped
        # Of the left hand the long side is the near one; turned head to foot it is the far one.
        x, y = panel.cut_line.centroid.coords[0]
        left, low, right, high = panel.cut_line.bounds
        assert ((y - low) < (high - y)) == ((panel.hand == "left") == (panel.placement.turn == 0)), panel
        assert ((x - left) < (right - x)) == (panel.placement.turn == 0)


@pytest.mark.slow
def test_on_one_way_cloth_every_panel_of_a_stack_lies_the_same_way(workroom: Workroom) -> None:
    linen(workroom, one_way=True, faces_alike=False)
    four_plies(workroom, last=330, nap="along")
    sewn(workroom, HANDED, 8, left_and_right=True)
    lay, found = tried(workroom, Effort(seconds=3.0), plies=4)
    assert found.result.placed == 8
    assert {panel.placement.turn for panel in lay.panels} == {0.0}
    assert {ply.lie.turn for stack in lay.stacks for ply in stack.plies} <= {0.0}


def test_a_piece_drawn_on_the_fold_lies_across_it_with_its_middle_on_the_fold(workroom: Workroom) -> None:
    linen(workroom, faces_alike=False)
    scrap(workroom, "N-01", length=130, width=200)
    half = ((0.0, 0.0), (100.0, 0.0), (100.0, 30.0), (0.0, 50.0))
    sides = [patterns.NewEdge(name, n, 5.0) for n, name in enumerate(("middle", "neck", "side", "hem"))]
    piece = patterns.NewPiece(name="panel", ring=half, edges=tuple(sides), drawn="sewing", fold="middle")
    patterns.add(workroom, "cap", [piece])
    jobs.add(workroom, "caps", [jobs.NewJobPiece(pattern="cap", piece="panel", count=1)])
    lay, _ = tried(workroom, stacks=((InStack("N-01", folded=True),),))
    ((tracing,),) = (stack.tracings for stack in lay.stacks)
    assert tracing.on_fold
    (panel,) = lay.panels
    low, high = panel.cut_line.bounds[1], panel.cut_line.bounds[3]
    assert (low + high) / 2 == pytest.approx(100.0, abs=0.1)
    assert (
        panel.cut_line.symmetric_difference(in_stack(panel.cut_line, Lie(y=200.0, flipped=True))).area
        < 0.5 * panel.cut_line.length
    )


# --- what is proved, and what changes -------------------------------------------------------------------------------------


def wrong(workroom: Workroom, lay: Lay) -> list[str]:
    with workroom.reading() as session:
        case = read_case(row_of(session, lay.number).case, where="lay")
    return list(ply_proof.faults(lays.get(workroom, lay.number), case))


def stock(workroom: Workroom) -> None:
    """A lay of two plies through which four panels are cut."""
    linen(workroom, faces_alike=False)
    for tag in ("N-01", "N-02"):
        scrap(workroom, tag, length=120, width=340)
    sewn(workroom, TAPERED, 8)
    lay, _ = tried(workroom, stacks=((InStack("N-01"), InStack("N-02")),), slip=2.0)
    assert len(lay.stacks[0].tracings) == 4


@pytest.fixture
def laid(stocked: Workroom) -> Lay:
    return lays.get(stocked, 1)


def test_the_proof_finds_a_ply_that_was_shifted(stocked: Workroom, laid: Lay) -> None:
    assert wrong(stocked, laid) == []
    with stocked.writing() as session:
        session.get_one(LayPlyRow, (laid.number, 1, 2)).x += 3.0
    found = wrong(stocked, laid)
    assert len(found) == 4
    assert "in ply 2 (N-02) it lies 3 mm beside" in found[0]
    assert not proving.prove(stocked, laid.number)[1].legal
    assert any("N-02" in fault.what for fault in audit.audit(stocked).faults)


def test_the_proof_finds_a_ply_turned_over(stocked: Workroom, laid: Lay) -> None:
    with stocked.writing() as session:
        ply = session.get_one(LayPlyRow, (laid.number, 1, 2))
        ply.flipped, ply.y = True, ply.y + 340.0
    assert any("N-02" in what for what in wrong(stocked, laid))


def test_the_proof_finds_a_copy_nearer_to_its_edge_than_slip_allows(stocked: Workroom, laid: Lay) -> None:
    with stocked.writing() as session:
        session.get_one(LayRow, laid.number).slip = 30.0
    found = wrong(stocked, laid)
    assert any("ply 1 (N-01)" in what and "of its edge" in what and "from its near edge" in what for what in found)


def test_slip_is_kept_from_every_edge_of_every_ply(laid: Lay) -> None:
    assert laid.slip == 2.0
    for edge in ply_proof.edges_of(laid):
        assert edge.distance >= 3.0 + 2.0 - 0.02


@pytest.mark.slow
def test_a_ply_that_is_not_there_leaves_the_tracings_of_the_others(stocked: Workroom, laid: Lay) -> None:
    lays.chalk(stocked, laid.number, by="MB")
    losing.not_there(stocked, "N-02", by="MB")
    scrap(stocked, "N-03", length=120, width=340)
    asked = asking.ask_round(stocked, laid.number)
    again = lays.record(stocked, asked, seeking.seek(asked, BRIEF).result, by="MB")
    assert again.complete
    (stack,) = again.stacks
    assert [ply.tag for ply in stack.plies] == ["N-01"]
    assert [set(tracing.panels) for tracing in stack.tracings] == [{1}] * 4


def test_a_panel_of_a_stack_can_be_spoiled_by_itself(stocked: Workroom, laid: Lay) -> None:
    lays.chalk(stocked, laid.number, by="MB")
    done = cutting.cut(stocked, laid.number, by="MB", spoiled=(3,))
    assert sum(panel.fate == "spoiled" for panel in done.lay.panels) == 1
    assert book.balance(stocked).balanced
    with stocked.reading() as session:
        assert {row.tracing for row in session.query(LayPanelRow)} == {1, 2, 3, 4}


def test_a_margin_is_refused_that_is_none(workroom: Workroom) -> None:
    linen(workroom)
    four_plies(workroom)
    sewn(workroom, TAPERED, 2)
    with pytest.raises(Refused, match="slip is"):
        asking.ask(workroom, "caps", Terms(slip=-1.0))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(2))
def test_stacks_of_odd_scraps_are_sound_and_give_no_fewer_panels(workroom: Workroom, seed: int) -> None:
    """Odd quadrilaterals of two cloths: every lay in stacks is legal ply by ply, of one cloth a stack, and holds what a lay of
    single remnants holds."""
    import random

    chance = random.Random(seed)
    for name in ("blue linen", "green linen"):
        linen(workroom, name, faces_alike=name.startswith("blue"))
    for n in range(8):
        corner = functools.partial(chance.uniform, 0, 60)
        ring = ((corner(), corner()), (420 - corner(), corner()), (420 - corner(), 320 - corner()), (corner(), 320 - corner()))
        cloth = ("blue linen", "green linen")[n % 2]
        scrap(workroom, f"Q-{n}", cloth, outline=replace(outlines.rectangle(420, 320), ring=ring))
    sewn(workroom, HANDED, 60, left_and_right=True)
    asked = asking.ask(workroom, "caps")
    plain = seeking.seek(asked, Effort(seconds=3.0))
    lay, found = tried(workroom, Effort(seconds=8.0), plies=4)
    assert found.result.placed >= min(60, plain.result.placed)
    assert lay.stacks
    cloth_of = {sheet.remnant.tag: sheet.remnant.cloth.name for sheet in lay.sheets}
    assert all(len({cloth_of[ply.tag] for ply in stack.plies}) == 1 for stack in lay.stacks)
    assert sum(len(stack.tracings) for stack in lay.stacks) < sum(len(t.panels) for s in lay.stacks for t in s.tracings)
    assert all(isinstance(panel.cut_line, Polygon) for panel in lay.panels)


# --- pairs from one remnant -----------------------------------------------------------------------------------------------


def in_pairs(lay: Lay) -> bool:
    """Whether each remnant holds as many of the one hand as of the other."""
    by_tag: dict[str, Counter[object]] = {}
    for sheet in lay.sheets:
        by_tag[sheet.remnant.tag] = Counter(panel.hand for panel in sheet.panels)
    return all(hands["left"] == hands["right"] for hands in by_tag.values())


@pytest.mark.slow
@pytest.mark.parametrize(
    ("said", "length", "count"), [({"stacks": ((InStack("N-01"), InStack("N-02")),)}, 200, 6), ({"plies": 2}, 200, 4)]
)
def test_pairs_of_one_remnant_stay_together_in_a_stack(
    workroom: Workroom, said: dict[str, object], length: float, count: int
) -> None:
    """Face to face one tracing makes a left on the one and a right on the other, which are no pair of one remnant."""
    linen(workroom, faces_alike=False)
    for tag in ("N-01", "N-02", "N-03"):
        scrap(workroom, tag, length=length, width=100)
    piece = patterns.NewPiece(name="panel", ring=HANDED, allowance=4.0, drawn="cut", left_and_right=True)
    patterns.add(workroom, "cap", [piece])
    jobs.add(workroom, "caps", [jobs.NewJobPiece(pattern="cap", piece="panel", count=count)], pairs_together=True)
    lay, found = tried(workroom, Effort(seconds=1.0), **said)
    assert found.result.placed == count
    assert in_pairs(lay)


@pytest.mark.slow
def test_a_stack_that_would_part_every_pair_is_refused(workroom: Workroom) -> None:
    linen(workroom, faces_alike=False)
    for tag in ("N-01", "N-02"):
        scrap(workroom, tag, length=100, width=50)
    scrap(workroom, "N-03", length=200, width=100)
    piece = patterns.NewPiece(name="panel", ring=HANDED, allowance=4.0, drawn="cut", left_and_right=True)
    patterns.add(workroom, "cap", [piece])
    jobs.add(workroom, "caps", [jobs.NewJobPiece(pattern="cap", piece="panel", count=2)], pairs_together=True)
    with pytest.raises(CannotBeDone, match="N-01 and N-02 holds no pair"):
        tried(workroom, stacks=((InStack("N-01"), InStack("N-02")),))
