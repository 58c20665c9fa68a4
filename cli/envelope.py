"""`fent envelope`: offcuts too small to outline, kept by cloth, dye lot and weight."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from . import answers, commands, options, questions, reading
from .saying import Voice

if TYPE_CHECKING:
    from stash.envelopes import Envelope

app = commands.noun(
    "envelope",
    "Offcuts too small to outline, by weight.",
    "Envelopes: offcuts too small to outline, by cloth, dye lot and weight. They are in the cloth book, never in a lay. "
    "Their labels: fent bin labels ENVELOPE.",
)

Tag = Annotated[str, typer.Argument(metavar="ENVELOPE", help="The envelope's tag.", show_default=False)]
Weight = Annotated[
    float | None, typer.Option("--mass", metavar="WEIGHT", parser=reading.a_mass, help="What they weigh: 12 g.")
]


def _needed_mass(mass: float | None, question: str) -> float:
    """The weight that was given; at a terminal it is asked for."""
    if mass is not None:
        return mass
    if not questions.at_a_terminal():
        raise questions.missing("--mass", "what they weigh: 12 g")
    return questions.ask(question, reading.a_mass)


@app.command("add", cls=commands.Command)
def add(
    tag: Tag,
    cloth: Annotated[
        str | None, typer.Option("--cloth", metavar="NAME", help="Which cloth is in it.", show_default=False)
    ] = None,
    mass: Annotated[
        float | None,
        typer.Option("--mass", metavar="WEIGHT", parser=reading.a_mass, help="What is in it already weighs: 86 g."),
    ] = None,
    lot: Annotated[str | None, typer.Option("--lot", metavar="LOT", help="Its dye lot, if not the cloth's.")] = None,
    place: options.Kept = "",
    source: options.Source = "found",
    note: options.Note = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Begin an envelope.

    \b
    Example:
      fent envelope add NE-2 --cloth "navy linen" --mass "86 g" --place "top shelf"
        Envelope NE-2 holds 86.0 g of navy linen.
    """
    from stash import Workroom, cloths, envelopes
    from stash.words import Source

    voice = Voice(as_json=as_json, show_in=show_in)
    arrived = reading.one_of(Source, source, "--source")
    with Workroom.open(workroom, create=False) as opened:
        if cloth is None and questions.at_a_terminal():
            cloth = questions.pick("Cloth", [each.name for each in cloths.every(opened)])
        new = envelopes.NewEnvelope(
            tag=tag,
            cloth=questions.needed(cloth, "--cloth", "which cloth is in it: fent cloth list", "Cloth"),
            mass=mass or 0.0,
            lot=lot,
            place=place,
            source=arrived,
            note=note,
        )
        envelope = envelopes.add(opened, new, by=by)
    voice.data(envelope)
    voice.aside(_holds(envelope, voice))


def _holds(envelope: Envelope, voice: Voice) -> str:
    """What is in it now."""
    lot = f", lot {envelope.lot}" if envelope.lot else ""
    if not envelope.mass:
        return f"Envelope {envelope.tag} of {envelope.cloth}{lot} is empty."
    return f"Envelope {envelope.tag} holds {voice.shown.mass(envelope.mass)} of {envelope.cloth}{lot}."


@app.command("list", cls=commands.Command)
def listing(
    cloth: Annotated[str | None, typer.Option("--cloth", metavar="NAME", help="Only those of this cloth.")] = None,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """List the envelopes.

    \b
    Example:
      fent envelope list --cloth "navy linen"
        envelope  cloth       lot  weight      area  place
        NE-1      navy linen       86.0 g  4649 cm²  top shelf
    """
    from stash import Workroom, envelopes

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    with Workroom.open(workroom, create=False) as opened:
        found = envelopes.every(opened, cloth=cloth)
    voice.data(found)
    voice.table(
        ["envelope", "cloth", "lot", "weight", "area", "place"],
        [
            [each.tag, each.cloth, each.lot, voice.shown.mass(each.mass), voice.shown.area(each.area), each.place]
            for each in found
        ],
        right=[3, 4],
    )


@app.command("show", cls=commands.Command)
def show(
    tag: Tag,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Show an envelope.

    \b
    Example:
      fent envelope show NE-1
        envelope   NE-1
        cloth      navy linen
        weight     86.0 g
        …
    """
    from stash import Workroom, envelopes, mending
    from stash.words import Subject

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    with Workroom.open(workroom, create=False) as opened:
        envelope = envelopes.get(opened, tag)
        mended = mending.every(opened, subject=Subject.ENVELOPE, name=envelope.tag)
    voice.data(envelope)
    voice.facts(
        [
            ("envelope", envelope.tag),
            ("cloth", envelope.cloth),
            ("dye lot", envelope.lot),
            ("weight", voice.shown.mass(envelope.mass)),
            ("area", voice.shown.area(envelope.area)),
            ("place", envelope.place),
            ("begun", f"{envelope.opened_at:%Y-%m-%d}"),
            ("note", envelope.note),
        ]
    )
    answers.mended(voice, mended)


@app.command("put-in", cls=commands.Command)
def put_in(
    tag: Tag,
    mass: Weight = None,
    source: options.Source = "found",
    note: options.Note = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Put more offcuts into an envelope.

    \b
    Example:
      fent envelope put-in NE-1 --mass "12 g"
        Envelope NE-1 holds 98.0 g of navy linen.
    """
    from stash import Workroom, envelopes
    from stash.words import Source

    voice = Voice(as_json=as_json, show_in=show_in)
    arrived = reading.one_of(Source, source, "--source")
    weight = _needed_mass(mass, "What they weigh")
    with Workroom.open(workroom, create=False) as opened:
        envelope = envelopes.put_in(opened, tag, weight, source=arrived, by=by, note=note)
    voice.data(envelope)
    voice.aside(_holds(envelope, voice))


@app.command("put-away", cls=commands.Command)
def put_away(
    tag: Tag,
    tags: Annotated[list[str], typer.Argument(metavar="TAG", help="The remnants to put into it.", show_default=False)],
    mass: Weight = None,
    note: options.Note = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Put remnants into an envelope, by weight.

    Keepers that are not worth a tag of their own. Weigh them together; as remnants they are gone.

    \b
    Example:
      fent envelope put-away NE-1 N-02A N-03A --mass "7.2 g" --by AK
        Envelope NE-1 holds 93.2 g of navy linen.
    """
    from stash import Workroom, envelopes

    voice = Voice(as_json=as_json, show_in=show_in)
    weight = _needed_mass(mass, "What they weigh together")
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        envelope = envelopes.put_away(opened, tag, tags, mass=weight, by=who, note=note)
    voice.data(envelope)
    voice.aside(_holds(envelope, voice))


@app.command("take-out", cls=commands.Command)
def take_out(
    tag: Tag,
    mass: Annotated[
        float | None, typer.Option("--mass", metavar="WEIGHT", parser=reading.a_mass, help="How much; all, if it is not said.")
    ] = None,
    note: options.Why = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Take offcuts out of an envelope, into the rag bag.

    \b
    Example:
      fent envelope take-out NE-1 --mass "20 g" --note "stuffing" --by AK
        Envelope NE-1 holds 66.0 g of navy linen.
    """
    from stash import Workroom, envelopes

    voice = Voice(as_json=as_json, show_in=show_in)
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        envelope = envelopes.take_out(opened, tag, mass, by=who, note=note)
    voice.data(envelope)
    voice.aside(_holds(envelope, voice))


@app.command("weigh", cls=commands.Command)
def weigh(
    tag: Tag,
    mass: Weight = None,
    note: options.Note = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Say what an envelope really weighs.

    \b
    Example:
      fent envelope weigh NE-1 --mass "84 g" --by AK
        Envelope NE-1 holds 84.0 g of navy linen.
    """
    from stash import Workroom, envelopes

    voice = Voice(as_json=as_json, show_in=show_in)
    weight = _needed_mass(mass, "What is in it weighs")
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        envelope = envelopes.weigh_again(opened, tag, weight, by=who, note=note)
    voice.data(envelope)
    voice.aside(_holds(envelope, voice))


@app.command("mend", cls=commands.Command)
def mend(
    tag: Tag,
    why: Annotated[str, typer.Option("--why", metavar="WORDS", help="Why it is put right.", show_default=False)] = "",
    lot: Annotated[str | None, typer.Option("--lot", metavar="LOT", help="Its dye lot.")] = None,
    place: Annotated[str | None, typer.Option("--place", metavar="PLACE", help="Where it is kept now.")] = None,
    note: Annotated[str | None, typer.Option("--note", metavar="WORDS", help="Anything else worth knowing.")] = None,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Put the description of an envelope right.

    \b
    Example:
      fent envelope mend NE-1 --place "blue bag" --why "the shelf is full" --by AK
        NE-1 is described anew: place.
    """
    from stash import Workroom, mending

    voice = Voice(as_json=as_json)
    changes = answers.told_only({"lot": lot, "place": place, "note": note})
    reason = questions.needed(why, "--why", "why it is put right", "Why is it put right")
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        envelope = mending.mend_envelope(opened, tag, by=who, why=reason, **changes)
    voice.data(envelope)
    voice.aside(f"{envelope.tag} is described anew: {', '.join(changes)}.")
