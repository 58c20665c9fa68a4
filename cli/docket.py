"""`fent lay docket`, `pull` and `marks`: what goes from a lay to the cutting table."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from . import options, printing, reading
from .plying import how_it_lies
from .saying import Voice, many

if TYPE_CHECKING:
    from stash.dockets import Pulled
    from stash.remnants import Fault

Number = Annotated[int, typer.Argument(metavar="LAY", parser=reading.a_number, help="The lay's number.", show_default=False)]
TAPE = 1.0  # mm: what a tape is read to


def docket(
    number: Number,
    file: options.PaperFile = None,
    paper: options.OnPaper = "A4",
    tape: options.Tape = TAPE,
    wrong_side: Annotated[
        bool, typer.Option("--wrong-side", help="For chalking on the wrong side: near and far changed, templates turned over.")
    ] = False,
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
    show_in: options.ShowIn = "mm",
) -> None:
    """Print the cutting docket of a lay.

    A page for each remnant and stack: the lay drawn on it with every panel numbered, what to measure first, in which order to
    cut, where to chalk each panel with a tape and a paper template, and the tags of what goes back to the bin.
    Mind the blade: cut away from yourself, and close it when you put it down.

    \b
    Examples:
      fent lay docket 1
        The docket is in docket-1.pdf, 2 pages. Print it at actual size (100 %).
      fent lay docket 1 --paper Letter --show-in "in to 1/8" --file table.pdf
        The docket is in table.pdf, 2 pages. Print it at actual size (100 %).
    """
    from stash import Workroom, dockets

    voice = Voice(show_in=show_in)
    on, where = printing.a_paper(paper), printing.a_file(file, f"docket-{number}.pdf", write_over)
    with Workroom.open(workroom, create=False) as opened:
        lay, found = dockets.docket(opened, number)
    if wrong_side:
        from stash.wrong_side import from_the_wrong_side

        found = tuple(map(from_the_wrong_side, found))
    from .docket_page import dockets as drawn

    printing.put_down(voice, drawn(lay, found, on, voice.shown, tape), where, write_over, "The docket")


def marks(
    number: Number,
    tape: options.Tape = TAPE,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Tell where to chalk each panel.

    Two marks of each panel, told from two corners of the remnant: hold the tape at both, and chalk where the two lengths meet.
    They are chosen so that a tape that is read a millimetre wrong costs least on the cloth. The letters are on the docket.

    \b
    Example:
      fent lay marks 1
        N-02: chalk with the tape, then lay each template on its two marks (mm).
        panel  piece  lies      tape            one mark     other mark   out by
            1  wedge  as drawn  from C, from D  b: 528, 432  d: 677, 290  3.1 mm
        …
    """
    from stash import Workroom, dockets

    from . import chalk_table

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    with Workroom.open(workroom, create=False) as opened:
        _, found = dockets.measures(opened, number)
    voice.data([{"tag": sheet.remnant.tag, "panels": [_as_data(each) for each in panels]} for sheet, panels in found])
    for n, (sheet, panels) in enumerate(found):
        if n:
            voice.line()
        voice.line(
            f"{sheet.remnant.tag}: chalk with the tape, then lay each template on its two marks ({voice.shown.heading})."
        )
        rows = [list(chalk_table.row_of(each, voice.shown, tape).cells) for each in panels]
        voice.table(["panel", "piece", "lies", "tape", "one mark", "other mark", "out by"], rows, right=[0])


def _as_data(each: object) -> dict[str, object]:
    panel, measure = each.panel, each.measure  # type: ignore[attr-defined]
    return {
        "panel": panel.number,
        "piece": panel.piece,
        "by": measure.by,
        "from": {mark.letter: mark.at for mark in (measure.start, measure.end)},
        "left": measure.left,
        "marks": {told.letter: [told.first, told.second] for told in measure.points},
        "per_mm": measure.per_mm,
    }


def pull(
    numbers: Annotated[
        list[int], typer.Argument(metavar="LAY", parser=reading.a_number, help="One lay, or several.", show_default=False)
    ],
    file: options.PaperFile = None,
    paper: options.OnPaper = "A4",
    write_over: options.WriteOver = False,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """List the remnants to pull.

    Place by place, with what to look for on each. On paper with a small drawing of each, to be ticked off.

    \b
    Examples:
      fent lay pull 1
        place     pull  for    cloth       size (mm)  panels  look for
        drawer 2  N-02  lay 1  navy linen  620 × 400       6
        drawer 3  N-03  lay 1  navy linen  580 × 310       4
      fent lay pull 1 --file pull.pdf
        place     pull  for    cloth       size (mm)  panels  look for
        drawer 2  N-02  lay 1  navy linen  620 × 400       6
        drawer 3  N-03  lay 1  navy linen  580 × 310       4
    """
    from stash import Workroom, dockets

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    on = printing.a_paper(paper)
    where = printing.a_file(file, "", write_over) if file else None
    with Workroom.open(workroom, create=False) as opened:
        found = dockets.to_pull(opened, numbers)
    voice.data([{"lay": each.lay, "job": each.job, "remnant": each.sheet.remnant} for each in found])
    _table(voice, found)
    if where:
        from .pull_page import pull_list

        printing.put_down(voice, pull_list(found, on, voice.shown), where, write_over, "The pull list")


def _table(voice: Voice, found: tuple[Pulled, ...]) -> None:
    shown = voice.shown
    rows = [
        [
            each.sheet.remnant.place or "no known place",
            each.sheet.remnant.tag,
            f"lay {each.lay}",
            each.sheet.remnant.cloth.name,
            shown.two(each.sheet.remnant.length, each.sheet.remnant.width),
            str(len(each.sheet.panels)),
            "; ".join(to_look_for(each)),
        ]
        for each in found
    ]
    voice.table(["place", "pull", "for", "cloth", f"size ({shown.heading})", "panels", "look for"], rows, right=[4, 5])
    for words in wanted_twice((each.sheet.remnant.tag, each.lay) for each in found):
        voice.line(words)
    changed = [each.sheet.remnant.tag for each in found if each.sheet.changed]
    if changed:
        voice.line(f"No longer as it was when its lay was tried: {', '.join(changed)}. Try the job again.")


def wanted_twice(found: Iterable[tuple[str, int]]) -> list[str]:
    """Which remnants several lays want, from the tags and lays of what is to be pulled.

    >>> wanted_twice([("N-1", 1), ("N-2", 1), ("N-1", 3), ("N-1", 4)])
    ['N-1 is wanted by lays 1, 3 and 4: only one of them can have it.']
    """
    wanted: dict[str, list[int]] = {}
    for tag, lay in found:
        wanted.setdefault(tag, []).append(lay)
    return [
        f"{tag} is wanted by lays {', '.join(map(str, by[:-1]))} and {by[-1]}: only one of them can have it."
        for tag, by in wanted.items()
        if len(by) > 1
    ]


def to_look_for(each: Pulled) -> list[str]:
    """What to look for on a remnant once it is on the table: its faults, and what is not sure of it."""
    remnant = each.sheet.remnant
    said = faults_of(remnant.faults)
    said += [f"it is ply {ply.number} of stack {each.stack}: {how_it_lies(ply)}" for ply in each.plies]
    if remnant.one_way:
        said.append("which way the nap runs")
    if remnant.rough:
        said.append("its largest rectangle: that is all that is known of it")
    elif not remnant.confirmed:
        said.append("its outline: nobody has looked at it since it was left over")
    if remnant.quarantine:
        said.insert(0, f"in quarantine ({remnant.quarantine}): leave it where it is")
    if each.sheet.changed:
        said.insert(0, "no longer as it was when the lay was tried")
    return said


def faults_of(faults: Sequence[Fault]) -> list[str]:
    """Faults by kind and face: `2 holes`, `a stain on the wrong face`."""
    counts: dict[tuple[str, str], int] = {}
    for fault in faults:
        kind = "tear" if fault.kind == "hole" and fault.shape.geom_type != "Polygon" else str(fault.kind)
        face = f" on the {fault.face} face" if fault.face != "both" and fault.kind != "hole" else ""
        counts[kind, face] = counts.get((kind, face), 0) + 1
    return [f"{_so_many(kind, count)}{face}" for (kind, face), count in counts.items()]


def _so_many(kind: str, count: int) -> str:
    if kind in ("needle holes", "thin", "fade", "shine"):
        plain = {"thin": "a thin place", "fade": "a faded place", "shine": "a shiny place"}.get(kind, kind)
        return plain if count == 1 or kind == "needle holes" else f"{count} {plain[2:]}s"
    return f"a {kind}" if count == 1 else many(count, kind)
