"""The command `fent`: its nouns, and the one place where what goes wrong becomes a message and an exit status.

0 done; 1 it cannot be done; 2 what was typed is wrong; 3 a fault of the program, with the place of its log; 130 interrupted.
"""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import typer

from . import bin, book, cloth, demo, job, lay, pattern
from .reading import Unreadable
from .saying import forget_notes, say_notes

DONE, CANNOT, WRONG, FAULT, INTERRUPTED = 0, 1, 2, 3, 130

HELP = """Which remnants will yield all the panels, how they lie, what is left, and the book of it.

The day's work in order: tell Fent a cloth (cloth add), log the remnants of it (bin add), a pattern piece (pattern add) and
the job (job add); try a lay (lay try), look at it (lay show), chalk it (lay chalk), cut it (lay cut); then the keepers are
back in the bin and the cloth book balances (book balance).

See it all with an invented workroom: fent demo
"""

app = typer.Typer(
    help=HELP,
    pretty_exceptions_enable=False,
    add_completion=True,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["--help", "-h"], "max_content_width": 110},
)
NOUNS = (cloth, bin, pattern, job, lay, book)
for noun in NOUNS:
    app.add_typer(noun.app)
app.command("demo")(demo.demo)


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


def main(arguments: Sequence[str] | None = None) -> None:
    """What the command `fent` runs."""
    sys.exit(run(arguments))


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
            return _explain(fault, typed)
        except Exception as second:
            return _own_fault(second)
    finally:
        forget_notes()


def _explain(fault: Exception, typed: Sequence[str]) -> int:
    """Say what went wrong on standard error, and give the exit status."""
    if isinstance(fault, typer.Abort):
        print("Stopped.", file=sys.stderr)
        return INTERRUPTED
    if hasattr(fault, "format_message"):  # Typer's own refusals, in all its versions
        return _refuse_usage(fault, typed)
    from stash import CannotBeDone, Refused

    if isinstance(fault, Refused):
        _tell(fault.what, fault.where, fault.expected, fault.next or f"{_command(typed)} --help")
        return WRONG
    if isinstance(fault, CannotBeDone):
        _tell(f"It cannot be done: {_lower(fault.what)}", fault.where, fault.expected, fault.next)
        return CANNOT
    return _own_fault(fault)


def _refuse_usage(fault: Exception, typed: Sequence[str]) -> int:
    """Typer's refusals, in the same form as our own."""
    context, parameter = getattr(fault, "ctx", None), getattr(fault, "param", None)
    help_line = f"{context.command_path if context is not None else _command(typed)} --help"
    where = getattr(fault, "where", "") or (_as_typed(parameter) if parameter is not None else "")
    if isinstance(fault, Unreadable):
        _tell(fault.what, where, fault.expected, help_line)
    elif type(fault).__name__ == "MissingParameter":
        _tell(f"{where or 'something'} is missing", "", _lower(getattr(parameter, "help", "") or ""), help_line)
    else:
        said = str(fault.format_message())  # type: ignore[attr-defined]
        _tell(
            said.replace("No such command", "There is no command").replace("No such option:", "There is no option"),
            "",
            "",
            help_line,
        )
    return WRONG


def _command(typed: Sequence[str]) -> str:
    """As much of the command as can be told from what was typed."""
    if not typed or typed[0] not in [noun.app.info.name for noun in NOUNS]:
        return "fent"
    verb = [word for word in typed[1:2] if word.replace("-", "").isalpha() and not word.startswith("-")]
    return " ".join(["fent", typed[0], *verb])


def _as_typed(parameter: Any) -> str:
    """An option by its long name, an argument by the word that help has for it."""
    if parameter.param_type_name == "option":
        return max(parameter.opts, key=len)  # type: ignore[no-any-return]
    return str(parameter.metavar or parameter.name).upper()


def _tell(what: str, where: str, expected: str, following: str) -> None:
    print(_sentence(what), file=sys.stderr)
    for name, text in (("Where", where), ("Expected", expected), ("Do next", following)):
        if text:
            print(f"  {name + ':':<10}{text}", file=sys.stderr)


def _sentence(text: str) -> str:
    text = text.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) else ".")


def _lower(text: str) -> str:
    """Its first letter small, unless it begins a name or a tag."""
    return text[:1].lower() + text[1:] if text[1:2].islower() or text[1:2] == " " else text


def _own_fault(fault: Exception) -> int:
    """Something that Fent did not foresee: the whole story to a file, and one plain line to the person."""
    place = _write_log(fault)
    print("Fent itself has failed; this is not your doing. Your stash is as it was before this command.", file=sys.stderr)
    print(f"  What happened is written in {place}", file=sys.stderr)
    return FAULT


def _write_log(fault: Exception) -> str:
    import tempfile
    from importlib.metadata import version

    story = f"fent {version('fent')}\n{sys.version}\n{sys.argv}\n\n{''.join(traceback.format_exception(fault))}"
    name = f"fault-{datetime.now():%Y%m%d-%H%M%S-%f}.txt"
    for folder in (_log_folder, lambda: Path(tempfile.gettempdir())):
        try:
            file = folder() / name
            file.write_text(story, encoding="utf-8")
        except OSError:
            continue
        return str(file)
    return "no file, because none could be written"


def _log_folder() -> Path:
    from platformdirs import user_log_path

    return user_log_path("fent", appauthor=False, ensure_exists=True)
