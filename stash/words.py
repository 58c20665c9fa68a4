"""The fixed words of the workroom: the states, kinds and names that commands, messages and tables share."""

from __future__ import annotations

from enum import StrEnum


class Face(StrEnum):
    """A face of the cloth. The store always holds the right side up."""

    RIGHT = "right"
    WRONG = "wrong"
    BOTH = "both"


class Nap(StrEnum):
    """Which way the nap, pile or print runs as measured: along the grain arrow or against it."""

    ALONG = "along"
    AGAINST = "against"


class EdgeKind(StrEnum):
    """What an edge of a remnant is. Each kind keeps its own margin (`settings`)."""

    SELVEDGE = "selvedge"
    CUT = "cut"
    RAW = "raw"


class Way(StrEnum):
    """How an outline was measured: by tape (its largest rectangle only, a rectangle, one with bites, points on a grid, a walk
    round it, ties between lettered corners), off a photograph, or in a drawing."""

    ROUGH = "rough"
    RECTANGLE = "rectangle"
    BITES = "bites"
    GRID = "grid"
    WALK = "walk"
    TIES = "ties"
    PHOTOGRAPH = "photograph"
    DRAWING = "drawing"


class GrainBy(StrEnum):
    """What showed which way the grain of a remnant runs: it was laid straight; a selvedge; a pulled thread; a side that was
    cut on the grain; an angle that was measured; a line laid or drawn on it, or its threads, in a photograph."""

    LAID = "laid straight"
    SELVEDGE = "selvedge"
    THREAD = "pulled thread"
    SIDE = "side"
    ANGLE = "angle"
    LINE = "line"
    WEAVE = "weave"


class Scale(StrEnum):
    """What lies beside the cloth in a photograph to give it its scale: a printed scale sheet, a sheet of A4, a bank card."""

    SHEET = "sheet"
    A4 = "a4"
    CARD = "card"


class FaultKind(StrEnum):
    """A hole is no cloth; every other kind is a flaw: cloth, counted, inherited by keepers."""

    HOLE = "hole"
    THIN = "thin"
    STAIN = "stain"
    FADE = "fade"
    SHINE = "shine"
    NEEDLE_HOLES = "needle holes"
    CREASE = "crease"


class MayLie(StrEnum):
    """Where a flaw may come to lie in what is cut: anywhere; in a piece that is not looked at first; in a hidden piece; in an
    allowance; nowhere. Each but the last also lets it lie in what stands after it."""

    ANYWHERE = "anywhere"
    NOT_THE_FRONT = "not the front"
    HIDDEN = "hidden pieces"
    ALLOWANCE = "allowances"
    NOWHERE = "nowhere"


class RemnantState(StrEnum):
    """Where a remnant stands. *gone* is given away, sold or thrown out; *lost* cannot be found; *cut* has been cut or split by
    hand; *joined* is part of another now; *struck out* never was: what brought it into the book was undone."""

    IN_BIN = "in the bin"
    HELD = "held"
    CUT = "cut"
    GONE = "gone"
    LOST = "lost"
    JOINED = "joined"
    STRUCK_OUT = "struck out"


class LayState(StrEnum):
    """Where a lay plan stands. Only a chalked lay holds its remnants."""

    TRIED = "tried"
    CHALKED = "chalked"
    CUT = "cut"
    RUBBED_OUT = "rubbed out"


class Fate(StrEnum):
    """What became of a panel of a lay: still planned, cut and good, cut but spoiled, or left uncut."""

    PLANNED = "planned"
    CUT = "cut"
    SPOILED = "spoiled"
    UNCUT = "uncut"


class Hand(StrEnum):
    """Which of the two hands of a left and right piece."""

    LEFT = "left"
    RIGHT = "right"


class Half(StrEnum):
    """Which half of a remnant that is folded on the grain: the near one stays as it lies, the far one is folded
    under it."""

    NEAR = "near"
    FAR = "far"


class Source(StrEnum):
    """How cloth came in."""

    BOUGHT = "bought"
    GIVEN = "given"
    FOUND = "found"
    UNPICKED = "unpicked"


class Line(StrEnum):
    """Which line of a pattern piece was drawn: the other follows from the allowance."""

    SEWING = "sewing"
    CUT = "cut"


class Grain(StrEnum):
    """How the grain line of a pattern piece lies on the cloth: along the warp, along the weft, at 45° to both (all copies to
    one side, left and right to either side), at 45° to whichever side, or as it comes."""

    WARP_WISE = "warp-wise"
    WEFT_WISE = "weft-wise"
    BIAS = "bias"
    EITHER_BIAS = "either bias"
    FREE = "free"


class Aim(StrEnum):
    """What a lay is sought by, after the most panels. *matching*: all of one dye lot, from the fewest remnants; *fewest*: the
    fewest remnants, so the fewest tracings; *small first*: small and odd ones first."""

    LEAST_LOST = "least lost"
    MATCHING = "matching"
    FEWEST = "fewest"
    SMALL_FIRST = "small first"
    OLDEST_FIRST = "oldest first"


class Rule(StrEnum):
    """What keeps a remnant from a job, or a panel from a remnant, and might be loosened."""

    FIBRE = "fibre"
    LIGHTEST = "lightest"
    HEAVIEST = "heaviest"
    COLOUR = "colour"
    WEAVE = "weave"
    CLOTH = "cloth"
    WASHED = "washed"
    HELD = "held"
    QUARANTINE = "quarantine"
    GAP = "gap"
    EDGE = "edge"
    TURN = "turn"
    OFF_GRAIN = "off grain"


class Account(StrEnum):
    """The accounts of the cloth book (design, *The stash*). A line's `detail` says which kind of *in* or *out* it is."""

    IN = "in"
    BIN = "bin"
    CUT_WORK = "cut work"
    RAG_BAG = "rag bag"
    SHRUNK = "shrunk"
    RE_MEASURED = "re-measured"
    OUT = "out"
    LOST = "lost"


class Event(StrEnum):
    """The kinds of event that the book knows; a new kind brings its undo with it (`undoing`). *undone* is the undoing of any
    other: its lines with the opposite sign, the entry named in `undoes_id`, the reason in `note`."""

    LOGGED = "logged"
    CUT = "cut"
    LOST = "lost"
    FOUND_AGAIN = "found again"
    MEASURED_AGAIN = "measured again"
    WASHED = "washed"
    WEIGHED_AGAIN = "weighed again"
    PUT_AWAY = "put away"
    TAKEN_OUT = "taken out"
    THROWN_AWAY = "thrown away"
    GIVEN_AWAY = "given away"
    SOLD = "sold"
    SPLIT = "split"
    JOINED = "joined"
    UNDONE = "undone"


class Subject(StrEnum):
    """What has descriptions that may be mended."""

    CLOTH = "cloth"
    REMNANT = "remnant"
    ENVELOPE = "envelope"
    PLACE = "place"
    PATTERN = "pattern"
    JOB = "job"
