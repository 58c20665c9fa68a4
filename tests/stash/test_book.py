"""The cloth book: one way in, exact, only appended to."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from sqlalchemy.exc import IntegrityError

from stash import Workroom, book
from stash.book import OutOfBalance, Posting, post
from stash.refusals import Unknown
from stash.tables import EntryRow, LineRow
from stash.words import Account, Event

from .scenes import cuffs, cut_all, linen, scrap

WHEN = datetime(2026, 3, 2, tzinfo=UTC)


def stock(workroom: Workroom) -> None:
    linen(workroom)
    linen(workroom, "red linen")
    scrap(workroom, "L1")
    scrap(workroom, "R1", "red linen")
    cuffs(workroom, count=4)
    cut_all(workroom)


@pytest.fixture
def kept(stocked: Workroom) -> Workroom:
    return stocked


def test_the_balance_of_a_small_book(kept: Workroom) -> None:
    """Two remnants of 400 × 300 mm, 21.6 g each, come in; four cuffs of 100 × 60 are cut from one."""
    found = book.balance(kept)
    totals = {total.account: (total.area, total.mass) for total in found.totals}
    assert list(totals) == list(Account)
    assert totals[Account.IN] == (-24_000_000, -43_200)
    assert totals[Account.CUT_WORK] == (2_400_000, 4_320)
    assert totals[Account.BIN][0] + totals[Account.RAG_BAG][0] == 21_600_000
    assert (found.area, found.mass, found.entries) == (0, 0, 3)
    assert found.balanced


def test_an_empty_book_is_balanced(workroom: Workroom) -> None:
    assert book.balance(workroom) == book.Balance(tuple(book.Total(account, 0, 0) for account in Account), 0, 0, 0)


def test_a_book_that_is_out_says_so() -> None:
    assert not book.Balance((), 1, 0, 1).balanced
    assert not book.Balance((), 0, -1, 1).balanced


def test_entries_newest_first_and_chosen(kept: Workroom) -> None:
    assert [entry.number for entry in book.entries(kept)] == [3, 2, 1]
    assert [entry.number for entry in book.entries(kept, limit=1)] == [3]
    assert [entry.number for entry in book.entries(kept, event=Event.LOGGED)] == [2, 1]
    assert [entry.number for entry in book.entries(kept, remnant="r1")] == [2]
    assert [entry.number for entry in book.entries(kept, remnant="L1")] == [3, 1]
    assert [entry.number for entry in book.entries(kept, job="CUFFS")] == [3]
    with pytest.raises(Unknown, match="no remnant"):
        book.entries(kept, remnant="R2")
    with pytest.raises(Unknown, match="no job"):
        book.entries(kept, job="coats")


def line(area: int, mass: int, account: Account = Account.BIN) -> LineRow:
    return LineRow(account=account, detail="", cloth_id=1, area=area, mass=mass)


@pytest.mark.parametrize(
    "amounts", [[(1, 0)], [(5, 5), (-5, -4)], [(5, 5), (-4, -5)], [], [(0, 0)], [(2**40, 1), (1 - 2**40, -1)]]
)
def test_nothing_that_does_not_sum_to_zero_gets_in(kept: Workroom, amounts: list[tuple[int, int]]) -> None:
    before = book.balance(kept)
    with pytest.raises(OutOfBalance), kept.writing() as session:
        post(session, Posting(at=WHEN, event=Event.LOGGED, by="MB"), [line(*amount) for amount in amounts])
    assert book.balance(kept) == before


def test_lines_that_move_nothing_are_left_out(kept: Workroom) -> None:
    with kept.writing() as session:
        entry = post(session, Posting(at=WHEN, event=Event.LOGGED, by="MB"), [line(7, 1), line(0, 0), line(-7, -1)])
        assert entry.line_count == len(entry.lines) == 2


def test_an_undoing_entry_is_tied_to_what_it_undoes_once(kept: Workroom) -> None:
    """The place for undo: `undoes_id` names the entry, and no entry is undone twice."""

    def undo() -> None:
        with kept.writing() as session:
            lines = [line(-each.area, -each.mass, each.account) for each in session.get_one(EntryRow, 1).lines]
            post(session, Posting(at=WHEN, event=Event.LOGGED, by="MB", undoes_id=1), lines)

    undo()
    assert book.entries(kept, limit=1)[0].undoes == 1
    assert book.balance(kept).balanced
    from stash.refusals import Taken

    with pytest.raises(Taken):
        undo()


def test_an_entry_is_not_changed_through_the_models_either(kept: Workroom) -> None:
    def change() -> None:
        with kept.writing() as session:
            session.get_one(LineRow, 1).area += 1

    with pytest.raises(IntegrityError, match="only appended to"):
        change()
    assert book.balance(kept).balanced
