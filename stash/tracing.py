"""A remnant, or a paper pattern piece, off a photograph: logged or measured again with the photograph kept beside it, at once.

`stash.camera` reads the outline; what is told of it beside that is here put together, in the words of any other remnant.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from . import measuring, photographs, remnants
from .measuring import Measures
from .refusals import Refused
from .remnants import NewFault, NewRemnant, Remnant
from .words import FaultKind
from .workroom import Workroom

if TYPE_CHECKING:
    from .camera.reading import Seen

SUFFIXES = (".jpg", ".jpeg", ".png", ".webp")
MOST_FILES = 1000
"""In one folder: a session of photographing that has more is better logged in parts."""


@dataclass(frozen=True, slots=True)
class Shot:
    """A photograph of a folder, and the tag that its name gives."""

    file: Path
    tag: str


def holes_of(seen: Seen) -> tuple[NewFault, ...]:
    """The holes that a photograph shows, as faults."""
    return tuple(NewFault(FaultKind.HOLE, ring) for ring in seen.holes)


def log(workroom: Workroom, traced: Sequence[tuple[NewRemnant, str | os.PathLike[str]]], *, by: str) -> tuple[Remnant, ...]:
    """Log remnants, each with its photograph: all or none. Raises as `remnants.log` and `photographs.keep` do."""
    logged = []
    with workroom.writing():
        for new, file in traced:
            remnant = remnants.log(workroom, new, by=by)
            photographs.keep(workroom, remnant.tag, file, by=by)
            logged.append(remnant)
    return tuple(logged)


def measure_again(
    workroom: Workroom, tag: str, measures: Measures, file: str | os.PathLike[str], *, by: str, note: str = ""
) -> Remnant:
    """Measure a remnant again by a photograph, which is kept. Raises as `measuring.measure_again` and `photographs.keep`
    do."""
    with workroom.writing():
        photographs.keep(workroom, tag, file, by=by, note=note)
        return measuring.measure_again(workroom, tag, measures, by=by, note=note)


def in_folder(folder: str | os.PathLike[str]) -> tuple[Shot, ...]:
    """The photographs of a folder by name, each with its tag (its name without the ending). What leads out of it is left
    alone.

    Raises Refused: no folder, none in it, too many, two for one tag.
    """
    path = Path(folder)
    if not path.is_dir():
        raise Refused(f"there is no folder {path.name or path}", where="folder", expected="a folder of photographs")
    files = sorted(
        (file for file in path.iterdir() if file.suffix.lower() in SUFFIXES and file.is_file() and not file.is_symlink()),
        key=lambda file: file.name.casefold(),
    )
    if not files:
        raise Refused(f"there is no photograph in {path.name or path}", where="folder", expected="files of jpg, png or webp")
    if len(files) > MOST_FILES:
        raise Refused(f"there are {len(files)} photographs in it", where="folder", expected=f"at most {MOST_FILES}")
    shots = tuple(Shot(file, " ".join(file.stem.split()).upper()) for file in files)
    seen: dict[str, Path] = {}
    for shot in shots:
        if shot.tag in seen:
            raise Refused(
                f"{seen[shot.tag].name} and {shot.file.name} are both of {shot.tag}",
                where="folder",
                expected="one photograph for each tag, called by it: N-12.jpg",
            )
        seen[shot.tag] = shot.file
    return shots
