"""`fent book export` and `import`: the whole stash as plain text, and back."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Annotated

import typer

from . import options, reading
from .saying import Voice


def export(
    file: Annotated[
        Path | None, typer.Argument(metavar="FILE", help="Where to, unless onto the screen: stash.jsonl.", show_default=False)
    ] = None,
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
) -> None:
    """Write the whole stash out as plain text.

    Another program can read it in twenty years: one line for each row (JSON Lines), outlines as well-known text, all of it
    explained in its first lines. `fent book import` makes the same stash of it again, to the last digit. Keep one with your
    papers.

    \b
    Example:
      fent book export stash.jsonl
        The whole stash is in stash.jsonl.
    """
    from stash import Workroom, writing_out

    if file is not None:
        reading.a_new_file(file, write_over, "FILE")
    with Workroom.open(workroom, create=False) as opened:
        if file is None:
            writing_out.write_out(opened, sys.stdout.write)
            return
        beside = file.with_name(f"{file.name}.part")  # so that what is there already is whole until the new one is
        try:
            with beside.open("w", encoding="utf-8", newline="\n") as page:
                writing_out.write_out(opened, page.write)
            os.replace(beside, file)
        finally:
            beside.unlink(missing_ok=True)
    Voice().aside(f"The whole stash is in {file}.")


def take_in(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="What `fent book export` has written.", show_default=False)],
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Make a stash of what was written out.

    Only into a stash that is not there yet, or in which there is nothing: nothing is ever mixed. One that an older Fent has
    written is brought up to date.

    \b
    Example:
      fent book import stash.jsonl --workroom again.fent
        The stash is there again: 44 rows.
    """
    from stash import Workroom, reading_in

    voice = Voice(as_json=as_json)
    if not file.is_file():
        raise reading.Unreadable(f"there is no file {str(file)!r}", "one that `fent book export` has written", "FILE")
    try:
        with file.open(encoding="utf-8") as page:
            done = reading_in.read_in(page, workroom)
    except UnicodeDecodeError:
        raise reading.Unreadable(f"{str(file)!r} is no text", "one that `fent book export` has written", "FILE") from None
    Workroom.open(workroom, create=False).close()  # brought up to date where it is older
    voice.data(done)
    voice.aside(f"The stash is there again: {done.rows} rows.")
    voice.next_steps(("fent book audit", "go through all of it"))
