"""`fent lay`: which panels go where. Tried, shown, proved, chalked, cut or rubbed out."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import answers, options, reading
from .job import quoted
from .saying import Voice, note, say_notes

if TYPE_CHECKING:
    from nesting import Result
    from stash import Workroom
    from stash.asking import Asked
    from stash.lays import Foreseen, Lay

app = options.noun(
    "lay", "Which panels go where.", "Lays: try one for a job, look at it, prove it, chalk it, cut it, or rub it out."
)

Number = Annotated[int, typer.Argument(metavar="LAY", parser=reading.a_number, help="The lay's number.", show_default=False)]
Picture = Annotated[
    Path | None, typer.Option("--picture", metavar="FILE", help="Draw it as it lies on the cloth (png, pdf or svg).")
]


@app.command("try")
def attempt(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job.", show_default=False)],
    seconds: Annotated[
        float,
        typer.Option("--seconds", metavar="N", parser=reading.seconds, help="How long to look for a better one."),
    ] = 10,
    seed: Annotated[
        int, typer.Option("--seed", metavar="N", parser=reading.a_count, help="Another number gives another try.")
    ] = 0,
    no_spares: Annotated[bool, typer.Option("--no-spares", help="Only what the job needs.")] = False,
    gap: Annotated[
        float | None, typer.Option("--gap", metavar="LENGTH", parser=reading.a_margin, help="Between two cuts, this once.")
    ] = None,
    edge: Annotated[
        float | None,
        typer.Option("--edge", metavar="LENGTH", parser=reading.a_margin, help="Kept from edges and faults, this once."),
    ] = None,
    only: Annotated[
        list[str] | None, typer.Option("--only", metavar="TAG", help="Use this remnant and no other. Again for more.")
    ] = None,
    without: Annotated[
        list[str] | None, typer.Option("--without", metavar="TAG", help="Leave this remnant be. Again for more.")
    ] = None,
    picture: Picture = None,
    write_over: options.WriteOver = False,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Find a lay for a job.

    It says which remnants yield the panels that the job still needs, and how they lie.

    The lay that is found is kept, to be shown, chalked or rubbed out; nothing is held and nothing is cut by it. Stop it with
    Ctrl-C to see the best so far: then nothing is kept.

    \b
    Example:
      fent lay try "wheel cushion" --seconds 20
    """
    from stash import Workroom, asking, lays

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    file = reading.picture_file(picture, write_over) if picture else None
    with Workroom.open(workroom, create=False) as opened:
        asked = asking.ask(
            opened, job, spares=not no_spares, gap=gap, edge=edge, only=tuple(only or ()), without=tuple(without or ())
        )
        result, finished = search(voice, asked, seconds, seed)
        if not finished:
            show_unkept(voice, opened, asked, result)
            raise typer.Exit(130)
        if not result.placements:
            raise answers.none_fits(asked, result)
        lay = lays.record(opened, asked, result, by=by)
        foreseen = lays.foresee(opened, lay)
        if file:
            draw(opened, lay, foreseen, voice, file)
    voice.data({"lay": lay, "leaves": foreseen})
    answers.answer(voice, lay, foreseen)
    voice.next_steps(
        (f"fent lay show {lay.number} --picture lay-{lay.number}.png", "see how the panels lie"),
        (f"fent lay prove {lay.number}", "have it checked independently, with the narrowest distances"),
        (f"fent lay chalk {lay.number} --by INITIALS", "hold its remnants for this job"),
        (f"fent lay rub-out {lay.number}", "give it up"),
    )
    if not lay.complete:
        say_notes()
        raise answers.shortage(asked, lay)


def search(voice: Voice, asked: Asked, seconds: float, seed: int) -> tuple[Result, bool]:
    """Run the engine on what was asked, with progress on standard error; the best it found, and whether it was let finish.

    Ctrl-C is taken up by the engine's own question whether to stop, so that the best so far is not lost.
    """
    from .progress import Progress, stopped_by_hand

    with Progress(asked, seconds) as progress, stopped_by_hand() as stop:
        from nesting import solve

        result = solve(asked.case, seconds=seconds, seed=seed, on_better=progress.better, stop=stop)
        return result, not stop()


def show_unkept(voice: Voice, opened: Workroom, asked: Asked, result: Result) -> None:
    """What there was when it was interrupted: shown, not kept."""
    from stash import lays

    if not result.placements:
        voice.aside("Stopped before any panel was placed. Nothing is kept.")
        return
    lay = lays.preview(opened, asked, result)
    foreseen = lays.foresee(opened, lay)
    voice.data({"lay": lay, "leaves": foreseen})
    answers.answer(voice, lay, foreseen)
    voice.aside("Stopped. This is the best so far, and it is not kept.")


def draw(opened: Workroom, lay: Lay, foreseen: Sequence[Foreseen], voice: Voice, file: Path) -> None:
    """Draw a lay into a file."""
    from .drawn import lay_page

    lay_page(opened, lay, foreseen, voice.shown).save(file)
    note(f"The picture is in {file}.")


@app.command("show")
def show(
    number: Number,
    picture: Picture = None,
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Show a lay.

    Where each panel lies, and what will be left.

    \b
    Example:
      fent lay show 1 --picture lay-1.png
    """
    from stash import Workroom, lays
    from stash.words import LayState

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    file = reading.picture_file(picture, write_over) if picture else None
    with Workroom.open(workroom, create=False) as opened:
        lay = lays.get(opened, number)
        foreseen = lays.foresee(opened, lay)
        if file:
            draw(opened, lay, foreseen, voice, file)
    voice.data({"lay": lay, "leaves": foreseen})
    answers.panels(voice, lay, foreseen)
    if lay.state is LayState.TRIED:
        voice.next_steps((f"fent lay chalk {number} --by INITIALS", "hold its remnants for this job"))
    elif lay.state is LayState.CHALKED:
        voice.next_steps((f"fent lay cut {number} --by INITIALS", "once it is cut"))


@app.command("prove")
def prove(
    number: Number,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Check a lay independently.

    The check knows nothing of the search that found the lay; it also shows the narrowest distances.

    \b
    Example:
      fent lay prove 1
    """
    from stash import Workroom, proving

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    with Workroom.open(workroom, create=False) as opened:
        lay, found = proving.prove(opened, number)
    voice.data(found)
    answers.proof(voice, lay, found)


@app.command("chalk")
def chalk(
    number: Number,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Hold a lay's remnants.

    No other lay can take them until it is cut or rubbed out.

    \b
    Example:
      fent lay chalk 1 --by AK
    """
    from stash import Workroom, lays

    voice = Voice(as_json=as_json)
    with Workroom.open(workroom, create=False) as opened:
        lay = lays.chalk(opened, number, by=by)
    voice.data(lay)
    tags = ", ".join(sheet.remnant.tag for sheet in lay.sheets)
    voice.aside(f"Lay {number} is chalked by {lay.chalked_by}: {tags} held for {lay.job}.")
    voice.next_steps(
        (f"fent lay cut {number} --by INITIALS", "once it is cut; say which panels were spoiled or left uncut"),
        (f"fent lay rub-out {number} --by INITIALS", "if it is not to be cut after all"),
    )


@app.command("cut")
def cut(
    number: Number,
    spoiled: Annotated[
        list[str] | None,
        typer.Option("--spoiled", metavar="PANELS", help="Panels that were cut but are no good: 3 or 3,4 or 5-8."),
    ] = None,
    uncut: Annotated[
        list[str] | None, typer.Option("--uncut", metavar="PANELS", help="Panels that were not cut after all.")
    ] = None,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Record that a lay has been cut.

    Its keepers go back to the bin with tags of their own, the rest to the rag bag, and all of it into the cloth book.
    Mind the blade: a cutting line through many layers is work for trained hands and by the rules of the place.

    \b
    Examples:
      fent lay cut 1 --by AK
      fent lay cut 1 --by AK --spoiled 3 --uncut 7,8
    """
    from stash import Workroom, cutting

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    bad = reading.numbers(spoiled or [], "--spoiled")
    left = reading.numbers(uncut or [], "--uncut")
    with Workroom.open(workroom, create=False) as opened:
        done = cutting.cut(opened, number, by=by, spoiled=bad, uncut=left)
    voice.data(done)
    answers.after_the_cut(voice, done)
    voice.next_steps(
        ("fent book balance", "the cloth book"),
        (f"fent job show {quoted(done.lay.job)}", "what the job still needs"),
    )


@app.command("rub-out")
def rub_out(
    number: Number,
    note: Annotated[str, typer.Option("--note", metavar="WORDS", help="Why.")] = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Give up a lay.

    One that was tried or chalked; what it held is free again.

    \b
    Example:
      fent lay rub-out 1 --note "it is to be green after all"
    """
    from stash import Workroom, lays

    voice = Voice(as_json=as_json)
    with Workroom.open(workroom, create=False) as opened:
        lay = lays.rub_out(opened, number, by=by, note=note)
    voice.data(lay)
    voice.aside(f"Lay {number} is rubbed out; its remnants are free.")


@app.command("margins")
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
      fent lay margins --gap "1/8 in" --smallest "150 cm2"
    """
    from stash import Workroom, settings

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    told = {"gap": gap, "edge": edge, "selvedge": selvedge, "raw": raw, "narrowest": narrowest, "smallest_keeper": smallest}
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
            ("narrowest keeper", voice.shown.fine(kept.narrowest)),
            ("smallest keeper", voice.shown.area(kept.smallest_keeper)),
        ]
    )


@app.command("list")
def listing(
    job: Annotated[str | None, typer.Option("--job", metavar="JOB", help="Only lays for this job.")] = None,
    states: Annotated[
        list[str] | None,
        typer.Option("--state", metavar="STATE", help="Only tried, chalked, cut or rubbed out. Again for another."),
    ] = None,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
) -> None:
    """List the lays.

    The newest comes first.

    \b
    Example:
      fent lay list --state chalked
    """
    from stash import Workroom, lays
    from stash.words import LayState

    voice = Voice(as_json=as_json, plain=plain)
    wanted = tuple(reading.one_of(LayState, state, "--state") for state in states or ())
    with Workroom.open(workroom, create=False) as opened:
        every = lays.every(opened, job=job, states=wanted)
    voice.data(every)
    voice.table(
        ["lay", "job", "state", "panels", "remnants", "tried"],
        [
            [str(lay.number), lay.job, lay.state, str(lay.placed), ", ".join(lay.remnants), f"{lay.tried_at:%Y-%m-%d %H:%M}"]
            for lay in every
        ],
        right=[0, 3],
    )
