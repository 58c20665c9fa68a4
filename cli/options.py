"""Options that several commands share, defined once."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from . import questions, reading, square

EVERYWHERE = "Everywhere"

# --- of nearly every command ---------------------------------------------------------------------------------------------

Workroom = Annotated[
    str | None,
    typer.Option(
        "--workroom",
        metavar="FILE",
        envvar="FENT_WORKROOM",
        show_envvar=False,
        help="Where the stash is: a file, or a database address. Always the same: set FENT_WORKROOM.",
        rich_help_panel=EVERYWHERE,
    ),
]
AsJson = Annotated[
    bool,
    typer.Option("--json", help="Answer in JSON, for other programs (mm, mm², g).", rich_help_panel=EVERYWHERE),
]
Plain = Annotated[
    bool,
    typer.Option("--plain", help="No colours and no drawn lines.", rich_help_panel=EVERYWHERE),
]
ShowIn = Annotated[
    str,
    typer.Option(
        "--show-in",
        metavar="UNIT",
        envvar="FENT_SHOW_IN",
        show_envvar=False,
        help="How measures are shown: mm, cm, m, in or yd; or in to 1/8. Always the same: set FENT_SHOW_IN.",
        rich_help_panel=EVERYWHERE,
    ),
]
Cluster = Annotated[
    str | None,
    typer.Option(
        "--cluster",
        metavar="ADDRESS",
        envvar="FENT_CLUSTER",
        show_envvar=False,
        help="Let a Dask cluster do the work: its scheduler's address. Always the same: set FENT_CLUSTER.",
    ),
]
By = Annotated[
    str,
    typer.Option(
        "--by",
        metavar="INITIALS",
        envvar="FENT_BY",
        show_envvar=False,
        help="Who does it, for the cloth book. Always the same person: set FENT_BY.",
    ),
]
Note = Annotated[str, typer.Option("--note", metavar="WORDS", help="Anything else worth knowing.")]
Why = Annotated[str, typer.Option("--note", metavar="WORDS", help="Why.")]
Picture = Annotated[
    Path | None, typer.Option("--picture", metavar="FILE", help="Draw it as it lies on the cloth (png, pdf or svg).")
]
WriteOver = Annotated[bool, typer.Option("--write-over", help="Write over the file if it is there already.")]

OnPaper = Annotated[
    str,
    typer.Option(
        "--paper", metavar="PAPER", help="What it is printed on: A4, A3, A0, Letter, Legal, Tabloid, or its size, 24in x 36in."
    ),
]
PaperFile = Annotated[
    Path | None,
    typer.Option("--file", metavar="FILE", help="Where to write it: one pdf, or a png of each page.", show_default=False),
]


def whose(by: str) -> str:
    """The initials that were given; at a terminal they are asked for."""
    return questions.needed(by, "--by", "the initials of whoever does it", "Whose initials")


# --- how a remnant is measured -------------------------------------------------------------------------------------------

Size = Annotated[
    str | None,
    typer.Option("--size", metavar="SIZE", help="A rectangle: along the grain x across it, 62cm x 40cm."),
]
Bites = Annotated[
    list[str] | None,
    typer.Option("--bite", metavar="BITE", help='… with a piece missing: "far right: 8cm x 5cm". Again for another.'),
]
Points = Annotated[
    str | None,
    typer.Option("--points", metavar="CORNERS", help='Corners on a grid, in order: "0,0 31,0 31,18 0,16 cm".'),
]
Walk = Annotated[
    str | None,
    typer.Option(
        "--walk", metavar="WALK", help='Round it: each side and the turn after it, "42cm, left 93, 31cm, left 85, …".'
    ),
]
Ties = Annotated[
    str | None,
    typer.Option(
        "--ties",
        metavar="TIES",
        help='Sides and diagonals; letter its corners against the clock: "AB 42, BC 31, … cm, D inward".',
    ),
]
Clockwise = Annotated[bool, typer.Option("--clockwise", help="The letters run with the clock.")]
Tape = Annotated[
    float, typer.Option("--tape", metavar="LENGTH", parser=reading.a_length, help="What the tape may be out by, either way.")
]
Turns = Annotated[
    float, typer.Option("--turns", metavar="DEGREES", parser=reading.an_angle, help="What a turn may be out by, either way.")
]
Look = Annotated[bool, typer.Option("--look", help="Only draw what was understood; nothing is kept.")]
Edges = Annotated[
    str,
    typer.Option("--edges", metavar="KINDS", help="Selvedge, cut or raw: one for all, or one for each side with ; between."),
]
Grain = Annotated[
    str,
    typer.Option(
        "--grain",
        metavar="WAY",
        help='Which way the grain runs: selvedge, side 2, AB, "thread 10,5 40,7 cm", or an angle; else left to right.',
    ),
]
WrongSideUp = Annotated[bool, typer.Option("--wrong-side-up", help="It lay wrong side up when measured.")]
Nap = Annotated[
    str | None,
    typer.Option("--nap", metavar="WAY", help="On a one-way cloth, how the nap or print ran: along or against."),
]
Faults = Annotated[
    list[str] | None,
    typer.Option("--fault", metavar="FAULT", help='A hole or flaw: "stain: 4cm at 10cm,12cm". Again for another.'),
]
Skew = Annotated[
    float | None,
    typer.Option(
        "--skew",
        metavar="SKEW",
        parser=square.a_skew,
        help="How far a weft thread runs off over a width, and to which side: 12mm over 40cm right.",
    ),
]
Mass = Annotated[
    float | None,
    typer.Option("--mass", metavar="WEIGHT", parser=reading.a_mass, help="What it weighs, if it was weighed: 86 g."),
]

# --- what is said of a remnant or an envelope ----------------------------------------------------------------------------

Kept = Annotated[str, typer.Option("--place", metavar="PLACE", help="Where it is kept: drawer 2, blue bag.")]
Source = Annotated[str, typer.Option("--source", metavar="WORD", help="Bought, given, found or unpicked.")]
Price = Annotated[
    int | None,
    typer.Option("--price", metavar="PRICE", parser=reading.a_price, help="What was paid for it: 12.50."),
]
CameOn = Annotated[
    str | None, typer.Option("--came-on", metavar="DATE", help="When it came, if not today: 2026-03-02, yesterday.")
]

# --- what is looked for --------------------------------------------------------------------------------------------------

OfCloth = Annotated[str | None, typer.Option("--cloth", metavar="NAME", help="Of this cloth.")]
OfFibre = Annotated[str | None, typer.Option("--fibre", metavar="FIBRE", help="With this fibre in it.")]
OfColour = Annotated[str | None, typer.Option("--colour", metavar="COLOUR", help="Of this colour.")]
OfLot = Annotated[str | None, typer.Option("--lot", metavar="LOT", help="Of this dye lot.")]
OfWeave = Annotated[str | None, typer.Option("--weave", metavar="WEAVE", help="Of this weave.")]
InPlace = Annotated[str | None, typer.Option("--place", metavar="PLACE", help="Kept there.")]
Holds = Annotated[
    str | None,
    typer.Option("--holds", metavar="SIZE", help="Whose largest rectangle holds this, either way round: 30cm x 12cm."),
]
WeightFrom = Annotated[
    float | None,
    typer.Option("--weight-from", metavar="WEIGHT", parser=reading.a_cloth_weight, help="No lighter than this: 150 g/m2."),
]
WeightTo = Annotated[
    float | None,
    typer.Option("--weight-to", metavar="WEIGHT", parser=reading.a_cloth_weight, help="No heavier than this: 220 g/m2."),
]
OlderThan = Annotated[
    str | None, typer.Option("--older-than", metavar="AGE", help="That came before: 2 years, 6 months, 2026-03-02.")
]
NewerThan = Annotated[str | None, typer.Option("--newer-than", metavar="AGE", help="That came since: 3 weeks, 2026-03-02.")]
Washed = Annotated[bool | None, typer.Option("--washed/--unwashed", help="Washed, or not washed.")]
Free = Annotated[bool | None, typer.Option("--free/--held", help="Free to use, or held by a lay or in quarantine.")]
Rough = Annotated[bool | None, typer.Option("--rough/--measured", help="Rough, or measured all round.")]
InQuarantine = Annotated[bool, typer.Option("--quarantine", help="Only those in quarantine.")]
Every = Annotated[bool, typer.Option("--all", help="Also those that are cut, gone or lost.")]


def day(text: str | None, where: str, *, age: bool = False) -> date | None:
    """The day that an option names, if it was given."""
    if text is None:
        return None
    try:
        return reading.an_age(text) if age else reading.a_date(text)
    except reading.Unreadable as fault:
        raise reading.Unreadable(fault.what, fault.expected, where) from None
