"""`fent bin`, when reality differs from the book: not there, found again, quarantined, measured again, thrown away."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

import typer

from . import options, outlining, questions, square
from .measuring import OutlineTold
from .remnant import Tag
from .saying import Voice, kept_in, many
from .taping import how_sure

if TYPE_CHECKING:
    from stash.losing import NotThere


def quarantine(
    tag: Tag,
    reason: Annotated[
        str, typer.Option("--why", metavar="WORDS", help="Moth, mould, unknown dust …", show_default=False)
    ] = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Put a remnant into quarantine.

    No lay may use it, and nobody may pull it, until someone releases it by name.

    \b
    Example:
      fent bin quarantine N-04 --why "moth in the fold" --by AK
        N-04 is in quarantine: moth in the fold. Keep it bagged and away from other cloth.
        What to do next:
          fent bin release N-04 --by INITIALS   once someone who knows says that it is safe
    """
    from stash import Workroom, remnants

    voice = Voice(as_json=as_json)
    why = questions.needed(reason, "--why", "moth, mould, unknown dust …", "What is it (moth, mould, unknown dust …)")
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        remnant = remnants.put_apart(opened, tag, why, by=who)
    voice.data(remnant)
    voice.aside(f"{remnant.tag} is in quarantine: {remnant.quarantine}. Keep it bagged and away from other cloth.")
    if remnant.held_by:
        voice.aside(f"Lay {remnant.held_by} holds it, and cannot be cut so.")
        voice.next_steps((f"fent lay again {remnant.held_by}", "plan it again round the other remnants"))
    voice.next_steps((f"fent bin release {remnant.tag} --by INITIALS", "once someone who knows says that it is safe"))


def release(
    tag: Tag,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Release a remnant from quarantine.

    In the name of whoever says that it is safe.

    \b
    Example:
      fent bin release N-04 --by AK
        N-04 is out of quarantine, released by AK.
    """
    from stash import Workroom, remnants

    voice = Voice(as_json=as_json)
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        remnant = remnants.release(opened, tag, by=who)
    voice.data(remnant)
    voice.aside(f"{remnant.tag} is out of quarantine, released by {who}.")


def not_there(
    tag: Tag,
    note: options.Note = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Say that a remnant is not in its place.

    It is lost in the book until it is found again. A chalked lay keeps its other remnants; plan it again round them.

    \b
    Example:
      fent bin not-there N-03 --by AK
        N-03 is lost in the book.
        What to do next:
          fent bin found-again N-03 --by INITIALS   when it turns up
    """
    from stash import Workroom, losing

    voice = Voice(as_json=as_json)
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        found = losing.not_there(opened, tag, by=who, note=note)
    voice.data(found)
    voice.aside(f"{found.remnant.tag} is lost in the book.")
    _what_it_undid(voice, found)


def _what_it_undid(voice: Voice, found: NotThere) -> None:
    """Which lays had counted on it, and what can be done."""
    if found.tried:
        numbers = ", ".join(map(str, found.tried))
        voice.aside(f"{'Lay' if len(found.tried) == 1 else 'Lays'} {numbers} had counted on it; try the job again.")
    if found.lay is None:
        voice.next_steps((f"fent bin found-again {found.remnant.tag} --by INITIALS", "when it turns up"))
        return
    lacks = f"its job lacks {many(found.missing, 'panel')} by that"
    voice.aside(f"Lay {found.lay.number} had counted on it: {lacks}.")
    if str(found.lay.state) == "chalked":
        voice.next_steps(
            (f"fent lay again {found.lay.number}", "plan it again round what is still there"),
            (f"fent lay cut {found.lay.number} --by INITIALS", "or cut the rest as it is"),
        )
    else:
        voice.next_steps((f'fent lay try "{found.lay.job}"', "the lay held nothing else and is rubbed out"))


def found_again(
    tag: Tag,
    place: Annotated[
        str | None, typer.Option("--place", metavar="PLACE", help="Where it is kept now, if it is another place.")
    ] = None,
    note: options.Note = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Say that a lost remnant has turned up.

    It is back in the bin, and in the book.

    \b
    Example:
      fent bin found-again N-02 --place "top shelf" --by AK
        N-02 is back in the bin, in top shelf.
    """
    from stash import Workroom, losing

    voice = Voice(as_json=as_json)
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        remnant = losing.found_again(opened, tag, by=who, place=place, note=note)
    voice.data(remnant)
    voice.aside(f"{remnant.tag} is back in the bin{f', {kept_in(remnant.place)}' if remnant.place else ''}.")


def throw_away(
    tag: Tag,
    note: options.Why = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Throw a remnant away.

    It is gone, and stays in the book as thrown away. Bag what may carry moth or mould before it leaves the room.

    \b
    Example:
      fent bin throw-away N-04 --note "moth through and through" --by AK
        N-04 is thrown away.
    """
    from stash import Workroom, leaving

    voice = Voice(as_json=as_json)
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        remnant = leaving.throw_away(opened, tag, by=who, note=note).remnant
    voice.data(remnant)
    voice.aside(f"{remnant.tag} is thrown away.")


def measure_again(
    tag: Tag,
    size: options.Size = None,
    bites: options.Bites = None,
    points: options.Points = None,
    edges: options.Edges = "cut",
    walk: options.Walk = None,
    ties: options.Ties = None,
    clockwise: options.Clockwise = False,
    tape: options.Tape = 1.0,
    turns: options.Turns = 1.0,
    grain: options.Grain = "",
    wrong_side_up: options.WrongSideUp = False,
    nap: options.Nap = None,
    faults: options.Faults = None,
    skew: options.Skew = None,
    mass: options.Mass = None,
    note: options.Note = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Measure a remnant again.

    A rough one in full, a keeper that came out smaller, one that was measured wrongly. It is told as when it is logged, with
    its faults; what it was before stays in the book.

    \b
    Example:
      fent bin measure-again N-04 --size "29cm x 19cm" --bite "far right: 8cm x 5cm" --by AK
        N-04 is measured again: 290 × 190 mm, 511 cm², 9.5 g by its area.
    """
    from stash import Workroom, measuring

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    told = OutlineTold(size, tuple(bites or ()), points, walk, ties, clockwise, False, edges, grain, tape, turns)
    found, measures = outlining.measured_again(told, voice, wrong_side_up=wrong_side_up, nap=nap, faults=faults, mass=mass)
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        remnant = measuring.measure_again(opened, tag, replace(measures, skew=skew), by=who, note=note)
    voice.data(remnant)
    shown = voice.shown
    voice.aside(
        f"{remnant.tag} is measured again: {shown.size(remnant.length, remnant.width)}, {shown.area(remnant.area)}, "
        f"{shown.mass(remnant.mass)}{'' if remnant.weighed else ' by its area'}."
    )
    if found.agreement:
        voice.aside(found.agreement)
        voice.aside(f"By the tape: {how_sure(found.measured, shown)}.")
    square.warn_of(voice, remnant.tag, remnant.skew)
