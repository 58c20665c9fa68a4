"""Which line of a file is what: by what the file itself says, else by what a person says of its layers, colours and names.

Nothing is guessed from how a line looks. What nobody has told is listed, to be asked for.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from .drawings import Layer
from .found_lines import FoundLine
from .refusals import Refused
from .svg_looks import hexed
from .words import FaultKind

WORDS: dict[str, Layer] = {
    "cut": Layer.CUT,
    "cutting": Layer.CUT,
    "boundary": Layer.CUT,
    "sew": Layer.SEWING,
    "sewing": Layer.SEWING,
    "stitch": Layer.SEWING,
    "stitching": Layer.SEWING,
    "seam": Layer.SEWING,
    "grain": Layer.GRAIN,
    "notch": Layer.NOTCH,
    "notches": Layer.NOTCH,
    "fold": Layer.FOLD,
    "on fold": Layer.FOLD,
    "on the fold": Layer.FOLD,
    "place on fold": Layer.FOLD,
    "inner": Layer.INNER,
    "cut out": Layer.CUT_OUT,
    "drill hole": Layer.DRILL,
    "drill": Layer.DRILL,
    "remnant": Layer.REMNANT,
    "outline": Layer.REMNANT,
    "hole": Layer.HOLE,
    "flaw": Layer.FLAW,
    "selvedge": Layer.SELVEDGE,
    "selvage": Layer.SELVEDGE,
    "raw": Layer.RAW,
    "raw edge": Layer.RAW,
    **{str(kind): Layer.FLAW for kind in FaultKind if kind is not FaultKind.HOLE},
}
"""What a layer, a group or a line may be called to be taken for what it says: the trade's words."""


class By(StrEnum):
    """What a line is picked out by."""

    LAYER = "layer"
    COLOUR = "colour"
    NAME = "name"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Told:
    """What a person says of some lines: what they are, None to leave them out. `which`: the name of the layer, the colour, or
    the line."""

    what: Layer | None
    by: By
    which: str = ""

    def means(self, line: FoundLine) -> bool:
        """Whether it is said of this line."""
        if self.by is By.ALL:
            return True
        if self.by is By.COLOUR:
            return line.colour != "" and line.colour == (hexed(self.which) or self.which.casefold())
        return _plain(line.layer if self.by is By.LAYER else line.name) == _plain(self.which)


@dataclass(frozen=True, slots=True)
class Untold:
    """Lines of which nobody has said what they are: how many closed and open ones and spots, of one layer and colour."""

    layer: str
    colour: str
    closed: int
    open: int
    spots: int

    def __str__(self) -> str:
        counts = ((self.closed, "outline"), (self.open, "open line"), (self.spots, "spot"))
        said = ", ".join(f"{n} {what}{'' if n == 1 else 's'}" for n, what in counts if n)
        where = [f"layer {self.layer!r}" if self.layer else "", f"colour {self.colour}" if self.colour else ""]
        return f"{said} ({', '.join(filter(None, where)) or 'neither layer nor colour'})"


@dataclass(frozen=True, slots=True)
class Sorted:
    """The lines of which it is known what they are (`said` tells it), and what is not known."""

    lines: tuple[FoundLine, ...]
    untold: tuple[Untold, ...]


def sort_out(lines: Iterable[FoundLine], told: Sequence[Told] = ()) -> Sorted:
    """What each line is. What a person says comes before what the file says; what comes later in `told`, before the earlier.

    Raises Refused where a person tells of lines that are not there.
    """
    found, unknown = [], []
    for line in (lines := list(lines)):
        by_person = next((each for each in reversed(told) if each.means(line)), None)
        said = by_person.what if by_person is not None else line.said or _called(line)
        if said is not None:
            found.append(replace(line, said=said))
        elif by_person is None:
            unknown.append(line)
    for each in told:
        if not any(each.means(line) for line in lines):
            raise Refused(
                f"no line has the {each.by} {each.which!r:.60}",
                where="lines",
                expected=f"one of: {_which_there_are(lines, each.by)}",
            )
    kinds = Counter((line.layer, line.colour, _shape(line)) for line in unknown)
    places = dict.fromkeys((layer, colour) for layer, colour, _ in kinds)
    untold = tuple(Untold(*place, *(kinds[(*place, shape)] for shape in ("closed", "open", "spot"))) for place in places)
    return Sorted(tuple(found), untold)


def _shape(line: FoundLine) -> str:
    return "closed" if line.closed else "open" if len(line.points) > 1 else "spot"


def _which_there_are(lines: Iterable[FoundLine], by: By) -> str:
    told = {By.LAYER: lambda line: line.layer, By.COLOUR: lambda line: line.colour, By.NAME: lambda line: line.name}
    names = list(dict.fromkeys(filter(None, map(told.get(by, lambda line: ""), lines))))
    return ", ".join(names[:12]) + (" …" if len(names) > 12 else "") if names else "none: the file names none"


def _called(line: FoundLine) -> Layer | None:
    """What a line is by what it, or else its layer, is called."""
    return next((known for name in (line.name, line.layer) if (known := by_word(name)) is not None), None)


def by_word(name: str) -> Layer | None:
    """What a name says that a line is.

    >>> by_word("Cutting lines"), by_word("grainline_2"), by_word("Layer 1")
    (<Layer.CUT: 'cut line'>, <Layer.GRAIN: 'grain line'>, None)
    """
    plain = re.sub(r"\s*\blines?$", "", re.sub(r"[\d\s]+$", "", _plain(name)))
    plain = re.sub(r"^(grain|fold|cut|sew|stitch|seam)line$", r"\1", plain)
    return WORDS.get(plain) or WORDS.get(plain.removesuffix("s"))


def _plain(name: str) -> str:
    return " ".join(re.sub(r"[\W_]+", " ", name).casefold().split())
