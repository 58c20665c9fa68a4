"""Envelopes: in the book's balance, never in a lay."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from stash import Workroom, asking, book, envelopes, keepers, remnants
from stash.envelopes import NewEnvelope
from stash.refusals import CannotBeDone, Held, NothingQualifies, Plainly, Refused, Taken, Unknown, WrongState
from stash.words import Account, RemnantState

from .scenes import chalked, cuffs, cut_all, linen, scrap, whole_stash


def stock(workroom: Workroom) -> None:
    linen(workroom, lot="A7")
    linen(workroom, "red wool", fibres={"wool": 100}, weight=300)
    scrap(workroom, "L1", length=100, width=50)
    scrap(workroom, "W1", "red wool")
    envelopes.add(workroom, NewEnvelope(tag="e1", cloth="blue linen", mass=9.0, place="Shelf A", source="given"), by="MB")  # type: ignore[arg-type]


@pytest.fixture
def room(stocked: Workroom) -> Workroom:
    return stocked


def in_bin(workroom: Workroom) -> tuple[int, int]:
    total = next(total for total in book.balance(workroom).totals if total.account is Account.BIN)
    return total.area, total.mass


def test_an_envelope_is_kept_as_told_and_booked_by_its_weight(room: Workroom) -> None:
    """9 g of 180 g/m² is 0.05 m²."""
    kept = envelopes.get(room, " E1")
    assert (kept.tag, kept.cloth, kept.lot, kept.place, kept.mass, kept.area) == (
        "E1",
        "blue linen",
        "A7",
        "Shelf A",
        9,
        50_000,
    )
    (entry,) = book.entries(room, envelope="e1")
    assert [(line.account, line.detail, line.envelope, line.mass) for line in entry.lines] == [
        (Account.IN, "given", "E1", -9_000),
        (Account.BIN, "envelope", "E1", 9_000),
    ]


def test_more_is_put_in_and_some_taken_out(room: Workroom) -> None:
    assert envelopes.put_in(room, "E1", 3.0, by="MB").mass == 12
    left = envelopes.take_out(room, "E1", 4.0, by="MB", note="for stuffing")
    assert (left.mass, left.area) == (8, pytest.approx(8 / 180 * 1e6, abs=0.02))
    assert envelopes.take_out(room, "E1", by="MB").mass == 0
    assert envelopes.get(room, "E1").area == 0
    assert book.balance(room).balanced
    rags = next(total for total in book.balance(room).totals if total.account is Account.RAG_BAG)
    assert rags.mass == 12_000


def test_an_empty_one_may_be_opened_first(room: Workroom) -> None:
    before = len(book.entries(room))
    assert envelopes.add(room, NewEnvelope(tag="E2", cloth="red wool")).mass == 0
    assert len(book.entries(room)) == before
    assert [each.tag for each in envelopes.every(room)] == ["E1", "E2"]
    assert [each.tag for each in envelopes.every(room, cloth="red wool")] == ["E2"]


def test_remnants_go_in_with_their_area_as_booked_and_the_mass_on_the_scale(room: Workroom) -> None:
    """L1 is 5000 mm², 0.9 g by its area; the scale says 1.1 g: the book takes 0.2 g from *re-measured*."""
    before = in_bin(room)
    kept = envelopes.put_away(room, "E1", ["l1"], mass=1.1, by="MB")
    assert (kept.mass, kept.area) == (10.1, 55_000)
    assert remnants.get(room, "L1").state is RemnantState.GONE
    after = in_bin(room)
    assert (after[0] - before[0], after[1] - before[1]) == (0, 200)
    (entry,) = book.entries(room, limit=1)
    assert {(line.account, line.remnant, line.envelope, line.area, line.mass) for line in entry.lines} == {
        (Account.BIN, "L1", None, -500_000, -900),
        (Account.RE_MEASURED, None, "E1", 0, -200),
        (Account.BIN, None, "E1", 500_000, 1_100),
    }


def test_keepers_of_a_cut_go_in_by_weight(room: Workroom) -> None:
    scrap(room, "L2")
    cuffs(room, count=2)
    done = cut_all(room)
    tags = [keeper.tag for sheet in done.sheets for keeper in sheet.keepers]
    assert tags == [keeper.tag for keeper in keepers.waiting(room)]
    envelopes.put_away(room, "E1", tags, mass=15.0, by="MB")
    assert keepers.waiting(room) == ()
    assert book.balance(room).balanced


def test_an_envelope_is_weighed_again(room: Workroom) -> None:
    assert envelopes.weigh_again(room, "E1", 10.0, by="MB").area == pytest.approx(50_000 / 9 * 10, abs=0.01)
    assert envelopes.weigh_again(room, "E1", 0, by="MB").area == 0
    assert envelopes.weigh_again(room, "E1", 9, by="MB").area == 50_000
    assert book.balance(room).balanced
    with pytest.raises(Refused, match="9 g by the book too"):
        envelopes.weigh_again(room, "E1", 9, by="MB")


def test_an_envelope_is_in_no_lay(room: Workroom) -> None:
    """Enough cloth for a hundred cuffs, in an envelope; the bin's one remnant is too small."""
    envelopes.put_in(room, "E1", 1000)
    cuffs(room, count=1)
    with pytest.raises(NothingQualifies):
        asking.ask(room, "cuffs", only=["L1"])


def test_tags_are_told_apart_from_those_of_remnants(room: Workroom) -> None:
    with pytest.raises(Taken, match="a remnant L1"):
        envelopes.add(room, NewEnvelope(tag="L1", cloth="blue linen"))
    with pytest.raises(Taken, match="an envelope E1"):
        scrap(room, "e1")


def test_what_is_held_or_kept_apart_stays_out(room: Workroom) -> None:
    scrap(room, "L2")
    scrap(room, "L3")
    remnants.put_apart(room, "L3", "moth", by="MB")
    cuffs(room, count=1)
    chalked(room)
    with pytest.raises(Held, match="lay 1 holds L2"):
        envelopes.put_away(room, "E1", ["L2"], mass=5, by="MB")
    with pytest.raises(WrongState, match="quarantine: moth"):
        envelopes.put_away(room, "E1", ["L3"], mass=5, by="MB")


Step = Callable[[Workroom], object]


@pytest.mark.parametrize(
    ("step", "kind", "why"),
    [
        (lambda w: envelopes.add(w, NewEnvelope(tag="E_2", cloth="blue linen")), Refused, "is no tag"),
        (lambda w: envelopes.add(w, NewEnvelope(tag="E2", cloth="linnen")), Unknown, "no cloth"),
        (lambda w: envelopes.add(w, NewEnvelope(tag="E2", cloth="blue linen", mass=-1)), Refused, "mass is -1"),
        (lambda w: envelopes.add(w, NewEnvelope(tag="E2", cloth="blue linen", mass=1e-4)), Refused, "mass is 0.0001"),
        (lambda w: envelopes.add(w, NewEnvelope(tag="E2", cloth="blue linen", lot="x" * 81)), Refused, "81 letters"),
        (lambda w: envelopes.get(w, "E3"), Unknown, "no envelope"),
        (lambda w: envelopes.put_in(w, "E3", 1), Unknown, "no envelope"),
        (lambda w: envelopes.put_in(w, "E1", 0), Refused, "mass is 0"),
        (lambda w: envelopes.put_in(w, "E1", float("nan")), Refused, "mass is nan"),
        (lambda w: envelopes.take_out(w, "E1", 9.1, by="MB"), Refused, "more than E1 holds"),
        (lambda w: envelopes.take_out(w, "E1", by=""), Refused, "initials"),
        (lambda w: envelopes.weigh_again(w, "E1", -1, by="MB"), Refused, "mass is -1"),
        (lambda w: envelopes.weigh_again(w, "E1", 3, by=""), Refused, "initials"),
        (lambda w: envelopes.put_away(w, "E1", [], mass=1, by="MB"), Refused, "no remnant is named"),
        (lambda w: envelopes.put_away(w, "E1", ["L1", "l1"], mass=1, by="MB"), Refused, "L1 is named twice"),
        (lambda w: envelopes.put_away(w, "E1", ["L1", "W1"], mass=1, by="MB"), Refused, "W1 is red wool"),
        (lambda w: envelopes.put_away(w, "E1", ["L9"], mass=1, by="MB"), Unknown, "no remnant"),
        (lambda w: envelopes.put_away(w, "E1", ["L1"], mass=0, by="MB"), Refused, "mass is 0"),
        (lambda w: envelopes.put_away(w, "E1", ["L1"], mass=1, by=" "), Refused, "initials"),
    ],
)
def test_what_is_refused_changes_nothing(room: Workroom, stash_file: Path, step: Step, kind: type[Plainly], why: str) -> None:
    before = whole_stash(stash_file)
    with pytest.raises(kind, match=why):
        step(room)
    assert whole_stash(stash_file) == before


def test_another_dye_lot_stays_out(room: Workroom) -> None:
    envelopes.add(room, NewEnvelope(tag="E2", cloth="blue linen", lot="B2"))
    with pytest.raises(Refused, match="lot A7") as refusal:
        envelopes.put_away(room, "E2", ["L1"], mass=1, by="MB")
    assert "lot B2 in E2" in refusal.value.expected


def test_an_empty_envelope_gives_nothing(room: Workroom) -> None:
    envelopes.take_out(room, "E1", by="MB")
    with pytest.raises(CannotBeDone, match="E1 is empty"):
        envelopes.take_out(room, "E1", 1, by="MB")
