"""`fent bin add-many` and `to-table`, `fent pattern add-many` and `to-table`: many at once, from tables and into them."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import typer

from . import options, reading
from .saying import Voice, many

if TYPE_CHECKING:
    from stash.table_rows import RowFault

Told = TypeVar("Told")
Table = Annotated[Path, typer.Argument(metavar="FILE", help="The table: CSV, or JSON Lines.", show_default=False)]
NewTable = Annotated[Path, typer.Argument(metavar="FILE", help="Where to: a name that ends in jsonl.", show_default=False)]


def add_many(
    file: Table,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Log many remnants and envelopes from a table.

    A table as a spreadsheet saves it (CSV), with a first line that names the columns, in any order: tag and cloth, which must
    be there; kind (rough unless said, rectangle, corners, drawing or envelope), length, width, corners, drawing, edges,
    faults, grain angle, face, nap, place, washed, mass, lot, source, came on, price, skew, note. Faults are parted by |; a
    drawing is a file beside the table. Or JSON Lines, an object a line with the same names. If anything in it is wrong, all
    that is wrong is told by row, and nothing is logged.

    \b
    Example:
      fent bin add-many remnants.csv
        2 remnants and 1 envelope from remnants.csv logged.
    \b
    The table:
      tag,cloth,kind,length,width,mass,place
      N-21,navy linen,,58cm,31cm,,drawer 2
      N-22,navy linen,rectangle,24 1/2 in,16 in,,drawer 2
      NE-1,navy linen,envelope,,,86 g,top shelf
    """
    from stash import Workroom, lists

    from .measuring import a_fault
    from .square import a_skew

    voice = Voice(as_json=as_json)
    text = _text_of(file)
    how = lists.Reading(
        length=_cell(reading.a_length),
        mass=_cell(reading.a_mass),
        price=_cell(reading.a_price),
        skew=_cell(lambda said: float(said) if BARE.fullmatch(said) else a_skew(said)),
        corners=_cell(reading.a_ring),
        fault=_cell(a_fault),
        drawing=lambda name: _drawn(file, name),
    )
    with Workroom.open(workroom, create=False) as opened:
        brought = lists.log(opened, text, reading=how, by=by)
    _tell(brought.faults, file, voice, "logged")
    voice.data(brought)
    envelopes = f" and {many(len(brought.envelopes), 'envelope')}" if brought.envelopes else ""
    voice.aside(f"{many(len(brought.remnants), 'remnant')}{envelopes} from {file} logged.")


def add_many_pieces(
    file: Table,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Add many pieces from a table.

    A table as a spreadsheet saves it (CSV), with a first line that names the columns, in any order: pattern, piece and
    corners, which must be there; drawn (sewing unless said, or cut), allowance, edges, fold, grain angle, notches, joins, one
    way, left and right, hidden, off grain, count, cut line. Notches and joins are parted by |. Or JSON Lines, an object a line
    with the same names. If anything in it is wrong, all that is wrong is told by row, and nothing is added.

    \b
    Example:
      fent pattern add-many pieces.csv
        2 pieces from pieces.csv added.
    \b
    The table:
      pattern,piece,corners,allowance,edges,notches,count
      bag,strap,"0,0 60,0 60,8 0,8 cm",1cm,,,2
      bag,pocket,"0,0 20,0 20,18 0,18 cm",1cm; top: 3cm,bottom; right; top; left,right at 9cm,1
    """
    from stash import Workroom, piece_lists

    from . import piecing

    voice = Voice(as_json=as_json)
    text = _text_of(file)
    how = piece_lists.Reading(
        corners=_cell(reading.a_ring),
        allowances=lambda text, names: _cell(lambda said: piecing.allowances(said, names))(text),
        notch=_cell(piecing.a_notch),
        join=_cell(piecing.a_join),
    )
    with Workroom.open(workroom) as opened:
        brought = piece_lists.add(opened, text, how)
    _tell(brought.faults, file, voice, "added")
    voice.data(brought)
    voice.aside(f"{many(len(brought.pieces), 'piece')} from {file} added.")


def remnants_to_table(
    file: NewTable,
    tags: Annotated[list[str], typer.Argument(metavar="TAG", help="The remnants.", show_default=False)],
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
) -> None:
    """Write remnants as a table.

    As JSON Lines, an object a line, which `fent bin add-many` reads: on the grain, right side up, in mm and g, to the last
    digit.

    \b
    Example:
      fent bin to-table linen.jsonl N-01 N-02
        2 remnants are in linen.jsonl.
    """
    from stash import Workroom, lists, remnants

    _a_table(file, write_over)
    with Workroom.open(workroom, create=False) as opened:
        text = lists.written([remnants.get(opened, tag) for tag in tags])
    _write(file, text, "remnant")


def pieces_to_table(
    pattern: Annotated[str, typer.Argument(metavar="PATTERN", help="The pattern.", show_default=False)],
    file: NewTable,
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
) -> None:
    """Write a pattern as a table.

    As JSON Lines, an object a line, which `fent pattern add-many` reads: the grain along x, in mm, to the last digit. What has
    no column there (the measures of a tapered panel, stripes, seams) stays behind.

    \b
    Example:
      fent pattern to-table bag bag.jsonl
        2 pieces are in bag.jsonl.
    """
    from stash import Workroom, patterns, piece_lists

    _a_table(file, write_over)
    with Workroom.open(workroom, create=False) as opened:
        text = piece_lists.written(patterns.get(opened, pattern).pieces)
    _write(file, text, "piece")


def _a_table(file: Path, write_over: bool) -> None:
    if file.suffix.lower() != ".jsonl":
        raise reading.Unreadable(f"{str(file)!r} is no name for it", "a name that ends in .jsonl", "FILE")
    reading.a_new_file(file, write_over, "FILE")


def _write(file: Path, text: str, what: str) -> None:
    file.write_text(text, encoding="utf-8", newline="\n")
    count = text.count("\n")
    Voice().aside(f"{many(count, what)} {'is' if count == 1 else 'are'} in {file}.")


def _tell(faults: Sequence[RowFault], file: Path, voice: Voice, done: str) -> None:
    """All that is wrong with a table. Raises Refused if anything is."""
    from stash import Refused

    for fault in faults:
        voice.aside(f"{str(fault)[:1].upper()}{str(fault)[1:]}.")
    if faults:
        raise Refused(
            f"nothing was {done}, because of {many(len(faults), 'mistake')} in {file}",
            where=str(file),
            expected="a table in which every row can be read",
            next="put it right and bring the whole table again",
        )


def _drawn(table: Path, name: str) -> Any:
    """The one remnant in a drawing beside a table. Raises Refused."""
    from stash import Refused, drawing_files, drawn_remnants, line_roles, strange_files

    found = drawing_files.read(strange_files.inside(table.parent, name))
    known = line_roles.sort_out(found.lines)
    if known.untold:
        raise Refused(
            f"in {name} it is not said what these lines are: {'; '.join(map(str, known.untold[:3]))}",
            expected="layers called outline, hole, stain, selvedge, grain …",
        )
    drawn = drawn_remnants.remnants(found, known.lines)
    if len(drawn) != 1:
        raise Refused(f"{name} holds {many(len(drawn), 'outline')}", expected="a drawing of one remnant")
    return drawn[0]


def _text_of(file: Path) -> str:
    from stash import Refused, strange_files

    try:
        return strange_files.contents(file, "FILE").decode("utf-8-sig")
    except UnicodeDecodeError:
        raise Refused(
            f"{str(file)!r} is not written in UTF-8",
            where="FILE",
            expected="a table saved as CSV, in UTF-8",
            next="save it so from the spreadsheet",
        ) from None


BARE = re.compile(r"\s*[-+]?\d+(\.\d+)?(e-?\d+)?\s*")
"""A skew without a word beside it is in degrees, as the grain angle of a table is."""


def _cell(read: Callable[[str], Told]) -> Callable[[str], Told]:
    """A reader of an option as a reader of a table's cell: it raises what the stash knows."""
    from stash import Refused

    def of_cell(text: str) -> Told:
        try:
            return read(text)
        except reading.Unreadable as fault:
            raise Refused(fault.what, expected=fault.expected) from None

    return of_cell
