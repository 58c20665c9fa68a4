"""`fent bin photograph`: photographs of a remnant, kept beside the stash."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from . import options
from .remnant import Tag
from .saying import Voice


def photograph(
    tag: Tag,
    file: Annotated[
        Path | None, typer.Argument(metavar="FILE", help="A photograph of it (jpg, png or webp).", show_default=False)
    ] = None,
    note: options.Note = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
) -> None:
    """Keep a photograph of a remnant.

    Without a file it lists those that are kept. A copy is kept in a folder beside the stash (or where FENT_PHOTOGRAPHS says),
    without what the camera writes beside it, such as where it was taken. `fent book audit` sees whether it is still there
    and unchanged.

    \b
    Example:
      fent bin photograph N-02
        There is no photograph of N-02.
    """
    from stash import Workroom, photographs

    voice = Voice(as_json=as_json, plain=plain)
    with Workroom.open(workroom, create=False) as opened:
        if file is not None:
            kept = photographs.keep(opened, tag, file, by=options.whose(by), note=note)
            voice.data(kept)
            voice.aside(f"A photograph of {kept.remnant} is kept: {kept.file}")
            return
        found = photographs.of(opened, tag)
    voice.data(found)
    if not found:
        voice.aside(f"There is no photograph of {' '.join(tag.split()).upper()}.")
        return
    rows = [[f"{each.kept_at:%Y-%m-%d}", each.kept_by, each.file, each.note] for each in found]
    voice.table(["kept on", "by", "file", "note"], rows)
