"""Which line of a drawing is what, as it is typed or answered: `layer 2`, `colour red`, `name hem`, all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import questions, reading
from .saying import Voice

if TYPE_CHECKING:
    from stash.drawings import Layer
    from stash.found_lines import FoundDrawing
    from stash.line_roles import Sorted, Told, Untold

EXPECTED = 'layer 2, "colour red", "name hem", or all'


def _lines(option: str, what: str) -> object:
    return typer.Option(option, metavar="WHICH", help=what, show_default=False)


CutLines = Annotated[
    list[str] | None, _lines("--cut", f"Which lines are cut lines: {EXPECTED.replace(', or', ';')}. Again for others.")
]
SewingLines = Annotated[list[str] | None, _lines("--sewing", "… sewing lines.")]
GrainLines = Annotated[list[str] | None, _lines("--grain", "… grain lines.")]
NotchLines = Annotated[list[str] | None, _lines("--notches", "… notches.")]
FoldLines = Annotated[list[str] | None, _lines("--fold", "… the fold that half of a piece lies on.")]
OutlineLines = Annotated[
    list[str] | None, _lines("--outline", f"Which lines are outlines: {EXPECTED.replace(', or', ';')}. Again for others.")
]
HoleLines = Annotated[list[str] | None, _lines("--holes", "… holes and tears.")]
FlawLines = Annotated[list[str] | None, _lines("--flaws", "… flaws; the line or its layer is called by the kind: stain.")]
SelvedgeLines = Annotated[list[str] | None, _lines("--selvedge", "… selvedges.")]
RawLines = Annotated[list[str] | None, _lines("--raw", "… raw edges.")]
LeftOut = Annotated[list[str] | None, _lines("--leave-out", "… none of these, and are left out.")]
Unit = Annotated[
    str | None,
    typer.Option(
        "--unit", metavar="UNIT", help="What one of its units is, if it does not say, or wrongly: mm, cm, in, 1/96 in."
    ),
]
Within = Annotated[
    float,
    typer.Option("--within", metavar="LENGTH", parser=reading.a_length, help="How far straight sides may lie off a curve."),
]
GrainAngle = Annotated[
    float | None,
    typer.Option(
        "--grain-angle",
        metavar="DEGREES",
        parser=reading.an_angle,
        help="The grain, where no line shows it: 0 from left to right, 90 upwards.",
    ),
]


def told(given: Mapping[str, Sequence[str] | None], layers: Mapping[str, Layer | None]) -> tuple[Told, ...]:
    """What the options say of lines; `layers` has what each option's lines are. Raises Unreadable."""
    return tuple(_which(text, layers[option], option) for option, texts in given.items() for text in texts or [])


def _which(text: str, what: Layer | None, option: str) -> Told:
    from stash.line_roles import By, Told

    word, _, name = " ".join(text.split()).partition(" ")
    by = {"layer": By.LAYER, "colour": By.COLOUR, "color": By.COLOUR, "name": By.NAME, "all": By.ALL}.get(word.casefold())
    if by is None or (by is By.ALL) == bool(name):
        raise reading.Unreadable(f"{text!r:.60} does not say which lines", EXPECTED, option)
    return Told(what, by, name)


def a_unit(text: str | None) -> float | None:
    """How long a unit of a drawing is, mm: `mm`, `in`, `1/96 in`. Raises Unreadable."""
    if text is None:
        return None
    try:
        return reading.a_length(f"1 {text}" if text.strip()[:1].isalpha() else text)
    except reading.Unreadable:
        raise reading.Unreadable(f"{text!r:.40} is no unit", "mm, cm, in, or a length such as 1/96 in", "--unit") from None


def read_drawing(file: Path, unit: str | None, within: float) -> FoundDrawing:
    """What a file holds; at a terminal its unit is asked for where it does not say it."""
    from stash import Refused, drawing_files

    size = a_unit(unit)
    try:
        return drawing_files.read(file, unit=size, within=within)
    except Refused as refusal:
        if refusal.where != "unit" or size is not None or not questions.at_a_terminal():
            raise
        Voice().aside(f"{refusal.what[:1].upper()}{refusal.what[1:]}.")
        answered = questions.ask("One of its units is", lambda answer: a_unit(answer or None) or _no_unit(), "mm")
        return drawing_files.read(file, unit=answered, within=within)


def _no_unit() -> float:
    raise reading.Unreadable("nothing was answered", "mm, cm or in")


def a_grain(angle: float | None, known: Sorted, *, shown_by: Sequence[Layer]) -> float | None:
    """The angle that was told; at a terminal it is asked for where no line of the drawing shows it."""
    if angle is not None or any(line.said in shown_by for line in known.lines) or not questions.at_a_terminal():
        return angle
    return questions.ask("No grain line is drawn. The grain runs at (0 from left to right, 90 upwards)", reading.an_angle)


def sorted_out(found: FoundDrawing, said: tuple[Told, ...], layers: Mapping[str, Layer | None], file: Path) -> Sorted:
    """What each line is; at a terminal what nobody has said is asked. Raises Refused where nobody can be asked."""
    from stash import Refused, line_roles

    known = line_roles.sort_out(found.lines, said)
    while known.untold and questions.at_a_terminal():
        said = (_asked(known.untold, layers), *said)
        known = line_roles.sort_out(found.lines, said)
    if known.untold:
        raise Refused(
            f"it is not said what these lines are: {'; '.join(map(str, known.untold[:6]))}{' …' * (len(known.untold) > 6)}",
            where=str(file),
            expected=f"for each what it is: {', '.join(layers)}, with {EXPECTED}",
            next="look at them: the same command with --look",
        )
    return known


def _asked(untold: Sequence[Untold], layers: Mapping[str, Layer | None]) -> Told:
    """What the first of them are, by layer or colour, whichever tells it from the others."""
    from stash.line_roles import By, Told

    first = untold[0]
    alone = first.colour and sum(each.colour == first.colour for each in untold) == 1
    by, which = (By.COLOUR, first.colour) if alone or not first.layer else (By.LAYER, first.layer)
    if not which:
        by = By.LAYER
    words = {option.removeprefix("--").replace("-", " "): layer for option, layer in layers.items()}
    answer = questions.pick(f"What are these: {first}", list(words))
    return Told(words[answer], by, which)


def what_there_is(found: FoundDrawing, said: tuple[Told, ...], voice: Voice) -> None:
    """The lines of a drawing as a table: which there are, how large they are, and what each is taken for."""
    from stash import line_roles

    known = line_roles.sort_out(found.lines, said)
    kinds: dict[tuple[str, str, str], list[int]] = {}
    sizes: dict[tuple[str, str, str], float] = {}
    whole = {id(line.points): str(line.said) for line in known.lines}
    told_out = [each for each in said if each.what is None]
    for line in found.lines:
        left_out = any(each.means(line) for each in told_out)
        what = whole.get(id(line.points)) or ("left out" if left_out else "not said")
        kind = (line.layer, line.colour, what)
        counts = kinds.setdefault(kind, [0, 0, 0])
        counts[0 if line.closed else 1 if len(line.points) > 1 else 2] += 1
        xs, ys = zip(*line.points, strict=True)
        sizes[kind] = max(sizes.get(kind, 0.0), max(xs) - min(xs), max(ys) - min(ys))
    rows = [
        [layer, colour, *(str(count or "") for count in counts), voice.shown.length(sizes[kind]), what]
        for kind, counts in kinds.items()
        for layer, colour, what in [kind]
    ]
    voice.table(["layer", "colour", "outlines", "open lines", "spots", "largest", "taken for"], rows, right=[2, 3, 4, 5])


def said_of_the_file(found: FoundDrawing, left_out: Sequence[str], voice: Voice) -> None:
    """What was not taken, and what the size rests on where that is a rule and not the file."""
    if found.passed_over or left_out:
        voice.aside(f"Not taken: {', '.join(dict.fromkeys([*found.passed_over, *left_out]))}.")
    if found.sized_by == "96 units to the inch":
        voice.aside("It names no real unit, so 96 of its units are an inch, as the standard has it. Wrong? Say --unit.")
