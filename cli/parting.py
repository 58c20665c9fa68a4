"""`fent bin split` and `join`: a remnant torn or cut in parts by hand, and remnants sewn together into one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from . import options, outlining, questions, reading
from .measuring import OutlineTold
from .remnant import Tag
from .saying import Voice

if TYPE_CHECKING:
    from nesting import Ring
    from stash.remnants import Remnant
    from stash.splitting import Split

NEAR_LEFT = "measured from its near left corner, the grain from left to right"


def split(
    tag: Tag,
    across: Annotated[
        list[str] | None,
        typer.Option("--across", metavar="LENGTH", help="Cut across the grain, so far from the left. Again for another."),
    ] = None,
    along: Annotated[
        list[str] | None,
        typer.Option("--along", metavar="LENGTH", help="Cut along the grain, so far from the near edge. Again for another."),
    ] = None,
    line: Annotated[
        list[str] | None,
        typer.Option(
            "--line", metavar="POINTS", help='Any other cut, its points in order: "10,0 30,18 cm". Again for another.'
        ),
    ] = None,
    note: options.Why = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Split a remnant by hand.

    Torn or cut in parts, each of which is a remnant with a tag of its own. Where it is cut is measured from its near left
    corner, the grain from left to right, right side up, as its picture shows it; a line is drawn out to the edges.

    \b
    Example:
      fent bin split N-02 --across 25cm --by AK
        N-02 is split in 2:
        tag    size (mm)      area  weight  place
        N-02A  250 × 400  1000 cm²  18.5 g  drawer 2
        …
    """
    from stash import Workroom, splitting

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    cuts: list[Ring] = [splitting.across(_a_length(text, "--across")) for text in across or []]
    cuts += [splitting.along(_a_length(text, "--along")) for text in along or []]
    cuts += [reading.a_ring(text, "--line") for text in line or []]
    if not cuts and questions.at_a_terminal():
        cuts = [splitting.across(questions.ask("How far from the left is it cut across the grain", reading.a_length))]
    if not cuts:
        raise questions.missing("where it is cut", f"--across, --along or --line, {NEAR_LEFT}")
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        done = splitting.split(opened, tag, cuts, by=who, note=note)
    voice.data(done)
    _parts(voice, done)


def _parts(voice: Voice, done: Split) -> None:
    shown = voice.shown
    voice.line(f"{done.remnant.tag} is split in {len(done.parts)}:")
    voice.table(
        ["tag", f"size ({shown.heading})", "area", "weight", "place"],
        [
            [part.tag, shown.two(part.length, part.width), shown.area(part.area), shown.mass(part.mass), part.place]
            for part in done.parts
        ],
        right=[1, 2, 3],
    )


def _a_length(text: str, where: str) -> float:
    return reading.of_option(reading.a_length, text, where)


def join(
    tag: Annotated[str, typer.Argument(metavar="TAG", help="The tag of what they have become.", show_default=False)],
    parts: Annotated[
        list[str], typer.Argument(metavar="PART", help="The remnants that were sewn together.", show_default=False)
    ],
    size: options.Size = None,
    bites: options.Bites = None,
    points: options.Points = None,
    walk: options.Walk = None,
    ties: options.Ties = None,
    clockwise: options.Clockwise = False,
    tape: options.Tape = 1.0,
    turns: options.Turns = 1.0,
    edges: options.Edges = "cut",
    grain: options.Grain = "",
    wrong_side_up: options.WrongSideUp = False,
    nap: options.Nap = None,
    faults: options.Faults = None,
    mass: options.Mass = None,
    note: options.Note = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Join remnants of one cloth.

    Sewn together they are one remnant, told as when it is logged. Say where the seams run, as faults: no panel is laid across
    them. What lies in the seams is in the book as re-measured.

    \b
    Example:
      fent bin join N-10 N-01 N-04 --size "51cm x 17cm" --fault "needle holes: 29.9,0 30.1,0 30.1,17 29.9,17 cm" --by AK
        N-10 is joined from N-01 and N-04: 510 × 170 mm, 867 cm², 18.3 g.
    """
    from stash import Workroom, joining

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    told = OutlineTold(size, tuple(bites or ()), points, walk, ties, clockwise, False, edges, grain, tape, turns)
    _, measures = outlining.measured_again(told, voice, wrong_side_up=wrong_side_up, nap=nap, faults=faults, mass=mass)
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        done = joining.join(opened, tag, parts, measures, by=who, note=note)
    voice.data(done)
    named = f"{', '.join(done.parts[:-1])} and {done.parts[-1]}"
    voice.aside(f"{done.remnant.tag} is joined from {named}: {_in_short(voice, done.remnant)}.")


def _in_short(voice: Voice, remnant: Remnant) -> str:
    shown = voice.shown
    return f"{shown.size(remnant.length, remnant.width)}, {shown.area(remnant.area)}, {shown.mass(remnant.mass)}"
