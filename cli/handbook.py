"""`fent help`: the day's work in order, how measures are written, and a person's own habits."""

from __future__ import annotations

from typing import Annotated

import typer

from . import habits, units
from .reading import Unreadable
from .saying import Voice
from .shown import EXPECTED as SHOWN_EXPECTED

DAY = """\
THE DAY'S WORK, IN ORDER
What stands in capitals is yours to fill in. Every command has --help, with an example.

Once for each kind of fabric
  fent cloth add                        it asks: name, what it is made of, what it weighs
  fent cloth list                       what there is

Whenever scraps come in
  fent bin add                          it asks: tag, cloth, the largest rectangle on the grain
  fent bin add-many TABLE.csv           many at once, from a table
  fent bin from-drawing FILE.svg        outlines that a program has drawn, svg or dxf
  fent envelope add TAG                 offcuts too small to measure, by weight
  fent bin list --holds "30cm x 12cm"   what would hold that

Once for each thing to be sewn
  fent pattern add PATTERN PIECE        a piece: its measures, its allowance, how it may lie
  fent pattern from-drawing PATTERN F   pieces out of an svg or dxf; to-drawing writes them
  fent pattern ring PATTERN PIECE       the ring that tapered panels make, and how smoothly its edges run
  fent pattern prove PATTERN            does it go together: lengths, ease, kinks, allowances
  fent job add JOB                      how many of each piece, in which cloths

What the bin could give
  fent bin yields PATTERN/PIECE         how many of a piece, from each remnant
  fent job sets                         how many whole sets of each job
  fent bin binding WIDTH                how many metres of binding

Before cutting
  fent bin to-wash JOB                  what a job that asks for washed cloth would want washed
  fent bin wash TAG                     washed, pressed, and measured again
  fent lay try JOB                      which remnants yield it, and where they are
  fent lay show LAY --picture LAY.png   how the panels lie
  fent lay prove LAY                    a second, independent check
  fent lay chalk LAY                    the remnants are held for this job
  fent lay order LAY                    what to measure first, and which panel to cut first
  fent lay change LAY                   move, turn, take out or add panels by hand

On paper
  fent lay pull LAY --file PULL.pdf     which remnants to pull, place by place, to be ticked off
  fent lay docket LAY                   a page for each: how to chalk it, in which order to cut
  fent lay paper LAY                    the lay at true scale; fent lay to-drawing: as svg or dxf
  fent pattern paper PATTERN            paper templates of its pieces
  fent bin labels --lay LAY             labels for what the cut has left
  fent bin picture BIN.pdf              the bin to look at

At the table
  fent bin not-there TAG                it is not in its place
  fent lay again LAY                    plan the lay again round what is there
  fent bin quarantine TAG               moth, mould, unknown dust: nobody may use it
  fent lay cut LAY                      it asks which panels were spoiled or left uncut
  fent bin keepers                      what is left: confirmed, smaller, into an envelope, or thrown away

When something was written down wrongly
  fent bin measure-again TAG            its measures; also a rough remnant in full
  fent bin mend TAG                     its place, its washing, its note (fent cloth mend, fent envelope mend)
  fent bin which --size SIZE            the tag is lost: which remnant is this?
  fent lay rub-out LAY                  the lay is not to be cut after all
  fent book undo ENTRY                  it never happened: fent book list has its number

In the evening
  fent book balance                     what came in, what was cut, what is left: it sums to zero
  fent book list --last 10              the last entries

Now and then
  fent book report --page book.html     what came in, what it became, what is left, for someone who was not there
  fent book audit                       the whole stash gone through
  fent book export stash.jsonl          all of it as plain text, to keep with your papers

More: fent help measures, fent help habits"""

MEASURES = f"""\
HOW MEASURES ARE WRITTEN
Lengths       {units.LENGTH.example}
Two lengths   62cm x 40cm, 62 x 40 cm, 24 1/2 in x 16 in: first along the grain, then across it
Corners       "0,0 31,0 31,18 0,16 cm": in order round the edge, each so far right and so far away from the near left corner
A walk        "42cm, left 94, 31cm, left 89, …": each side, and how far you turn at its end to get into the next
Ties          "AB 42, BC 31, CD 38.6, DA 29, AC 50.6 cm": sides and diagonals; letter the corners in order, against the clock
A grain       selvedge, side 2, BC, "thread 10,5 40,7 cm", or an angle; else it runs from left to right
Weights       {units.MASS.example}
Cloth         {units.CLOTH_WEIGHT.example}
Areas         {units.AREA.example}
Angles        {units.ANGLE.example}
Days          2026-03-02, today, yesterday; ages: 10 days, 6 months, 2 years
Prices        12.50

A decimal comma is understood (41,2 cm). Put quotes round what has spaces or inch marks in it: "3 5/8 in", '3 5/8"'.

Measures are shown in mm unless you say otherwise, with --show-in or as a habit: {SHOWN_EXPECTED}."""


def handbook(
    topic: Annotated[str, typer.Argument(metavar="TOPIC", help="day, measures or habits.", show_default=False)] = "day",
    begin: Annotated[
        bool, typer.Option("--begin", help="With habits: begin the file, with every line asleep, to be woken by hand.")
    ] = False,
) -> None:
    """Tell the day's work in order.

    And how measures are written (fent help measures), and how to keep what you always want, your own initials and units, in a
    file of your own (fent help habits).

    \b
    Examples:
      fent help
        THE DAY'S WORK, IN ORDER
        …
      fent help measures
        HOW MEASURES ARE WRITTEN
        …
    """
    voice = Voice()
    told = {"day": lambda: DAY, "measures": lambda: MEASURES, "habits": _habits}
    if topic not in told:
        raise Unreadable(
            f"there is no help on {topic!r}", "day, measures or habits; of a command: fent bin add --help", "TOPIC"
        )
    if begin:
        if topic != "habits":
            raise Unreadable("only the file of habits can be begun", "fent help habits --begin", "--begin")
        _begin(voice)
    voice.line(told[topic]())


def _habits() -> str:
    """Where the file is, and what may stand in it."""
    file = habits.file()
    there = "" if file.exists() else " It is not there yet; fent help habits --begin begins it."
    return (
        f"YOUR HABITS\nWhat you always want is kept in {file}.{there}\n"
        "What is said with a command, or set with FENT_BY, FENT_SHOW_IN or FENT_WORKROOM, goes before it.\n"
        "Margins that all in the workroom share, and the smallest keeper, are the stash's: fent lay margins.\n\n"
        f"{habits.example()}"
    ).rstrip()


def _begin(voice: Voice) -> None:
    from stash import Refused

    file = habits.file()
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with file.open("x", encoding="utf-8") as begun:
            begun.write(habits.example())
    except FileExistsError:
        raise Refused(
            f"{file} is there already", where="--begin", expected="no file yet", next="open it and change it"
        ) from None
    except OSError as fault:
        raise Refused(f"{file} cannot be written: {fault.strerror}", where="--begin", expected="a place to write to") from None
    voice.aside(f"{file} is begun.")
