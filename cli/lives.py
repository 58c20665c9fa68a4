"""`fent bin life` and `fent cloth life`: what became of a remnant or a cloth, as a tree and as a picture."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Annotated, Any

import typer

from . import options, reading
from .remnant import Tag
from .saying import Voice, many
from .shown import Shown

if TYPE_CHECKING:
    from stash.lives import Life, Step


def of_remnant(
    tag: Tag,
    picture: options.Picture = None,
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Tell the life of a remnant.

    From the length that it came from, through every cut, to what is left of it; the picture has the outline of each at the
    time. What was undone is left out.

    \b
    Example:
      fent bin life N-02A
        N-02: 620 × 400 mm, 2480 cm², 45.9 g, cut
          2026-11-25 logged found
          2026-11-25 cut for wheel cushion
        …
    """
    from stash import Workroom, lives

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    file = reading.picture_file(picture, write_over) if picture is not None else None
    with Workroom.open(workroom, create=False) as opened:
        found = lives.of_remnant(opened, tag)
    voice.data(found)
    _tell(voice, found)
    if file:
        from .life_picture import life_page

        life_page(f"The life of {' '.join(tag.split()).upper()}", found, voice.shown).save(file)
        voice.aside(f"The picture is in {file}.")


def of_cloth(
    cloth: Annotated[str, typer.Argument(metavar="CLOTH", help="Its name.", show_default=False)],
    picture: options.Picture = None,
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Tell the life of a cloth.

    All that ever came of it, and what became of that; the picture has the outline of each at the time. What was undone is left
    out.

    \b
    Example:
      fent cloth life "ecru cotton"
        E-01: 700 × 500 mm, 3500 cm², 47.2 g, in the bin, top shelf
          2026-11-25 logged found
    """
    from stash import Workroom, lives

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    file = reading.picture_file(picture, write_over) if picture is not None else None
    with Workroom.open(workroom, create=False) as opened:
        found = lives.of_cloth(opened, cloth)
    voice.data(found)
    _tell(voice, found)
    if file and found:
        from .life_picture import life_page

        life_page(f"The life of {found[0].cloth}", found, voice.shown).save(file)
        voice.aside(f"The picture is in {file}.")


def _tell(voice: Voice, found: Sequence[Life]) -> None:
    """The trees: drawn with lines at a terminal, by how far they stand in elsewhere."""
    if voice.as_json:
        return
    if not found:
        voice.aside("Nothing has come of it yet.")
        return
    if voice.plain or not sys.stdout.isatty():
        for life in found:
            for deep, text, _ in _lines(life, voice.shown):
                voice.line("  " * deep + text)
        return
    from rich.console import Console
    from rich.text import Text
    from rich.tree import Tree

    for life in found:
        stems: list[Any] = []
        for deep, text, strong in _lines(life, voice.shown):
            said = Text(text, style="bold" if strong else "")
            stem = Tree(said) if deep == 0 else stems[deep - 1].add(said)
            stems[deep:] = [stem]
        Console().print(stems[0])


def _lines(life: Life, shown: Shown, deep: int = 0) -> Iterator[tuple[int, str, bool]]:
    """Each line of a life: how deep it stands, what it says, whether it is about a remnant rather than what happened to it."""
    asked = "  ← this one" if life.asked else ""
    yield deep, f"{life.tag}: {size(life, shown)}, {_stands(life)}{asked}", True
    for step in life.steps:
        yield deep + 1, happened(step, shown), False
    if life.pieces or life.spoiled or life.rag_area:
        yield deep + 1, became(life, shown), False
    for child in life.became:
        yield from _lines(child, shown, deep + 1)


def size(life: Life, shown: Shown) -> str:
    """How large it is, or was last."""
    if life.shape is None:
        return shown.area(life.area)
    left, low, right, high = life.shape.bounds
    return f"{shown.size(right - left, high - low)}, {shown.area(life.area)}, {shown.mass(life.mass)}"


def _stands(life: Life) -> str:
    if life.joined_into:
        return f"joined into {life.joined_into}"
    return f"{life.state}, {life.place}" if life.place and str(life.state) in ("in the bin", "held") else str(life.state)


def happened(step: Step, shown: Shown) -> str:
    """One step in words."""
    said = f"{step.at:%Y-%m-%d} {step.event}{f' {step.detail}' if step.detail else ''}"
    if step.was is not None:
        said += f": {shown.area(step.was.area)} before, {shown.area(step.area)} after"
    return said + (f" ({step.note})" if step.note else "")


def became(life: Life, shown: Shown) -> str:
    """What was cut from it, and what went to the rag bag."""
    parts = [f"{count} {piece}" for piece, count in life.pieces]
    parts += [f"{many(life.spoiled, 'panel')} spoiled"] if life.spoiled else []
    parts += [f"{shown.area(life.rag_area)} to the rag bag"] if life.rag_area else []
    return f"became {', '.join(parts)}"
