"""`fent lay margins`: what a lay keeps from edges and between cuts, and which leftovers are worth keeping."""

from __future__ import annotations

from typing import Annotated

import typer

from . import options, reading
from .saying import Voice


def margins(
    gap: Annotated[
        float | None, typer.Option("--gap", metavar="LENGTH", parser=reading.a_margin, help="Kept between two cuts.")
    ] = None,
    edge: Annotated[
        float | None,
        typer.Option("--edge", metavar="LENGTH", parser=reading.a_margin, help="Kept from edges, holes and flaws."),
    ] = None,
    selvedge: Annotated[
        float | None, typer.Option("--selvedge", metavar="LENGTH", parser=reading.a_margin, help="Kept from a selvedge.")
    ] = None,
    raw: Annotated[
        float | None, typer.Option("--raw", metavar="LENGTH", parser=reading.a_margin, help="Kept from a raw edge.")
    ] = None,
    slip: Annotated[
        float | None,
        typer.Option("--slip", metavar="LENGTH", parser=reading.a_margin, help="What each ply of a stack may slip by."),
    ] = None,
    fold: Annotated[
        float | None, typer.Option("--fold", metavar="LENGTH", parser=reading.a_margin, help="Kept from a fold.")
    ] = None,
    heaviest: Annotated[
        float | None,
        typer.Option(
            "--heaviest", metavar="WEIGHT", parser=reading.a_cloth_weight, help="All plies of a stack together: 1500 g/m2."
        ),
    ] = None,
    thickest: Annotated[
        float | None,
        typer.Option("--thickest", metavar="LENGTH", parser=reading.a_margin, help="All plies of a stack together: 5 mm."),
    ] = None,
    narrowest: Annotated[
        float | None,
        typer.Option("--narrowest", metavar="LENGTH", parser=reading.a_margin, help="The narrowest strip worth keeping."),
    ] = None,
    smallest: Annotated[
        float | None,
        typer.Option(
            "--smallest", metavar="AREA", parser=reading.an_area, help="The smallest leftover worth keeping: 100 cm2."
        ),
    ] = None,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Show or change the workroom's margins.

    What a lay keeps from edges and between cuts, and which leftovers are worth keeping.

    \b
    Examples:
      fent lay margins
        between two cuts              2 mm
        from edges, holes and flaws   3 mm
        from a selvedge               10 mm
        …
      fent lay margins --gap "1/8 in" --smallest "150 cm2"
        between two cuts              3.175 mm
        from edges, holes and flaws   3 mm
        from a selvedge               10 mm
        …
    """
    from stash import Workroom, settings

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    told = {"gap": gap, "edge": edge, "selvedge": selvedge, "raw": raw, "narrowest": narrowest, "smallest_keeper": smallest}
    told |= {"slip": slip, "fold": fold, "heaviest": heaviest, "thickest": thickest}
    changes = {name: value for name, value in told.items() if value is not None}
    with Workroom.open(workroom, create=False) as opened:
        kept = settings.change(opened, **changes) if changes else settings.read(opened)
    voice.data(kept)
    voice.facts(
        [
            ("between two cuts", voice.shown.fine(kept.gap)),
            ("from edges, holes and flaws", voice.shown.fine(kept.edge)),
            ("from a selvedge", voice.shown.fine(kept.selvedge)),
            ("from a raw edge", voice.shown.fine(kept.raw)),
            ("slip of each ply", voice.shown.fine(kept.slip)),
            ("from a fold", voice.shown.fine(kept.fold)),
            ("heaviest stack", voice.shown.cloth_weight(kept.heaviest)),
            ("thickest stack", voice.shown.fine(kept.thickest)),
            ("narrowest keeper", voice.shown.fine(kept.narrowest)),
            ("smallest keeper", voice.shown.area(kept.smallest_keeper)),
        ]
    )
