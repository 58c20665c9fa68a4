"""`fent lay try` and `again`: the search for a lay, its progress, and its answer."""

from __future__ import annotations

import os
import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import answers, compared, fixing, joining_up, lay_sketch, matched, options, plying, reading, shortages, square, yielding
from .saying import Voice, note, say_notes

if TYPE_CHECKING:
    from nesting import Result
    from stash import CannotBeDone, Workroom
    from stash.asking import Asked
    from stash.lays import Foreseen, Lay
    from stash.offering import Offer
    from stash.piecing import Piecing
    from stash.shortage import Shortage
    from stash.terms import Terms

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
    must: Annotated[
        list[str] | None, typer.Option("--must", metavar="TAG", help="Use this remnant in any case. Again for more.")
    ] = None,
    aim: Annotated[
        str | None,
        typer.Option(
            "--aim",
            metavar="AIM",
            help="What counts after the most panels: least lost, matching, fewest, small first or oldest first. "
            "Unless said: matching for what is seen, small first for what is hidden.",
        ),
    ] = None,
    fixed: Annotated[
        list[str] | None,
        typer.Option(
            "--fixed",
            metavar="PANEL",
            help='What lies there already: "wedge on N-02 at 3mm,78mm, head to foot", or "lay 3: 1-6". Again for more.',
        ),
    ] = None,
    plies: Annotated[
        int,
        typer.Option(
            "--plies", metavar="N", parser=reading.a_number, help="Cut up to so many plies at once, where that saves tracings."
        ),
    ] = 1,
    stacks: Annotated[
        list[str] | None,
        typer.Option(
            "--stack",
            metavar="TAGS",
            help='Lay these on each other, the top one first: "N-02, N-03"; or fold one on the grain: "N-02 folded". '
            "Again for another stack.",
        ),
    ] = None,
    slip: Annotated[
        float | None,
        typer.Option("--slip", metavar="LENGTH", parser=reading.a_margin, help="What a ply of a stack may slip, this once."),
    ] = None,
    joins: Annotated[
        bool, typer.Option("--joins", help="Where whole panels do not suffice, join some from two scraps, if a piece permits.")
    ] = False,
    unmatched: Annotated[
        bool, typer.Option("--unmatched", help="Let stripes and checks fall as they may, this once.")
    ] = False,
    several: Annotated[
        int, typer.Option("--lays", metavar="N", parser=reading.a_number, help="So many lays to choose from, 3 at most.")
    ] = 3,
    keep: Annotated[
        int | None,
        typer.Option("--keep", metavar="N", parser=reading.a_number, help="Which of them to keep, without being asked."),
    ] = None,
    cluster: options.Cluster = None,
    side_by_side: Annotated[
        Path | None, typer.Option("--side-by-side", metavar="FILE", help="Draw all that are offered (png, pdf or svg).")
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
    from stash import Workroom
    from stash.terms import Terms
    from stash.words import Aim

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    file = reading.picture_file(picture, write_over) if picture else None
    beside = reading.picture_file(side_by_side, write_over, "--side-by-side") if side_by_side else None
    terms = Terms(
        spares=not no_spares,
        gap=gap,
        edge=edge,
        only=tuple(only or ()),
        without=tuple(without or ()),
        must=tuple(must or ()),
        aim=reading.one_of(Aim, aim, "--aim") if aim else None,
        fixed=tuple(fixing.fixed(text) for text in fixed or ()),
        matched=not unmatched,
        plies=plies,
        stacks=tuple(plying.stack(text) for text in stacks or ()),
        slip=slip,
    )
    wish = Wish(seconds, seed, by, several, keep, file, beside, cluster, joins)
    with Workroom.open(workroom, create=False) as opened:
        asked = _asked_for(voice, opened, job, terms, wish)
        if asked is not None:
            look_and_answer(voice, opened, asked, wish)


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
        look_and_answer(voice, opened, asked, Wish(seconds, seed, by, picture=file))


@dataclass(frozen=True)
class Wish:
    """What is wished of a search: how long, from which seed, by whom, how many lays, which to keep, into which pictures."""

    seconds: float
    seed: int
    by: str
    lays: int = 1
    keep: int | None = None
    picture: Path | None = None
    side_by_side: Path | None = None
    cluster: str | None = None
    joins: bool = False


def look_and_answer(voice: Voice, opened: Workroom, asked: Asked, wish: Wish) -> None:
    """Search, keep what was found, and say it."""
    from stash import lays, offering, roughness, seeking, unmatched

    found, finished = search(voice, asked, wish)
    result = found[0].found.result
    if not finished:
        show_unkept(voice, opened, asked, result)
        raise typer.Exit(130)
    if not result.placements:
        joined = _joined(opened, asked, result, asked.job, asked.terms, wish)
        if joined and wish.joins:
            _keep_joined(voice, opened, joined, wish)
            return
        raise _nothing_fits(voice, opened, asked, result, joined)
    joined = None if _is_whole(found[0]) else _joined(opened, asked, result, asked.job, asked.terms, wish)
    if joined and wish.joins:
        found = (offering.Offer(joined.asked, replace(found[0].found, result=joined.result)),)
    seen = offering.looked_over(opened, found)
    if len(seen) > 1:
        compared.table(voice, seen)
    if wish.side_by_side:
        compared.page(opened, seen, voice.shown).save(wish.side_by_side)
        note(f"The picture of all of them is in {wish.side_by_side}.")
    chosen = seen[compared.which(voice, seen, wish.keep)]
    lay = lays.record(opened, chosen.offer.asked, chosen.offer.found.result, by=wish.by)
    if wish.picture:
        draw(opened, lay, chosen.leaves, voice, wish.picture)
    short = None if lay.complete or (joined and wish.joins) else _shortage(opened, asked, result)
    effort = seeking.Effort(seconds=wish.seconds * MATCHING_SHARE, seed=wish.seed, workers=os.cpu_count() or 1)
    loss = unmatched.matching_loss(opened, chosen, effort)
    voice.data(
        {
            "lay": lay,
            "leaves": chosen.leaves,
            "offered": [{"lay": one.lay, "leaves": one.leaves} for one in seen],
            "shortage": short,
            "not_through": chosen.offer.found.not_through,
            "left_out_of_stacks": chosen.offer.found.idle,
            "cut_whole": chosen.offer.found.cut_whole,
            "matching_costs": loss,
            "with_joins": _told_of(joined),
        }
    )
    answers.answer(voice, lay, chosen.leaves, chosen.offer.found.lots)
    plying.tell(voice, lay, chosen.offer.found.not_through)
    plying.tell_not_done(voice, chosen.offer.found)
    square.warn(voice, lay)
    if asked.terms.plies > 1 and not lay.stacks:
        voice.aside("No stack was found that saves tracings without losing panels: it is a lay of single remnants.")
    joining_up.tell(voice, lay)
    if joined and wish.joins:
        for each in joined.joined:
            voice.line(f"{joining_up.in_words(each, voice.shown)}.")
    if loss:
        matched.tell(voice, loss)
    lay_sketch.lay(voice, lay)
    if short:
        shortages.tell(voice, short)
    if joined and not wish.joins:
        joining_up.propose(voice, asked.job, joined)
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
    if short:
        say_notes()
        raise shortages.refusal(asked.job, short, lay.number)
    if joined and wish.joins and joined.missing:
        say_notes()
        raise joining_up.still_missing(asked.job, joined, lay.number)


MATCHING_SHARE = 0.5
"""For so much of the time the same lay is sought without matching, to say what that costs."""


def _is_whole(offer: Offer) -> bool:
    placed = Counter(placement.panel for placement in offer.found.result.placements)
    return all(placed[name] >= meant.wanted for name, meant in offer.asked.panels.items())


def _joined(opened: Workroom, asked: Asked | None, result: Result, job: str, terms: Terms, wish: Wish) -> Piecing | None:
    """What joining panels from two would give, where a piece permits it; not in stacks, and not where panels are fixed."""
    from stash import piecing, seeking

    if terms.plies > 1 or terms.stacks:
        return None
    return piecing.piecing(opened, asked, result, job=job, terms=terms, effort=seeking.Effort(seed=wish.seed))


def _told_of(joined: Piecing | None) -> dict[str, object] | None:
    return (
        None
        if joined is None
        else {
            "joined": joined.joined,
            "missing": joined.missing,
            "saves_area": joined.saved,
            "takes_area": joined.more,
            "seams": joined.seams,
        }
    )


def _shortage(opened: Workroom, asked: Asked, result: Result) -> Shortage:
    from stash import shortage

    workers = os.cpu_count() or 1
    return shortage.shortage(opened, asked, result, job=asked.job, terms=asked.terms, workers=workers)


def _keep_joined(voice: Voice, opened: Workroom, joined: Piecing, wish: Wish) -> None:
    """Keep a lay of nothing but joined panels, and say it."""
    from stash import lays

    lay = lays.record(opened, joined.asked, joined.result, by=wish.by)
    leaves = lays.foresee(opened, lay)
    voice.data({"lay": lay, "leaves": leaves, "with_joins": _told_of(joined)})
    answers.answer(voice, lay, leaves)
    joining_up.tell(voice, lay)
    for each in joined.joined:
        voice.line(f"{joining_up.in_words(each, voice.shown)}.")
    if wish.picture:
        draw(opened, lay, leaves, voice, wish.picture)
    voice.next_steps((f"fent lay chalk {lay.number} --by INITIALS", "hold its remnants for this job"))
    if joined.missing:
        say_notes()
        raise joining_up.still_missing(lay.job, joined, lay.number)


def _nothing_fits(voice: Voice, opened: Workroom, asked: Asked, result: Result, joined: Piecing | None) -> CannotBeDone:
    """Not one panel can be placed: why, and what would do."""
    from stash import roughness

    short = _shortage(opened, asked, result)
    voice.data({"lay": None, "shortage": short, "with_joins": _told_of(joined)})
    voice.headline(f"No: not one panel for {asked.job} fits.", good=False)
    shortages.tell(voice, short)
    if joined:
        joining_up.propose(voice, asked.job, joined)
    answers.worth_measuring(voice, roughness.worth_measuring(opened, asked))
    return shortages.refusal(asked.job, short, None)


def _asked_for(voice: Voice, opened: Workroom, job: str, terms: Terms, wish: Wish) -> Asked | None:
    """The question; where nothing in the bin will do, that is told with its reason. Raises CannotBeDone then; None where all
    of it was joined from smaller scraps."""
    from nesting import Result
    from stash import asking, roughness, shortage
    from stash.refusals import NothingQualifies

    try:
        return asking.ask(opened, job, terms)
    except NothingQualifies:
        if terms.only or terms.must:
            raise
        try:
            joined = _joined(opened, None, Result(), job, terms, wish)
        except NothingQualifies:
            joined = None
        if joined and wish.joins:
            _keep_joined(voice, opened, joined, wish)
            return None
        short = shortage.shortage(opened, None, Result(), job=job, terms=terms)
        voice.data({"lay": None, "shortage": short, "with_joins": _told_of(joined)})
        voice.headline(f"No: nothing in the bin will do for {job}.", good=False)
        shortages.tell(voice, short)
        if joined:
            joining_up.propose(voice, job, joined)
        answers.worth_measuring(voice, roughness.job_lacks(opened, job))
        raise


def search(voice: Voice, asked: Asked, wish: Wish) -> tuple[tuple[Offer, ...], bool]:
    """Run the search for what was asked, with progress on standard error; what it found, and whether it was let finish.

    Ctrl-C is taken up by the engine's own question whether to stop, so that the best so far is not lost.
    """
    from .progress import Progress, stopped_by_hand

    moving = sys.stderr.isatty() and not voice.plain and not voice.as_json
    with Progress(asked, wish.seconds, moving=moving) as progress, stopped_by_hand() as stopped:
        from stash import offering, seeking

        def stop() -> bool:
            progress.goes_on()
            return stopped()

        with yielding.working(wish.cluster) as hands:
            effort = seeking.Effort(
                seconds=wish.seconds,
                seed=wish.seed,
                workers=hands.count,
                on_better=progress.better,
                stop=stop,
                hands=hands if wish.cluster else None,
            )
            return offering.offers(asked, effort, wish.lays), not stopped()


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


def draw(
    opened: Workroom, lay: Lay, foreseen: Sequence[Foreseen], voice: Voice, file: Path, *, wrong_side: bool = False
) -> None:
    """Draw a lay into a file."""
    from .drawn import lay_page

    lay_page(opened, lay, foreseen, voice.shown, wrong_side=wrong_side).save(file)
    note(f"The picture is in {file}.")
