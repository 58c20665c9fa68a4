"""`fent job`: something to be sewn, its pieces with counts and spares, and which cloths will do."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Annotated

import typer

from . import answers, commands, joining_up, options, questions, reading, yielding
from .ruling import own_rule
from .saying import Voice, many

if TYPE_CHECKING:
    from stash.jobs import ClothRule, NewJobPiece

    from .shown import Shown

app = commands.noun(
    "job", "What is to be sewn.", "Jobs: what is to be sewn, how many of each piece, and which cloths will do."
)

PIECE = re.compile(r"^\s*([^/]+?)\s*/\s*(.+?)\s*:\s*(\d{1,6})\s*(?:\+\s*(\d{1,6})\s*(?:spares?)?)?\s*(?:from\s+(.+?))?\s*$")
ONE_LOT, PAIRS = "all that is seen of one dye lot", "each left and right pair from one remnant"
UNMATCHED, ALIKE = "stripes need not match", "left and right alike on a stripe"
PIECE_EXPECTED = (
    "PATTERN/PIECE: HOW MANY, such as cushion/wedge: 16 or cushion/wedge: 16 + 2 spare, or … from navy linen or black linen"
)


@app.command("add", cls=commands.Command)
def add(
    name: Annotated[str | None, typer.Argument(metavar="JOB", help="What you call it.", show_default=False)] = None,
    pieces: Annotated[
        list[str] | None,
        typer.Option(
            "--piece", metavar="PIECE", help="A piece and how many: cushion/wedge: 16 + 2 spare. Again for each piece."
        ),
    ] = None,
    cloths: Annotated[
        list[str] | None, typer.Option("--cloth", metavar="NAME", help="A cloth that will do. Again for another.")
    ] = None,
    fibres: Annotated[
        list[str] | None, typer.Option("--fibre", metavar="FIBRE", help="Made of nothing but this fibre. Again for another.")
    ] = None,
    colours: Annotated[list[str] | None, typer.Option("--colour", metavar="COLOUR", help="A colour that will do.")] = None,
    weaves: Annotated[list[str] | None, typer.Option("--weave", metavar="WEAVE", help="A weave that will do.")] = None,
    weight_from: Annotated[
        float | None,
        typer.Option("--weight-from", metavar="WEIGHT", parser=reading.a_cloth_weight, help="No lighter than this: 150 g/m2."),
    ] = None,
    weight_to: Annotated[
        float | None,
        typer.Option("--weight-to", metavar="WEIGHT", parser=reading.a_cloth_weight, help="No heavier than this: 220 g/m2."),
    ] = None,
    washed: Annotated[bool, typer.Option("--washed", help="Only remnants that have been washed.")] = False,
    one_lot: Annotated[bool, typer.Option("--one-lot", help="All that is seen must be of one dye lot.")] = False,
    pairs_together: Annotated[
        bool, typer.Option("--pairs-together", help="Each left and right pair must come from one remnant.")
    ] = False,
    unmatched: Annotated[
        bool, typer.Option("--unmatched", help="Stripes and checks need not match, whatever the pieces ask.")
    ] = False,
    alike: Annotated[
        bool, typer.Option("--alike", help="On a stripe left and right are alike, and do not mirror each other.")
    ] = False,
    note: Annotated[str, typer.Option("--note", metavar="WORDS", help="Anything else worth knowing.")] = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Write down a job.

    What is said of the cloth holds for all its pieces. A piece may say "from" which cloth it is and, after semicolons, rules
    of its own: fibre linen or hemp; weight 120-150 g/m2; colour ecru; weave plain; washed; hidden (when worn) or seen. What
    is missing is asked for at a terminal.

    \b
    Examples:
      fent job add "round cushion" --piece "cushion/wedge: 16" --fibre linen --fibre cotton --weight-to "220 g/m2"
        The job round cushion is written down: 16 panels.
        What to do next:
          fent lay try "round cushion"   which remnants yield them
      fent job add "garden bag" --piece "bag/body: 2" --piece "bag/lining: 2 from ecru cotton" --cloth "navy linen"
        The job garden bag is written down: 4 panels.
        What to do next:
          fent lay try "garden bag"   which remnants yield them
    """
    from stash import Workroom, jobs

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    rule = jobs.ClothRule(
        fibres=tuple(fibres or ()),
        weight_from=weight_from,
        weight_to=weight_to,
        colours=tuple(colours or ()),
        weaves=tuple(weaves or ()),
        washed=washed,
        cloths=tuple(cloths or ()),
    )
    called = questions.needed(name, "JOB", "what you call the job", "What do you call the job")
    wanted = [_piece(text, rule) for text in pieces or _ask_pieces()]
    with Workroom.open(workroom, create=False) as opened:
        job = jobs.add(
            opened,
            called,
            wanted,
            note=note,
            one_lot=one_lot,
            pairs_together=pairs_together,
            matched=not unmatched,
            mirrored=not alike,
        )
    voice.data(job)
    count = sum(piece.count for piece in job.pieces)
    voice.aside(f"The job {job.name} is written down: {many(count, 'panel')}.")
    voice.next_steps((f"fent lay try {quoted(job.name)}", "which remnants yield them"))


def _ask_pieces() -> list[str]:
    """Ask for the pieces and how many of each."""
    if not questions.at_a_terminal():
        raise questions.missing("--piece", f"a piece and how many: {PIECE_EXPECTED}")
    pieces = [questions.ask("A piece and how many, cushion/wedge: 16", _as_piece)]
    while more := questions.ask("Another piece (Enter for none)", lambda answer: _as_piece(answer) if answer else ""):
        pieces.append(more)
    return pieces


def _as_piece(answer: str) -> str:
    if PIECE.match(answer.split(";")[0]) is None:
        raise reading.Unreadable(f"{answer!r} cannot be read", PIECE_EXPECTED)
    return answer


def _piece(text: str, rule: ClothRule) -> NewJobPiece:
    """`cushion/wedge: 16 + 2 spare from navy linen or black linen; weight 120-150 g/m2; hidden`."""
    from dataclasses import replace

    from stash.jobs import NewJobPiece

    first, *clauses = text.split(";")
    said = PIECE.match(first)
    if said is None:
        raise reading.Unreadable(f"{text!r} cannot be read", PIECE_EXPECTED, "--piece")
    pattern, piece, count, spares, cloths = said.groups()
    if cloths:
        rule = replace(rule, cloths=tuple(cloth.strip() for cloth in re.split(r"\s+or\s+|,", cloths)))
    rule, hidden = own_rule(rule, clauses)
    return NewJobPiece(pattern=pattern, piece=piece, count=int(count), spares=int(spares or 0), rule=rule, hidden=hidden)


@app.command("list", cls=commands.Command)
def listing(
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
) -> None:
    """List the jobs.

    And how far each has come.

    \b
    Example:
      fent job list
        job            piece          needed  spares  cut  chalked  missing
        wheel cushion  cushion/wedge      10       0    0        0       10
        summer bag     bag/body            2       0    0        0        2
    """
    from stash import Workroom, jobs

    voice = Voice(as_json=as_json, plain=plain)
    with Workroom.open(workroom, create=False) as opened:
        every = jobs.every(opened)
    voice.data(every)
    voice.table(
        ["job", "piece", "needed", "spares", "cut", "chalked", "missing"],
        [
            [
                job.name,
                f"{piece.piece.pattern}/{piece.piece.name}",
                *(str(figure) for figure in (piece.count, piece.spares, piece.cut, piece.chalked, piece.missing)),
            ]
            for job in every
            for piece in job.pieces
        ],
        right=[2, 3, 4, 5, 6],
    )


@app.command("show", cls=commands.Command)
def show(
    name: Annotated[str, typer.Argument(metavar="JOB", help="The job.", show_default=False)],
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Show a job.

    Its pieces, how far each has come, and which cloths will do.

    \b
    Example:
      fent job show "wheel cushion"
        job            wheel cushion
        written down   2026-11-25
        piece    cushion/wedge
        …
    """
    from stash import Workroom, jobs

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    with Workroom.open(workroom, create=False) as opened:
        job = jobs.get(opened, name)
    voice.data(job)
    said = ((job.one_lot, ONE_LOT), (job.pairs_together, PAIRS), (not job.matched, UNMATCHED), (not job.mirrored, ALIKE))
    asks = [words for asked, words in said if asked]
    written = f"{job.made_at:%Y-%m-%d}"
    voice.facts([("job", job.name), ("written down", written), ("asks for", ", ".join(asks)), ("note", job.note)])
    for piece in job.pieces:
        voice.line()
        voice.facts(
            [
                ("piece", f"{piece.piece.pattern}/{piece.piece.name}"),
                ("needed", f"{piece.count}" + (f", and {piece.spares} spare" if piece.spares else "")),
                ("so far", f"{piece.cut} cut, {piece.chalked} chalked, {piece.missing} missing"),
                ("kept", "; ".join(joining_up.kept_in_words(piece))),
                ("cloth", which_cloths(piece.rule, voice.shown)),
                ("when worn", "hidden" if piece.hidden else ""),
            ]
        )
    joining_up.tell_kept(voice, job)


@app.command("mend", cls=commands.Command)
def mend(
    name: Annotated[str, typer.Argument(metavar="JOB", help="The job.", show_default=False)],
    why: Annotated[str, typer.Option("--why", metavar="WORDS", help="Why it is put right.", show_default=False)] = "",
    new_name: Annotated[str | None, typer.Option("--name", metavar="NAME", help="What it is called from now on.")] = None,
    matched: Annotated[bool | None, typer.Option("--matched/--unmatched", help="Must stripes and checks match?")] = None,
    mirrored: Annotated[
        bool | None, typer.Option("--mirrored/--alike", help="On a stripe, do left and right mirror each other?")
    ] = None,
    note: Annotated[str | None, typer.Option("--note", metavar="WORDS", help="Anything else worth knowing.")] = None,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Put the description of a job right.

    What it is called, and what it asks of stripes and checks; lays that were tried stay as they are.

    \b
    Example:
      fent job mend "wheel cushion" --unmatched --why "it is to be a patchwork" --by AK
        wheel cushion is described anew: matched.
    """
    from stash import Workroom, mending

    voice = Voice(as_json=as_json)
    changes = answers.told_only({"name": new_name, "matched": matched, "mirrored": mirrored, "note": note})
    reason = questions.needed(why, "--why", "why it is put right", "Why is it put right")
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        job = mending.mend_job(opened, name, by=who, why=reason, **changes)
    voice.data(job)
    voice.aside(f"{job.name} is described anew: {', '.join(changes)}.")


app.command("sets", cls=commands.Command)(yielding.sets)


def which_cloths(rule: ClothRule, shown: Shown) -> str:
    """A job's cloth rule in words."""
    lightest = shown.cloth_weight(rule.weight_from) if rule.weight_from is not None else ""
    heaviest = shown.cloth_weight(rule.weight_to) if rule.weight_to is not None else ""
    weights = (
        f"{lightest} to {heaviest}" if lightest and heaviest else (f"from {lightest}" if lightest else f"up to {heaviest}")
    )
    said = [
        " or ".join(rule.cloths),
        f"nothing but {' and '.join(rule.fibres)}" if rule.fibres else "",
        weights if lightest or heaviest else "",
        " or ".join(rule.colours),
        " or ".join(rule.weaves),
        "washed" if rule.washed else "",
    ]
    return ", ".join(filter(None, said)) or "any"


def quoted(name: str) -> str:
    """A name as it is typed in a command."""
    return f'"{name}"' if re.search(r"[^\w./-]", name) else name
