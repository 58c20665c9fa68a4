"""`fent bin add`: one remnant logged, and what is asked where something was not said."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Annotated

import typer

from . import options, questions, reading
from .measuring import a_fault, measured
from .refusing import INTERRUPTED
from .saying import Voice

if TYPE_CHECKING:
    from stash import Workroom
    from stash.remnants import Remnant

NAP = "which way the nap runs: along the grain from left to right, or against it"
WAYS = ("whole", "bites", "corners")
LARGEST = "Its largest rectangle, along the grain x across it: 62x40cm"
RECTANGLE = "The rectangle, along the grain x across it: 62x40cm"


@dataclass(frozen=True)
class Told:
    """What was typed of a remnant, or answered."""

    tag: str | None
    cloth: str | None
    size: str | None
    bites: tuple[str, ...]
    points: str | None
    rough: bool
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
    edges: options.Edges = "cut",
    grain_angle: options.GrainAngle = 0.0,
    wrong_side_up: options.WrongSideUp = False,
    nap: options.Nap = None,
    faults: options.Faults = None,
    place: options.Kept = "",
    washed: Annotated[str, typer.Option("--washed", metavar="HOW", help="How it was washed, if it was.")] = "",
    mass: options.Mass = None,
    source: options.Source = "found",
    came_on: options.CameOn = None,
    price: options.Price = None,
    note: options.Note = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Log a remnant.

    Typed alone at a terminal, it asks for what it needs, one remnant after another: the tag, the cloth and the largest
    rectangle on the grain are enough (a rough remnant); Enter takes what stands in brackets. Or it is told as a rectangle, as
    a rectangle with bites out of it, or by its corners.
    Lay it with the grain from left to right; "near" is the side towards you. Measure from the near left corner.

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
    """
    from stash import Workroom, remnants
    from stash.words import Face, Nap, Source

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    said = Told(tag, cloth, size, tuple(bites or ()), points, rough, nap, place)
    asks = questions.at_a_terminal()
    if not asks:
        _nothing_missing(said)
    as_said = partial(
        remnants.NewRemnant,
        grain_angle=grain_angle,
        face_up=Face.WRONG if wrong_side_up else Face.RIGHT,
        faults=tuple(a_fault(text) for text in faults or []),
        washed=washed,
        mass=mass,
        source=reading.one_of(Source, source, "--source"),
        came_on=options.day(came_on, "--came-on"),
        price=price,
        note=note,
    )
    # What was typed of this one alone must not be taken for the next.
    goes_on = asks and not as_json and not any((tag, size, bites, points, nap, faults, mass, price, note))
    with Workroom.open(workroom, create=False) as opened:

        def log_one() -> Remnant:
            told = _ask_what_is_missing(opened, said) if asks else said
            outline = measured(told.size, told.bites, told.points, edges, told.rough)
            way = reading.one_of(Nap, told.nap, "--nap") if told.nap is not None else None
            new = as_said(tag=told.tag or "", cloth=told.cloth or "", outline=outline, nap=way, place=told.place)
            remnant = remnants.log(opened, new, by=by)
            voice.data(remnant)
            voice.aside(f"{remnant.tag} is logged{_where(remnant)}: {remnant.cloth.name}, {_in_short(remnant, voice)}.")
            return remnant

        remnant = log_one()
        if goes_on:
            _and_those_that_follow(voice, remnant, log_one)


def _and_those_that_follow(voice: Voice, last: Remnant, log_one: Callable[[], Remnant]) -> None:
    """Scraps come in by the bag: go on until there is none. What was logged before one is broken off stays."""
    try:
        while questions.yes("Another"):
            last = log_one()
    except (typer.Abort, KeyboardInterrupt):
        voice.aside(f"Stopped; {last.tag} is the last that was logged.")
        raise typer.Exit(INTERRUPTED) from None


def _where(remnant: Remnant) -> str:
    return f", in {remnant.place}" if remnant.place else ""


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


def _ask_what_is_missing(opened: Workroom, told: Told) -> Told:
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
    outlined = told if told.size or told.points else _ask_outline(told)
    nap = told.nap
    if nap is None and cloth in names and cloths.get(opened, cloth).one_way:
        nap = questions.pick(f"{cloth} is one way: {NAP}", ["along", "against"])
    asked = told.tag is None or told.cloth is None or outlined is not told
    place = questions.ask_if_wished("Place", proposed.place) if asked and not told.place else told.place
    return replace(outlined, tag=tag, cloth=cloth, nap=nap, place=place)


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


def _ask_outline(told: Told) -> Told:
    """Ask for the outline: the largest rectangle at once, or first another way of telling it."""
    if told.rough or told.bites:
        way = "rough" if told.rough else "bites"
    else:
        way = questions.ask(f"{LARGEST} (or: {', '.join(WAYS)})", _a_size_or_way)
        if way not in WAYS:
            return replace(told, size=way, rough=True)
    if way == "corners":
        return replace(told, points=questions.ask("Its corners in order, 0,0 31,0 31,18 0,16 cm", _as_corners))
    size = questions.ask(LARGEST if way == "rough" else RECTANGLE, _as_size)
    bites = list(told.bites)
    while way == "bites" and (bite := questions.ask(_bite_question(len(bites)), _as_bite)):
        bites.append(bite)
    return replace(told, size=size, bites=tuple(bites), rough=way == "rough")


def _a_size_or_way(answer: str) -> str:
    """A size begins with a figure, a way of telling it with a letter."""
    if not answer:
        raise reading.Unreadable("nothing was answered", f"two measures, or one of: {', '.join(WAYS)}")
    return questions.chosen(answer, WAYS) if answer[:1].isalpha() else _as_size(answer)


def _bite_question(number: int) -> str:
    return "Another bite (Enter for none)" if number else "The bite that is missing, far right: 8cm x 5cm"


def _as_size(answer: str) -> str:
    reading.a_size(answer)
    return answer


def _as_corners(answer: str) -> str:
    reading.a_ring(answer)
    return answer


def _as_bite(answer: str) -> str:
    from .measuring import a_bite

    if answer:
        a_bite(answer)
    return answer
