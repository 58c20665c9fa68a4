"""`fent pattern to-drawing` and `fent bin to-drawing`: pieces and remnants as SVG and DXF at true scale."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import options, reading
from .saying import Voice, many

if TYPE_CHECKING:
    from stash.drawings import Drawing, Part

KINDS = (".svg", ".dxf")
NewFile = Annotated[Path, typer.Argument(metavar="FILE", help="Where to: svg or dxf.", show_default=False)]


def pieces_out(
    pattern: Annotated[str, typer.Argument(metavar="PATTERN", help="The pattern.", show_default=False)],
    file: NewFile,
    names: Annotated[
        list[str] | None, typer.Option("--piece", metavar="NAME", help="Only this piece. Again for another.")
    ] = None,
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
) -> None:
    """Write a pattern as a drawing.

    At true scale, in mm, for a plotter, a cutter or another program: cut line and sewing line, grain line, notches, fold and
    joins, each piece in a group (SVG) or block (DXF) of its name. In a DXF the lines are on the layers of ASTM D6673. Read
    again by Fent it is the same pattern.

    \b
    Example:
      fent pattern to-drawing bag bag.svg
        2 pieces of bag are in bag.svg, at true scale.
    """
    from stash import Workroom, drawings, patterns

    a_drawing(file, write_over)
    with Workroom.open(workroom, create=False) as opened:
        every = patterns.get(opened, pattern).pieces if not names else ()
        pieces = every or tuple(patterns.piece(opened, pattern, name) for name in names or [])
    _write([drawings.of_piece(piece) for piece in pieces], pattern, file, f"{many(len(pieces), 'piece')} of {pattern}")


def remnants_out(
    file: NewFile,
    tags: Annotated[list[str], typer.Argument(metavar="TAG", help="The remnants.", show_default=False)],
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
) -> None:
    """Write remnants as a drawing.

    At true scale, in mm, on the grain and right side up: outline, holes, flaws, selvedges and raw edges, each remnant in a
    group (SVG) or block (DXF) of its tag.

    \b
    Example:
      fent bin to-drawing linen.dxf N-01 N-02
        2 remnants are in linen.dxf, at true scale.
    """
    from stash import Workroom, drawings, remnants

    a_drawing(file, write_over)
    with Workroom.open(workroom, create=False) as opened:
        found = [remnants.get(opened, tag) for tag in tags]
    _write([drawings.of_remnant(each) for each in found], "Remnants", file, many(len(found), "remnant"))


def a_drawing(file: Path, write_over: bool) -> None:
    """Refuse what can be no drawing's file, or is there already and not to be written over. Raises Unreadable."""
    if file.suffix.lower() not in KINDS:
        raise reading.Unreadable(
            f"{str(file)!r} does not end in a kind of drawing", f"a name that ends in {' or '.join(KINDS)}", "FILE"
        )
    reading.a_new_file(file, write_over, "FILE")


def _write(parts: list[Part], title: str, file: Path, what: str) -> None:
    from stash import CannotBeDone, drawings

    if not parts:
        raise CannotBeDone("there is nothing in it to draw", where=title)
    write(drawings.Drawing(title, drawings.beside(parts)), file)
    Voice().aside(f"{what} {'is' if len(parts) == 1 else 'are'} in {file}, at true scale.")


def write(drawing: Drawing, file: Path) -> None:
    """Write a drawing as the end of the file's name says."""
    from stash import drawing_files

    file.write_text(drawing_files.written(drawing, file.suffix), encoding="utf-8", newline="\n")
