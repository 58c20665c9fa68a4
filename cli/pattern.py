"""`fent pattern`: patterns and their pieces."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import (
    bringing,
    commands,
    drawings_in,
    drawings_out,
    options,
    papering,
    piece_tracing,
    questions,
    reading,
    sewing,
    striping,
)
from .job import quoted
from .saying import Voice, many

if TYPE_CHECKING:
    from stash import Workroom
    from stash.patterns import NewPiece, Notch, Piece

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
    length_at: Annotated[
        str, typer.Option("--length-at", metavar="WHERE", help="… where that length is taken: centre, or side.")
    ] = "centre",
    points: Annotated[
        str | None,
        typer.Option("--points", metavar="CORNERS", help='Any other shape: its corners in order, "0,0 31,0 31,18 0,16 cm".'),
    ] = None,
    sides: Annotated[
        str | None,
        typer.Option(
            "--sides", metavar="NAMES", help='… what its sides are called, in order: "hem; right side; neck; left side".'
        ),
    ] = None,
    fold: Annotated[
        str, typer.Option("--fold", metavar="EDGE", help="… half of it is drawn, with this edge on the fold.")
    ] = "",
    drawn: Annotated[
        str, typer.Option("--drawn", metavar="LINE", help="Which line those measures are on: sewing, or cut.")
    ] = "sewing",
    allowance: Annotated[
        str | None,
        typer.Option(
            "--allowance",
            metavar="LENGTH",
            help='Seam allowance: one for all edges, for each with ; between, or some by name, "1cm; hem: 3cm"; else none.',
        ),
    ] = None,
    corners: Annotated[
        str,
        typer.Option(
            "--corners",
            metavar="JOINS",
            help='How allowances meet: mitre, blunt or folded back; by name, "mitre; hem: folded back".',
        ),
    ] = "mitre",
    notches: Annotated[
        list[str] | None,
        typer.Option(
            "--notch", metavar="NOTCH", help='A notch: "left side at 12cm", or "… at 12cm, double". Again for another.'
        ),
    ] = None,
    joins: Annotated[
        list[str] | None,
        typer.Option("--join", metavar="LINE", help='Where it may be made of two: "0,9 31,9 cm: 1cm". Again for another.'),
    ] = None,
    zones: striping.Zones = None,
    anchor: striping.AnchorTold = None,
    lies: striping.Lies = "warp-wise",
    front: striping.Front = False,
    count: Annotated[
        int, typer.Option("--count", metavar="NUMBER", parser=reading.a_number, help="How many the pattern takes.")
    ] = 1,
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

    A tapered panel is told by its measures, which may be parts of a body measure ("7/48 of 29in"); any other shape by its
    corners. What is missing is asked for at a terminal.

    \b
    Examples:
      fent pattern add cushion gore --length "1/4 of 33in" --wide "3 1/4 in" --narrow 2cm --allowance "1/4 in"
        cushion has its piece gore: 224 × 97 mm when cut, either way, seen.
      fent pattern add bag flap --points "0,0 31,0 31,18 0,16 cm" --allowance "1 cm; 1 cm; 0; 1 cm" --one-way
        bag has its piece flap: 330 × 191 mm when cut, one way, seen.
      fent pattern add bag pocket --points "0,0 9,0 8,20 0,20 cm" --fold "side 4" --allowance "1cm; side 3: 3cm"
        bag has its piece pocket: 201 × 240 mm when cut, either way, seen.
    """
    from stash import Workroom
    from stash.words import Grain

    from . import piecing

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    into = questions.needed(pattern, "PATTERN", "the pattern; a new one if the name is new", "Pattern")
    called = questions.needed(piece, "PIECE", "the name of the piece", "Piece")
    asks = questions.at_a_terminal() and points is None and None in (length, wide, narrow)
    if asks:
        length, wide, narrow, points = _ask_shape(length, wide, narrow)
        if points is None:
            drawn = questions.pick("Those widths are on", ["sewing line", "cut line"], "sewing line").removesuffix(" line")
            count = questions.ask("How many are sewn into a ring", reading.a_number, "1")
    told = piecing.PieceTold(
        length, wide, narrow, ends, length_at, drawn, count, points, sides, _allowance(allowance, asks), corners
    )
    new = replace(
        piecing.shaped(told, called),
        grain_angle=grain_angle,
        fold=fold,
        one_way=one_way,
        left_and_right=left_and_right,
        hidden=hidden,
        off_grain=off_grain,
        notches=tuple(piecing.a_notch(text) for text in notches or []),
        joins=tuple(piecing.a_join(text) for text in joins or []),
        join_zones=tuple(striping.a_zone(text) for text in zones or []),
        anchor=striping.an_anchor(anchor) if anchor else None,
        grain=reading.one_of(Grain, lies, "--lies"),
        front=front,
    )
    with Workroom.open(workroom) as opened:
        kept = put_in(opened, into, new)
    voice.data(kept)
    said_in_short(kept, voice)


def put_in(opened: Workroom, into: str, new: NewPiece) -> Piece:
    """Put a piece into a pattern, which is made if there is none of that name."""
    from stash import patterns
    from stash.refusals import Unknown

    with opened.writing():
        try:
            patterns.get(opened, into)
        except Unknown:
            return patterns.add(opened, into, [new]).pieces[0]
        return patterns.add_piece(opened, into, new)


def said_in_short(kept: Piece, voice: Voice) -> None:
    """A new piece, in one line; and for panels that are sewn into a ring, what to look at next."""
    left, low, right, high = kept.cut_line.bounds
    size = voice.shown.size(right - left, high - low)
    voice.aside(f"{kept.pattern} has its piece {kept.name}: {size} when cut, {how_it_lies(kept)}.")
    if kept.draft is not None and kept.count > 1 and kept.draft.wide > kept.draft.narrow:
        command = f"fent pattern ring {quoted(kept.pattern)} {quoted(kept.name)}"
        voice.next_steps((command, f"the ring that {kept.count} of them make, and how smoothly its edges run"))


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
    from . import piecing

    said = piecing.edge_by_edge(answer, piecing.ALLOWANCE_EXPECTED, "--allowance")
    for text in filter(None, [said.every, *said.each, *said.named.values()]):
        reading.of_option(reading.a_margin, text, "--allowance")
    return answer


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
    from stash import Workroom, joins, patterns

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
                ("edges", _edges(piece, voice)),
                ("notches", ", ".join(_notch(notch, voice) for notch in piece.notches)),
                ("made of two", many(len(piece.joins), "join") + " permitted" if piece.joins else ""),
                ("but no lay joins", "; ".join(joins.hindrances(piece)) if piece.joins or piece.join_zones else ""),
                ("joined from two", striping.zones_in_words(piece, voice.shown)),
                ("on a stripe", striping.anchor_in_words(piece, voice.shown)),
                ("on the fold", "half of it is drawn" if piece.fold else ""),
                ("lies", how_it_lies(piece)),
                ("count", str(piece.count) if piece.count > 1 else ""),
                ("drafted", _measures(piece, voice)),
            ]
        )
        voice.line()
    if file:
        from .drawn import pattern_page

        pattern_page(found, voice.shown).save(file)
        voice.aside(f"The picture is in {file}.")


def _edges(piece: Piece, voice: Voice) -> str:
    """Each edge with its sewn length, and how its allowance ends where that is not in a mitre."""
    from stash.piece_lines import edge_lines

    lines = edge_lines(piece)
    return ", ".join(
        f"{edge.name} {voice.shown.length(lines[edge.name].length)}{'' if edge.finish == 'mitre' else f' ({edge.finish})'}"
        for edge in piece.edges
    )


def _notch(notch: Notch, voice: Voice) -> str:
    return f"{notch.edge} at {voice.shown.length(notch.at)}{'' if notch.marks == 1 else f' × {notch.marks}'}"


def _measures(piece: Piece, voice: Voice) -> str:
    """The measures of a tapered panel, and what they are measures of."""
    draft, shown = piece.draft, voice.shown
    if draft is None:
        return ""
    return (
        f"{shown.length(draft.length)} at the {draft.at}, ends of {shown.length(draft.wide)} and {shown.length(draft.narrow)} "
        f"on the {draft.on} line, {draft.ends}"
    )


def how_it_lies(piece: Piece) -> str:
    """How a piece may lie on the cloth, in words."""
    return ", ".join(
        filter(
            None,
            [
                ""
                if piece.grain == "warp-wise"
                else {"bias": "on the bias", "either bias": "on either bias"}.get(piece.grain, str(piece.grain)),
                "one way" if piece.one_way else "either way",
                f"up to {piece.off_grain:g}° off grain" if piece.off_grain else "",
                "left and right" if piece.left_and_right else "",
                "hidden" if piece.hidden else "at the front" if piece.front else "seen",
            ],
        )
    )


app.command("ring", cls=commands.Command)(sewing.ring)
app.command("resize", cls=commands.Command)(sewing.resize)
app.command("in-two", cls=commands.Command)(sewing.in_two)
app.command("sew", cls=commands.Command)(sewing.sew)
app.command("unpick", cls=commands.Command)(sewing.unpick)
app.command("prove", cls=commands.Command)(sewing.prove)
app.command("paper", cls=commands.Command)(papering.pattern_paper)
app.command("add-many", cls=commands.Command)(bringing.add_many_pieces)
app.command("to-table", cls=commands.Command)(bringing.pieces_to_table)
app.command("from-drawing", cls=commands.Command)(drawings_in.pieces_in)
app.command("to-drawing", cls=commands.Command)(drawings_out.pieces_out)
app.command("trace", cls=commands.Command)(piece_tracing.trace)
