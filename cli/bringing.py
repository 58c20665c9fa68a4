"""`fent bin add-many`: many remnants and envelopes logged at once, from a table."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Annotated, TypeVar

import typer

from . import options, reading
from .saying import Voice, many

Figure = TypeVar("Figure", int, float)


def add_many(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The table, saved as CSV.", show_default=False)],
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
) -> None:
    """Log many remnants and envelopes from a table.

    A table as a spreadsheet saves it (CSV), with a first line that names the columns, in any order: tag and cloth, which must
    be there; kind (rough unless said, rectangle, or envelope), length, width, edges, nap, place, washed, mass, lot, source,
    came on, price, note. If anything in it is wrong, all that is wrong is told by row, and nothing is logged.

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
    from stash import Refused, Workroom, lists

    voice = Voice(as_json=as_json)
    text = _text_of(file)
    how = lists.Reading(length=_cell(reading.a_length), mass=_cell(reading.a_mass), price=_cell(reading.a_price))
    with Workroom.open(workroom, create=False) as opened:
        brought = lists.log(opened, text, reading=how, by=by)
    if brought.faults:
        for fault in brought.faults:
            voice.aside(f"{str(fault)[:1].upper()}{str(fault)[1:]}.")
        raise Refused(
            f"nothing was logged, because of {many(len(brought.faults), 'mistake')} in {file}",
            where=str(file),
            expected="a table in which every row can be read",
            next="put it right and bring the whole table again",
        )
    voice.data(brought)
    envelopes = f" and {many(len(brought.envelopes), 'envelope')}" if brought.envelopes else ""
    voice.aside(f"{many(len(brought.remnants), 'remnant')}{envelopes} from {file} logged.")


def _text_of(file: Path) -> str:
    from stash import Refused

    expected, following = "a table saved as CSV, in UTF-8", "save it so from the spreadsheet"
    try:
        return file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise Refused(f"{str(file)!r} is not written in UTF-8", where="FILE", expected=expected, next=following) from None
    except OSError as fault:
        raise Refused(f"{str(file)!r} cannot be read: {fault.strerror}", where="FILE", expected=expected) from None


def _cell(read: Callable[[str], Figure]) -> Callable[[str], Figure]:
    """A reader of an option as a reader of a table's cell: it raises what the stash knows."""
    from stash import Refused

    def of_cell(text: str) -> Figure:
        try:
            return read(text)
        except reading.Unreadable as fault:
            raise Refused(fault.what, expected=fault.expected) from None

    return of_cell
