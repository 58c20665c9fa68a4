"""`fent lay paper`, `lay to-drawing` and `pattern paper`: lays and pieces at true scale, on paper or as a drawing."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import drawings_out, options, printing, reading
from .saying import Voice, many

if TYPE_CHECKING:
    from stash.dockets import SheetDocket
    from stash.lays import Lay
    from stash.patterns import Piece

    from .papers import Paper
    from .shown import Shown
    from .true_scale import Drawn

MOST_LAP = 60.0

Number = Annotated[int, typer.Argument(metavar="LAY", parser=reading.a_number, help="The lay's number.", show_default=False)]
Only = Annotated[list[str] | None, typer.Option("--only", metavar="TAG", help="This remnant and no other. Again for more.")]
Lap = Annotated[
    float,
    typer.Option("--lap", metavar="LENGTH", parser=reading.a_margin, help="How far pages lap over each other."),
]
Whole = Annotated[bool, typer.Option("--whole", help="Each on one page as large as it is, for a plotter or a projector.")]


def lay_paper(
    number: Number,
    file: options.PaperFile = None,
    paper: options.OnPaper = "A4",
    lap: Lap = 15.0,
    whole: Whole = False,
    only: Only = None,
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
    show_in: options.ShowIn = "mm",
) -> None:
    """Print a lay at true scale.

    Each remnant with its panels as they lie, their numbers, grain and notches, and what is left for the bin. It goes over as
    many pages as it needs, with a map of them, crop marks, and crosses that meet where pages lap. Each page has a ruler of
    100 mm, and there are test squares of 50 mm and of 2 in: measure them before anything is cut.

    \b
    Example:
      fent lay paper 1 --paper A3
        Lay 1 for wheel cushion, at true scale, is in lay-1.pdf, 9 pages. Print it at actual size (100 %).
    """
    from .true_scale import Drawn

    voice = Voice(show_in=show_in)
    target = printing.a_file(file, f"lay-{number}.pdf", write_over)
    on = _paper(paper, lap)
    title, dockets = _dockets(number, only, workroom)
    from stash import lay_drawings

    drawn = []
    for docket in dockets:
        remnant = docket.sheet.remnant
        size, held = voice.shown.size(remnant.length, remnant.width), many(len(docket.panels), "panel")
        up = "wrong side up" if docket.stack and docket.stack.plies[0].lie.flipped else "right side up"
        if docket.stack:
            held = f"{remnant.tag} on top, {many(len(docket.panels), 'tracing')}"
        about = f"{remnant.cloth.name}, {size}, {held}; {up}, the grain as the arrows show"
        drawn.append(Drawn(f"{title}: {docket.called}", about, lay_drawings.of_sheet(docket)))
    _print(voice, title, drawn, target, on, lap, whole, write_over)


def lay_to_drawing(
    number: Number,
    file: drawings_out.NewFile,
    only: Only = None,
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
) -> None:
    """Write a lay as a drawing.

    At true scale, in mm, for a plotter, a cutter or another program: its remnants beside each other, on the grain and right
    side up, each panel with its lines, grain and notches in a group (SVG) or block (DXF) of its number and name.

    \b
    Example:
      fent lay to-drawing 1 lay-1.dxf
        Lay 1 for wheel cushion is in lay-1.dxf, at true scale: 2 remnants, beside each other.
    """
    from stash import lay_drawings

    drawings_out.a_drawing(file, write_over)
    title, dockets = _dockets(number, only, workroom)
    drawings_out.write(lay_drawings.of_lay(title, dockets), file)
    beside = ", beside each other" if len(dockets) > 1 else ""
    stacks = sum(docket.stack is not None for docket in dockets)
    held = f"{many(stacks, 'stack')} and " if stacks else ""
    Voice().aside(f"{title} is in {file}, at true scale: {held}{many(len(dockets) - stacks, 'remnant')}{beside}.")


def pattern_paper(
    pattern: Annotated[str, typer.Argument(metavar="PATTERN", help="The pattern.", show_default=False)],
    file: options.PaperFile = None,
    pieces: Annotated[
        list[str] | None, typer.Option("--piece", metavar="PIECE", help="This piece and no other. Again for more.")
    ] = None,
    paper: options.OnPaper = "A4",
    lap: Lap = 15.0,
    whole: Whole = False,
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
    show_in: options.ShowIn = "mm",
) -> None:
    """Print the pieces of a pattern at true scale.

    Cut line, sewing line, grain, notches, fold and joins of each piece, and the small letters that chalk measures name. It
    goes over as many pages as it needs, with a map of them, crop marks, and crosses that meet where pages lap. Each page has a
    ruler of 100 mm, and there are test squares of 50 mm and of 2 in: measure them before anything is cut.

    \b
    Example:
      fent pattern paper cushion --piece wedge --paper Letter
        cushion, at true scale, is in cushion.pdf. Print it at actual size (100 %).
    """
    from stash import CannotBeDone, Workroom, patterns

    voice = Voice(show_in=show_in)
    target = printing.a_file(file, f"{pattern}.pdf".replace("/", "-"), write_over)
    on = _paper(paper, lap)
    with Workroom.open(workroom, create=False) as opened:
        found = patterns.get(opened, pattern)
        named = [patterns.piece(opened, pattern, name).name for name in pieces or ()]
    chosen = [piece for piece in found.pieces if not named or piece.name in named]
    if not chosen:
        raise CannotBeDone(f"{found.name} has no piece yet", where="pattern", next=f"fent pattern add {found.name} PIECE")
    _print(
        voice, found.name, [_of_piece(piece, found.name, voice.shown) for piece in chosen], target, on, lap, whole, write_over
    )


def _dockets(number: int, only: Sequence[str] | None, workroom: str | None) -> tuple[str, list[SheetDocket]]:
    """What a lay is called, and its remnants with all that lies on them."""
    from stash import Workroom, dockets

    with Workroom.open(workroom, create=False) as opened:
        lay, every = dockets.docket(opened, number)
    tags = _tags(lay, only)
    return f"Lay {number} for {lay.job}", [docket for docket in every if docket.sheet.remnant.tag in tags]


def _of_piece(piece: Piece, pattern: str, shown: Shown) -> Drawn:
    """A piece with the letters of its marks inside its corners."""
    from stash import drawings

    from .true_scale import Drawn, lettered

    left, low, right, high = piece.cut_line.bounds
    hands = ", left and right (drawn: left)" if piece.left_and_right else ""
    fold = ", half of it drawn, on the fold" if piece.fold else ""
    about = f"{shown.size(right - left, high - low)} when cut; cut {piece.count}{hands}{fold}"
    return Drawn(f"{pattern}: {piece.name}", about, (drawings.of_piece(piece),), lettered(piece.cut_line))


def _print(
    voice: Voice, title: str, drawn: Sequence[Drawn], target: Path, on: Paper, lap: float, whole: bool, write_over: bool
) -> None:
    from stash import CannotBeDone

    from . import true_scale

    try:
        papers = true_scale.unbroken(title, drawn) if whole else true_scale.tiled(title, drawn, on, lap)
    except ValueError as fault:
        raise CannotBeDone(str(fault), where=title, next="Leave out --whole, or name one with --only or --piece") from None
    printing.put_down(voice, papers, target, write_over, f"{title}, at true scale,")


def _paper(told: str, lap: float) -> Paper:
    """The paper, large enough for such laps. Raises Unreadable."""
    from .tiles import LEAST, window_of

    paper = printing.a_paper(told)
    sides = (*window_of(paper)[2:], *window_of(paper.broad)[2:])
    most = min(MOST_LAP, *(side - LEAST for side in sides))
    if lap > most:
        raise reading.Unreadable(f"a lap of {lap:g} mm is too much", f"0 to {most:g} mm on {paper.name}", "--lap")
    return paper


def _tags(lay: Lay, only: Sequence[str] | None) -> set[str]:
    """The remnants that are asked for. Raises Unreadable for one that the lay does not use."""
    used = [sheet.remnant.tag for sheet in lay.sheets if not sheet.dropped]
    asked = [" ".join(tag.split()).upper() for tag in only or ()]
    for tag in asked:
        if tag not in used:
            raise reading.Unreadable(f"lay {lay.number} does not use {tag}", f"one of: {', '.join(used)}", "--only")
    return set(asked or used)
