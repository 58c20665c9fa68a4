"""A photograph as it is read, whatever is on it: how it is told, what was found and how that is shown before it is kept."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import questions, reading
from .measuring import Understood
from .photograph_pictures import KINDS
from .saying import Voice, many
from .sketch import sketch

if TYPE_CHECKING:
    from stash.camera import Seen, Threads

GRAIN_EXPECTED = (
    "line (a thread laid on it, or a line drawn along the grain), weave (as its threads are seen to run), or as it is told of "
    "any remnant: AB, side 2, selvedge, an angle"
)
SEEN_OFF = 2.0
"""Degrees by which threads must run off the way that was told, to be spoken of."""

Photograph = Annotated[
    Path, typer.Argument(metavar="PHOTOGRAPH", help="The photograph: jpg, png or webp.", show_default=False)
]
Beside = Annotated[
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


def read(photograph: Path, beside: str, tolerance: float, square: float, grain: str, edges: str) -> Traced:
    """A photograph read: its outline with its edges and its grain."""
    import numpy as np

    from stash import graining, outlines
    from stash.camera import lines, weave
    from stash.camera import reading as camera
    from stash.tape import Unsure
    from stash.words import EdgeKind, GrainBy, Scale, Way

    from .taping import a_grain

    kinds = [reading.one_of(EdgeKind, part, "--edges") for part in edges.split(";")]
    which = reading.one_of(Scale, beside, "--scale")
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


def show(traced: Traced, title: str, voice: Voice, file: Path | None, *, look: bool) -> None:
    """What was found, drawn in the terminal and, if a file was named, on the photograph."""
    ring, angle = traced.found.measured.ring, traced.found.grain_angle
    words = in_short(traced, voice)
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


def agreed() -> None:
    """Ask whether that is it, where someone can be asked. Raises Abort if it is not."""
    if questions.at_a_terminal() and not questions.yes("Is that it", default=True):
        raise typer.Abort


def in_short(traced: Traced, voice: Voice) -> tuple[str, str, str]:
    """Size, area, and how sure, of what was found."""
    from shapely import Polygon, affinity

    turned = affinity.rotate(Polygon(traced.found.measured.ring), -traced.found.grain_angle, origin=(0, 0))
    left, low, right, high = turned.bounds
    area = turned.area - sum(Polygon(hole).area for hole in traced.seen.holes)
    holes = f"with {many(len(traced.seen.holes), 'hole')}" if traced.seen.holes else ""
    size = f"{voice.shown.size(right - left, high - low)} {holes}".strip()
    within = traced.found.measured.within or 0.0
    return size, voice.shown.area(area), f"corners within ± {voice.shown.fine(round(within, 1))}"


def say_how_sure(traced: Traced, voice: Voice) -> None:
    """What the photograph leaves unsure."""
    from .taping import how_sure

    voice.aside(f"By the photograph: {how_sure(traced.found.measured, voice.shown)}.")


def beside_what(seen: Seen) -> str:
    """What gave the scale, in words."""
    return {"sheet": "a scale sheet", "a4": "a sheet of A4", "card": "a card"}[seen.scale]


def picture_file(text: Path, write_over: bool, where: str = "--picture") -> Path:
    """A file for a photograph that is drawn on, refused before any work is done if it cannot be one. Raises Unreadable."""
    if text.suffix.lower() not in KINDS:
        raise reading.Unreadable(
            f"{str(text)!r} does not end in a kind of picture", f"a name that ends in {', '.join(KINDS)}", where
        )
    return reading.a_new_file(text, write_over, where)
