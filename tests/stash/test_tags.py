"""Tags of keepers."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from stash.given import a_tag
from stash.tags import tags_for


def test_generations_can_be_told_at_sight() -> None:
    assert tags_for("L7", 2, ()) == ["L7A", "L7B"]
    assert tags_for("L7B", 2, ()) == ["L7B1", "L7B2"]
    assert tags_for("L7B2", 1, ()) == ["L7B2A"]


def test_letters_that_chalk_cannot_tell_from_digits_are_left_out() -> None:
    tags = tags_for("L7", 24, ())
    assert not {"L7I", "L7O"} & set(tags)
    assert tags_for("L7", 25, ())[-1] == "L7AA"


@given(parent=st.from_regex(r"\A[A-Z0-9]([A-Z0-9 ./-]{0,8}[A-Z0-9])?\Z"), taken=st.sets(st.sampled_from("ABCDE123")))
def test_they_are_tags_all_different_and_none_is_taken(parent: str, taken: set[str]) -> None:
    used = {parent + sign for sign in taken}
    tags = tags_for(parent, 60, used)
    assert len(set(tags)) == 60
    assert not used & set(tags)
    assert all(a_tag(tag) == tag and tag.startswith(parent) for tag in tags)
