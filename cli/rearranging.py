"""`fent lay change` and `fill`: a lay changed by hand, and the rest of it looked for round what is to stay."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from . import answers, change_words, lay_sketch, options, questions, reading, trying
from .saying import Voice, many, runs

if TYPE_CHECKING:
    from nesting import Placement
    from stash import CannotBeDone, Workroom
    from stash.lays import Lay
    from stash.on_table import Change, OnTable

Number = Annotated[int, typer.Argument(metavar="LAY", parser=reading.a_number, help="The lay's number.", show_default=False)]
HOW = "What to change (? shows how, put back takes the last back, Enter when done)"
PUT_BACK = ("put back", "back", "undo")


def change(
    number: Number,
    changes: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[CHANGE]...",
            help='What to change, one after the other: "move 3 to 120mm,40mm", "move 3-5 by 10mm right", "turn 3", '
            '"turn 3 over", "take out 7", "add another 3", "add wedge on N-02 at 3mm,78mm". At a terminal they are asked for.',
            show_default=False,
        ),
    ] = None,
    nearest: Annotated[
        bool, typer.Option("--nearest", help="What cannot lie where it is told to lies at the nearest place that works.")
    ] = False,
    picture: options.Picture = None,
    write_over: options.WriteOver = False,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Change a lay by hand.

    Panels are moved, turned, taken out and put in by their numbers. Places are told as fent lay show tells them: in from the
    left and from the near edge of the remnant. Each change is checked at once; one that cannot be is refused with the reason
    and the nearest place that works, and nothing is kept.

    What comes of it is a lay of its own; the one it began with stays as it is. Numbers stay too, but for those after a panel
    that was taken out.

    \b
    Examples:
      fent lay change 1 "turn 2" "take out 7"
        Lay 2 is lay 1 changed by hand: 9 panels for wheel cushion, 1 panel short of what the job needs.
        pull  place     cloth       size (mm)  panels  used  keepers
        N-02  drawer 2  navy linen  620 × 400       6   40%  1192 cm²
        …
      fent lay change 1 "move 2 to 30cm,2cm" --nearest
        Lay 2 is lay 1 changed by hand: 10 panels for wheel cushion.
        pull  place     cloth       size (mm)  panels  used  keepers
        N-02  drawer 2  navy linen  620 × 400       6   40%  1192 cm²
        …
    """
    from stash import Workroom, lays

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    file = reading.picture_file(picture, write_over) if picture else None
    told = tuple(change_words.change(text) for text in changes or ())
    if not told and (as_json or not questions.at_a_terminal()):
        raise reading.Unreadable("it is not said what to change", change_words.EXPECTED, change_words.WHERE)
    with Workroom.open(workroom, create=False) as opened:
        table = _changed(voice, opened, number, told, changes or (), nearest) if told else _asked_for(voice, opened, number)
        if not table.said:
            voice.aside("Nothing was changed, and nothing is kept.")
            return
        lay = _kept(opened, table, by)
        foreseen = lays.foresee(opened, lay)
        if file:
            trying.draw(opened, lay, foreseen, voice, file)
    voice.data({"lay": lay, "leaves": foreseen})
    held = sum(count.placed for count in lay.counts)
    lacks = sum(count.missing for count in lay.counts)
    missing = f", {many(lacks, 'panel')} short of what the job needs" if lacks else ""
    voice.headline(
        f"Lay {lay.number} is lay {number} changed by hand: {many(held, 'panel')} for {lay.job}{missing}.", good=True
    )
    lay_sketch.lay(voice, lay)
    voice.line()
    answers.pull_table(voice, lay, foreseen)
    _say_new_numbers(voice, table)
    in_place = f", in the place of lay {lay.replaces}" if lay.replaces else ""
    voice.next_steps(
        *([(f"fent lay fill {lay.number}", "have the rest looked for")] if lacks else []),
        (f"fent lay show {lay.number} --picture lay-{lay.number}.png", "see how the panels lie"),
        (f"fent lay change {lay.number}", "change it further"),
        (f"fent lay chalk {lay.number} --by INITIALS", f"hold its remnants for this job{in_place}"),
        (f"fent lay rub-out {lay.number} --by INITIALS", f"give it up; lay {number} is still there"),
    )


def fill(
    number: Number,
    fixed: Annotated[
        list[str] | None,
        typer.Option("--fixed", metavar="PANELS", help="Which panels stay where they lie: 3 or 3,4 or 5-8. Else all of them."),
    ] = None,
    seconds: trying.Seconds = 10,
    seed: trying.Seed = 0,
    no_spares: trying.NoSpares = False,
    picture: options.Picture = None,
    write_over: options.WriteOver = False,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Look for the rest of a lay.

    Some of its panels, or all of them, stay where they lie; what the job needs beside them is looked for, on the same remnants
    and on the rest of the bin. What is found is a lay of its own.

    \b
    Example:
      fent lay fill 1 --fixed 1-4
        Yes: all 10 panels for wheel cushion, from 2 remnants.
        Pull N-02 from drawer 2 for 6, N-03 from drawer 3 for 4.
        It is the best found in the time; a longer try may find a thriftier one.
        …
    """
    from stash import Workroom, asking

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    file = reading.picture_file(picture, write_over) if picture else None
    numbers = reading.numbers(fixed or (), "--fixed")
    wish = trying.Wish(seconds, seed, by, picture=file)
    with Workroom.open(workroom, create=False) as opened:
        trying.look_and_answer(voice, opened, asking.ask_beside(opened, number, numbers, spares=not no_spares), wish)


# --- changes that are told with the command ----------------------------------------------------------------------------------


def _changed(
    voice: Voice, opened: Workroom, number: int, told: tuple[Change, ...], texts: Sequence[str], nearest: bool
) -> OnTable:
    """All of the changes, one after the other; where one cannot be, it is named."""
    from stash import CannotBeDone, Refused, rearranging

    table = rearranging.begin(opened, number, change_words.remnants_of(told))
    for how, text in zip(told, texts, strict=True):
        try:
            table = rearranging.change(table, how, nearest=nearest)
        except (CannotBeDone, Refused) as fault:
            fault.where = text
            raise
        _say(voice, table)
    return table


def _kept(opened: Workroom, table: OnTable, by: str) -> Lay:
    from stash import rearranging

    return rearranging.keep(opened, table, by=by)


def _say(voice: Voice, table: OnTable) -> None:
    """Where what was changed lies now."""
    for number in table.changed:
        spot, placement = table.spot(number), table.laid[number]
        left, near = voice.shown.fine(round(spot.left, 1)), voice.shown.fine(round(spot.near, 1))
        way = answers.way_of(placement)
        voice.aside(f"{number} lies on {spot.tag}, {left} from the left and {near} from the near edge, {way}.")
    if not table.changed:
        voice.aside(f"{table.said[-1].capitalize()}.")


def _say_new_numbers(voice: Voice, table: OnTable) -> None:
    """Which numbers moved up."""
    moved = [(old, new) for new, old in enumerate(sorted(table.laid), 1) if new != old]
    if moved:
        said = f"{runs([old for old, _ in moved])} {'are' if len(moved) > 1 else 'is'} now {runs([new for _, new in moved])}"
        voice.aside(f"Numbers moved up: {said}.")


# --- at a terminal -----------------------------------------------------------------------------------------------------------


def _asked_for(voice: Voice, opened: Workroom, number: int) -> OnTable:
    """Changes as a person types them, each drawn, until there are no more."""
    from stash import CannotBeDone, Refused

    told: list[tuple[Change, bool]] = []
    table = _replayed(opened, number, told)
    _draw(voice, table)
    while answer := questions.ask(HOW, _as_typed):
        before = table
        if answer == "?":
            for form in change_words.FORMS:
                voice.line(f"  {form}")
        elif answer in PUT_BACK:
            told = told[:-1]
            table = _replayed(opened, number, told)
        else:
            try:
                table = _one_more(voice, opened, number, told, change_words.change(answer))
            except (CannotBeDone, Refused) as fault:
                _refuse(voice, fault)
            if len(table.said) > len(before.said):
                _say(voice, table)
        _draw(voice, table, before)
    return table


def _as_typed(answer: str) -> str:
    """An answer that can be read. Raises Unreadable."""
    said = " ".join(answer.split())
    if said and said != "?" and said.lower() not in PUT_BACK:
        change_words.change(said)
    return said if said.lower() not in PUT_BACK else PUT_BACK[0]


def _one_more(voice: Voice, opened: Workroom, number: int, told: list[tuple[Change, bool]], how: Change) -> OnTable:
    """With one change more; at the nearest place, if whoever is asked will have it there."""
    from stash.on_table import NoPlace

    nearest = False
    try:
        _replayed(opened, number, [*told, (how, nearest)])
    except NoPlace as fault:
        if fault.nearest is None:
            raise
        _refuse(voice, fault)
        nearest = questions.yes("Put it there", default=True)
        if not nearest:
            return _replayed(opened, number, told)
    told.append((how, nearest))
    return _replayed(opened, number, told)


def _replayed(opened: Workroom, number: int, told: Sequence[tuple[Change, bool]]) -> OnTable:
    """The lay with all changes so far: a remnant that one of them names may be new to it."""
    from stash import rearranging

    table = rearranging.begin(opened, number, change_words.remnants_of(tuple(how for how, _ in told)))
    for how, nearest in told:
        table = rearranging.change(table, how, nearest=nearest)
    return table


def _refuse(voice: Voice, fault: CannotBeDone | Exception) -> None:
    what, following = getattr(fault, "what", str(fault)), getattr(fault, "next", "")
    voice.aside(f"  {what[:1].upper()}{what[1:]}.")
    following = following.removesuffix("; add --nearest to have it there")
    if following:
        voice.aside(f"  {following}.")


def _draw(voice: Voice, table: OnTable, before: OnTable | None = None) -> None:
    """The remnants of the lay with what lies on them now; only those on which something lies otherwise than `before`."""
    if not voice.draws:
        return
    for sheet in table.case.sheets:
        if before is not None and _on(table, sheet.id) == _on(before, sheet.id):
            continue
        rings = {number: lay_sketch.ring(table.shape(placement)) for number, placement in _on(table, sheet.id).items()}
        drawn = lay_sketch.SheetSketched(sheet.outline, rings, tuple(flaw.ring for flaw in sheet.flaws) + sheet.holes)
        voice.line(f"{sheet.id}:")
        lay_sketch.show(voice, drawn)


def _on(table: OnTable, tag: str) -> dict[int, Placement]:
    """What lies on a remnant."""
    return {number: placement for number, placement in table.laid.items() if placement.sheet == tag}
