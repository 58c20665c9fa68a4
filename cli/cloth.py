"""`fent cloth`: the kinds of fabric that the workroom has."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from . import answers, commands, lives, options, questions, reading, striping
from .saying import Voice, many
from .shown import money

if TYPE_CHECKING:
    from stash.cloths import Cloth

app = commands.noun("cloth", "Kinds of fabric.", "Cloths: kinds of fabric, with what they are made of and what they weigh.")


Scale = Annotated[
    float | None,
    typer.Option("--scale", metavar="WEIGHT", parser=reading.a_mass, help="What the scale may be out by: 0.1 g."),
]
Tape = Annotated[float, typer.Option("--tape", metavar="LENGTH", parser=reading.a_length, help="What the tape may be out by.")]
WeighedPiece = Annotated[
    str | None,
    typer.Option("--weighed", metavar="PIECE", help='A piece of it and what it weighs: "40cm x 30cm: 22.2 g".'),
]
Weave = Annotated[str | None, typer.Option("--weave", metavar="WEAVE", help="Plain, twill, satin …")]
Colour = Annotated[str | None, typer.Option("--colour", metavar="COLOUR", help="Its colour.")]
Lot = Annotated[str | None, typer.Option("--lot", metavar="LOT", help="Its dye lot.")]
Width = Annotated[
    float | None,
    typer.Option("--width", metavar="LENGTH", parser=reading.a_length, help="From selvedge to selvedge: 145 cm."),
]
Selvedge = Annotated[
    float | None,
    typer.Option("--selvedge", metavar="LENGTH", parser=reading.a_margin, help="Kept from its selvedge, if not as usual."),
]
ShrinksWarp = Annotated[
    float | None,
    typer.Option("--shrinks-warp", metavar="PERCENT", parser=reading.a_percentage, help="In the wash, along the grain: 6%."),
]
ShrinksWeft = Annotated[
    float | None,
    typer.Option("--shrinks-weft", metavar="PERCENT", parser=reading.a_percentage, help="In the wash, across the grain: 3%."),
]
Frays = Annotated[
    float | None,
    typer.Option(
        "--frays", metavar="LENGTH", parser=reading.a_margin, help="How far a cut edge frays before it is sewn: 4mm."
    ),
]
Thick = Annotated[
    float | None,
    typer.Option("--thick", metavar="LENGTH", parser=reading.a_margin, help="How thick one ply of it is: 0.4mm."),
]
Price = Annotated[
    int | None, typer.Option("--price", metavar="PRICE", parser=reading.a_price, help="For a metre off the roll: 12.50.")
]
Name = Annotated[str, typer.Argument(metavar="NAME", help="The cloth.", show_default=False)]


@app.command("add", cls=commands.Command)
def add(
    name: Annotated[str | None, typer.Argument(metavar="NAME", help="What you call it.", show_default=False)] = None,
    fibres: Annotated[
        list[str] | None,
        typer.Option("--fibre", metavar="FIBRES", help="What it is made of: linen, or 55% linen, 45% cotton."),
    ] = None,
    weight: Annotated[
        float | None,
        typer.Option(
            "--weight", metavar="WEIGHT", parser=reading.a_cloth_weight, help="What it weighs: 185 g/m2 or 5 1/2 oz/yd2."
        ),
    ] = None,
    weighed: WeighedPiece = None,
    scale: Scale = None,
    tape: Tape = 1.0,
    weave: Weave = None,
    colour: Colour = None,
    lot: Lot = None,
    width: Width = None,
    selvedge: Selvedge = None,
    one_way: Annotated[
        bool, typer.Option("--one-way", help="Nap, pile or print must run the same way in every panel.")
    ] = False,
    faces_alike: Annotated[bool, typer.Option("--faces-alike", help="Either face may show.")] = False,
    shrinks_warp: ShrinksWarp = None,
    shrinks_weft: ShrinksWeft = None,
    frays: Frays = None,
    thick: Thick = None,
    repeat_along: striping.RepeatAlong = None,
    repeat_across: striping.RepeatAcross = None,
    bar: striping.Bar = None,
    uneven: striping.Uneven = None,
    price: Price = None,
    note: options.Note = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Put a cloth on the list.

    Its weight is given, or worked out from a piece that was weighed, or from several equal ones ("4 of 20cm x 20cm: 29 g"): a
    large piece and a fine scale, or it is refused. Typed alone at a terminal, it asks for what it needs.

    \b
    Examples:
      fent cloth add "green linen" --fibre linen --weight "185 g/m2" --colour green --width 145cm
        green linen is on the list of cloths: 100 % linen, 185 g/m².
      fent cloth add "grey twill" --fibre "wool 80%, silk 20%" --weighed "40cm x 30cm: 22.2 g" --scale "0.1 g"
        grey twill is on the list of cloths: 80 % wool, 20 % silk, 185 ± 1 g/m².
    """
    from stash import Workroom, cloths

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    called = questions.needed(name, "NAME", "what you call the cloth", "What do you call it")
    uneven_along, uneven_across = striping.uneven(uneven)
    make_up = reading.shares(_fibres(fibres), "--fibre")
    grams_per_m2, within = _weight(weight, weighed, scale, tape)
    new = cloths.NewCloth(
        name=called,
        fibres=make_up,
        weight=grams_per_m2,
        weight_within=within,
        weave=weave or "",
        colour=colour or "",
        lot=lot or "",
        width=width,
        selvedge=selvedge,
        one_way=one_way,
        faces_alike=faces_alike,
        shrinks_warp=shrinks_warp,
        shrinks_weft=shrinks_weft,
        frays=frays,
        thickness=thick,
        repeat_along=repeat_along,
        repeat_across=repeat_across,
        bar=bar or "",
        uneven_along=bool(uneven_along),
        uneven_across=bool(uneven_across),
        price=price,
        note=note,
    )
    with Workroom.open(workroom) as opened:
        cloth = cloths.add(opened, new)
    voice.data(cloth)
    heavy = voice.shown.cloth_weight(cloth.weight, cloth.weight_within)
    voice.aside(f"{cloth.name} is on the list of cloths: {cloth.made_of}, {heavy}.")


def _fibres(fibres: list[str] | None) -> list[str]:
    """What it is made of; at a terminal it is asked for."""
    if fibres:
        return fibres
    if not questions.at_a_terminal():
        raise questions.missing("--fibre", "what it is made of: linen, or 55% linen, 45% cotton")
    return [questions.ask("What is it made of (linen, or 55% linen, 45% cotton)", _as_fibres)]


def _as_fibres(answer: str) -> str:
    reading.shares([answer], "")
    return answer


def _weight(weight: float | None, weighed: str | None, scale: float | None, tape: float) -> tuple[float, float | None]:
    """The cloth's weight in g/m², and what it may be out by if it was weighed; at a terminal it is asked for."""
    if weight is not None and weighed is not None:
        raise reading.Unreadable("the weight is told twice", "--weight or --weighed", "--weight, --weighed")
    if weight is None and weighed is None:
        if not questions.at_a_terminal():
            raise questions.missing("--weight", "what it weighs, 185 g/m2; or a piece of it that you weighed, with --weighed")
        answer = questions.ask("What it weighs (185 g/m2), or a piece that you weighed (40cm x 30cm: 22.2 g)", _as_weight)
        weight, weighed = (None, answer) if ":" in answer else (reading.a_cloth_weight(answer), None)
    if weighed is None:
        return weight or 0.0, None
    from stash import weighing

    piece = reading.a_weighed_piece(weighed, "--weighed")
    out_by = _scale(scale)
    found = weighing.weigh_piece(piece.mass, piece.length, piece.width, scale=out_by, tape=tape, pieces=piece.pieces)
    return found.weight, found.within


def _as_weight(answer: str) -> str:
    if ":" in answer:
        reading.a_weighed_piece(answer, "")
    else:
        reading.a_cloth_weight(answer)
    return answer


def _scale(scale: float | None) -> float:
    """What the scale may be out by; at a terminal it is asked for."""
    if scale is not None:
        return scale
    if not questions.at_a_terminal():
        raise questions.missing("--scale", "what the scale may be out by, 0.1 g; half of its last digit is usual")
    return questions.ask("What may the scale be out by (0.1 g)", reading.a_mass)


@app.command("list", cls=commands.Command)
def listing(
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """List the cloths.

    \b
    Example:
      fent cloth list
        cloth        made of         weight  weave  colour  lot  width  lies
        ecru cotton  100 % cotton  135 g/m²         ecru                either way
        navy linen   100 % linen   185 g/m²         navy                either way, either face
    """
    from stash import Workroom, cloths

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    with Workroom.open(workroom, create=False) as opened:
        every = cloths.every(opened)
    voice.data(every)
    voice.table(
        ["cloth", "made of", "weight", "weave", "colour", "lot", "width", "lies"],
        [
            [
                cloth.name,
                cloth.made_of,
                voice.shown.cloth_weight(cloth.weight, cloth.weight_within),
                cloth.weave,
                cloth.colour,
                cloth.lot,
                voice.shown.length(cloth.width) if cloth.width else "",
                how_it_lies(cloth),
            ]
            for cloth in every
        ],
        right=[2, 6],
    )


@app.command("show", cls=commands.Command)
def show(
    name: Name,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Show a cloth.

    All that is known of it, and what of it was put right.

    \b
    Example:
      fent cloth show "navy linen"
        cloth     navy linen
        made of   100 % linen
        weight    185 g/m²
        …
    """
    from stash import Workroom, cloths, mending, settings
    from stash.words import Subject

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    with Workroom.open(workroom, create=False) as opened:
        cloth = cloths.get(opened, name)
        mended = mending.every(opened, subject=Subject.CLOTH, name=cloth.name)
        currency = settings.currency(opened) if cloth.price is not None else ""
    voice.data(cloth)
    shown = voice.shown
    voice.facts(
        [
            ("cloth", cloth.name),
            ("made of", cloth.made_of),
            ("weight", shown.cloth_weight(cloth.weight, cloth.weight_within)),
            ("weave", cloth.weave),
            ("colour", cloth.colour),
            ("dye lot", cloth.lot),
            ("width", shown.length(cloth.width) if cloth.width else ""),
            ("selvedge", f"{shown.fine(cloth.selvedge)} kept from it" if cloth.selvedge is not None else ""),
            ("lies", how_it_lies(cloth)),
            ("shrinks", _shrinks(cloth)),
            ("frays", f"{shown.fine(cloth.frays)} at a cut edge" if cloth.frays is not None else ""),
            ("thick", f"{shown.fine(cloth.thickness)} a ply" if cloth.thickness is not None else ""),
            ("stripe", striping.stripe_in_words(cloth, shown)),
            ("price", f"{money(cloth.price, currency)} a metre" if cloth.price is not None else ""),
            ("note", cloth.note),
        ]
    )
    answers.mended(voice, mended)


def _shrinks(cloth: Cloth) -> str:
    """What it loses in the wash, in words."""
    said = [("along the grain", cloth.shrinks_warp), ("across it", cloth.shrinks_weft)]
    return ", ".join(f"{percent:g} % {which}" for which, percent in said if percent is not None)


def how_it_lies(cloth: Cloth) -> str:
    """One way or either way, and whether either face may show."""
    return ("one way" if cloth.one_way else "either way") + (", either face" if cloth.faces_alike else "")


@app.command("weigh", cls=commands.Command)
def weigh(
    name: Name,
    weight: Annotated[
        float | None,
        typer.Option("--weight", metavar="WEIGHT", parser=reading.a_cloth_weight, help="What it really weighs: 190 g/m2."),
    ] = None,
    weighed: WeighedPiece = None,
    scale: Scale = None,
    tape: Tape = 1.0,
    note: options.Note = "",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Put the weight of a cloth right.

    Remnants that were not weighed themselves have their weight worked out anew, through the cloth book.

    \b
    Example:
      fent cloth weigh "navy linen" --weighed "50cm x 40cm: 37.4 g" --scale "0.1 g" --by AK
        navy linen weighs 187 ± 1 g/m²; 5 remnants booked anew.
    """
    from stash import Workroom, cloths

    voice = Voice(as_json=as_json, show_in=show_in)
    grams_per_m2, within = _weight(weight, weighed, scale, tape)
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        done = cloths.weigh_again(opened, name, grams_per_m2, within=within, by=who, note=note)
    voice.data(done)
    heavy = voice.shown.cloth_weight(done.cloth.weight, done.cloth.weight_within)
    changed = f"; {many(len(done.remnants), 'remnant')} booked anew" if done.remnants else ""
    voice.aside(f"{done.cloth.name} weighs {heavy}{changed}.")


@app.command("mend", cls=commands.Command)
def mend(
    name: Name,
    why: Annotated[str, typer.Option("--why", metavar="WORDS", help="Why it is put right.", show_default=False)] = "",
    new_name: Annotated[str | None, typer.Option("--name", metavar="NAME", help="What it is called from now on.")] = None,
    fibres: Annotated[
        list[str] | None, typer.Option("--fibre", metavar="FIBRES", help="What it is made of: 55% linen, 45% cotton.")
    ] = None,
    weave: Weave = None,
    colour: Colour = None,
    lot: Lot = None,
    width: Width = None,
    selvedge: Selvedge = None,
    one_way: Annotated[bool | None, typer.Option("--one-way/--either-way", help="Must it run the same way?")] = None,
    faces_alike: Annotated[bool | None, typer.Option("--faces-alike/--two-faces", help="May either face show?")] = None,
    shrinks_warp: ShrinksWarp = None,
    shrinks_weft: ShrinksWeft = None,
    frays: Frays = None,
    thick: Thick = None,
    repeat_along: striping.RepeatAlong = None,
    repeat_across: striping.RepeatAcross = None,
    bar: striping.Bar = None,
    uneven: striping.Uneven = None,
    price: Price = None,
    note: Annotated[str | None, typer.Option("--note", metavar="WORDS", help="Anything else worth knowing.")] = None,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Put the description of a cloth right.

    What is said of it; its weight has a command of its own, since the cloth book hangs on it.

    \b
    Example:
      fent cloth mend "navy linen" --colour "ink blue" --why "seen by daylight" --by AK
        navy linen is described anew: colour.
    """
    from stash import Workroom, mending

    voice = Voice(as_json=as_json)
    uneven_along, uneven_across = striping.uneven(uneven)
    told = {
        "name": new_name,
        "fibres": reading.shares(fibres, "--fibre") if fibres else None,
        "weave": weave,
        "colour": colour,
        "lot": lot,
        "width": width,
        "selvedge": selvedge,
        "one_way": one_way,
        "faces_alike": faces_alike,
        "shrinks_warp": shrinks_warp,
        "shrinks_weft": shrinks_weft,
        "frays": frays,
        "repeat_along": repeat_along,
        "repeat_across": repeat_across,
        "bar": bar,
        "uneven_along": uneven_along,
        "uneven_across": uneven_across,
        "thickness": thick,
        "price": price,
        "note": note,
    }
    changes = answers.told_only(told)
    reason = questions.needed(why, "--why", "why it is put right", "Why is it put right")
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        cloth = mending.mend_cloth(opened, name, by=who, why=reason, **changes)
    voice.data(cloth)
    voice.aside(f"{cloth.name} is described anew: {', '.join(changes).replace('_', ' ')}.")


app.command("life", cls=commands.Command)(lives.of_cloth)
