"""`fent bin add`: one remnant logged, and what is asked where something was not said."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Annotated

import typer

from . import options, outlining, questions, reading, square, striping
from .measuring import OutlineTold, Understood, a_fault, understood
from .refusing import INTERRUPTED
from .saying import Voice, kept_in
from .sketch import sketch
from .taping import how_sure

if TYPE_CHECKING:
    from stash import Workroom
    from stash.remnants import Remnant

NAP = "which way the nap runs: along the grain from left to right, or against it"


@dataclass(frozen=True)
class Told:
    """What was typed of a remnant, or answered."""

    tag: str | None
    cloth: str | None
    outline: OutlineTold
    wrong_side_up: bool
    nap: str | None
    place: str


def add(
    tag: Annotated[str | None, typer.Argument(metavar="TAG", help="The tag that is pinned to it.", show_default=False)] = None,
    cloth: Annotated[str | None, typer.Option("--cloth", metavar="NAME", help="Which cloth it is.")] = None,
    size: options.Size = None,
    bites: options.Bites = None,
    rough: Annotated[
        bool, typer.Option("--rough", help="… which is the largest that fits: the outline is not measured.")
    ] = False,
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
    bar_left: striping.BarLeft = None,
    bar_near: striping.BarNear = None,
    place: options.Kept = "",
    washed: Annotated[str, typer.Option("--washed", metavar="HOW", help="How it was washed, if it was.")] = "",
    mass: options.Mass = None,
    source: options.Source = "found",
    came_on: options.CameOn = None,
    price: options.Price = None,
    skew: options.Skew = None,
    note: options.Note = "",
    look: options.Look = False,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Log a remnant.

    Typed alone at a terminal, it asks for what it needs, one remnant after another: the tag, the cloth and the largest
    rectangle on the grain are enough (a rough remnant); Enter takes what stands in brackets. Or it is told as a rectangle, as
    a rectangle with bites out of it, by its corners on a grid, by a walk round it, or by sides and diagonals between lettered
    corners; what its tape leaves unsure is kept with it.
    Lay it with the grain from left to right, or say how it runs; "near" is the side towards you. Measure from the near left
    corner.

    \b
    Examples:
      fent bin add N-06 --cloth "navy linen" --size 58x31cm --rough
        N-06 is logged: navy linen, rough, at least 580 × 310 mm, 1798 cm², 33.3 g by its area.
      fent bin add N-07 --cloth "navy linen" --size "62cm x 40cm" --place "drawer 2" --edges "selvedge; cut; cut; raw"
        N-07 is logged, in drawer 2: navy linen, 620 × 400 mm, 2480 cm², 45.9 g by its area.
      fent bin add N-08 --cloth "navy linen" --size "24 1/2 in x 16 in" --bite "far right: 3in x 2in"
        N-08 is logged: navy linen, 622 × 406 mm, 2490 cm², 46.1 g by its area.
      fent bin add N-09 --cloth "navy linen" --points "0,0 31,2 30,18 0,16 cm" --fault "stain: 4cm at 10cm,12cm"
        N-09 is logged: navy linen, 310 × 180 mm, 489 cm², 9.0 g by its area.
      fent bin add N-10 --cloth "navy linen" --ties "AB 42, BC 31.1, CD 38.6, DA 29, AC 50.6, BD 49.8 cm" --grain AB
        N-10 is logged: navy linen, 420 × 310 mm, 1208 cm², 22.3 g by its area.
        The readings agree, AC the worst by 0.1 mm, with 1 to spare. One more would show which is wrong if one is.
        By the tape: corners within ± 0.7 mm, area ± 3 cm².
      fent bin add N-11 --cloth "navy linen" --walk "42cm, left 94, 31.1cm, left 89, 38.6cm, left 84, 29cm" --look --plain
                                           C
         D                 ****************
          *****************               *
        …
    """
    from stash import Workroom, remnants, settings
    from stash.words import Face, Nap, Source

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    outline = OutlineTold(size, tuple(bites or ()), points, walk, ties, clockwise, rough, edges, grain, tape, turns)
    said = Told(tag, cloth, outline, wrong_side_up, nap, place)
    if look:
        _look(outline, voice)
        return
    asks = questions.at_a_terminal()
    if not asks:
        _nothing_missing(said)
    as_said = partial(
        remnants.NewRemnant,
        faults=tuple(a_fault(text) for text in faults or []),
        washed=washed,
        mass=mass,
        source=reading.one_of(Source, source, "--source"),
        came_on=options.day(came_on, "--came-on"),
        price=price,
        note=note,
        bar_left=bar_left,
        bar_near=bar_near,
        skew=skew,
    )
    # What was typed of this one alone must not be taken for the next.
    of_one = (tag, outline.way, bites, nap, faults, bar_left, bar_near, skew, mass, price, note)
    goes_on = asks and not as_json and not any(of_one)
    with Workroom.open(workroom, create=False) as opened:

        def log_one() -> Remnant:
            told = _ask_what_is_missing(opened, said, voice) if asks else said
            found = understood(told.outline, voice.shown)
            new = as_said(
                tag=told.tag or "",
                cloth=told.cloth or "",
                outline=found.measured,
                grain_angle=found.grain_angle,
                grain_by=found.grain_by,
                face_up=Face.WRONG if told.wrong_side_up else Face.RIGHT,
                nap=reading.one_of(Nap, told.nap, "--nap") if told.nap is not None else None,
                place=told.place,
                told=told.outline.said,
            )
            remnant = remnants.log(opened, new, by=by)
            voice.data(remnant)
            voice.aside(is_logged(remnant, voice))
            _how_sure(remnant, found, voice, settings.read(opened).edge)
            square.warn_of(voice, remnant.tag, remnant.skew)
            return remnant

        remnant = log_one()
        if goes_on:
            _and_those_that_follow(voice, remnant, log_one)


def _look(outline: OutlineTold, voice: Voice) -> None:
    """Draw what was understood, and keep nothing."""
    found = understood(outline, voice.shown)
    voice.data(found)
    for line in [*sketch(found.measured.ring, found.grain_angle, plain=voice.plain), *outlining.described(found, voice)]:
        voice.line(line)


def _how_sure(remnant: Remnant, found: Understood, voice: Voice, edge: float) -> None:
    """How well readings that check each other agree; and where the outline is less sure than panels are kept from its edge."""
    if found.agreement:
        voice.aside(found.agreement)
        voice.aside(f"By the tape: {how_sure(found.measured, voice.shown)}.")
    if remnant.within is not None and remnant.within > edge:
        out, kept = voice.shown.fine(round(remnant.within, 1)), voice.shown.fine(edge)
        voice.aside(f"Its corners may be out by {out}, and panels are kept {kept} from an edge: try lays with a wider --edge.")


def _and_those_that_follow(voice: Voice, last: Remnant, log_one: Callable[[], Remnant]) -> None:
    """Scraps come in by the bag: go on until there is none. What was logged before one is broken off stays."""
    try:
        while questions.yes("Another"):
            last = log_one()
    except (typer.Abort, KeyboardInterrupt):
        voice.aside(f"Stopped; {last.tag} is the last that was logged.")
        raise typer.Exit(INTERRUPTED) from None


def is_logged(remnant: Remnant, voice: Voice) -> str:
    """That a remnant is logged, in one line."""
    return f"{remnant.tag} is logged{_where(remnant)}: {remnant.cloth.name}, {_in_short(remnant, voice)}."


def _where(remnant: Remnant) -> str:
    return f", {kept_in(remnant.place)}" if remnant.place else ""


def _in_short(remnant: Remnant, voice: Voice) -> str:
    """Its size, area and weight in one breath."""
    shown = voice.shown
    size = shown.size(remnant.length, remnant.width)
    rough = "rough, at least " if remnant.rough else ""
    weight = f"{shown.mass(remnant.mass)}{'' if remnant.weighed else ' by its area'}"
    return f"{rough}{size}, {shown.area(remnant.area)}, {weight}"


def _nothing_missing(told: Told) -> None:
    """Refuse what lacks something, where nobody can be asked."""
    if not (told.tag or "").strip():
        raise questions.missing("TAG", "the tag that is pinned to it")
    if not (told.cloth or "").strip():
        raise questions.missing("--cloth", "which cloth it is: fent cloth list")


def _ask_what_is_missing(opened: Workroom, told: Told, voice: Voice) -> Told:
    """Ask for tag, cloth, outline and nap where they were not given; the place too, if anything had to be asked.

    What the last one had is proposed: Enter takes it.
    """
    from stash import cloths, proposing

    tag = told.tag or questions.ask(
        "Tag", lambda answer: _free_tag(opened, answer), proposing.after_the_last(opened).tag or None
    )
    proposed = proposing.after_the_last(opened, tag)
    names = [each.name for each in cloths.every(opened)]
    cloth = told.cloth or _pick_cloth(names, proposed.cloth)
    outline = told.outline if told.outline.way else outlining.ask_outline(told.outline, voice)
    wrong, nap = told.wrong_side_up, told.nap
    if (
        outline is not told.outline
        and (outline.walk or outline.ties)
        and not wrong
        and not cloths.get(opened, cloth).faces_alike
    ):
        wrong = questions.pick("Which side of the cloth was up", ["right", "wrong"], "right") == "wrong"
    if nap is None and cloth in names and cloths.get(opened, cloth).one_way:
        nap = questions.pick(f"{cloth} is one way: {NAP}", ["along", "against"])
    asked = told.tag is None or told.cloth is None or outline is not told.outline
    place = questions.ask_if_wished("Place", proposed.place) if asked and not told.place else told.place
    return replace(told, tag=tag, cloth=cloth, outline=outline, wrong_side_up=wrong, nap=nap, place=place)


def _free_tag(opened: Workroom, answer: str) -> str:
    """A tag that no remnant has yet. Raises Refused."""
    from stash import remnants
    from stash.refusals import Taken, Unknown

    if not answer:
        raise reading.Unreadable("nothing was answered", "the tag that is pinned to it, such as N-07")
    try:
        remnant = remnants.get(opened, answer)
    except Unknown:
        return answer
    raise Taken(f"there is a remnant {remnant.tag} already", expected="another tag")


def _pick_cloth(names: list[str], last: str) -> str:
    from stash import CannotBeDone

    if not names:
        raise CannotBeDone("there is no cloth yet that a remnant could be of", next="fent cloth add")
    return names[0] if len(names) == 1 else questions.pick("Cloth", names, last or None)
