"""How Fent speaks: what was asked for on standard output, everything else on standard error.

One `Voice` for each command: it writes tables and lines for a person, or JSON for a program.
"""

from __future__ import annotations

import dataclasses
import json
import os
import sys
from collections.abc import Mapping, Sequence
from datetime import date
from enum import Enum
from typing import Any

from .shown import Shown, as_told
from .units import UnitFault

UNITS = "FENT_SHOW_IN"
_notes: list[str] = []
_usual: list[str] = []  # how this person has measures shown, where a command does not say


def note(text: str) -> None:
    """Something to be said once, on standard error, when the command is done."""
    if text not in _notes:
        _notes.append(text)


def say_notes() -> None:
    """Say what was noted."""
    for text in _notes:
        print(text, file=sys.stderr)


def forget_notes() -> None:
    """What a command noted is of no use to the next."""
    _notes.clear()


def usually_shown_in(told: str | None) -> None:
    """What the file of habits says of measures, for commands that show none but may have to refuse some. None forgets it,
    and what the command before had chosen."""
    _usual[:] = [told] if told else []
    if telling := sys.modules.get("stash.telling"):  # help needs no stash
        telling.tell_in(None)


class Voice:
    """Speaks for one command. `shown` writes the measures; the stash's own sentences tell them so too, from now on."""

    def __init__(self, *, as_json: bool = False, plain: bool = False, show_in: str | None = None) -> None:
        from stash import telling

        self.as_json = as_json
        self.plain = plain
        self.shown = _as_chosen(show_in)
        telling.tell_in(None if as_json or self.shown == Shown() else self.shown)

    @property
    def draws(self) -> bool:
        """Whether someone looks on to whom a small drawing means something."""
        return not self.as_json and not self.plain and sys.stdout.isatty()

    @property
    def braille(self) -> bool:
        """Whether the terminal has more than plain characters."""
        return (sys.stdout.encoding or "").lower().replace("-", "") == "utf8"

    def data(self, answer: object) -> None:
        """The answer as JSON, if that was asked for."""
        if self.as_json:
            print(json.dumps(plainly(answer), ensure_ascii=False, indent=2))

    def line(self, text: str = "") -> None:
        """A line of the answer."""
        if not self.as_json:
            print(text)

    def headline(self, text: str, *, good: bool) -> None:
        """The first line of an answer, which a colour sets off where there may be one. The words alone say all."""
        if self.as_json:
            return
        if self.plain or not sys.stdout.isatty() or os.environ.get("NO_COLOR"):
            print(text)
        else:
            print(f"\x1b[1;{32 if good else 33}m{text}\x1b[0m")

    def aside(self, text: str) -> None:
        """Words that are not the answer: what was done, what to do next."""
        print(text, file=sys.stderr)

    def next_steps(self, *steps: tuple[str, str]) -> None:
        """What to do next: a command, and what it is good for."""
        if self.as_json or not steps:
            return
        wide = max(len(command) for command, _ in steps)
        self.aside("What to do next:")
        for command, purpose in steps:
            self.aside(f"  {command:<{wide}}   {purpose}")

    def table(self, heads: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[int] = ()) -> None:
        """Rows under heads; `right` numbers the columns that are set to the right (figures)."""
        if self.as_json:
            return
        if not rows:
            self.aside("There is nothing to list.")
            return
        if self.plain or not sys.stdout.isatty():
            for text in _plain_table(heads, rows, right):
                print(text)
            return
        from rich import box
        from rich.console import Console
        from rich.table import Table

        table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
        for number, head in enumerate(heads):
            table.add_column(head, justify="right" if number in right else "left", overflow="fold")
        for row in rows:
            table.add_row(*(cell.replace("[", r"\[") for cell in row))
        Console().print(table)

    def facts(self, pairs: Sequence[tuple[str, str]]) -> None:
        """What is known of one thing, a line each; what is empty is left out."""
        told = [(name, value) for name, value in pairs if value]
        wide = max((len(name) for name, _ in told), default=0)
        for name, value in told:
            self.line(f"{name:<{wide}}   {value}")


def _as_chosen(show_in: str | None) -> Shown:
    """What the command said, else what this person usually wants."""
    from .reading import Unreadable

    chosen = show_in or os.environ.get(UNITS) or next(iter(_usual), "mm")
    try:
        return as_told(chosen)
    except UnitFault as fault:
        raise Unreadable(fault.what, fault.expected, "--show-in" if show_in else UNITS) from None


def _plain_table(heads: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[int]) -> list[str]:
    every = [list(heads), *(list(row) for row in rows)]
    widths = [max(len(row[column]) for row in every) for column in range(len(heads))]
    return [
        "  ".join(
            f"{cell:>{wide}}" if n in right else f"{cell:<{wide}}"
            for n, (cell, wide) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in every
    ]


def plainly(value: Any) -> Any:
    """Anything that the stash gives, as JSON can hold it: data classes as objects, outlines as lists of rings."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: plainly(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, date):
        return value.isoformat()
    if hasattr(value, "__geo_interface__"):
        return json.loads(json.dumps(value.__geo_interface__))
    if isinstance(value, Mapping):
        return {str(key): plainly(item) for key, item in value.items()}
    if isinstance(value, (list, tuple, set, frozenset)):
        return [plainly(item) for item in value]
    return value


def many(number: int, what: str) -> str:
    """
    >>> many(1, "panel"), many(16, "panel")
    ('1 panel', '16 panels')
    """
    return f"{number} {what}{'' if number == 1 else 's'}"


def runs(found: Sequence[int]) -> str:
    """Numbers in as few words as can be.

    >>> runs([1, 2, 3, 5, 8, 9])
    '1-3, 5, 8-9'
    """
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in in_a_row(sorted(found)))


def in_a_row(numbers: Sequence[int]) -> list[list[int]]:
    """Numbers in their order, those together of which each is one more than the last.

    >>> in_a_row([3, 4, 9, 1, 2])
    [[3, 4], [9], [1, 2]]
    """
    found: list[list[int]] = []
    for number in numbers:
        if found and number == found[-1][-1] + 1:
            found[-1].append(number)
        else:
            found.append([number])
    return found


_WHERE = {
    *(
        "above",
        "against",
        "among",
        "at",
        "behind",
        "below",
        "beneath",
        "beside",
        "between",
        "by",
        "in",
        "inside",
        "near",
        "next",
    ),
    *("on", "opposite", "outside", "over", "under", "underneath", "upstairs", "downstairs", "with"),
}


def kept_in(place: str) -> str:
    """Where something is kept, within a sentence: places are written as people call them, with their own word or without.

    >>> kept_in("drawer 2"), kept_in("under the stairs"), kept_in("")
    ('in drawer 2', 'under the stairs', 'in no known place')
    """
    first = place.partition(" ")[0].lower()
    return place if first in _WHERE else f"in {place or 'no known place'}"
