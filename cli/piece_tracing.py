"""`fent pattern trace`: a paper pattern piece off a photograph."""

from __future__ import annotations

from typing import Annotated

import typer

from . import options, reading
from .saying import Voice, many
from .traced import (
    Beside,
    Grain,
    Looks,
    OnlyLook,
    Photograph,
    Square,
    Tolerance,
    agreed,
    picture_file,
    read,
    say_how_sure,
    show,
)


def trace(
    pattern: Annotated[
        str, typer.Argument(metavar="PATTERN", help="The pattern; a new one if the name is new.", show_default=False)
    ],
    piece: Annotated[str, typer.Argument(metavar="PIECE", help="The piece.", show_default=False)],
    photograph: Photograph,
    drawn: Annotated[
        str, typer.Option("--drawn", metavar="LINE", help="Which line the paper is cut along: sewing, or cut.")
    ] = "cut",
    allowance: Annotated[
        float, typer.Option("--allowance", metavar="LENGTH", parser=reading.a_margin, help="Seam allowance all round.")
    ] = 0.0,
    beside: Beside = "sheet",
    square: Square = 100.0,
    tolerance: Tolerance = 0.8,
    grain: Grain = "",
    count: Annotated[
        int, typer.Option("--count", metavar="NUMBER", parser=reading.a_number, help="How many the pattern takes.")
    ] = 1,
    one_way: Annotated[bool, typer.Option("--one-way/--either-way", help="May it be turned head to foot?")] = False,
    left_and_right: Annotated[bool, typer.Option("--left-and-right", help="It comes in two hands.")] = False,
    hidden: Annotated[bool, typer.Option("--hidden/--seen", help="Is it seen when worn?")] = False,
    picture: Looks = None,
    write_over: options.WriteOver = False,
    look: OnlyLook = False,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Trace a paper pattern piece off a photograph.

    Lay the paper flat on a table of another tone, beside a scale sheet (fent bin scale-sheet), a sheet of A4 or a bank
    card, and photograph it from above. Its grain runs along the long side of the scale, unless --grain says otherwise: line,
    for a grain line drawn on it.

    \b
    Example:
      fent pattern trace apron bib bib.jpg --allowance 1cm --grain line --picture bib-found.jpg
        …
    """
    from stash import Refused, Workroom, patterns
    from stash.words import Line

    from .pattern import put_in, said_in_short

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    file = picture_file(picture, write_over) if picture else None
    traced = read(photograph, beside, tolerance, square, grain, "cut")
    if traced.seen.holes:
        raise Refused(
            f"the paper has {many(len(traced.seen.holes), 'hole')}",
            where="photograph",
            expected="a piece without holes",
            next="Lay paper of its own colour under them",
        )
    show(traced, f"{pattern}/{piece}", voice, file, look=look)
    if look:
        return
    agreed()
    new = patterns.NewPiece(
        name=piece,
        ring=traced.found.measured.ring,
        allowance=allowance,
        drawn=reading.one_of(Line, drawn, "--drawn"),
        grain_angle=traced.found.grain_angle,
        one_way=one_way,
        left_and_right=left_and_right,
        hidden=hidden,
        count=count,
    )
    with Workroom.open(workroom) as opened:
        kept = put_in(opened, pattern, new)
    voice.data(kept)
    said_in_short(kept, voice)
    say_how_sure(traced, voice)
