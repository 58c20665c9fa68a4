"""`fent lay`: which panels go where. Tried, shown, proved, chalked, cut or rubbed out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from . import (
    answers,
    binding,
    commands,
    docket,
    joining_up,
    keepers,
    lay_sketch,
    margins,
    options,
    order,
    papering,
    plying,
    questions,
    reading,
    rearranging,
    square,
    trying,
)
from .job import quoted
from .saying import Voice, kept_in

if TYPE_CHECKING:
    from stash import Workroom

app = commands.noun(
    "lay", "Which panels go where.", "Lays: try one for a job, look at it, prove it, chalk it, cut it, or rub it out."
)

Number = Annotated[int, typer.Argument(metavar="LAY", parser=reading.a_number, help="The lay's number.", show_default=False)]


def show(
    number: Number,
    picture: options.Picture = None,
    write_over: options.WriteOver = False,
    wrong_side: Annotated[
        bool, typer.Option("--wrong-side", help="As whoever chalks on the wrong side sees it: near and far changed.")
    ] = False,
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
        Lay 1 for wheel cushion, tried: wedge, 10 of 10.
        pull  place     cloth       size (mm)  panels  used  keepers
        N-02  drawer 2  navy linen  620 × 400       6   40%  1192 cm²
        …
    """
    from stash import Workroom, lays
    from stash.words import LayState

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    file = reading.picture_file(picture, write_over) if picture else None
    with Workroom.open(workroom, create=False) as opened:
        lay = lays.get(opened, number)
        foreseen = lays.foresee(opened, lay)
        if file:
            trying.draw(opened, lay, foreseen, voice, file, wrong_side=wrong_side)
        proof = plying.hand_proof_of(opened, lay)
    voice.data({"lay": lay, "leaves": foreseen, "proving_measure": proof})
    answers.panels(voice, lay, foreseen, wrong_side=wrong_side)
    joining_up.tell(voice, lay)
    plying.tell_nap(voice, lay)
    plying.tell(voice, lay)
    square.warn(voice, lay)
    plying.tell_hand(voice, proof)
    if not wrong_side:
        lay_sketch.lay(voice, lay)
    if lay.state is LayState.TRIED:
        voice.next_steps((f"fent lay chalk {number} --by INITIALS", "hold its remnants for this job"))
    elif lay.state is LayState.CHALKED:
        voice.next_steps((f"fent lay cut {number} --by INITIALS", "once it is cut"))


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
        Lay 1 is sound: all 10 panels lie on the cloth, clear of each other and of faults.
        Asked: 2 mm between cuts, 3 mm from edges. The narrowest found:
        remnant  panels  between panels  to the edge  to a hole  to a flaw
        …
    """
    from stash import Workroom, proving

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    with Workroom.open(workroom, create=False) as opened:
        lay, found = proving.prove(opened, number)
    voice.data(found)
    answers.proof(voice, lay, found)


def chalk(
    number: Number,
    until: Annotated[
        str | None,
        typer.Option("--until", metavar="DAY", help="The last day it holds: 2026-12-09, 10 days, 3 weeks. Else two weeks."),
    ] = None,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Hold a lay's remnants.

    No other lay can take them until it is cut or rubbed out, or until its last day is over. After that it may still be cut, as
    long as no other lay has taken one of them.

    \b
    Example:
      fent lay chalk 1 --by AK
        Lay 1 is chalked by AK; until 2026-12-09 it holds for wheel cushion:
          N-02, in drawer 2
          N-03, in drawer 3
        …
    """
    from stash import Workroom, lays

    voice = Voice(as_json=as_json)
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        lay = lays.chalk(opened, number, by=who, until=reading.a_day_to_come(until, "--until") if until else None)
    voice.data(lay)
    voice.aside(f"Lay {number} is chalked by {lay.chalked_by}; until {lay.holds_until} it holds for {lay.job}:")
    for sheet in lay.sheets:
        voice.aside(f"  {sheet.remnant.tag}, {kept_in(sheet.remnant.place)}")
    square.warn(voice, lay)
    if lay.replaces:
        voice.aside(f"Lay {lay.replaces}, which it takes the place of, is rubbed out.")
    voice.next_steps(
        (f"fent lay cut {number} --by INITIALS", "once it is cut; say which panels were spoiled or left uncut"),
        (f"fent lay rub-out {number} --by INITIALS", "if it is not to be cut after all"),
    )


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
        Lay 1 is cut: 10 good panels for wheel cushion.
        remnant       was  panels           rag bag         keepers, back in the bin
        N-02     2480 cm²  997 cm², 18.4 g  291 cm², 5.4 g  N-02A (drawer 2)
        …
      fent lay cut 1 --by AK --spoiled 3 --uncut 7,8
        Lay 1 is cut: 7 good panels for wheel cushion, 1 spoiled, 2 left uncut.
        remnant       was  panels           spoiled         rag bag         keepers, back in the bin
        N-02     2480 cm²  830 cm², 15.4 g  166 cm², 3.1 g  291 cm², 5.4 g  N-02A (drawer 2)
        …
    """
    from stash import Workroom, cutting

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    asks = questions.at_a_terminal() and not as_json
    bad = reading.numbers(spoiled or _asked("Which panels were spoiled", asks and not uncut), "--spoiled")
    left = reading.numbers(uncut or _asked("Which panels were not cut", asks and not spoiled), "--uncut")
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        done = cutting.cut(opened, number, by=who, spoiled=bad, uncut=left)
        voice.data(done)
        answers.after_the_cut(voice, done)
        joining_up.after_the_cut(voice, done)
        if asks:
            _look_at_keepers(voice, opened, number, who)
    keepers_left = any(sheet.keepers for sheet in done.sheets)
    voice.next_steps(
        *(
            []
            if asks or not keepers_left
            else [(f"fent bin keepers --lay {number}", "look at the keepers, and put them away")]
        ),
        *([(f"fent bin labels --lay {number}", "print their labels")] if keepers_left else []),
        ("fent book balance", "the cloth book"),
        (f"fent job show {quoted(done.lay.job)}", "what the job still needs"),
    )


def _asked(question: str, asks: bool) -> list[str]:
    """Panel numbers as they are answered; none where nobody is asked."""
    return [questions.ask(f"{question}, by number (Enter for none)", _as_numbers)] if asks else []


def _as_numbers(answer: str) -> str:
    reading.numbers([answer], "")
    return answer


def _look_at_keepers(voice: Voice, opened: Workroom, number: int, who: str) -> None:
    """Ask about the keepers while the cloth is still on the table."""
    from stash import keepers as kept

    waiting = kept.waiting(opened, lay=number)
    if waiting:
        voice.line()
        keepers.table(voice, waiting)
        keepers.go_through(voice, opened, waiting, who)


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
      fent lay rub-out 1 --note "it is to be green after all" --by AK
        Lay 1 is rubbed out; its remnants are free.
    """
    from stash import Workroom, lays

    voice = Voice(as_json=as_json)
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        lay = lays.rub_out(opened, number, by=who, note=note)
    voice.data(lay)
    voice.aside(f"Lay {number} is rubbed out; its remnants are free.")


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
      fent lay list --state tried
        lay  job            state  panels  remnants    tried
          1  wheel cushion  tried      10  N-02, N-03  2026-11-25 17:48
    """
    from stash import Workroom, finding
    from stash.words import LayState

    voice = Voice(as_json=as_json, plain=plain)
    wanted = tuple(reading.one_of(LayState, state, "--state") for state in states or ())
    with Workroom.open(workroom, create=False) as opened:
        every = finding.lays_listed(opened, job=job, states=wanted)
    voice.data(every)
    voice.table(
        ["lay", "job", "state", "panels", "remnants", "tried"],
        [
            [str(lay.number), lay.job, lay.state, str(lay.placed), ", ".join(lay.remnants), f"{lay.tried_at:%Y-%m-%d %H:%M}"]
            for lay in every
        ],
        right=[0, 3],
    )


for _name, _command in (
    ("try", trying.attempt),
    ("again", trying.again),
    ("change", rearranging.change),
    ("fill", rearranging.fill),
    ("paper", papering.lay_paper),
    ("to-drawing", papering.lay_to_drawing),
    ("show", show),
    ("prove", prove),
    ("order", order.order),
    ("pull", docket.pull),
    ("docket", docket.docket),
    ("marks", docket.marks),
    ("chalk", chalk),
    ("cut", cut),
    ("binding", binding.binding),
    ("rub-out", rub_out),
    ("list", listing),
    ("margins", margins.margins),
):
    app.command(_name, cls=commands.Command)(_command)
