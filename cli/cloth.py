"""`fent cloth`: the kinds of fabric that the workroom has."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from . import options, reading
from .saying import Voice

if TYPE_CHECKING:
    from stash.cloths import Cloth

app = options.noun("cloth", "Kinds of fabric.", "Cloths: kinds of fabric, with what they are made of and what they weigh.")


@app.command("add")
def add(
    name: Annotated[str, typer.Argument(metavar="NAME", help="What you call it.", show_default=False)],
    fibres: Annotated[
        list[str],
        typer.Option(
            "--fibre", metavar="FIBRES", help="What it is made of: linen, or 55% linen, 45% cotton.", show_default=False
        ),
    ],
    weight: Annotated[
        float,
        typer.Option(
            "--weight",
            metavar="WEIGHT",
            parser=reading.a_cloth_weight,
            help="What it weighs: 185 g/m2 or 5 1/2 oz/yd2.",
            show_default=False,
        ),
    ],
    weave: Annotated[str, typer.Option("--weave", metavar="WEAVE", help="Plain, twill, satin …")] = "",
    colour: Annotated[str, typer.Option("--colour", metavar="COLOUR", help="Its colour.")] = "",
    lot: Annotated[str, typer.Option("--lot", metavar="LOT", help="Its dye lot.")] = "",
    width: Annotated[
        float | None,
        typer.Option("--width", metavar="LENGTH", parser=reading.a_length, help="From selvedge to selvedge: 145 cm."),
    ] = None,
    one_way: Annotated[
        bool, typer.Option("--one-way", help="Nap, pile or print must run the same way in every panel.")
    ] = False,
    faces_alike: Annotated[bool, typer.Option("--faces-alike", help="Either face may show.")] = False,
    note: Annotated[str, typer.Option("--note", metavar="WORDS", help="Anything else worth knowing.")] = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Put a cloth on the list.

    \b
    Example:
      fent cloth add "navy linen" --fibre linen --weight "185 g/m2" --colour navy --width 145cm
    """
    from stash import Workroom, cloths

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    new = cloths.NewCloth(
        name=name,
        fibres=reading.shares(fibres, "--fibre"),
        weight=weight,
        weave=weave,
        colour=colour,
        lot=lot,
        width=width,
        one_way=one_way,
        faces_alike=faces_alike,
        note=note,
    )
    with Workroom.open(workroom) as opened:
        cloth = cloths.add(opened, new)
    voice.data(cloth)
    voice.aside(f"{cloth.name} is on the list of cloths: {cloth.made_of}, {voice.shown.cloth_weight(cloth.weight)}.")


@app.command("list")
def listing(
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """List the cloths.

    \b
    Example:
      fent cloth list
    """
    from stash import Workroom, cloths

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    with Workroom.open(workroom, create=False) as opened:
        every = cloths.every(opened)
    voice.data(every)
    voice.table(
        ["cloth", "made of", "weight", "weave", "colour", "lot", "width", "lies"],
        [
            [
                cloth.name,
                cloth.made_of,
                voice.shown.cloth_weight(cloth.weight),
                cloth.weave,
                cloth.colour,
                cloth.lot,
                voice.shown.length(cloth.width) if cloth.width else "",
                how_it_lies(cloth),
            ]
            for cloth in every
        ],
        right=[2, 6],
    )


@app.command("show")
def show(
    name: Annotated[str, typer.Argument(metavar="NAME", help="The cloth.", show_default=False)],
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Show a cloth.

    All that is known of it.

    \b
    Example:
      fent cloth show "navy linen"
    """
    from stash import Workroom, cloths

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    with Workroom.open(workroom, create=False) as opened:
        cloth = cloths.get(opened, name)
    voice.data(cloth)
    voice.facts(
        [
            ("cloth", cloth.name),
            ("made of", cloth.made_of),
            ("weight", voice.shown.cloth_weight(cloth.weight)),
            ("weave", cloth.weave),
            ("colour", cloth.colour),
            ("dye lot", cloth.lot),
            ("width", voice.shown.length(cloth.width) if cloth.width else ""),
            ("lies", how_it_lies(cloth)),
            ("note", cloth.note),
        ]
    )


def how_it_lies(cloth: Cloth) -> str:
    """One way or either way, and whether either face may show."""
    return ("one way" if cloth.one_way else "either way") + (", either face" if cloth.faces_alike else "")
