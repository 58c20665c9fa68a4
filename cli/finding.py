"""`fent bin list`, `picture` and `which`: finding remnants, and recognising one whose tag is lost."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import options, printing, reading
from .saying import Voice, kept_in, many

if TYPE_CHECKING:
    from stash.finding import Listed, Wanted


IN_THE_BIN = "in the bin"


def wanted(
    *,
    holds: str | None,
    older_than: str | None,
    newer_than: str | None,
    quarantine: bool,
    every: bool,
    **said: object,
) -> Wanted:
    """What the options look for."""
    from dataclasses import replace

    from stash.finding import Wanted

    found = Wanted(
        size=reading.a_size(holds, "--holds") if holds else None,
        came_before=options.day(older_than, "--older-than", age=True),
        came_after=options.day(newer_than, "--newer-than", age=True),
        quarantined=True if quarantine else None,
        **said,  # type: ignore[arg-type]
    )
    return replace(found, states=()) if every else found


def listing(
    cloth: options.OfCloth = None,
    fibre: options.OfFibre = None,
    colour: options.OfColour = None,
    lot: options.OfLot = None,
    weave: options.OfWeave = None,
    place: options.InPlace = None,
    holds: options.Holds = None,
    weight_from: options.WeightFrom = None,
    weight_to: options.WeightTo = None,
    older_than: options.OlderThan = None,
    newer_than: options.NewerThan = None,
    washed: options.Washed = None,
    free: options.Free = None,
    rough: options.Rough = None,
    quarantine: options.InQuarantine = False,
    every: options.Every = False,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """List the remnants.

    All that are in the bin, or those that are asked for; each option narrows it down.

    \b
    Example:
      fent bin list --fibre linen --holds "30cm x 12cm" --free
        tag   cloth       size (mm)  largest rectangle (mm)      area  faults  place     state
        N-01  navy linen  300 × 200               300 × 200   600 cm²          drawer 1  in the bin
        N-02  navy linen  620 × 400               620 × 400  2480 cm²          drawer 2  in the bin
        …
    """
    from stash import Workroom, finding

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    asked = wanted(
        cloth=cloth,
        fibre=fibre,
        colour=colour,
        lot=lot,
        weave=weave,
        place=place,
        holds=holds,
        weight_from=weight_from,
        weight_to=weight_to,
        older_than=older_than,
        newer_than=newer_than,
        washed=washed,
        free=free,
        rough=rough,
        quarantine=quarantine,
        every=every,
    )
    with Workroom.open(workroom, create=False) as opened:
        found = finding.find(opened, asked)
    voice.data(found)
    table(voice, found)


def table(voice: Voice, found: tuple[Listed, ...]) -> None:
    """The list of remnants."""
    shown = voice.shown
    voice.table(
        [
            *("tag", "cloth", f"size ({shown.heading})", f"largest rectangle ({shown.heading})"),
            *("area", "faults", "place", "state"),
        ],
        [
            [
                each.tag,
                each.cloth,
                "rough" if each.rough else shown.two(each.length, each.width),
                shown.two(each.rect_length, each.rect_width),
                shown.area(each.area),
                str(each.faults or ""),
                each.place,
                state(each.state, each.held_by, each.quarantine),
            ]
            for each in found
        ],
        right=[2, 3, 4, 5],
    )


def state(kept: str, held_by: int | None, quarantine: str) -> str:
    """Where a remnant stands, in words."""
    if quarantine:
        return f"in quarantine: {quarantine}"
    return f"held by lay {held_by}" if held_by else str(kept)


def picture(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Where to write it: png, pdf or svg.", show_default=False)],
    cloth: options.OfCloth = None,
    fibre: options.OfFibre = None,
    colour: options.OfColour = None,
    lot: options.OfLot = None,
    weave: options.OfWeave = None,
    place: options.InPlace = None,
    holds: options.Holds = None,
    weight_from: options.WeightFrom = None,
    weight_to: options.WeightTo = None,
    older_than: options.OlderThan = None,
    newer_than: options.NewerThan = None,
    washed: options.Washed = None,
    free: options.Free = None,
    rough: options.Rough = None,
    quarantine: options.InQuarantine = False,
    every: options.Every = False,
    paper: options.OnPaper = "A4",
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
    show_in: options.ShowIn = "mm",
) -> None:
    """Draw the bin as a contact sheet.

    All of it, or what is asked for, in the order of the list and at one scale, each remnant with a grid to measure by and its
    newest photograph. A pdf has as many pages as it needs, of png there is a file for each; an svg is one picture, without
    the grid and the photographs.

    \b
    Example:
      fent bin picture linen.svg --fibre linen
        The picture of 5 remnants is in linen.svg.
    """
    from stash import CannotBeDone, Workroom, finding, remnants

    from . import contact_sheet, drawn

    voice = Voice(show_in=show_in)
    target = reading.picture_file(file, write_over, "FILE")
    asked = wanted(
        cloth=cloth,
        fibre=fibre,
        colour=colour,
        lot=lot,
        weave=weave,
        place=place,
        holds=holds,
        weight_from=weight_from,
        weight_to=weight_to,
        older_than=older_than,
        newer_than=newer_than,
        washed=washed,
        free=free,
        rough=rough,
        quarantine=quarantine,
        every=every,
    )
    on = printing.a_paper(paper)
    with Workroom.open(workroom, create=False) as opened:
        found = finding.find(opened, asked)
        if not found:
            raise CannotBeDone("There is no such remnant in the bin, so there is nothing to draw", next="fent bin list")
        if target.suffix.lower() == ".svg":
            drawn.bin_page([remnants.get(opened, each.tag) for each in found], voice.shown).save(target)
            voice.aside(f"The picture of {many(len(found), 'remnant')} is in {target}.")
            return
        states = [(each.tag, state(each.state, each.held_by, each.quarantine)) for each in found]
        items = drawn.bin_items(opened, [(tag, "" if how == IN_THE_BIN else how) for tag, how in states], voice.shown)
    about = f"{many(len(found), 'remnant')}, right side up, the grain from left to right"
    papers = contact_sheet.contact_sheet("The bin", about, items, on, voice.shown)
    printing.put_down(voice, papers, target, write_over, f"The picture of {many(len(found), 'remnant')}")


def which(
    size: Annotated[
        str | None, typer.Option("--size", metavar="SIZE", help="Its two greatest measures, either way round: 61cm x 39cm.")
    ] = None,
    mass: Annotated[
        float | None, typer.Option("--mass", metavar="WEIGHT", parser=reading.a_mass, help="What it weighs: 44 g.")
    ] = None,
    cloth: Annotated[str | None, typer.Option("--cloth", metavar="NAME", help="Its cloth, if you are sure of it.")] = None,
    fibre: Annotated[str | None, typer.Option("--fibre", metavar="FIBRE", help="A fibre, if you are sure of it.")] = None,
    colour: Annotated[
        str | None, typer.Option("--colour", metavar="COLOUR", help="Its colour, if you are sure of it.")
    ] = None,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Find which remnant you hold, if its tag is lost.

    Two measures and a weight are held against all that the stash knows; the likeliest comes first.

    \b
    Example:
      fent bin which --size "58cm x 30.5cm" --mass "33 g" --colour navy
        It is almost surely N-03: navy linen, kept in drawer 3.
        …
    """
    from stash import CannotBeDone, Workroom, recognising

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    in_hand = recognising.InHand(
        measures=reading.a_size(size, "--size") if size else None, mass=mass, cloth=cloth, fibre=fibre, colour=colour
    )
    with Workroom.open(workroom, create=False) as opened:
        found = recognising.which(opened, in_hand)
    if not found:
        raise CannotBeDone(
            "No remnant in the stash comes near to that",
            next="measure and weigh it once more, or log it under a new tag: fent bin add",
        )
    voice.data(found)
    first = found[0].remnant
    sure = "almost surely" if found[0].share >= 0.95 else "most likely" if found[0].share >= 0.5 else "perhaps"
    voice.line(f"It is {sure} {first.tag}: {first.cloth}{f', kept {kept_in(first.place)}' if first.place else ''}.")
    voice.line()
    voice.table(
        ["tag", "how likely", "cloth", "place", "state", "why"],
        [
            [
                each.remnant.tag,
                f"{each.share:.0%}",
                each.remnant.cloth,
                each.remnant.place,
                state(each.remnant.state, each.remnant.held_by, each.remnant.quarantine),
                "; ".join(each.why),
            ]
            for each in found
        ],
        right=[1],
    )
