"""What a person always wants: a small file of their own, read before each command (`fent help habits`).

It holds only what is theirs: units, initials, scale. What is the workroom's (margins, the smallest keeper) is kept in its
stash, where all who share it have the same.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from . import reading, shown, units
from .reading import Unreadable

FILE = "fent.toml"
VARIABLE = "FENT_HABITS"
MEND = "fent help habits"


@dataclass(frozen=True)
class Habit:
    """A line of the file: its name, what it is for, an example, how it is looked over, and which option it stands for."""

    name: str
    about: str
    example: str
    check: Callable[[str], object]
    option: str
    only: tuple[str, ...] = ()  # the commands in which it counts; () for all that have the option


def _words(text: str) -> str:
    if not text.strip():
        raise Unreadable("nothing is written", "some words")
    return text


def _shown(text: str) -> object:
    try:
        return shown.as_told(text)
    except units.UnitFault as fault:
        raise Unreadable(fault.what, fault.expected) from None


def _paper(text: str) -> object:
    from .papers import paper_named

    try:
        return paper_named(text)
    except units.UnitFault as fault:
        raise Unreadable(fault.what, fault.expected) from None


TRYING = ("try", "again", "fill")
HABITS = (
    Habit("initials", "who does it, for the cloth book", "AK", _words, "by"),
    Habit("show-in", "how measures are shown: cm, in to 1/8, or in, g for weights in grams", "in to 1/16", _shown, "show_in"),
    Habit("workroom", "where the stash is", "~/cloth/workroom.fent", _words, "workroom"),
    Habit("scale", "what your scale may be out by", "0.1 g", reading.a_mass, "scale"),
    Habit("tape", "what your tape may be out by", "1 mm", reading.a_length, "tape"),
    Habit("seconds", "how long to look for a lay", "20", reading.seconds, "seconds", TRYING),
    Habit("gap", "between two cuts, whenever you try a lay", "2 mm", reading.a_margin, "gap", TRYING),
    Habit("edge", "kept from edges and faults, whenever you try a lay", "3 mm", reading.a_margin, "edge", TRYING),
    Habit("paper", "what you print on", "Letter", _paper, "paper"),
    Habit("plain", "no colours and no drawn lines", "yes", lambda text: reading.yes_or_no(text), "plain"),
)  # fmt: skip


def file() -> Path:
    """Where the file is, or would be."""
    import os

    if named := os.environ.get(VARIABLE):
        return Path(named)
    from platformdirs import user_config_path

    return user_config_path("fent", appauthor=False) / FILE


def read(source: Path) -> dict[str, str]:
    """What the file says, looked over. Raises Unreadable, which names the file and the line."""
    try:
        told = tomllib.loads(source.read_text(encoding="utf-8-sig"))
    except FileNotFoundError:
        return {}
    except (OSError, UnicodeDecodeError) as fault:
        raise Unreadable("your file of habits cannot be read", f"a text file ({fault})", str(source), MEND) from None
    except tomllib.TOMLDecodeError as fault:
        raise Unreadable(
            f"your file of habits cannot be read: {fault}", 'lines such as initials = "AK"', str(source)
        ) from None
    return {name: _looked_over(name, value, source) for name, value in told.items()}


def _looked_over(name: str, value: object, source: Path) -> str:
    habit = next((each for each in HABITS if each.name == name), None)
    if habit is None:
        raise Unreadable(
            f"there is no habit {name!r}", f"one of: {', '.join(each.name for each in HABITS)}", str(source), MEND
        )
    text = ("yes" if value else "no") if isinstance(value, bool) else str(value)
    try:
        if isinstance(value, (dict, list)):
            raise Unreadable(f"{text[:40]!r} is not one thing", f'{name} = "{habit.example}"')
        habit.check(text)
    except Unreadable as fault:
        raise Unreadable(fault.what, fault.expected, f"{source}, {name}", MEND) from None
    return text


def as_defaults(told: Mapping[str, str], verbs: list[str]) -> dict[str, Any]:
    """What the file says, as the defaults of a noun's commands."""
    defaults: dict[str, Any] = {}
    for verb in verbs:
        habits = (each for each in HABITS if each.name in told and (not each.only or verb in each.only))
        defaults[verb] = {each.option: _as_default(each, told[each.name]) for each in habits}
    return defaults


def _as_default(habit: Habit, text: str) -> object:
    if habit.option == "plain":
        return reading.yes_or_no(text)
    return str(Path(text).expanduser()) if habit.option == "workroom" and "://" not in text else text


def example() -> str:
    """A file with a line for each habit, all of them put to sleep by a #."""
    lines = ["# Your habits with Fent. Take away the # before a line to wake it."]
    for habit in HABITS:
        lines += [f"# {habit.about}", f'#{habit.name} = "{habit.example}"']
    return "\n".join(lines) + "\n"
