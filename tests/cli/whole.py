"""Every command that Fent has, with its options: what the tests of help, of examples and of the README go through."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

import typer

from cli.main import ALONE, NOUNS, app


@cache
def tree() -> dict[tuple[str, ...], Any]:
    """Each command by its words: ("bin", "add"), ("demo",)."""
    top: Any = typer.main.get_command(app)
    found: dict[tuple[str, ...], Any] = {}
    for noun in NOUNS:
        for verb, command in top.get_command(None, noun).commands.items():
            found[(noun, verb)] = command
    return found | {(name,): top.get_command(None, name) for name in ALONE}


def options() -> Iterator[tuple[tuple[str, ...], str]]:
    """Every option of every command: its command, and its long name."""
    for words, command in tree().items():
        for parameter in command.params:
            if parameter.param_type_name == "option":
                yield words, max(parameter.opts, key=len)
