"""What is proposed for the next remnant: the tag after the last one, its cloth and its place."""

from __future__ import annotations

import pytest

from stash import Workroom, envelopes, proposing
from stash.envelopes import NewEnvelope
from stash.proposing import Proposed

from .scenes import cuffs, cut_all, linen, scrap


def test_nothing_is_proposed_in_an_empty_bin(workroom: Workroom) -> None:
    assert proposing.after_the_last(workroom) == Proposed("", "", "")


def test_the_last_one_is_gone_by_and_tags_that_are_taken_are_passed_over(workroom: Workroom) -> None:
    linen(workroom)
    linen(workroom, "red wool", fibres={"wool": 100}, weight=300)
    scrap(workroom, "L09", place="shelf A")
    scrap(workroom, "L11")
    scrap(workroom, "L08", place="shelf A")
    envelopes.add(workroom, NewEnvelope(tag="L10", cloth="blue linen"))
    assert proposing.after_the_last(workroom) == Proposed("L12", "blue linen", "shelf A")
    scrap(workroom, "W1", "red wool")
    assert proposing.after_the_last(workroom) == Proposed("W2", "red wool", "")


@pytest.mark.parametrize(
    ("tag", "cloth"), [("l99", "blue linen"), ("W7", "red wool"), ("Q1", "red wool"), ("7", "red wool"), ("%1", "red wool")]
)
def test_a_tag_of_the_same_letters_tells_the_cloth(tag: str, cloth: str, workroom: Workroom) -> None:
    linen(workroom)
    linen(workroom, "red wool", fibres={"wool": 100}, weight=300)
    scrap(workroom, "L1")
    scrap(workroom, "W1", "red wool")
    assert proposing.after_the_last(workroom, tag).cloth == cloth


def test_keepers_and_tags_without_a_number_are_not_gone_by(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom, "L1", length=300, width=200)
    cuffs(workroom)
    cut_all(workroom)
    assert proposing.after_the_last(workroom).tag == "L2"
    scrap(workroom, "BLUE")
    assert proposing.after_the_last(workroom) == Proposed("", "blue linen", "")
