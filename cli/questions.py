"""Questions for whatever is missing, asked only of a person at a terminal; a pipe or a script is refused instead.

A question is asked again until it is answered; Ctrl-C and Ctrl-D stop the command, and nothing is kept.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from typing import TypeVar

import typer

from .reading import Unreadable

T = TypeVar("T")

LISTED = 9  # as many as are read at one glance, and picked with one key


def at_a_terminal() -> bool:
    """Whether there is someone to ask: what is typed comes from a terminal, and what is answered goes to one."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def missing(where: str, expected: str) -> Unreadable:
    """The refusal of a command that lacks something and has nobody to ask."""
    return Unreadable(f"{where} is missing", expected)


def needed(given: str | None, where: str, expected: str, question: str) -> str:
    """What was given, or what a person answers. Raises Unreadable where nobody can be asked."""
    if given is not None and given.strip():
        return given
    if not at_a_terminal():
        raise missing(where, expected)
    return ask(question, _something)


def ask(question: str, read: Callable[[str], T], default: str | None = None) -> T:
    """Ask until the answer can be read. Enter alone gives `default`, if there is one."""
    from stash import Refused

    shown = f"{question} [{default}]: " if default else f"{question}: "
    while True:
        answer = _typed(shown).strip() or (default or "")
        try:
            return read(answer)
        except Unreadable as fault:
            print(f"  {fault.what[:1].upper()}{fault.what[1:]}. Expected: {fault.expected}.", file=sys.stderr)
        except Refused as fault:
            print(f"  {fault.what[:1].upper()}{fault.what[1:]}. Expected: {fault.expected}.", file=sys.stderr)


def ask_if_wished(question: str, default: str = "") -> str:
    """Ask for something that may be left out: Enter alone leaves it, or takes the default, which "none" leaves."""
    if not default:
        return ask(f"{question} (Enter for none)", lambda answer: answer)
    answered = ask(f"{question}, or none", lambda answer: answer, default)
    return "" if answered.casefold() in ("none", "-") else answered


def pick(question: str, choices: Sequence[str], default: str | None = None) -> str:
    """One of several words: by itself, by how it begins, or by its number where they are numbered."""
    numbered = len(choices) <= LISTED and len(choices) > 1
    shown = ", ".join(f"{n} {choice}" for n, choice in enumerate(choices, 1)) if numbered else ", ".join(choices)
    return ask(f"{question} ({shown})", lambda answer: chosen(answer, choices), default)


def chosen(answer: str, choices: Sequence[str]) -> str:
    """The choice that an answer means. Raises Unreadable for none, or for one that could be several.

    >>> chosen("nav", ["navy linen", "ecru linen"]), chosen("2", ["navy linen", "ecru linen"])
    ('navy linen', 'ecru linen')
    """
    said = " ".join(answer.split()).casefold()
    if said.isdigit() and 1 <= int(said) <= len(choices):
        return choices[int(said) - 1]
    whole = [choice for choice in choices if choice.casefold() == said]
    begun = [choice for choice in choices if said and choice.casefold().startswith(said)]
    inside = [choice for choice in choices if said and said in choice.casefold()]
    for found in (whole, begun, inside):
        if len(found) == 1:
            return found[0]
        if found:
            raise Unreadable(f"{answer!r} could be {' or '.join(found)}", "enough of it to tell them apart")
    raise Unreadable(f"{answer!r} is none of them" if said else "nothing was answered", f"one of: {', '.join(choices)}")


def yes(question: str, default: bool = False) -> bool:
    """A question of yes or no."""
    return ask(f"{question} (yes or no)", lambda answer: chosen(answer, ["yes", "no"]), "yes" if default else "no") == "yes"


def _something(answer: str) -> str:
    if not answer:
        raise Unreadable("nothing was answered", "an answer; Ctrl-C stops, and nothing is kept")
    return answer


def _typed(shown: str) -> str:
    try:
        return input(shown)
    except EOFError:
        print(file=sys.stderr)
        raise typer.Abort from None
