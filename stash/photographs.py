"""Photographs of remnants, kept in a folder beside the stash under the sum of their content (SHA-256), so that one that was
changed or swapped is noticed. What a camera writes beside the picture, where it was taken above all, is left out.
"""

from __future__ import annotations

import hashlib
import io
import os
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import select

from .connecting import file_of
from .given import initials
from .refusals import CannotBeDone, Refused
from .remnants import row_of
from .tables import PhotographRow
from .workroom import Workroom

VARIABLE = "FENT_PHOTOGRAPHS"
SUFFIX = ".photographs"
KINDS = {"JPEG": ".jpg", "PNG": ".png", "WEBP": ".webp"}
LARGEST = 64 * 1024 * 1024
"""Bytes: several times what a good camera writes."""


@dataclass(frozen=True, slots=True)
class Photograph:
    """A photograph of a remnant: where it is kept, and what was said of it."""

    remnant: str
    file: str
    note: str
    kept_at: datetime
    kept_by: str


def folder_of(workroom: Workroom) -> Path | None:
    """Where a stash's photographs are: where FENT_PHOTOGRAPHS says, else in a folder of the same name beside its file. None
    for a database of which none is named."""
    named = os.environ.get(VARIABLE)
    if named:
        return Path(named).expanduser()
    file = file_of(workroom.engine.url)
    return None if file is None else file.with_suffix(SUFFIX)


def keep(workroom: Workroom, tag: str, file: str | os.PathLike[str], *, by: str, note: str = "") -> Photograph:
    """Keep a copy of a photograph of a remnant. Raises Refused for a file that is none, and without initials; Unknown;
    CannotBeDone where there is no folder for it."""
    who = initials(by, "keeping a photograph")
    name, content = _without_its_place(Path(file))
    folder = folder_of(workroom)
    if folder is None:
        raise CannotBeDone(
            "there is no folder for photographs", where="photograph", next=f"Name one that all can reach: set {VARIABLE}"
        )
    with workroom.writing() as session:
        row = row_of(session, tag)
        kept = PhotographRow(remnant_id=row.id, name=name, note=note.strip(), kept_at=workroom.now(), kept_by=who)
        session.add(kept)
        session.flush()
        folder.mkdir(exist_ok=True)
        there = folder / name
        if not there.exists():
            beside = there.with_suffix(".part")
            beside.write_bytes(content)
            os.replace(beside, there)
        return Photograph(row.tag, str(there), kept.note, kept.kept_at, kept.kept_by)


def of(workroom: Workroom, tag: str) -> tuple[Photograph, ...]:
    """The photographs of a remnant, the oldest first. Raises Unknown."""
    folder = folder_of(workroom) or Path()
    with workroom.reading() as session:
        row = row_of(session, tag)
        asked = select(PhotographRow).where(PhotographRow.remnant_id == row.id).order_by(PhotographRow.id)
        return tuple(
            Photograph(row.tag, str(folder / each.name), each.note, each.kept_at, each.kept_by)
            for each in session.scalars(asked)
        )


def name_of(content: bytes, kind: str) -> str:
    """The name under which a content is kept."""
    return hashlib.sha256(content).hexdigest() + kind


def _without_its_place(file: Path) -> tuple[str, bytes]:
    """The picture alone, upright, and the name to keep it under. Raises Refused."""
    from PIL import Image, ImageOps, UnidentifiedImageError

    expected = "a photograph (jpg, png or webp)"
    try:
        size = file.stat().st_size
        if size > LARGEST:
            raise Refused(f"{file.name} has {size} bytes", where="photograph", expected=f"at most {LARGEST}")
        with Image.open(file) as opened:
            kind = opened.format or ""
            if kind not in KINDS:
                raise Refused(f"{file.name} is a picture of another kind ({kind})", where="photograph", expected=expected)
            upright = ImageOps.exif_transpose(opened)
            page = io.BytesIO()
            clean = Image.new(upright.mode, upright.size)
            clean.paste(upright)
            clean.save(page, format=kind, **({"quality": 95} if kind == "JPEG" else {}))
    except (OSError, UnidentifiedImageError, Image.DecompressionBombError) as fault:
        raise Refused(
            f"{file.name} cannot be read as a picture: {fault}"[:200], where="photograph", expected=expected
        ) from None
    content = page.getvalue()
    return name_of(content, KINDS[kind]), content
