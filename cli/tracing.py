"""`fent bin trace`, `trace-many` and `scale-sheet`, and `fent pattern trace`: outlines off photographs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import options, questions, reading
from .adding import is_logged
from .measuring import Understood, a_fault
from .photograph_pictures import KINDS, Shown
from .saying import Voice, many
from .sketch import sketch

if TYPE_CHECKING:
    from stash.camera import Seen, Threads
    from stash.remnants import NewRemnant, Remnant

GRAIN_EXPECTED = (
    "line (a thread laid on it, or a line drawn along the grain), weave (as its threads are seen to run), or as it is told of "
    "any remnant: AB, side 2, selvedge, an angle"
)
SEEN_OFF = 2.0
"""Degrees by which threads must run off the way that was told, to be spoken of."""

Photograph = Annotated[
    Path, typer.Argument(metavar="PHOTOGRAPH", help="The photograph: jpg, png or webp.", show_default=False)
]
By_ = Annotated[
    str,
    typer.Option("--scale", metavar="WHAT", help="What lies beside it: a printed scale sheet, a sheet of a4, or a bank card."),
]
Square = Annotated[
    float,
    typer.Option(
        "--square", metavar="LENGTH", parser=reading.a_length, help="What the square on your printed sheet measures."
    ),
]
Tolerance = Annotated[
    float,
    typer.Option(
        "--tolerance", metavar="LENGTH", parser=reading.a_length, help="What the outline may leave out or round off."
    ),
]
Grain = Annotated[
    str,
    typer.Option(
        "--grain",
        metavar="WAY",
        help="Which way the grain runs: line (a thread laid or a line drawn on it), weave, a side such as AB, or an angle.",
    ),
]
Looks = Annotated[
    Path | None,
    typer.Option("--picture", metavar="FILE", help="The photograph with what was found drawn on it (jpg, png or pdf)."),
]
OnlyLook = Annotated[bool, typer.Option("--look", help="Only show what was found; nothing is kept.")]


@dataclass(frozen=True)
class Traced:
    """A photograph as it was understood: its outline with the grain; the threads, if they can be seen."""

    seen: Seen
    found: Understood
    threads: Threads | None


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
    page)
    and measure its square: 100 mm each way. One sheet will do; with two (of different numbers) on opposite sides of a large
    scrap it is measured more surely. Lay them flat, with their long side along the grain.

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
    again: Annotated[bool, typer.Option("--again", help="It is logged already: measure it again.")] = False,
    scale: By_ = "sheet",
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
    file = _picture_file(picture, write_over) if picture else None
    if not again and not look and not (cloth or "").strip():
        raise questions.missing("--cloth", "which cloth it is: fent cloth list")
    traced = _read(photograph, scale, tolerance, square, grain, edges)
    _show(traced, tag.upper(), voice, file, look=look)
    if look:
        return
    _agreed()
    who = options.whose(by)
    found = traced.found
    told = f"{photograph.name}, beside {_scale_in_words(traced.seen)}"
    every_fault = (*tracing.holes_of(traced.seen), *(a_fault(text) for text in faults or []))
    face = Face.WRONG if wrong_side_up else Face.RIGHT
    which_nap = reading.one_of(Nap, nap, "--nap") if nap is not None else None
    with Workroom.open(workroom, create=False) as opened:
        if again:
            measures = Measures(
                outline=found.measured,
                grain_angle=found.grain_angle,
                grain_by=found.grain_by,
                told=told,
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
                told=told,
            )
            remnant = tracing.log(opened, [(new, photograph)], by=who)[0]
    voice.data(remnant)
    said = is_logged(remnant, voice)
    voice.aside(said.replace(" is logged", " is measured again", 1) if again else said)
    _sure(traced, voice)


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
    scale: By_ = "sheet",
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
    file = _picture_file(sheet, write_over, "--sheet") if sheet else None
    if not look and not (cloth or "").strip():
        raise questions.missing("--cloth", "which cloth they are: fent cloth list")
    shots = tracing.in_folder(folder)
    news: list[tuple[NewRemnant, Path]] = []
    shown: list[Shown] = []
    rows: list[list[str]] = []
    faults: list[str] = []
    for shot in shots:
        try:
            traced = _read(shot.file, scale, tolerance, square, grain, "cut")
        except Refused as fault:
            faults.append(f"{shot.file.name}: {fault.what}")
            voice.aside(f"{shot.file.name}: {fault.what}. {fault.next or fault.expected}.")
            rows.append([shot.tag, "not read", "", fault.what])
            shown.append(_thumb_of(None, shot.file, shot.tag, fault.what, 0.0))
            continue
        words = _in_short(traced, voice)
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
    if faults and not those_found:
        raise Refused(
            f"nothing was logged: {many(len(faults), 'photograph')} of {len(shots)} could not be read",
            where=str(folder),
            expected="photographs that can all be read",
            next="take those again, or log the others alone with --those-found",
        )
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        logged = tracing.log(opened, news, by=who)
    _say_logged(logged, len(faults), voice)


def _say_logged(logged: Sequence[Remnant], not_read: int, voice: Voice) -> None:
    voice.data(logged)
    for remnant in logged:
        voice.aside(is_logged(remnant, voice))
    left = f"; {many(not_read, 'photograph')} could not be read" if not_read else ""
    voice.aside(f"{many(len(logged), 'remnant')} logged{left}.")


def pattern_trace(
    pattern: Annotated[
        str, typer.Argument(metavar="PATTERN", help="The pattern; a new one if the name is new.", show_default=False)
    ],
    piece: Annotated[str, typer.Argument(metavar="PIECE", help="The piece.", show_default=False)],
    photograph: Photograph,
    drawn: Annotated[
        str, typer.Option("--drawn", metavar="LINE", help="Which line the paper is cut along: sewing, or cut.")
    ] = "cut",
    allowance: Annotated[
        float, typer.Option("--allowance", metavar="LENGTH", parser=reading.a_margin, help="Seam allowance all round.")
    ] = 0.0,
    scale: By_ = "sheet",
    square: Square = 100.0,
    tolerance: Tolerance = 0.8,
    grain: Grain = "",
    count: Annotated[
        int, typer.Option("--count", metavar="NUMBER", parser=reading.a_number, help="How many the pattern takes.")
    ] = 1,
    one_way: Annotated[bool, typer.Option("--one-way/--either-way", help="May it be turned head to foot?")] = False,
    left_and_right: Annotated[bool, typer.Option("--left-and-right", help="It comes in two hands.")] = False,
    hidden: Annotated[bool, typer.Option("--hidden/--seen", help="Is it seen when worn?")] = False,
    picture: Looks = None,
    write_over: options.WriteOver = False,
    look: OnlyLook = False,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Trace a paper pattern piece off a photograph.

    Lay the paper flat on a table of another tone, beside a scale sheet (fent bin scale-sheet), a sheet of A4 or a bank
    card, and
    photograph it from above. Its grain runs along the long side of the scale, unless --grain says otherwise: line, for a grain
    line drawn on it.

    \b
    Example:
      fent pattern trace apron bib bib.jpg --allowance 1cm --grain line --picture bib-found.jpg
        …
    """
    from stash import Refused, Workroom, patterns
    from stash.words import Line

    from .pattern import said_in_short

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    file = _picture_file(picture, write_over) if picture else None
    traced = _read(photograph, scale, tolerance, square, grain, "cut")
    if traced.seen.holes:
        raise Refused(
            f"the paper has {many(len(traced.seen.holes), 'hole')}",
            where="photograph",
            expected="a piece without holes",
            next="Lay paper of its own colour under them",
        )
    _show(traced, f"{pattern}/{piece}", voice, file, look=look)
    if look:
        return
    _agreed()
    new = patterns.NewPiece(
        name=piece,
        ring=traced.found.measured.ring,
        allowance=allowance,
        drawn=reading.one_of(Line, drawn, "--drawn"),
        grain_angle=traced.found.grain_angle,
        one_way=one_way,
        left_and_right=left_and_right,
        hidden=hidden,
        count=count,
    )
    from stash.refusals import Unknown

    with Workroom.open(workroom) as opened, opened.writing():
        try:
            patterns.get(opened, pattern)
        except Unknown:
            kept = patterns.add(opened, pattern, [new]).pieces[0]
        else:
            kept = patterns.add_piece(opened, pattern, new)
    voice.data(kept)
    said_in_short(kept, voice)
    _sure(traced, voice)


# --- what they share -----------------------------------------------------------------------------------------------------


def _read(photograph: Path, scale: str, tolerance: float, square: float, grain: str, edges: str) -> Traced:
    """A photograph read: its outline with its edges and its grain."""
    import numpy as np

    from stash import graining, outlines
    from stash.camera import lines, weave
    from stash.camera import reading as camera
    from stash.tape import Unsure
    from stash.words import EdgeKind, GrainBy, Scale, Way

    from .taping import a_grain

    kinds = [reading.one_of(EdgeKind, part, "--edges") for part in edges.split(";")]
    which = reading.one_of(Scale, scale, "--scale")
    seen = camera.read_photograph(photograph, which, tolerance=tolerance, square=square)
    ring = seen.measured.ring
    assert seen.measured.within is not None
    assert seen.measured.area_within is not None
    measured = outlines.by_points(ring, kinds[0] if len(kinds) == 1 else kinds)
    measured = measured.by(Way.PHOTOGRAPH, Unsure(seen.measured.within, seen.measured.area_within))
    threads = weave.threads(seen.picture, np.array(ring), seen.in_picture, seen.mm_a_pixel)
    said = " ".join(grain.split()).lower()
    if said in ("line", "thread", "a thread", "a line"):
        ends = lines.line_on(seen.picture, np.array(ring), [np.array(hole) for hole in seen.holes], seen.in_picture)
        return Traced(seen, Understood(measured, graining.by_thread(*ends), GrainBy.LINE), threads)
    if said == "weave":
        if threads is None:
            raise _no_threads()
        return Traced(seen, Understood(measured, threads.ways[0], GrainBy.WEAVE), threads)
    try:
        angle, by = a_grain(grain, measured)
    except reading.Unreadable as fault:
        raise reading.Unreadable(fault.what, GRAIN_EXPECTED, "--grain") from None
    return Traced(seen, Understood(measured, angle, by), threads)


def _no_threads() -> Exception:
    from stash import Refused

    return Refused(
        "its threads cannot be made out in the photograph",
        where="grain",
        expected="threads of three pixels and more, running square to each other",
        next="Go nearer; or lay a thread along the grain and say --grain line",
    )


def _show(traced: Traced, title: str, voice: Voice, file: Path | None, *, look: bool) -> None:
    """What was found, drawn in the terminal and, if a file was named, on the photograph."""
    ring, angle = traced.found.measured.ring, traced.found.grain_angle
    words = _in_short(traced, voice)
    if look:
        voice.data(
            {
                "measured": traced.found.measured,
                "holes": traced.seen.holes,
                "grain_angle": angle,
                "grain_by": traced.found.grain_by,
                "threads": traced.threads,
                "tilt": traced.seen.tilt,
                "mm_a_pixel": traced.seen.mm_a_pixel,
            }
        )
        for line in sketch(ring, angle, plain=voice.plain):
            voice.line(line)
        voice.line(f"{title}: {', '.join(filter(None, words))}.")
    elif questions.at_a_terminal():
        for line in sketch(ring, angle, plain=voice.plain):
            voice.aside(line)
        voice.aside(f"{title}: {', '.join(filter(None, words))}.")
    if file:
        from .photograph_pictures import looked_at, save_one

        save_one(looked_at(traced.seen, angle, title, ", ".join(filter(None, words))), file)
        voice.aside(f"What was found is drawn in {file}.")
    if traced.threads is not None:
        off = min(abs((way - angle + 90) % 180 - 90) for way in traced.threads.ways)
        if off > SEEN_OFF:
            ways = " and ".join(f"{way:.1f}°" for way in traced.threads.ways)
            voice.aside(
                f"Its threads are seen to run at {ways}, {off:.1f}° off the grain as told: --grain weave takes the first."
            )


def _agreed() -> None:
    if questions.at_a_terminal() and not questions.yes("Is that it", default=True):
        raise typer.Abort


def _in_short(traced: Traced, voice: Voice) -> tuple[str, str, str]:
    """Size, area, and how sure, of what was found."""
    from shapely import Polygon, affinity

    turned = affinity.rotate(Polygon(traced.found.measured.ring), -traced.found.grain_angle, origin=(0, 0))
    left, low, right, high = turned.bounds
    area = turned.area - sum(Polygon(hole).area for hole in traced.seen.holes)
    holes = f"with {many(len(traced.seen.holes), 'hole')}" if traced.seen.holes else ""
    size = f"{voice.shown.size(right - left, high - low)} {holes}".strip()
    within = traced.found.measured.within or 0.0
    return size, voice.shown.area(area), f"corners within ± {voice.shown.fine(round(within, 1))}"


def _sure(traced: Traced, voice: Voice) -> None:
    from .taping import how_sure

    voice.aside(f"By the photograph: {how_sure(traced.found.measured, voice.shown)}.")


def _scale_in_words(seen: Seen) -> str:
    return {"sheet": "a scale sheet", "a4": "a sheet of A4", "card": "a card"}[seen.scale]


def _new(traced: Traced, shot: object, cloth: str, wrong_side_up: bool, nap: str | None, place: str) -> NewRemnant:
    from stash import remnants, tracing
    from stash.words import Face, Nap

    assert isinstance(shot, tracing.Shot)
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
        told=f"{shot.file.name}, beside {_scale_in_words(traced.seen)}",
    )


def _thumb_of(seen: Seen | None, file: Path, title: str, words: str, grain: float) -> Shown:
    from .photograph_pictures import THUMB, looked_at, not_read

    return not_read(file, title, words, THUMB) if seen is None else looked_at(seen, grain, title, words, THUMB)


def _picture_file(text: Path, write_over: bool, where: str = "--picture") -> Path:
    if text.suffix.lower() not in KINDS:
        raise reading.Unreadable(
            f"{str(text)!r} does not end in a kind of picture", f"a name that ends in {', '.join(KINDS)}", where
        )
    return reading.a_new_file(text, write_over, where)
