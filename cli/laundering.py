"""`fent bin wash` and `to-wash`: a remnant washed and measured again, and which ones a job would want washed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from . import options, outlining, questions
from .measuring import OutlineTold
from .remnant import Tag
from .saying import Voice

if TYPE_CHECKING:
    from stash.washing import Size

    from .shown import Shown


def wash(
    tag: Tag,
    how: Annotated[str, typer.Option("--how", metavar="WORDS", help='How: "40 °C, line dried".', show_default=False)] = "",
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
    note: options.Note = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Wash a remnant.

    It was washed and pressed, and is measured again, as when it is logged, with its faults. What it shrank by is in the book
    as shrunk; its weight stays. Old or treated cloth is not washed before it is known what lies in it; its care label and the
    rules of the workroom come first.

    \b
    Example:
      fent bin wash N-03 --how "40 °C, line dried" --size "54.6cm x 29.8cm" --by AK
        N-03 is washed: 546 × 298 mm, 1627 cm², now 204.4 g/m².
        It changed by −5.9 % along the grain (expected: not known) and −3.9 % across it (expected: not known).
    """
    from stash import Workroom, washing

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    way = questions.needed(how, "--how", "how it was washed", "How was it washed")
    told = OutlineTold(size, tuple(bites or ()), points, walk, ties, clockwise, False, edges, grain, tape, turns)
    _, measures = outlining.measured_again(told, voice, wrong_side_up=wrong_side_up, nap=nap, faults=faults)
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        done = washing.wash(opened, tag, way, measures, by=who, note=note)
    voice.data(done)
    voice.aside(f"{done.remnant.tag} is washed: {_in_short(done.after, voice.shown)}.")
    warp, weft = (_change(each) for each in done.change)
    expected = [_change(each) if each is not None else "not known" for each in done.expected]
    voice.aside(
        f"It changed by {warp} along the grain (expected: {expected[0]}) and {weft} across it (expected: {expected[1]})."
    )


def _change(percent: float) -> str:
    """A dimensional change with its sign: −6.0 %."""
    return f"{'−' if percent < -0.05 else '+' if percent > 0.05 else ''}{abs(percent):.1f} %"


def _in_short(size: Size, shown: Shown) -> str:
    return f"{shown.size(size.length, size.width)}, {shown.area(size.area)}, now {_weight(size.weight, shown)}"


def _weight(grams_per_m2: float, shown: Shown) -> str:
    """A weight of cloth to the tenth of a gram: what the wash has made of it is less than a gram often enough."""
    return shown.cloth_weight(grams_per_m2) if shown.weights == "oz" else f"{grams_per_m2:.1f} g/m²"


def to_wash(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job, which asks for washed cloth.", show_default=False)],
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """List what a job would want washed.

    The remnants that are not washed yet, and that would do for a job that asks for washed cloth if they shrink as is expected
    of their cloth. That is very uncertain: wash them, press them, and measure them again.

    \b
    Example:
      fent bin to-wash "summer bag"
        tag   for   size (mm)  after the wash (mm)      weighs       after  shrinkage    place
        E-01  body  700 × 500            665 × 485  135.0 g/m²  146.5 g/m²  as expected  top shelf
    """
    from stash import Workroom, washing

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    with Workroom.open(workroom, create=False) as opened:
        found = washing.worth_washing(opened, job)
    voice.data(found)
    shown = voice.shown
    unit = shown.heading
    rows = [
        [
            each.tag,
            each.piece,
            shown.two(each.now.length, each.now.width),
            shown.two(each.expected.length, each.expected.width),
            _weight(each.now.weight, shown),
            _weight(each.expected.weight, shown),
            "as expected" if each.sure else "not known",
            each.place,
        ]
        for each in found
    ]
    heads = ["tag", "for", f"size ({unit})", f"after the wash ({unit})", "weighs", "after", "shrinkage", "place"]
    voice.table(heads, rows, right=[2, 3, 4, 5])
    if found:
        voice.next_steps((f"fent bin wash {found[0].tag} --how …", "once it is washed and pressed: measure it again"))
