"""`fent bin`: the remnants, and where they are."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import options, reading
from .measuring import a_fault, measured
from .saying import Voice

if TYPE_CHECKING:
    from stash.finding import Wanted
    from stash.remnants import Fault, Remnant

app = options.noun(
    "bin", "The remnants, and where they are.", "The bin: every remnant with its tag, outline, faults and place."
)


@app.command("add")
def add(
    tag: Annotated[str, typer.Argument(metavar="TAG", help="The tag that is pinned to it.", show_default=False)],
    cloth: Annotated[str, typer.Option("--cloth", metavar="NAME", help="Which cloth it is.", show_default=False)],
    size: Annotated[
        str | None,
        typer.Option("--size", metavar="SIZE", help="A rectangle: along the grain x across it, 62cm x 40cm."),
    ] = None,
    bites: Annotated[
        list[str] | None,
        typer.Option("--bite", metavar="BITE", help='… with a piece missing: "far right: 8cm x 5cm". Again for another.'),
    ] = None,
    rough: Annotated[
        bool, typer.Option("--rough", help="… which is the largest that fits: the outline is not measured.")
    ] = False,
    points: Annotated[
        str | None,
        typer.Option("--points", metavar="CORNERS", help='Any other outline: its corners in order, "0,0 31,0 31,18 0,16 cm".'),
    ] = None,
    edges: Annotated[
        str,
        typer.Option(
            "--edges", metavar="KINDS", help="Selvedge, cut or raw: one for all, or one for each side with ; between."
        ),
    ] = "cut",
    grain_angle: Annotated[
        float,
        typer.Option(
            "--grain-angle", metavar="DEGREES", parser=reading.an_angle, help="From the x of the corners to the grain."
        ),
    ] = 0.0,
    wrong_side_up: Annotated[bool, typer.Option("--wrong-side-up", help="It lay wrong side up when measured.")] = False,
    nap: Annotated[
        str | None,
        typer.Option("--nap", metavar="WAY", help="On a one-way cloth, how the nap or print ran: along or against."),
    ] = None,
    faults: Annotated[
        list[str] | None,
        typer.Option("--fault", metavar="FAULT", help='A hole or flaw: "stain: 4cm at 10cm,12cm". Again for another.'),
    ] = None,
    place: Annotated[str, typer.Option("--place", metavar="PLACE", help="Where it is kept: drawer 2, blue bag.")] = "",
    washed: Annotated[str, typer.Option("--washed", metavar="HOW", help="How it was washed, if it was.")] = "",
    mass: Annotated[
        float | None,
        typer.Option("--mass", metavar="WEIGHT", parser=reading.a_mass, help="What it weighs, if it was weighed: 86 g."),
    ] = None,
    source: Annotated[str, typer.Option("--source", metavar="WORD", help="Bought, given, found or unpicked.")] = "found",
    note: Annotated[str, typer.Option("--note", metavar="WORDS", help="Anything else worth knowing.")] = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Log a remnant.

    It is told as a rectangle, as a rectangle with bites out of it, or by its corners.
    Lay it with the grain from left to right; "near" is the side towards you. Measure from the near left corner.

    \b
    Examples:
      fent bin add N-07 --cloth "navy linen" --size "62cm x 40cm" --place "drawer 2" --edges "selvedge; cut; cut; raw"
      fent bin add N-08 --cloth "navy linen" --size "24 1/2 in x 16 in" --bite "far right: 3in x 2in"
      fent bin add N-09 --cloth "navy linen" --points "0,0 31,2 30,18 0,16 cm" --fault "stain: 4cm at 10cm,12cm"
    """
    from stash import Workroom, remnants
    from stash.words import Face, Nap, Source

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    new = remnants.NewRemnant(
        tag=tag,
        cloth=cloth,
        outline=measured(size, bites or (), points, edges, rough),
        grain_angle=grain_angle,
        face_up=Face.WRONG if wrong_side_up else Face.RIGHT,
        nap=reading.one_of(Nap, nap, "--nap") if nap is not None else None,
        faults=tuple(a_fault(text) for text in faults or []),
        place=place,
        washed=washed,
        mass=mass,
        source=reading.one_of(Source, source, "--source"),
        note=note,
    )
    with Workroom.open(workroom, create=False) as opened:
        remnant = remnants.log(opened, new, by=by)
    voice.data(remnant)
    where = f", in {remnant.place}" if remnant.place else ""
    voice.aside(
        f"{remnant.tag} is logged{where}: {remnant.cloth.name}, {voice.shown.size(remnant.length, remnant.width)}, "
        f"{voice.shown.area(remnant.area)}, {voice.shown.mass(remnant.mass)}{'' if remnant.weighed else ' by its area'}."
    )


# --- finding -------------------------------------------------------------------------------------------------------------

Cloth = Annotated[str | None, typer.Option("--cloth", metavar="NAME", help="Of this cloth.")]
Fibre = Annotated[str | None, typer.Option("--fibre", metavar="FIBRE", help="With this fibre in it.")]
Colour = Annotated[str | None, typer.Option("--colour", metavar="COLOUR", help="Of this colour.")]
Lot = Annotated[str | None, typer.Option("--lot", metavar="LOT", help="Of this dye lot.")]
Place = Annotated[str | None, typer.Option("--place", metavar="PLACE", help="Kept there.")]
Holds = Annotated[
    str | None,
    typer.Option("--holds", metavar="SIZE", help="Whose largest rectangle holds this, either way round: 30cm x 12cm."),
]
WeightFrom = Annotated[
    float | None,
    typer.Option("--weight-from", metavar="WEIGHT", parser=reading.a_cloth_weight, help="No lighter than this: 150 g/m2."),
]
WeightTo = Annotated[
    float | None,
    typer.Option("--weight-to", metavar="WEIGHT", parser=reading.a_cloth_weight, help="No heavier than this: 220 g/m2."),
]
Washed = Annotated[bool | None, typer.Option("--washed/--unwashed", help="Washed, or not washed.")]
Every = Annotated[bool, typer.Option("--all", help="Also those that are cut, gone or lost.")]


def _wanted(
    cloth: str | None,
    fibre: str | None,
    colour: str | None,
    lot: str | None,
    place: str | None,
    holds: str | None,
    weights: tuple[float | None, float | None],
    washed: bool | None,
    every: bool,
) -> Wanted:
    from stash.finding import Wanted

    wanted = Wanted(
        cloth=cloth,
        fibre=fibre,
        colour=colour,
        lot=lot,
        place=place,
        size=reading.a_size(holds, "--holds") if holds else None,
        weight_from=weights[0],
        weight_to=weights[1],
        washed=washed,
    )
    if every:
        from dataclasses import replace

        return replace(wanted, states=())
    return wanted


@app.command("list")
def listing(
    cloth: Cloth = None,
    fibre: Fibre = None,
    colour: Colour = None,
    lot: Lot = None,
    place: Place = None,
    holds: Holds = None,
    weight_from: WeightFrom = None,
    weight_to: WeightTo = None,
    washed: Washed = None,
    every: Every = False,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """List the remnants.

    All that are in the bin, or those that are asked for.

    \b
    Example:
      fent bin list --fibre linen --holds "30cm x 12cm"
    """
    from stash import Workroom, finding

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    wanted = _wanted(cloth, fibre, colour, lot, place, holds, (weight_from, weight_to), washed, every)
    with Workroom.open(workroom, create=False) as opened:
        found = finding.find(opened, wanted)
    voice.data(found)
    shown = voice.shown
    voice.table(
        ["tag", "cloth", f"size ({shown.unit})", f"largest rectangle ({shown.unit})", "area", "faults", "place", "state"],
        [
            [
                each.tag,
                each.cloth,
                "rough" if each.rough else shown.two(each.length, each.width),
                shown.two(each.rect_length, each.rect_width),
                shown.area(each.area),
                str(each.faults or ""),
                each.place,
                _state(each.state, each.held_by, each.quarantine),
            ]
            for each in found
        ],
        right=[2, 3, 4, 5],
    )


def _state(state: str, held_by: int | None, quarantine: str) -> str:
    if quarantine:
        return f"quarantined: {quarantine}"
    return f"held by lay {held_by}" if held_by else str(state)


@app.command("show")
def show(
    tag: Annotated[str, typer.Argument(metavar="TAG", help="The remnant.", show_default=False)],
    picture: Annotated[Path | None, typer.Option("--picture", metavar="FILE", help="Draw it (png, pdf or svg).")] = None,
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Show a remnant.

    All that is known of it.

    \b
    Example:
      fent bin show N-07
    """
    from stash import Workroom, remnants

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    file = reading.picture_file(picture, write_over) if picture else None
    with Workroom.open(workroom, create=False) as opened:
        remnant = remnants.get(opened, tag)
    voice.data(remnant)
    voice.facts(_facts(remnant, voice))
    if file:
        from .drawn import bin_page

        bin_page([remnant], voice.shown, f"Remnant {remnant.tag}").save(file)
        voice.aside(f"The picture is in {file}.")


def _facts(remnant: Remnant, voice: Voice) -> list[tuple[str, str]]:
    shown = voice.shown
    return [
        ("tag", remnant.tag),
        ("cloth", f"{remnant.cloth.name}, {remnant.cloth.made_of}, {shown.cloth_weight(remnant.cloth.weight)}"),
        ("place", remnant.place),
        ("state", _state(remnant.state, remnant.held_by, remnant.quarantine)),
        ("size", f"{shown.size(remnant.length, remnant.width)}, along the grain × across it"),
        ("largest rectangle", shown.size(remnant.rect_length, remnant.rect_width)),
        ("area", shown.area(remnant.area)),
        ("weight", shown.mass(remnant.mass) + (", weighed" if remnant.weighed else ", by its area")),
        ("outline", "rough: only its largest rectangle is known" if remnant.rough else "measured"),
        ("lies", "one way" if remnant.one_way else "either way"),
        ("faults", ", ".join(_fault_in_words(fault) for fault in remnant.faults) or "none"),
        ("edges", ", ".join(dict.fromkeys(edge.kind.value for edge in remnant.edges))),
        ("washed", remnant.washed or "no"),
        ("source", remnant.source.value if remnant.source else ""),
        ("cut from", remnant.parent or ""),
        ("keepers from it", ", ".join(remnant.children)),
        ("logged", f"{remnant.logged_at:%Y-%m-%d}"),
        ("note", remnant.note),
    ]


def _fault_in_words(fault: Fault) -> str:
    kind = "tear" if fault.kind == "hole" and fault.shape.geom_type == "LineString" else str(fault.kind)
    return kind if fault.kind == "hole" or fault.face == "both" else f"{kind} on the {fault.face} face"


@app.command("picture")
def picture(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Where to write it: png, pdf or svg.", show_default=False)],
    cloth: Cloth = None,
    fibre: Fibre = None,
    colour: Colour = None,
    lot: Lot = None,
    place: Place = None,
    holds: Holds = None,
    weight_from: WeightFrom = None,
    weight_to: WeightTo = None,
    washed: Washed = None,
    every: Every = False,
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
    show_in: options.ShowIn = "mm",
) -> None:
    """Draw the bin as a contact sheet.

    All of it, or what is asked for, at one scale.

    \b
    Example:
      fent bin picture linen.pdf --fibre linen
    """
    from stash import CannotBeDone, Workroom, finding, remnants

    voice = Voice(show_in=show_in)
    target = reading.picture_file(file, write_over, "FILE")
    wanted = _wanted(cloth, fibre, colour, lot, place, holds, (weight_from, weight_to), washed, every)
    with Workroom.open(workroom, create=False) as opened:
        found = [remnants.get(opened, each.tag) for each in finding.find(opened, wanted)]
    if not found:
        raise CannotBeDone("There is no such remnant in the bin, so there is nothing to draw", next="fent bin list")
    from .drawn import bin_page

    bin_page(found, voice.shown).save(target)
    voice.aside(f"The picture of {len(found)} remnants is in {target}.")


@app.command("put-apart")
def put_apart(
    tag: Annotated[str, typer.Argument(metavar="TAG", help="The remnant.", show_default=False)],
    reason: Annotated[str, typer.Option("--why", metavar="WORDS", help="Moth, mould, unknown dust …", show_default=False)],
    by: options.By = "",
    workroom: options.Workroom = None,
) -> None:
    """Put a remnant into quarantine.

    No lay may use it until someone releases it by name.

    \b
    Example:
      fent bin put-apart N-07 --why "moth in the fold" --by AK
    """
    from stash import Workroom, remnants

    voice = Voice()
    with Workroom.open(workroom, create=False) as opened:
        remnant = remnants.put_apart(opened, tag, reason, by=by)
    voice.aside(f"{remnant.tag} is in quarantine: {remnant.quarantine}. Keep it bagged and away from other cloth.")
    voice.next_steps((f"fent bin release {remnant.tag} --by INITIALS", "once someone who knows says that it is safe"))


@app.command("release")
def release(
    tag: Annotated[str, typer.Argument(metavar="TAG", help="The remnant.", show_default=False)],
    by: options.By = "",
    workroom: options.Workroom = None,
) -> None:
    """Release a remnant from quarantine.

    In the name of whoever says that it is safe.

    \b
    Example:
      fent bin release N-07 --by AK
    """
    from stash import Workroom, remnants

    voice = Voice()
    with Workroom.open(workroom, create=False) as opened:
        remnant = remnants.release(opened, tag, by=by)
    voice.aside(f"{remnant.tag} is out of quarantine.")
