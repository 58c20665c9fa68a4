"""`fent pattern`: patterns and their pieces."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import commands, options, questions, reading
from .saying import Voice

if TYPE_CHECKING:
    from nesting import Ring
    from stash.patterns import Piece

app = commands.noun(
    "pattern",
    "Patterns and their pieces.",
    "Patterns and their pieces: sewing line, seam allowance, grain, and how a piece may lie.",
)


@app.command("add", cls=commands.Command)
def add(
    pattern: Annotated[
        str | None, typer.Argument(metavar="PATTERN", help="The pattern; a new one if the name is new.", show_default=False)
    ] = None,
    piece: Annotated[str | None, typer.Argument(metavar="PIECE", help="The piece.", show_default=False)] = None,
    length: Annotated[
        float | None,
        typer.Option(
            "--length", metavar="LENGTH", parser=reading.a_length, help="A tapered panel: its length along the grain."
        ),
    ] = None,
    wide: Annotated[
        float | None, typer.Option("--wide", metavar="LENGTH", parser=reading.a_length, help="… the width of its wide end.")
    ] = None,
    narrow: Annotated[
        float | None,
        typer.Option("--narrow", metavar="LENGTH", parser=reading.a_length, help="… the width of its narrow end."),
    ] = None,
    ends: Annotated[
        str,
        typer.Option(
            "--ends", metavar="ENDS", help="… trued: curved, so that panels sewn together meet in a smooth edge; or straight."
        ),
    ] = "trued",
    points: Annotated[
        str | None,
        typer.Option("--points", metavar="CORNERS", help='Any other shape: its corners in order, "0,0 31,0 31,18 0,16 cm".'),
    ] = None,
    drawn: Annotated[str, typer.Option("--drawn", metavar="LINE", help="Which line that is: sewing, or cut.")] = "sewing",
    allowance: Annotated[
        str | None,
        typer.Option(
            "--allowance",
            metavar="LENGTH",
            help="Seam allowance: one for all edges, or one for each with ; between; else none.",
        ),
    ] = None,
    grain_angle: Annotated[
        float,
        typer.Option(
            "--grain-angle", metavar="DEGREES", parser=reading.an_angle, help="From the x of the corners to the grain line."
        ),
    ] = 0.0,
    one_way: Annotated[bool, typer.Option("--one-way/--either-way", help="May it be turned head to foot?")] = False,
    left_and_right: Annotated[bool, typer.Option("--left-and-right", help="It comes in two hands.")] = False,
    hidden: Annotated[
        bool, typer.Option("--hidden/--seen", help="Is it seen when worn? A hidden one may lie over a flaw.")
    ] = False,
    off_grain: Annotated[
        float,
        typer.Option("--off-grain", metavar="DEGREES", parser=reading.an_angle, help="How far off the grain it may lie."),
    ] = 0.0,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Add a piece to a pattern.

    A tapered panel is told by its measures, any other shape by its corners. What is missing is asked for at a terminal.

    \b
    Examples:
      fent pattern add cushion gore --length "1/4 of 33in" --wide "3 1/4 in" --narrow 2cm --allowance "1/4 in"
        cushion has its piece gore: 224 × 97 mm when cut, either way, seen.
      fent pattern add bag flap --points "0,0 31,0 31,18 0,16 cm" --allowance "1 cm; 1 cm; 0; 1 cm" --one-way
        bag has its piece flap: 330 × 191 mm when cut, one way, seen.
    """
    from stash import Workroom, patterns
    from stash.refusals import Unknown
    from stash.words import Line

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    into = questions.needed(pattern, "PATTERN", "the pattern; a new one if the name is new", "Pattern")
    called = questions.needed(piece, "PIECE", "the name of the piece", "Piece")
    asks = questions.at_a_terminal() and points is None and None in (length, wide, narrow)
    if asks:
        length, wide, narrow, points = _ask_shape(length, wide, narrow)
    new = patterns.NewPiece(
        name=called,
        ring=_shape(length, wide, narrow, ends, points),
        allowance=reading.allowances(_allowance(allowance, asks)),
        drawn=reading.one_of(Line, drawn, "--drawn"),
        grain_angle=grain_angle,
        one_way=one_way,
        left_and_right=left_and_right,
        hidden=hidden,
        off_grain=off_grain,
    )
    with Workroom.open(workroom) as opened, opened.writing():
        try:
            patterns.get(opened, into)
        except Unknown:
            kept = patterns.add(opened, into, [new]).pieces[0]
        else:
            kept = patterns.add_piece(opened, into, new)
    voice.data(kept)
    left, low, right, high = kept.cut_line.bounds
    size = voice.shown.size(right - left, high - low)
    voice.aside(f"{kept.pattern} has its piece {kept.name}: {size} when cut, {how_it_lies(kept)}.")


def _ask_shape(
    length: float | None, wide: float | None, narrow: float | None
) -> tuple[float | None, float | None, float | None, str | None]:
    """Ask for what is missing of a tapered panel, or for corners."""
    if (length, wide, narrow) == (None, None, None):
        way = questions.pick("A tapered panel, or a shape by its corners", ["tapered", "corners"], "tapered")
        if way == "corners":
            return None, None, None, questions.ask("Its corners in order, 0,0 31,0 31,18 0,16 cm", _as_corners)
    length = length if length is not None else questions.ask("Length along the grain", reading.a_length)
    wide = wide if wide is not None else questions.ask("Width of the wide end", reading.a_length)
    narrow = narrow if narrow is not None else questions.ask("Width of the narrow end", reading.a_length)
    return length, wide, narrow, None


def _as_corners(answer: str) -> str:
    reading.a_ring(answer)
    return answer


def _allowance(allowance: str | None, asks: bool) -> str:
    """The allowance as it was typed; asked for with the shape."""
    if allowance is None and asks:
        return questions.ask("Seam allowance, one for all edges or one for each with ; between", _as_allowance, "0 mm")
    return allowance or "0 mm"


def _as_allowance(answer: str) -> str:
    reading.allowances(answer)
    return answer


def _shape(length: float | None, wide: float | None, narrow: float | None, ends: str, points: str | None) -> Ring:
    """The ring that the options describe: a tapered panel, or corners, and not both."""
    from stash import patterns

    tapered = {"--length": length, "--wide": wide, "--narrow": narrow}
    given = [name for name, value in tapered.items() if value is not None]
    if points is not None:
        if given:
            raise reading.Unreadable(f"a shape by --points has no {', '.join(given)}", "one or the other", "--points")
        return reading.a_ring(points, "--points")
    if length is None or wide is None or narrow is None:
        missing = ", ".join(name for name, value in tapered.items() if value is None)
        raise reading.Unreadable(
            f"the shape is not told: {missing} missing", "--length, --wide and --narrow, or --points", "the shape"
        )
    if ends not in ("trued", "straight"):
        raise reading.Unreadable(f"{ends!r} is none of them", "one of: trued, straight", "--ends")
    return patterns.tapered(length, wide, narrow, trued=ends == "trued")


@app.command("list", cls=commands.Command)
def listing(
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """List the patterns with their pieces.

    \b
    Example:
      fent pattern list
        pattern  piece   when cut      lies
        bag      body    330 × 201 mm  either way, seen
        bag      lining  330 × 201 mm  either way, seen
        …
    """
    from stash import Workroom, patterns

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    with Workroom.open(workroom, create=False) as opened:
        every = patterns.every(opened)
    voice.data(every)
    rows = []
    for pattern in every:
        for piece in pattern.pieces:
            left, low, right, high = piece.cut_line.bounds
            rows.append([pattern.name, piece.name, voice.shown.size(right - left, high - low), how_it_lies(piece)])
    voice.table(["pattern", "piece", "when cut", "lies"], rows)


@app.command("show", cls=commands.Command)
def show(
    pattern: Annotated[str, typer.Argument(metavar="PATTERN", help="The pattern.", show_default=False)],
    picture: Annotated[
        Path | None, typer.Option("--picture", metavar="FILE", help="Draw its pieces (png, pdf or svg).")
    ] = None,
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Show a pattern.

    Its pieces, their lines and allowances.

    \b
    Example:
      fent pattern show cushion --picture cushion.png
        piece         cushion/wedge
        sewing line   211 × 84 mm
        cut line      232 × 107 mm, 166 cm²
        …
    """
    from stash import Workroom, patterns

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    file = reading.picture_file(picture, write_over) if picture else None
    with Workroom.open(workroom, create=False) as opened:
        found = patterns.get(opened, pattern)
    voice.data(found)
    for piece in found.pieces:
        left, low, right, high = piece.cut_line.bounds
        sewn = piece.sewing_line.bounds
        voice.facts(
            [
                ("piece", f"{found.name}/{piece.name}"),
                ("sewing line", voice.shown.size(sewn[2] - sewn[0], sewn[3] - sewn[1])),
                ("cut line", f"{voice.shown.size(right - left, high - low)}, {voice.shown.area(piece.cut_line.area)}"),
                ("allowance", "; ".join(dict.fromkeys(voice.shown.fine(each) for each in piece.allowances))),
                ("lies", how_it_lies(piece)),
            ]
        )
        voice.line()
    if file:
        from .drawn import pattern_page

        pattern_page(found, voice.shown).save(file)
        voice.aside(f"The picture is in {file}.")


def how_it_lies(piece: Piece) -> str:
    """How a piece may lie on the cloth, in words."""
    return ", ".join(
        filter(
            None,
            [
                "one way" if piece.one_way else "either way",
                f"up to {piece.off_grain:g}° off grain" if piece.off_grain else "",
                "left and right" if piece.left_and_right else "",
                "hidden" if piece.hidden else "seen",
            ],
        )
    )
