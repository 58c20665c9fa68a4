"""`fent lay try` and `again`: the search for a lay, its progress, and its answer."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import answers, options, reading
from .saying import Voice, note, say_notes

if TYPE_CHECKING:
    from nesting import Result
    from stash import Workroom
    from stash.asking import Asked
    from stash.lays import Foreseen, Lay

Seconds = Annotated[
    float,
    typer.Option("--seconds", metavar="N", parser=reading.seconds, help="How long to look for a better one."),
]
Seed = Annotated[int, typer.Option("--seed", metavar="N", parser=reading.a_count, help="Another number gives another try.")]
NoSpares = Annotated[bool, typer.Option("--no-spares", help="Only what the job needs.")]


def attempt(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job.", show_default=False)],
    seconds: Seconds = 10,
    seed: Seed = 0,
    no_spares: NoSpares = False,
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
    picture: options.Picture = None,
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
        Yes: all 10 panels for wheel cushion, from 2 remnants.
        Pull N-02 from drawer 2 for 6, N-03 from drawer 3 for 4.
        It is the best found in the time; a longer try may find a thriftier one.
        …
    """
    from stash import Workroom, asking

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    file = reading.picture_file(picture, write_over) if picture else None
    with Workroom.open(workroom, create=False) as opened:
        asked = asking.ask(
            opened, job, spares=not no_spares, gap=gap, edge=edge, only=tuple(only or ()), without=tuple(without or ())
        )
        _look_and_answer(voice, opened, asked, seconds, seed, by, file)


def again(
    number: Annotated[
        int, typer.Argument(metavar="LAY", parser=reading.a_number, help="The chalked lay.", show_default=False)
    ],
    seconds: Seconds = 10,
    seed: Seed = 0,
    no_spares: NoSpares = False,
    picture: options.Picture = None,
    write_over: options.WriteOver = False,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Plan a chalked lay again, round what is there.

    When one of its remnants is not there, or spoiled: what is chalked on the others stays where it is, and what the job lacks
    by that is looked for beside it and on the rest of the bin. Chalking the new lay rubs the old one out.

    \b
    Example:
      fent lay again 1
        Yes: all 10 panels for wheel cushion, from 3 remnants.
        Pull N-01 from drawer 1 for 1, N-03 from drawer 3 for 4, N-05 from drawer 1 for 5.
        It is the best found in the time; a longer try may find a thriftier one.
        …
    """
    from stash import Workroom, asking

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    file = reading.picture_file(picture, write_over) if picture else None
    with Workroom.open(workroom, create=False) as opened:
        asked = asking.ask_round(opened, number, spares=not no_spares)
        _look_and_answer(voice, opened, asked, seconds, seed, by, file)


def _look_and_answer(
    voice: Voice, opened: Workroom, asked: Asked, seconds: float, seed: int, by: str, file: Path | None
) -> None:
    """Search, keep what was found, and say it."""
    from stash import lays, roughness

    result, finished = search(voice, asked, seconds, seed)
    if not finished:
        show_unkept(voice, opened, asked, result)
        raise typer.Exit(130)
    if not result.placements:
        answers.worth_measuring(voice, roughness.worth_measuring(opened, asked))
        raise answers.none_fits(asked, result)
    lay = lays.record(opened, asked, result, by=by)
    foreseen = lays.foresee(opened, lay)
    if file:
        draw(opened, lay, foreseen, voice, file)
    voice.data({"lay": lay, "leaves": foreseen})
    answers.answer(voice, lay, foreseen)
    rough = roughness.worth_measuring(opened, asked, result)
    answers.worth_measuring(voice, rough)
    replaced = f", in the place of lay {lay.replaces}" if lay.replaces else ""
    voice.next_steps(
        (f"fent lay show {lay.number} --picture lay-{lay.number}.png", "see how the panels lie"),
        (f"fent lay prove {lay.number}", "have it checked independently, with the narrowest distances"),
        (f"fent lay chalk {lay.number} --by INITIALS", f"hold its remnants for this job{replaced}"),
        (f"fent lay rub-out {lay.number} --by INITIALS", "give it up"),
        *((f"fent bin measure-again {each.tag} --size SIZE", f"it may yield {each.piece}") for each in rough[:3]),
    )
    if not lay.complete:
        say_notes()
        raise answers.shortage(asked, lay)


def search(voice: Voice, asked: Asked, seconds: float, seed: int) -> tuple[Result, bool]:
    """Run the engine on what was asked, with progress on standard error; the best it found, and whether it was let finish.

    Ctrl-C is taken up by the engine's own question whether to stop, so that the best so far is not lost.
    """
    from .progress import Progress, stopped_by_hand

    moving = sys.stderr.isatty() and not voice.plain and not voice.as_json
    with Progress(asked, seconds, moving=moving) as progress, stopped_by_hand() as stopped:
        from nesting import solve

        def stop() -> bool:
            progress.goes_on()
            return stopped()

        workers = os.cpu_count() or 1
        result = solve(asked.case, seconds=seconds, seed=seed, workers=workers, on_better=progress.better, stop=stop)
        return result, not stopped()


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
