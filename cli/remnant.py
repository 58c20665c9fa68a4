"""`fent bin show` and `mend`: a remnant looked at, and described better."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from . import answers, options, questions, reading, square
from .finding import state
from .saying import Voice
from .shown import money

if TYPE_CHECKING:
    from stash.remnants import FaultTold, RemnantSeen

    from .shown import Shown

Tag = Annotated[str, typer.Argument(metavar="TAG", help="The remnant.", show_default=False)]


def show(
    tag: Tag,
    picture: options.Picture = None,
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
      fent bin show N-02
        tag                 N-02
        cloth               navy linen, 100 % linen, 185 g/m²
        place               drawer 2
        …
    """
    from stash import Workroom, mending, remnants, settings
    from stash.words import Subject

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    file = reading.picture_file(picture, write_over) if picture else None
    with Workroom.open(workroom, create=False) as opened:
        remnant = remnants.look_at(opened, tag)
        whole = remnants.get(opened, tag) if as_json or file else None
        mended = mending.every(opened, subject=Subject.REMNANT, name=remnant.tag)
        currency = settings.currency(opened) if remnant.price is not None else ""
    voice.data(whole)
    voice.facts(_facts(remnant, voice, currency))
    answers.mended(voice, mended)
    if file and whole:
        from .drawn import bin_page

        bin_page([whole], voice.shown, f"Remnant {remnant.tag}").save(file)
        voice.aside(f"The picture is in {file}.")


def _facts(remnant: RemnantSeen, voice: Voice, currency: str) -> list[tuple[str, str]]:
    shown = voice.shown
    return [
        ("tag", remnant.tag),
        ("cloth", f"{remnant.cloth.name}, {remnant.cloth.made_of}, {shown.cloth_weight(remnant.cloth.weight)}"),
        ("place", remnant.place),
        ("state", state(remnant.state, remnant.held_by, remnant.quarantine)),
        ("quarantine", _quarantine(remnant)),
        ("size", f"{shown.size(remnant.length, remnant.width)}, along the grain × across it"),
        ("largest rectangle", shown.size(remnant.rect_length, remnant.rect_width)),
        ("area", shown.area(remnant.area)),
        ("weight", shown.mass(remnant.mass) + (", weighed" if remnant.weighed else ", by its area")),
        ("outline", _outline(remnant, shown)),
        ("readings", remnant.told),
        ("grain", f"by {remnant.grain_by}" if remnant.grain_by not in (None, "laid straight") else ""),
        ("lies", "one way, its nap along the grain" if remnant.one_way else "either way"),
        ("square", square.in_words(remnant.skew)),
        ("stripe", _stripe(remnant, shown)),
        ("faults", ", ".join(_fault_in_words(fault) for fault in remnant.faults) or "none"),
        ("edges", ", ".join(dict.fromkeys(edge.value for edge in remnant.edges))),
        ("washed", remnant.washed or "no"),
        ("source", remnant.source.value if remnant.source else ""),
        ("price", money(remnant.price, currency) if remnant.price is not None else ""),
        ("cut from", remnant.parent or ""),
        ("keepers from it", ", ".join(remnant.children)),
        ("looked at", "" if remnant.confirmed else "not yet since it was cut: fent bin keepers"),
        ("came on", f"{remnant.came_on:%Y-%m-%d}"),
        ("note", remnant.note),
    ]


HOW_MEASURED = {
    "rectangle": "measured as a rectangle",
    "bites": "measured as a rectangle with bites",
    "grid": "measured by its corners",
    "walk": "measured by a walk round it",
    "ties": "measured by sides and diagonals",
    "drawing": "as it was drawn",
}


def _outline(remnant: RemnantSeen, shown: Shown) -> str:
    """How its outline was measured, and how surely."""
    if remnant.rough:
        return "rough: only its largest rectangle is known"
    way = HOW_MEASURED.get(remnant.way or "", "measured" if remnant.parent is None else "as the book has it from the cut")
    if remnant.within is None or remnant.area_within is None:
        return way
    return f"{way}, corners within ± {shown.fine(round(remnant.within, 1))}, area ± {shown.area(remnant.area_within)}"


def _stripe(remnant: RemnantSeen, shown: Shown) -> str:
    """Its repeat, and where the bars lie if that was measured."""
    from stash.bars import off_the_edge

    low_x, low_y = remnant.corner or (0.0, 0.0)
    ways = (
        (remnant.repeat_along, remnant.bar_x, low_x, "along", "left end"),
        (remnant.repeat_across, remnant.bar_y, low_y, "across", "near edge"),
    )
    said = [
        f"every {shown.fine(step)} {way} the grain"
        + (f", one {shown.fine(round(off_the_edge(bar, low, step), 1))} from its {end}" if bar is not None else "")
        for step, bar, low, way, end in ways
        if step
    ]
    known = all(bar is not None for step, bar, *_ in ways if step)
    where = "" if known else f"; where its bars lie is not measured: fent bin bars {remnant.tag}"
    return f"{' and '.join(said)}{where}" if said else ""


def _quarantine(remnant: RemnantSeen) -> str:
    """Who put it apart and who released it, if anyone did."""
    said = []
    if remnant.quarantined_at is not None:
        said.append(f"since {remnant.quarantined_at:%Y-%m-%d}, by {remnant.quarantined_by}")
    if remnant.released_at is not None:
        said.append(f"released {remnant.released_at:%Y-%m-%d} by {remnant.released_by}")
    return ", ".join(said)


def _fault_in_words(fault: FaultTold) -> str:
    kind = "tear" if fault.tear else str(fault.kind)
    said = kind if fault.kind == "hole" or fault.face == "both" else f"{kind} on the {fault.face} face"
    return said if fault.may_lie is None else f"{said} (may lie: {fault.may_lie})"


# --- describing it better ------------------------------------------------------------------------------------------------


def mend(
    tag: Tag,
    why: Annotated[str, typer.Option("--why", metavar="WORDS", help="Why it is put right.", show_default=False)] = "",
    place: Annotated[str | None, typer.Option("--place", metavar="PLACE", help="Where it is kept now.")] = None,
    washed: Annotated[str | None, typer.Option("--washed", metavar="HOW", help='How it was washed; "" if it was not.')] = None,
    source: Annotated[str | None, typer.Option("--source", metavar="WORD", help="Bought, given, found or unpicked.")] = None,
    came_on: Annotated[str | None, typer.Option("--came-on", metavar="DATE", help="When it came: 2026-03-02.")] = None,
    price: options.Price = None,
    skew: options.Skew = None,
    note: Annotated[str | None, typer.Option("--note", metavar="WORDS", help="Anything else worth knowing.")] = None,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Put the description of a remnant right.

    What is said of it, not what there is of it: a quantity changes only by measuring or weighing it again.

    \b
    Example:
      fent bin mend N-03 --place "top shelf" --why "moved house" --by AK
        N-03 is described anew: place.
    """
    from stash import Workroom, mending
    from stash.words import Source

    voice = Voice(as_json=as_json)
    arrived = reading.one_of(Source, source, "--source") if source is not None else None
    told = {
        "place": place,
        "washed": washed,
        "source": arrived,
        "came_on": options.day(came_on, "--came-on"),
        "price": price,
        "skew": skew,
        "note": note,
    }
    changes = answers.told_only(told)
    reason = questions.needed(why, "--why", "why it is put right", "Why is it put right")
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        remnant = mending.mend_remnant(opened, tag, by=who, why=reason, **changes)
    voice.data(remnant)
    voice.aside(f"{remnant.tag} is described anew: {', '.join(changes).replace('_', ' ')}.")
