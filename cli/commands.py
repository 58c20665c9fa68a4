"""How a command stands in its help and in its noun.

Typer writes usage as programs do (`[OPTIONS] {JOB}`, `JOB <str>`); a person reads `fent lay try JOB`. A noun typed alone shows
its commands.
"""

from __future__ import annotations

import re
from typing import Any

import typer
from typer.core import TyperCommand, TyperGroup

WORDS = r"[A-Z][A-Z ]*"


class Command(TyperCommand):
    """A command whose help reads plainly."""

    def get_help(self, ctx: Any) -> str:
        return plainly(super().get_help(ctx))


class Commands(TyperGroup):
    """A group of commands whose help reads plainly."""

    def get_help(self, ctx: Any) -> str:
        return plainly(super().get_help(ctx))


def plainly(text: str) -> str:
    """Help without the marks that only a program needs; columns stay where they are.

    >>> plainly("Usage: fent lay try [OPTIONS] {JOB}")
    'Usage: fent lay try JOB [options]'
    >>> plainly("  JOB <str>  The job.  [required]")
    '  JOB        The job.'
    """
    text = re.sub(rf"\{{({WORDS})\}}", r"\1", text)
    text = re.sub(r"(Usage: .*?) \[OPTIONS\]([^\n]*)", r"\1\2 [options]", text)
    text = re.sub(r" COMMAND \[ARGS\]\.\.\.( \[options\])?", " …", text)
    text = re.sub(
        rf"^(  +\[?{WORDS}\]?(?:\.\.\.)?)( <[^>]+>)", lambda found: found[1] + " " * len(found[2]), text, flags=re.MULTILINE
    )
    text = re.sub(r"[ \n]*\[required\]", "", text)
    text = re.sub(r"(\s+)\[default:(\s+)([^\]]+)\]", _unless_said, text)
    text = text.replace("for the current shell, to copy it or", "for this shell, to copy it or")
    return text.replace("]... ", "] … ").replace("Show this message and exit.", "Show this help.")


def _unless_said(found: re.Match[str]) -> str:
    """`[default: cut]` → `[cut unless said]`, on the line where it fits."""
    before = found[2] if "\n" in found[2] else found[1]
    return f"{before}[{found[3].removesuffix('.0')} unless said]"


def noun(name: str, briefly: str, about: str) -> typer.Typer:
    """A group of commands. Typed alone, it shows its help."""
    group = typer.Typer(
        name=name,
        cls=Commands,
        short_help=briefly,
        help=about,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        add_completion=False,
        context_settings={"help_option_names": ["--help", "-h"], "max_content_width": 110},
    )

    @group.callback(invoke_without_command=True)
    def alone(context: typer.Context) -> None:
        if context.invoked_subcommand is None:
            typer.echo(context.get_help())

    return group
