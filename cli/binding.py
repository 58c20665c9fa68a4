"""`fent lay binding`: bias binding out of what a lay leaves."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import options, reading
from .saying import Voice, many

if TYPE_CHECKING:
    from stash import Workroom
    from stash.bias_binding import BiasBinding
    from stash.lays import Lay

    from .shown import Shown


def binding(
    number: Annotated[
        int, typer.Argument(metavar="LAY", parser=reading.a_number, help="The lay's number.", show_default=False)
    ],
    width: Annotated[
        float,
        typer.Argument(metavar="WIDTH", parser=reading.a_length, help="As it is cut, 4cm for instance.", show_default=False),
    ],
    length: Annotated[
        float | None,
        typer.Option("--length", metavar="LENGTH", parser=reading.a_length, help="How much is wanted; else all there is."),
    ] = None,
    join: Annotated[
        float, typer.Option("--join", metavar="LENGTH", parser=reading.a_margin, help="On either side of each join.")
    ] = 6.0,
    shortest: Annotated[
        float,
        typer.Option("--shortest", metavar="LENGTH", parser=reading.a_length, help="Shorter strips are not worth a join."),
    ] = 150.0,
    picture: options.Picture = None,
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Tell what bias binding a lay leaves.

    Strips at 45° beside the lay's panels, clear of edges, holes and flaws, their ends cut along the grain; how many joins they
    take, and how long they are once joined. Each cloth for itself. It ends with 1 where there is less than is wanted.

    \b
    Example:
      fent lay binding 1 4cm
        navy linen: 0.7 m of bias binding 40 mm wide, from 4 strips with 3 joins.
        strip  on    place     length (mm)
            1  N-02  drawer 2          203
        …
    """
    from stash import CannotBeDone, Workroom, bias_binding

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    file = reading.picture_file(picture, write_over) if picture else None
    with Workroom.open(workroom, create=False) as opened:
        lay, found = bias_binding.from_lay(opened, number, width, length=length, join=join, shortest=shortest)
        if file:
            _draw(opened, lay, found, voice.shown, file)
    voice.data(found)
    for one in found:
        _told(voice, one, width)
    if file:
        voice.aside(f"The picture is in {file}.")
    if not any(one.enough for one in found):
        what = f"{voice.shown.length(length)} of " if length else ""
        raise CannotBeDone(
            f"lay {number} leaves no {what}bias binding {voice.shown.fine(width)} wide of one cloth",
            where=f"lay {number}",
            expected="strips of that width beside its panels",
            next=f'See what the bin holds: fent bin binding "{voice.shown.fine(width)}"',
        )


def _told(voice: Voice, one: BiasBinding, width: float) -> None:
    joins = f" with {many(one.joins, 'join')}" if one.joins else ""
    voice.line(
        f"{one.cloth}: {one.length / 1000:.1f} m of bias binding {voice.shown.fine(width)} wide, "
        f"from {many(len(one.strips), 'strip')}{joins}."
    )
    rows = [
        [str(number), strip.tag, strip.place, voice.shown.number(strip.length)] for number, strip in enumerate(one.strips, 1)
    ]
    voice.table(["strip", "on", "place", f"length ({voice.shown.heading})"], rows, right=[0, 3])


def _draw(opened: Workroom, lay: Lay, found: tuple[BiasBinding, ...], shown: Shown, file: Path) -> None:
    """The lay with the strips beside its panels, numbered with a b."""
    from stash import lays

    from . import drawn, pictures

    strips: dict[str, list[pictures.PanelDrawn]] = {}
    for one in found:
        for number, strip in enumerate(one.strips, 1):
            strips.setdefault(strip.tag, []).append(pictures.PanelDrawn(f"b{number}", strip.shape, None, 45.0))
    sheets = drawn.sheets_drawn(opened, lay, lays.foresee(opened, lay), shown)
    both = [
        replace(sheet, panels=(*sheet.panels, *strips.get(tag.remnant.tag, [])), keepers=(), rag=None)
        for sheet, tag in zip(sheets, lay.sheets, strict=True)
    ]
    title = f"Lay {lay.number} for {lay.job}, with bias binding"
    pictures.lay_picture(title, ["b: strips for binding, on the bias"], both, shown).save(file)
