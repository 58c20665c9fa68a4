"""Measures in the stash's sentences go through `telling`, so that they are told in the units that the reader has chosen."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import stash
from stash import telling
from stash.telling import InMillimetres

UNIT = re.compile(r"^ ?(mm²?|cm²?|g|g/m²|mg)\b(?!/)")
STASH = Path(stash.__file__).parent
EXACT = {"telling.py", "amounts.py", "book.py", "audit_book.py", "audit_cloth.py", "svg_writing.py"}
"""The book and its audit compare booked figures, to the last 0.01 mm² and mg: rounded to sixteenths they would seem to agree.
SVG names its own units."""


def with_a_unit_of_its_own(text: str) -> Iterator[int]:
    """Lines of f-strings in which a unit stands right after a figure."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.JoinedStr):
            for figure, after in zip(node.values, node.values[1:], strict=False):
                if isinstance(figure, ast.FormattedValue) and isinstance(after, ast.Constant) and UNIT.match(str(after.value)):
                    yield figure.lineno


def test_no_sentence_of_the_stash_names_a_unit_by_itself() -> None:
    files = [path for path in STASH.glob("*.py") if path.name not in EXACT]
    assert not [f"{path.name}:{line}" for path in files for line in with_a_unit_of_its_own(path.read_text(encoding="utf-8"))]


def test_that_check_sees_one() -> None:
    assert list(with_a_unit_of_its_own('raise Refused(f"it is {long:g} mm long")')) == [1]
    assert not list(with_a_unit_of_its_own('raise Refused(f"it is {telling.fine(long)} long, of {many} gores")'))


def test_what_was_chosen_is_told_until_it_is_forgotten() -> None:
    class InHands(InMillimetres):
        def length(self, mm: float) -> str:
            return f"{mm / 101.6:.0f} hands"

    telling.tell_in(InHands())
    assert telling.length(406.4) == "4 hands"
    telling.tell_in(None)
    assert telling.length(406.4) == "406 mm"
