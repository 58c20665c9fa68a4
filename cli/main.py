"""The command `fent`: its nouns, each loaded only when it is named, and the way in and out."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence
from functools import cache
from importlib import import_module
from typing import Any

import typer

from .commands import Command, Commands
from .refusing import DONE, INTERRUPTED, explain, own_fault
from .saying import forget_notes, say_notes, usually_shown_in

HELP = """Which remnants will yield all the panels, how they lie, what is left, and the book of it.

The day's work in order, command by command: fent help

See it all with an invented workroom: fent demo
"""

NOUNS = {
    "cloth": "Kinds of fabric.",
    "bin": "The remnants, and where they are.",
    "envelope": "Offcuts too small to outline, by weight.",
    "pattern": "Patterns and their pieces.",
    "job": "What is to be sewn.",
    "lay": "Which panels go where.",
    "book": "The cloth book.",
}
ALONE = {
    "demo": "Run the whole job in an invented workroom.",
    "help": "The day's work in order; how to write measures; your own habits.",
}


class Nouns(Commands):
    """The nouns. Only the one that is named is loaded: it is most of what help and lists take to start."""

    def list_commands(self, ctx: Any) -> list[str]:
        return [*NOUNS, *ALONE]

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        return _built(cmd_name) if cmd_name in NOUNS or cmd_name in ALONE else None

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([*NOUNS.items(), *ALONE.items()])

    def shell_complete(self, ctx: Any, incomplete: str) -> Any:
        self.commands = {name: self.get_command(ctx, name) for name in self.list_commands(ctx)}  # what Typer looks through
        return super().shell_complete(ctx, incomplete)


@cache
def _built(name: str) -> Any:
    """A noun with its commands, or a command that stands alone, as Typer makes it of our functions."""
    if name in NOUNS:
        return typer.main.get_command(import_module(f".{name}", __package__).app)
    word = "handbook" if name == "help" else name
    single = typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False, add_completion=False)
    single.command(name, cls=Command)(getattr(import_module(f".{word}", __package__), word))
    return typer.main.get_command(single)


app = typer.Typer(
    cls=Nouns,
    help=HELP,
    pretty_exceptions_enable=False,
    add_completion=True,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["--help", "-h"], "max_content_width": 110},
)


@app.callback(invoke_without_command=True)
def _top(
    context: typer.Context,
    version: bool = typer.Option(False, "--version", help="Say which Fent this is."),
) -> None:
    if version:
        from importlib.metadata import version as installed

        typer.echo(f"fent {installed('fent')}")
    elif context.invoked_subcommand is None:
        typer.echo(context.get_help())
    elif context.invoked_subcommand != "help":  # which tells how to mend the file of habits
        _take_up_habits(context, context.invoked_subcommand)


def _take_up_habits(context: typer.Context, noun: str) -> None:
    """What a person always wants becomes the default of the options of the noun's commands."""
    from . import habits

    told = habits.read(habits.file())
    usually_shown_in(told.get("show-in"))
    if not told:
        return
    if noun in NOUNS:
        verbs = [str(command.name) for command in import_module(f".{noun}", __package__).app.registered_commands]
        context.default_map = {noun: habits.as_defaults(told, verbs)}
    else:
        context.default_map = habits.as_defaults(told, [noun])


NO_HURRY = 100_000  # objects made before garbage is looked for


def main(arguments: Sequence[str] | None = None) -> None:
    """What the command `fent` runs."""
    # Loading libraries makes many objects and no garbage: to look for it takes a fifth of the time that a list takes.
    gc.set_threshold(NO_HURRY)
    # No matrix here is large, and the threads that numpy would start for one take as long as all the rest of numpy.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    status = run(arguments)
    gc.freeze()  # nor is there any to be found on the way out
    sys.exit(status)


def run(arguments: Sequence[str] | None = None) -> int:
    """Do what was typed and give the exit status. Nothing that is raised gets past here."""
    typed = sys.argv[1:] if arguments is None else list(arguments)
    try:
        status = app(args=typed, prog_name="fent", standalone_mode=False)
        sys.stdout.flush()
        say_notes()
        return status if isinstance(status, int) else DONE
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:  # whoever read our output has closed it (`fent bin list | head`)
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except Exception as fault:
        try:
            return explain(fault, typed, [*NOUNS, *ALONE])
        except Exception as second:
            return own_fault(second)
    finally:
        forget_notes()
        usually_shown_in(None)
