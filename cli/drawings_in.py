"""`fent pattern from-drawing` and `fent bin from-drawing`: pieces and remnants out of SVG and DXF files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import line_telling, options, questions, reading
from .line_telling import GrainAngle, LeftOut, Unit, Within
from .saying import Voice, many

if TYPE_CHECKING:
    from stash.drawings import Layer

DrawingFile = Annotated[Path, typer.Argument(metavar="FILE", help="The drawing: svg, svgz or dxf.", show_default=False)]
Look = Annotated[bool, typer.Option("--look", help="Only show what lines it holds; nothing is kept.")]


def pieces_in(
    pattern: Annotated[
        str, typer.Argument(metavar="PATTERN", help="The pattern; a new one if the name is new.", show_default=False)
    ],
    file: DrawingFile,
    names: Annotated[
        list[str] | None,
        typer.Option("--piece", metavar="NAME", help="What a piece is called, if not as in the drawing; from left to right."),
    ] = None,
    cut: line_telling.CutLines = None,
    sewing: line_telling.SewingLines = None,
    grain: line_telling.GrainLines = None,
    notches: line_telling.NotchLines = None,
    fold: line_telling.FoldLines = None,
    leave_out: LeftOut = None,
    unit: Unit = None,
    within: Within = 0.1,
    allowance: Annotated[
        float,
        typer.Option("--allowance", metavar="LENGTH", parser=reading.a_margin, help="Where one of the two lines is drawn."),
    ] = 0.0,
    grain_angle: GrainAngle = None,
    count: Annotated[
        int, typer.Option("--count", metavar="NUMBER", parser=reading.a_number, help="How many the pattern takes of each.")
    ] = 1,
    one_way: Annotated[bool, typer.Option("--one-way/--either-way", help="May they be turned head to foot?")] = False,
    left_and_right: Annotated[bool, typer.Option("--left-and-right", help="They come in two hands.")] = False,
    hidden: Annotated[bool, typer.Option("--hidden/--seen", help="Are they seen when worn?")] = False,
    look: Look = False,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Take pieces out of a drawing.

    Every piece of an SVG or DXF: its cut line, its sewing line or both, its grain line and notches; half a piece on a fold is
    made whole. What is what is read from the layers' names (cut, sewing, grain, notch, fold), or in a DXF from the numbers
    that ASTM D6673 gives them; of any other drawing say it, by layer or colour. All its pieces come in, or none.

    \b
    Example:
      fent pattern from-drawing apron apron.svg --cut "colour black" --grain "colour blue" --notches "colour red"
        apron has its piece bib: 280 × 220 mm when cut, either way, seen.
    """
    from stash import Workroom, drawn_pieces
    from stash.drawings import Layer

    from .pattern import said_in_short

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    given = {
        "--cut": cut,
        "--sewing": sewing,
        "--grain": grain,
        "--notches": notches,
        "--fold": fold,
        "--leave-out": leave_out,
    }
    layers: dict[str, Layer | None] = {
        "--cut": Layer.CUT,
        "--sewing": Layer.SEWING,
        "--grain": Layer.GRAIN,
        "--notches": Layer.NOTCH,
        "--fold": Layer.FOLD,
        "--leave-out": None,
    }
    said = line_telling.told(given, layers)
    found = line_telling.read_drawing(file, unit, within)
    if look:
        voice.data(found)
        line_telling.what_there_is(found, said, voice)
        line_telling.said_of_the_file(found, (), voice)
        return
    known = line_telling.sorted_out(found, said, layers, file)
    how = drawn_pieces.HowDrawn(
        allowance=allowance,
        grain_angle=line_telling.a_grain(grain_angle, known, shown_by=[Layer.GRAIN]),
        names=tuple(names or ()),
        one_way=one_way,
        left_and_right=left_and_right,
        hidden=hidden,
        count=count,
    )
    drawn = drawn_pieces.pieces(found, known.lines, how)
    with Workroom.open(workroom) as opened:
        kept = drawn_pieces.keep(opened, pattern, drawn)
    voice.data(kept)
    for piece in kept:
        said_in_short(piece, voice)
    line_telling.said_of_the_file(found, [what for each in drawn for what in each.left_out], voice)


def remnants_in(
    file: DrawingFile,
    cloth: Annotated[str | None, typer.Option("--cloth", metavar="NAME", help="Which cloth they are.")] = None,
    tags: Annotated[
        list[str] | None,
        typer.Option("--tag", metavar="TAG", help="The tag of a remnant, if not as in the drawing; from left to right."),
    ] = None,
    outline: line_telling.OutlineLines = None,
    holes: line_telling.HoleLines = None,
    flaws: line_telling.FlawLines = None,
    selvedge: line_telling.SelvedgeLines = None,
    raw: line_telling.RawLines = None,
    grain: line_telling.GrainLines = None,
    leave_out: LeftOut = None,
    unit: Unit = None,
    within: Within = 0.1,
    grain_angle: GrainAngle = None,
    wrong_side_up: Annotated[bool, typer.Option("--wrong-side-up", help="They are drawn wrong side up.")] = False,
    nap: options.Nap = None,
    place: options.Kept = "",
    washed: Annotated[str, typer.Option("--washed", metavar="HOW", help="How they were washed, if they were.")] = "",
    source: options.Source = "found",
    note: options.Note = "",
    look: Look = False,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Log remnants out of a drawing.

    Every outline of an SVG or DXF is a remnant, with the holes, flaws, selvedges and the grain line drawn on it. What is what
    is read from the layers' names (outline, hole, stain, selvedge, grain); of any other drawing say it, by layer or colour.
    All its remnants are logged, or none.

    \b
    Example:
      fent bin from-drawing scraps.svg --cloth "navy linen" --tag N-61 --raw "layer edge"
        N-61 is logged: navy linen, 300 × 200 mm, 597 cm², 11.0 g by its area.
    """
    from stash import Refused, Workroom, drawn_remnants, remnants
    from stash.drawings import Layer
    from stash.words import Face, Nap, Source

    from .adding import is_logged

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    layers: dict[str, Layer | None] = {
        "--outline": Layer.REMNANT,
        "--holes": Layer.HOLE,
        "--flaws": Layer.FLAW,
        "--selvedge": Layer.SELVEDGE,
        "--raw": Layer.RAW,
        "--grain": Layer.GRAIN,
        "--leave-out": None,
    }
    given = dict(zip(layers, (outline, holes, flaws, selvedge, raw, grain, leave_out), strict=True))
    said = line_telling.told(given, layers)
    found = line_telling.read_drawing(file, unit, within)
    if look:
        voice.data(found)
        line_telling.what_there_is(found, said, voice)
        line_telling.said_of_the_file(found, (), voice)
        return
    of = questions.needed(cloth, "--cloth", "which cloth they are", "Cloth")
    known = line_telling.sorted_out(found, said, layers, file)
    angle = line_telling.a_grain(grain_angle, known, shown_by=[Layer.GRAIN, Layer.SELVEDGE])
    drawn = drawn_remnants.remnants(found, known.lines, grain_angle=angle)
    if tags and len(tags) != len(drawn):
        raise Refused(
            f"{many(len(tags), 'tag')} for {many(len(drawn), 'outline')}",
            where="--tag",
            expected="one for each, from left to right",
        )
    with Workroom.open(workroom, create=False) as opened, opened.writing():
        kept = [
            remnants.log(
                opened,
                remnants.NewRemnant(
                    tag=tag,
                    cloth=of,
                    outline=each.outline,
                    faults=each.faults,
                    grain_angle=each.grain_angle,
                    grain_by=each.grain_by,
                    face_up=Face.WRONG if wrong_side_up else Face.RIGHT,
                    nap=reading.one_of(Nap, nap, "--nap") if nap is not None else None,
                    place=place,
                    washed=washed,
                    source=reading.one_of(Source, source, "--source"),
                    note=note,
                    told=f"drawn: {file.name}",
                ),
                by=by,
            )
            for tag, each in zip(tags or [each.name for each in drawn], drawn, strict=True)
        ]
    voice.data(kept)
    for remnant in kept:
        voice.aside(is_logged(remnant, voice))
    line_telling.said_of_the_file(found, [what for each in drawn for what in each.left_out], voice)
