"""What is said, and which family it belongs to."""

from __future__ import annotations

from stash import refusals
from stash.refusals import CannotBeDone, Plainly, Refused


def test_a_refusal_in_one_paragraph() -> None:
    said = Refused("the weight is 0", where="cloth 'linen'", expected="a figure above 0", next="Weigh it")
    assert str(said) == "cloth 'linen': the weight is 0. Expected a figure above 0. Weigh it."
    assert str(Refused("no.")) == "no."


def test_each_belongs_to_one_family_and_says_what_it_means() -> None:
    kinds = [kind for kind in vars(refusals).values() if isinstance(kind, type) and issubclass(kind, Plainly)]
    for kind in set(kinds) - {Plainly}:
        assert issubclass(kind, Refused) != issubclass(kind, CannotBeDone), kind
        assert kind.__doc__
