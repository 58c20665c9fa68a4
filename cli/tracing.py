"""`fent bin trace`, `trace-many` and `scale-sheet`: remnants off photographs."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import options, questions, reading
from .adding import is_logged
from .measuring import a_fault
from .photograph_pictures import Shown
from .saying import Voice, many
from .traced import (
    Beside,
    Grain,
    Looks,
    OnlyLook,
    Photograph,
    Square,
    Tolerance,
    agreed,
    beside_what,
    in_short,
    picture_file,
    read,
    say_how_sure,
    show,
)

if TYPE_CHECKING:
    from stash.camera import Seen
    from stash.remnants import NewRemnant, Remnant
    from stash.tracing import Shot

    from .traced import Traced


def scale_sheet(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The sheet to write: a PDF.", show_default=False)],
    letter: Annotated[bool, typer.Option("--letter", help="For letter paper (8 1/2 x 11 in) in place of A4.")] = False,
    number: Annotated[
        int | None,
        typer.Option("--number", metavar="NUMBER", parser=reading.a_number, help="Only sheet 1, 2, 3 or 4; else 1 and 2."),
    ] = None,
    write_over: options.WriteOver = False,
) -> None:
    """Print a scale sheet.

    It lies beside a scrap that is photographed, and gives it its scale. Print it at actual size (100 %, not fitted to the
    page) and measure its square: 100 mm each way. One sheet will do; with two (of different numbers) on opposite sides of a
    large scrap it is measured more surely. Lay them flat, with their long side along the grain.

    \b
    Example:
      fent bin scale-sheet scale-sheet.pdf
        Scale sheets 1 and 2 are in scale-sheet.pdf. Print them at actual size, and measure the square: 100 mm.
    """
    from stash.camera import sheet

    from .scale_paper import write_sheets

    if file.suffix.lower() != ".pdf":
        raise reading.Unreadable(f"{str(file)!r} does not end in .pdf", "a name that ends in .pdf", "FILE")
    if number is not None and not 1 <= number <= sheet.SHEETS:
        raise reading.Unreadable(f"there is no sheet {number}", f"1 to {sheet.SHEETS}", "--number")
    to = reading.a_new_file(file, write_over, "FILE")
    numbers = [1, 2] if number is None else [number]
    write_sheets(to, numbers, letter=letter)
    voice = Voice()
    which = "Scale sheets 1 and 2 are" if number is None else f"Scale sheet {number} is"
    them = "them" if number is None else "it"
    voice.aside(f"{which} in {file}. Print {them} at actual size, and measure the square: 100 mm.")


def trace(
    tag: Annotated[str, typer.Argument(metavar="TAG", help="The tag that is pinned to it.", show_default=False)],
    photograph: Photograph,
    cloth: Annotated[str | None, typer.Option("--cloth", metavar="NAME", help="Which cloth it is.")] = None,
    again: Annotated[
        bool, typer.Option("--again", help="It is logged already: measure it again. What else is known of it stays.")
    ] = False,
    beside: Beside = "sheet",
    square: Square = 100.0,
    tolerance: Tolerance = 0.8,
    grain: Grain = "",
    edges: options.Edges = "cut",
    wrong_side_up: options.WrongSideUp = False,
    nap: options.Nap = None,
    faults: options.Faults = None,
    place: options.Kept = "",
    washed: Annotated[str, typer.Option("--washed", metavar="HOW", help="How it was washed, if it was.")] = "",
    mass: options.Mass = None,
    source: options.Source = "found",
    came_on: options.CameOn = None,
    price: options.Price = None,
    note: options.Note = "",
    picture: Looks = None,
    write_over: options.WriteOver = False,
    look: OnlyLook = False,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Log a remnant off a photograph.

    Lay it smooth and flat on a table of another tone, a scale sheet beside it (fent bin scale-sheet prints one), or a sheet of
    A4 or a bank card; photograph all of it from above. Its outline and its holes are found, with what they may be out by; the
    photograph is kept with it. The grain runs along the long side of the scale, unless --grain says otherwise. At a terminal
    what was found is drawn, and asked about, before it is kept; --look only shows it.

    \b
    Example:
      fent bin trace N-31 N-31.jpg --cloth "navy linen" --picture N-31-found.jpg --by AK
        N-31 is logged: navy linen, 496 × 318 mm, 1208 cm², 22.3 g by its area.
        By the photograph: corners within ± 0.9 mm, area ± 4 cm².
        …
    """
    from stash import Workroom, remnants, tracing
    from stash.measuring import Measures
    from stash.words import Face, Nap, Source

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    file = picture_file(picture, write_over) if picture else None
    told = {"--cloth": cloth, "--place": place, "--washed": washed, "--came-on": came_on, "--price": price}
    if again:
        _nothing_else(tag, [option for option, said in told.items() if said])
    elif not look and not (cloth or "").strip():
        raise questions.missing("--cloth", "which cloth it is: fent cloth list")
    traced = read(photograph, beside, tolerance, square, grain, edges)
    show(traced, tag.upper(), voice, file, look=look)
    if look:
        return
    agreed()
    who = options.whose(by)
    found = traced.found
    by_what = f"{photograph.name}, beside {beside_what(traced.seen)}"
    every_fault = (*tracing.holes_of(traced.seen), *(a_fault(text) for text in faults or []))
    face = Face.WRONG if wrong_side_up else Face.RIGHT
    which_nap = reading.one_of(Nap, nap, "--nap") if nap is not None else None
    with Workroom.open(workroom, create=False) as opened:
        if again:
            measures = Measures(
                outline=found.measured,
                grain_angle=found.grain_angle,
                grain_by=found.grain_by,
                told=by_what,
                face_up=face,
                nap=which_nap,
                faults=every_fault,
                mass=mass,
            )
            remnant = tracing.measure_again(opened, tag, measures, photograph, by=who, note=note)
        else:
            new = remnants.NewRemnant(
                tag=tag,
                cloth=cloth or "",
                outline=found.measured,
                grain_angle=found.grain_angle,
                grain_by=found.grain_by,
                face_up=face,
                nap=which_nap,
                faults=every_fault,
                place=place,
                washed=washed,
                mass=mass,
                source=reading.one_of(Source, source, "--source"),
                price=price,
                came_on=options.day(came_on, "--came-on"),
                note=note,
                told=by_what,
            )
            remnant = tracing.log(opened, [(new, photograph)], by=who)[0]
    voice.data(remnant)
    said = is_logged(remnant, voice)
    voice.aside(said.replace(" is logged", " is measured again", 1) if again else said)
    say_how_sure(traced, voice)


def _nothing_else(tag: str, told: Sequence[str]) -> None:
    """Refuse what is told of a remnant that is only to be measured again. Raises Unreadable."""
    if told:
        raise reading.Unreadable(
            f"{', '.join(told)}: it is only measured again",
            "with --again nothing but what is measured",
            "--again",
            f"fent bin mend {tag.upper()} tells it",
        )


def trace_many(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="The photographs, each called by its tag: N-12.jpg.", show_default=False)
    ],
    cloth: Annotated[str | None, typer.Option("--cloth", metavar="NAME", help="Which cloth they are.")] = None,
    sheet: Annotated[
        Path | None,
        typer.Option("--sheet", metavar="FILE", help="All of them on one sheet, with what was found (jpg, png or pdf)."),
    ] = None,
    those_found: Annotated[
        bool, typer.Option("--those-found", help="Log those that can be read, even where others cannot.")
    ] = False,
    beside: Beside = "sheet",
    square: Square = 100.0,
    tolerance: Tolerance = 0.8,
    grain: Grain = "",
    wrong_side_up: options.WrongSideUp = False,
    nap: options.Nap = None,
    place: options.Kept = "",
    write_over: options.WriteOver = False,
    look: OnlyLook = False,
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Log a folder of photographs.

    Remnants of one cloth, each photographed alone beside the scale, each photograph called by its tag. What is wrong with any
    is told, and then nothing is logged, unless --those-found says that the others may be. Look at the sheet of all of them
    first: --look --sheet.

    \b
    Example:
      fent bin trace-many drawer-3 --cloth "navy linen" --look --sheet drawer-3.pdf
        …
    """
    from stash import Refused, Workroom, tracing

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    file = picture_file(sheet, write_over, "--sheet") if sheet else None
    if not look and not (cloth or "").strip():
        raise questions.missing("--cloth", "which cloth they are: fent cloth list")
    shots = tracing.in_folder(folder)
    news: list[tuple[NewRemnant, Path]] = []
    shown: list[Shown] = []
    rows: list[list[str]] = []
    not_read = 0
    for shot in shots:
        try:
            traced = read(shot.file, beside, tolerance, square, grain, "cut")
        except Refused as fault:
            not_read += 1
            voice.aside(f"{shot.file.name}: {fault.what}. {fault.next or fault.expected}.")
            rows.append([shot.tag, "not read", "", fault.what])
            shown.append(_thumb_of(None, shot.file, shot.tag, fault.what, 0.0))
            continue
        words = in_short(traced, voice)
        rows.append([shot.tag, words[0], words[1], words[2]])
        if file:
            shown.append(_thumb_of(traced.seen, shot.file, shot.tag, ", ".join(filter(None, words)), traced.found.grain_angle))
        news.append((_new(traced, shot, cloth or "", wrong_side_up, nap, place), shot.file))
    if file:
        from .photograph_pictures import save_sheet

        save_sheet(shown, file)
        voice.aside(f"All of them are in {file}.")
    if look:
        voice.data([{"tag": row[0], "found": row[1] != "not read", "said": row[1:]} for row in rows])
        voice.table(["tag", "size", "area", "corners"], rows)
        return
    if not_read and not those_found:
        raise Refused(
            f"nothing was logged: {many(not_read, 'photograph')} of {len(shots)} could not be read",
            where=str(folder),
            expected="photographs that can all be read",
            next="take those again, or log the others alone with --those-found",
        )
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        logged = tracing.log(opened, news, by=who)
    _say_logged(logged, not_read, voice)


def _say_logged(logged: Sequence[Remnant], not_read: int, voice: Voice) -> None:
    voice.data(logged)
    for remnant in logged:
        voice.aside(is_logged(remnant, voice))
    left = f"; {many(not_read, 'photograph')} could not be read" if not_read else ""
    voice.aside(f"{many(len(logged), 'remnant')} logged{left}.")


def _new(traced: Traced, shot: Shot, cloth: str, wrong_side_up: bool, nap: str | None, place: str) -> NewRemnant:
    """A remnant of a folder of photographs."""
    from stash import remnants, tracing
    from stash.words import Face, Nap

    return remnants.NewRemnant(
        tag=shot.tag,
        cloth=cloth,
        outline=traced.found.measured,
        grain_angle=traced.found.grain_angle,
        grain_by=traced.found.grain_by,
        face_up=Face.WRONG if wrong_side_up else Face.RIGHT,
        nap=reading.one_of(Nap, nap, "--nap") if nap is not None else None,
        faults=tracing.holes_of(traced.seen),
        place=place,
        told=f"{shot.file.name}, beside {beside_what(traced.seen)}",
    )


def _thumb_of(seen: Seen | None, file: Path, title: str, words: str, grain: float) -> Shown:
    from .photograph_pictures import THUMB, looked_at, not_read

    return not_read(file, title, words, THUMB) if seen is None else looked_at(seen, grain, title, words, THUMB)
