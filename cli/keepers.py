"""`fent bin keepers` and `confirm`: what a cut has left, looked at by hand.

One by one, all of them, or into an envelope by weight; whatever is not answered is asked again the next time.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from . import options, questions, reading
from .saying import Voice, many

if TYPE_CHECKING:
    from stash import Workroom
    from stash.remnants import RemnantTold

OfLay = Annotated[int | None, typer.Option("--lay", metavar="LAY", parser=reading.a_number, help="Only those of this lay.")]
ANSWERS = ("yes", "smaller", "envelope", "thrown away", "later")


def listing(
    lay: OfLay = None,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Look at the keepers that a cut has left.

    It lists those that nobody has looked at yet; at a terminal it asks about each: is it as the book says, smaller, for an
    envelope, thrown away?

    \b
    Example:
      fent bin keepers --lay 1
        keeper  cut from  cloth       size (mm)  largest rectangle (mm)      area  weight
        N-02A   N-02      navy linen  620 × 400               151 × 400  1192 cm²  22.1 g
        N-03A   N-03      navy linen  580 × 310                580 × 90   944 cm²  17.5 g
    """
    from stash import Workroom, keepers

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    with Workroom.open(workroom, create=False) as opened:
        waiting = keepers.waiting(opened, lay=lay)
        voice.data(waiting)
        table(voice, waiting)
        if waiting and questions.at_a_terminal() and not as_json:
            go_through(voice, opened, waiting, by)
        elif waiting:
            tags = " ".join(each.tag for each in waiting)
            voice.next_steps(
                (f"fent bin confirm {tags} --by INITIALS", "they are as the book says"),
                (f"fent envelope put-away ENVELOPE {tags} --mass WEIGHT --by INITIALS", "into an envelope, by weight"),
            )


def table(voice: Voice, waiting: Sequence[RemnantTold]) -> None:
    """The keepers, each with its size as computed."""
    shown = voice.shown
    voice.table(
        ["keeper", "cut from", "cloth", f"size ({shown.heading})", f"largest rectangle ({shown.heading})", "area", "weight"],
        [
            [
                each.tag,
                each.parent or "",
                each.cloth.name,
                shown.two(each.length, each.width),
                shown.two(each.rect_length, each.rect_width),
                shown.area(each.area),
                shown.mass(each.mass),
            ]
            for each in waiting
        ],
        right=[3, 4, 5, 6],
    )


def go_through(voice: Voice, opened: Workroom, waiting: Sequence[RemnantTold], by: str) -> None:
    """Ask about each keeper in turn, or about all at once."""
    from stash import keepers

    tags = [each.tag for each in waiting]
    if len(tags) > 1:
        how = questions.pick("All as the book says, one by one, or later", ["all", "one by one", "later"], "one by one")
        if how == "later":
            return
        if how == "all":
            keepers.confirm(opened, tags, by=options.whose(by))
            voice.aside(f"{many(len(tags), 'keeper')} confirmed.")
            return
    who = options.whose(by)
    for each in waiting:
        answer = questions.pick(
            f"{each.tag}, {voice.shown.size(each.length, each.width)}, from {each.parent}: is it so", ANSWERS, "yes"
        )
        _settle(voice, opened, each, answer, who)


def _settle(voice: Voice, opened: Workroom, keeper: RemnantTold, answer: str, who: str) -> None:
    """Do what was answered about one keeper."""
    from stash import envelopes, keepers, leaving, measuring, outlines

    if answer == "yes":
        keepers.confirm(opened, [keeper.tag], by=who)
        voice.aside(f"{keeper.tag} is confirmed.")
    elif answer == "smaller":
        length, width = questions.ask("The largest rectangle on the grain that is really there", reading.a_size)
        measures = measuring.Measures(outline=outlines.rectangle(length, width, rough=True), nap=keeper.nap)
        measuring.measure_again(opened, keeper.tag, measures, by=who, note="a keeper that came out smaller")
        voice.aside(f"{keeper.tag} is measured again: rough, {voice.shown.size(length, width)}.")
    elif answer == "envelope":
        tags = [each.tag for each in envelopes.every(opened, cloth=keeper.cloth.name)]
        if tags:
            into = questions.pick("Which envelope", tags, tags[0] if len(tags) == 1 else None)
        else:
            into = questions.ask(f"There is no envelope of {keeper.cloth.name} yet; its tag", _a_tag)
            envelopes.add(opened, envelopes.NewEnvelope(tag=into, cloth=keeper.cloth.name), by=who)
        mass = questions.ask("What it weighs", reading.a_mass)
        envelope = envelopes.put_away(opened, into, [keeper.tag], mass=mass, by=who)
        voice.aside(f"{keeper.tag} is in the envelope {envelope.tag}, which holds {voice.shown.mass(envelope.mass)} now.")
    elif answer == "thrown away":
        leaving.throw_away(opened, keeper.tag, by=who)
        voice.aside(f"{keeper.tag} is thrown away.")


def _a_tag(answer: str) -> str:
    if not answer:
        raise reading.Unreadable("nothing was answered", "a tag for the envelope, such as NE-1")
    return answer


def confirm(
    tags: Annotated[
        list[str] | None, typer.Argument(metavar="TAG", help="Keepers that are as the book says.", show_default=False)
    ] = None,
    lay: Annotated[
        int | None,
        typer.Option("--lay", metavar="LAY", parser=reading.a_number, help="All those that this lay has left."),
    ] = None,
    place: Annotated[str | None, typer.Option("--place", metavar="PLACE", help="Where they are put.")] = None,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Confirm keepers.

    They are as the book says, and are put away. Some by their tags, or all that a lay has left.

    \b
    Examples:
      fent bin confirm N-02A N-03A --place "drawer 3" --by AK
        Confirmed: N-02A, N-03A.
      fent bin confirm --lay 1 --by AK
        Confirmed: N-02A, N-03A.
    """
    from stash import CannotBeDone, Workroom, keepers

    voice = Voice(as_json=as_json)
    if bool(tags) == (lay is not None):
        raise reading.Unreadable(
            "which keepers is not said" if not tags else "the keepers are told twice", "their tags, or --lay"
        )
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        chosen = tags or [each.tag for each in keepers.waiting(opened, lay=lay)]
        if not chosen:
            raise CannotBeDone(f"lay {lay} has left no keeper that waits", next="fent bin keepers")
        done = keepers.confirm(opened, chosen, by=who, place=place)
    voice.data(done)
    voice.aside(f"Confirmed: {', '.join(each.tag for each in done)}.")
