"""What goes wrong, turned into words and an exit status: the only place that does it.

0 done; 1 it cannot be done; 2 what was typed is wrong; 3 a fault of the program, with the place of its log; 130 interrupted.
"""

from __future__ import annotations

import re
import sys
import traceback
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import typer

from .reading import Unreadable

DONE, CANNOT, WRONG, FAULT, INTERRUPTED = 0, 1, 2, 3, 130


def explain(fault: Exception, typed: Sequence[str], nouns: Sequence[str]) -> int:
    """Say what went wrong on standard error, and give the exit status."""
    if isinstance(fault, typer.Abort):
        print("Stopped; nothing was changed.", file=sys.stderr)
        return INTERRUPTED
    command = _command(typed, nouns)
    if hasattr(fault, "format_message"):  # Typer's own refusals, in all its versions
        return _refuse_usage(fault, command, nouns)
    from stash import CannotBeDone, Refused

    if isinstance(fault, Refused):
        tell(fault.what, fault.where, fault.expected or _expected(fault), fault.next or f"{command} --help")
        return WRONG
    if isinstance(fault, CannotBeDone):
        tell(f"It cannot be done: {_lower(fault.what)}", fault.where, fault.expected, fault.next)
        return CANNOT
    return own_fault(fault)


def tell(what: str, where: str = "", expected: str = "", following: str = "") -> None:
    """A refusal: what, where, what was expected, what to do next."""
    print(_sentence(what), file=sys.stderr)
    following = following if following.startswith("fent ") else following[:1].upper() + following[1:]
    for name, text in (("Where", where), ("Expected", expected), ("Do next", following)):
        if text:
            print(f"  {name + ':':<10}{text}", file=sys.stderr)


def own_fault(fault: Exception) -> int:
    """Something that Fent did not foresee: the whole story to a file, and one plain line to the person."""
    place = _write_log(fault)
    print("Fent itself has failed; this is not your doing. Your stash is as it was before this command.", file=sys.stderr)
    print(f"  What happened is written in {place}", file=sys.stderr)
    return FAULT


def _refuse_usage(fault: Any, command: str, nouns: Sequence[str]) -> int:
    """Typer's refusals, in the same form as our own."""
    context, parameter = getattr(fault, "ctx", None), getattr(fault, "param", None)
    help_line = f"{context.command_path if context is not None else command} --help"
    command = context.command_path if context is not None else command
    where = getattr(fault, "where", "") or (_as_typed(parameter) if parameter is not None else "") or command
    if isinstance(fault, Unreadable):
        tell(fault.what, where, fault.expected, fault.next or help_line)
    elif type(fault).__name__ == "MissingParameter":
        tell(f"{where} is missing", command, _lower(getattr(parameter, "help", "") or "").rstrip("."), help_line)
    elif type(fault).__name__ == "NoSuchOption":
        _no_such("option", fault.option_name, _options(context), command, help_line)
    elif "o such command" in str(fault.format_message()):
        known = list(context.command.list_commands(context)) if context is not None else list(nouns)
        _no_such("command", str(fault.format_message()).split("'")[1], known, command, help_line)
    elif "requires an argument" in str(fault.format_message()):
        name = getattr(fault, "option_name", "") or str(fault.format_message()).split("'")[1]
        tell(f"there is nothing after {name}", command, "what it says, in quotes if there are spaces in it", help_line)
    else:
        said = re.sub(
            r"Got unexpected extra arguments? ?(?:\(s\) )?\((.*)\)", r"this is too much: \1", str(fault.format_message())
        )
        tell(said, command, 'what has several words in it in quotes: "navy linen"', help_line)
    return WRONG


def _no_such(kind: str, given: str, known: Sequence[str], command: str, help_line: str) -> None:
    """A command or option that is not there, with those most like it."""
    from difflib import get_close_matches

    close = get_close_matches(given, known, n=3, cutoff=0.5)
    expected = f"one of: {', '.join(close or known)}" if close or kind == "command" else f"one that {help_line} shows"
    tell(f"there is no {kind} {given!r}", command, expected, help_line)


def _expected(fault: Exception) -> str:
    """What was expected, where the stash leaves it to be understood."""
    from stash.refusals import BadOutline, Taken

    if isinstance(fault, Taken):
        return "one that is not in use yet"
    return "corners in order, once round" if isinstance(fault, BadOutline) else ""


def _options(context: Any) -> list[str]:
    return [name for parameter in context.command.params for name in parameter.opts] if context is not None else []


def _command(typed: Sequence[str], nouns: Sequence[str]) -> str:
    """As much of the command as can be told from what was typed."""
    if not typed or typed[0] not in nouns:
        return "fent"
    verb = [word for word in typed[1:2] if word.replace("-", "").isalpha() and not word.startswith("-")]
    return " ".join(["fent", typed[0], *verb])


def _as_typed(parameter: Any) -> str:
    """An option by its long name, an argument by the word that help has for it."""
    if parameter.param_type_name == "option":
        return max(parameter.opts, key=len)  # type: ignore[no-any-return]
    return str(parameter.metavar or parameter.name).upper()


def _sentence(text: str) -> str:
    text = text.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) else ".")


def _lower(text: str) -> str:
    """Its first letter small, unless it begins a name or a tag."""
    return text[:1].lower() + text[1:] if text[1:2].islower() or text[1:2] == " " else text


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
