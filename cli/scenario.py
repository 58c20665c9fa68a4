"""An invented workroom, for `fent demo`, for the README and for trying things out. No such place, person or cloth exists.

The Lantern Yard workroom sews round cushions and tool rolls from what other work leaves over. Everything is written as a
person would type it; `settle` puts it into a workroom by the same readers that the commands use.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stash import Workroom

NAME = "the Lantern Yard workroom"
WHO = "MB"
CUSHION, ROLL = "wheel cushion", "tool roll"


@dataclass(frozen=True)
class ClothTold:
    """A cloth as it is typed."""

    name: str
    fibres: str
    weight: str
    weave: str
    colour: str
    one_way: bool = False
    faces_alike: bool = False


@dataclass(frozen=True)
class RemnantTold:
    """A remnant as it is typed: a size with bites, or corners."""

    tag: str
    cloth: str
    place: str
    size: str | None = None
    points: str | None = None
    bites: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    edges: str = "cut"
    grain_angle: float = 0.0
    wrong_side_up: bool = False
    nap: str | None = None
    washed: str = ""
    mass: float | None = None
    source: str = "found"
    rough: bool = False


CLOTHS = (
    ClothTold("slate linen", "linen", "188 g/m2", "plain", "slate", faces_alike=True),
    ClothTold("rust union", "55% linen, 45% cotton", "5 3/4 oz/yd2", "twill", "rust"),
    ClothTold("ink denim", "cotton", "12 oz/yd2", "twill", "ink"),
    ClothTold("moss flannel", "wool", "270 g/m2", "twill", "moss", one_way=True),
    ClothTold("ecru calico", "cotton", "135 g/m2", "plain", "ecru", faces_alike=True),
)

_DRAWER, _SHELF, _BAG, _RACK = "drawer 2", "shelf by the window", "blue bag", "end of the rack"

REMNANTS = (
    # slate linen: what is left of cutting out smocks
    RemnantTold("SL-01", "slate linen", _DRAWER, points="0,0 46,0 46,21 31,23 30,30 0,29 cm", washed="warm, pressed"),
    RemnantTold("SL-02", "slate linen", _DRAWER, size="52cm x 26cm", bites=("far right: 14cm x 9cm slanted",)),
    RemnantTold(
        "SL-03", "slate linen", _DRAWER, points="0,0 37,2 35,24 22,33 8,32 0,18 cm", faults=("stain: 3cm at 9cm,24cm",)
    ),
    RemnantTold("SL-04", "slate linen", _BAG, size="74cm x 13cm", edges="selvedge; cut; cut; cut"),
    RemnantTold("SL-05", "slate linen", _BAG, points="0,0 33,0 0,41 cm"),
    RemnantTold(
        "SL-06",
        "slate linen",
        _DRAWER,
        size="61cm x 33cm",
        bites=("near left: 18cm x 12cm", "far right: 11cm x 15cm slanted"),
        faults=("hole: 2cm at 40cm,15cm",),
    ),
    RemnantTold("SL-07", "slate linen", _BAG, size="23cm x 17cm", rough=True),
    RemnantTold("SL-08", "slate linen", _RACK, points="0,0 29,3 58,0 60,18 44,27 15,26 -2,15 cm", grain_angle=4),
    RemnantTold("SL-09", "slate linen", _BAG, points="0,0 19,1 18,12 4,14 cm"),
    RemnantTold("SL-10", "slate linen", _DRAWER, size="39cm x 24cm", bites=("far at 12cm: 13cm x 6cm",), wrong_side_up=True),
    # rust union: curtain ends, given
    RemnantTold("RU-01", "rust union", _SHELF, size="44cm x 31cm", bites=("far left: 20cm x 9cm",), source="given"),
    RemnantTold(
        "RU-02", "rust union", _SHELF, points="0,0 51,1 49,14 27,22 0,20 cm", source="given", faults=("fade: 5cm at 6cm,15cm",)
    ),
    RemnantTold("RU-03", "rust union", _SHELF, points="0,0 28,0 34,17 27,35 6,34 cm", source="given"),
    RemnantTold("RU-04", "rust union", _BAG, size="66cm x 12cm", edges="cut; raw; selvedge; raw", source="given"),
    RemnantTold("RU-05", "rust union", _RACK, points="0,0 40,-3 63,4 60,24 33,29 3,22 cm", grain_angle=-3, source="given"),
    RemnantTold("RU-06", "rust union", _SHELF, points="0,0 26,0 26,12 13,12 13,27 0,27 cm", source="given"),
    RemnantTold("RU-07", "rust union", _BAG, points="0,0 21,0 11,24 cm", source="given", faults=("hole: 0,0 2,0 0,3 cm",)),
    RemnantTold(
        "RU-08",
        "rust union",
        _SHELF,
        size="35cm x 28cm",
        source="given",
        mass=18.5,
        faults=("needle holes: 2,2 33,2 33,3 2,3 cm", "stain on the wrong face: 4cm at 25cm,20cm"),
    ),
    # ink denim: right fibre, too heavy
    RemnantTold("ID-01", "ink denim", _RACK, size="82cm x 46cm", edges="selvedge; cut; cut; cut", source="bought"),
    RemnantTold("ID-02", "ink denim", _RACK, points="0,0 55,0 60,22 40,38 0,36 cm", source="bought"),
    RemnantTold("ID-03", "ink denim", _BAG, size="48cm x 19cm", bites=("near right: 16cm x 7cm slanted",), source="unpicked"),
    RemnantTold(
        "ID-04", "ink denim", _BAG, points="0,0 36,4 33,26 2,22 cm", source="unpicked", faults=("thin: 6cm at 14cm,12cm",)
    ),
    RemnantTold("ID-05", "ink denim", _RACK, size="70cm x 28cm", source="bought", faults=("hole: 0,14 9,15 cm",)),
    RemnantTold(
        "ID-06",
        "ink denim",
        _BAG,
        points="0,0 24,0 30,14 12,29 0,20 cm",
        source="unpicked",
        faults=("shine: 5cm at 10cm,10cm",),
    ),
    RemnantTold("ID-07", "ink denim", _BAG, size="31cm x 30cm", bites=("far right: 12cm x 12cm slanted",), source="unpicked"),
    # moss flannel: wrong fibre, and one way
    RemnantTold("MF-01", "moss flannel", _SHELF, size="57cm x 40cm", nap="along", source="bought"),
    RemnantTold("MF-02", "moss flannel", _SHELF, points="0,0 42,0 39,25 20,34 0,30 cm", nap="against", source="bought"),
    RemnantTold(
        "MF-03", "moss flannel", _BAG, points="0,0 30,5 27,21 -1,18 cm", nap="along", faults=("hole: 1cm at 12cm,11cm",)
    ),
    RemnantTold("MF-04", "moss flannel", _BAG, size="26cm x 22cm", bites=("far left: 9cm x 8cm",), nap="along"),
    RemnantTold("MF-05", "moss flannel", _SHELF, size="64cm x 18cm", nap="along", edges="selvedge; cut; cut; cut"),
    RemnantTold("MF-06", "moss flannel", _BAG, points="0,0 18,0 25,12 9,24 cm", nap="along"),
    RemnantTold("MF-07", "moss flannel", _SHELF, points="0,0 33,0 33,16 48,16 48,31 0,31 cm", nap="along"),
    # ecru calico: right fibre, too light
    RemnantTold("EC-01", "ecru calico", _DRAWER, size="90cm x 52cm", washed="hot, twice"),
    RemnantTold("EC-02", "ecru calico", _DRAWER, points="0,0 47,0 52,30 26,44 0,41 cm", washed="hot, twice"),
    RemnantTold("EC-03", "ecru calico", _BAG, size="38cm x 27cm", bites=("near right: 10cm x 10cm",)),
    RemnantTold("EC-04", "ecru calico", _BAG, points="0,0 29,0 24,19 5,22 cm", faults=("stain: 4cm at 12cm,10cm",)),
    RemnantTold("EC-05", "ecru calico", _DRAWER, size="56cm x 22cm", faults=("crease: 0,11 56,11 cm",)),
    RemnantTold("EC-06", "ecru calico", _BAG, points="0,0 17,0 26,17 10,28 0,16 cm"),
    RemnantTold("EC-07", "ecru calico", _BAG, size="33cm x 33cm", bites=("far right: 15cm x 15cm slanted",)),
    RemnantTold("EC-08", "ecru calico", _DRAWER, size="44cm x 16cm", rough=True),
)


def settle(workroom: Workroom) -> None:
    """Put the cloths, the remnants, the patterns and the two jobs into a workroom."""
    _cloths(workroom)
    for told in REMNANTS:
        _log(workroom, told)
    _patterns(workroom)
    _jobs(workroom)


def _cloths(workroom: Workroom) -> None:
    from stash import cloths

    from . import reading

    for told in CLOTHS:
        cloths.add(
            workroom,
            cloths.NewCloth(
                name=told.name,
                fibres=reading.shares([told.fibres], "--fibre"),
                weight=reading.a_cloth_weight(told.weight),
                weave=told.weave,
                colour=told.colour,
                one_way=told.one_way,
                faces_alike=told.faces_alike,
            ),
        )


def _log(workroom: Workroom, told: RemnantTold) -> None:
    from stash import remnants
    from stash.words import Face, Nap, Source

    from .measuring import OutlineTold, a_fault, understood
    from .shown import Shown

    outline = OutlineTold(told.size, told.bites, told.points, edges=told.edges, rough=told.rough)
    remnants.log(
        workroom,
        remnants.NewRemnant(
            tag=told.tag,
            cloth=told.cloth,
            outline=understood(outline, Shown()).measured,
            told=outline.said,
            grain_angle=told.grain_angle,
            face_up=Face.WRONG if told.wrong_side_up else Face.RIGHT,
            nap=Nap(told.nap) if told.nap else None,
            faults=tuple(a_fault(text) for text in told.faults),
            place=told.place,
            washed=told.washed,
            mass=told.mass,
            source=Source(told.source),
        ),
        by=WHO,
    )


def _patterns(workroom: Workroom) -> None:
    """A wedge of a round cushion, and the three pieces of a tool roll."""
    from stash import patterns

    wedge = patterns.tapered(210.0, 84.0, 20.0, trued=True)
    patterns.add(
        workroom, CUSHION, [patterns.NewPiece(name="wedge", ring=wedge, allowance=10.0)], note="Sixteen make one side."
    )
    body = ((0.0, 0.0), (420.0, 0.0), (420.0, 300.0), (0.0, 300.0))
    pocket = ((0.0, 0.0), (400.0, 0.0), (400.0, 90.0), (0.0, 130.0))
    flap = ((0.0, 0.0), (400.0, 0.0), (380.0, 80.0), (20.0, 80.0))
    patterns.add(
        workroom,
        ROLL,
        [
            patterns.NewPiece(name="body", ring=body, allowance=10.0),
            patterns.NewPiece(name="pocket", ring=pocket, allowance=(10.0, 10.0, 20.0, 10.0), one_way=True),
            patterns.NewPiece(name="flap", ring=flap, allowance=10.0, hidden=True),
        ],
    )


def _jobs(workroom: Workroom) -> None:
    from stash import jobs

    light = jobs.ClothRule(fibres=("linen", "cotton"), weight_from=160.0, weight_to=220.0)
    jobs.add(workroom, CUSHION, [jobs.NewJobPiece(pattern=CUSHION, piece="wedge", count=16, rule=light)])
    heavy = jobs.ClothRule(fibres=("cotton",), weight_from=350.0)
    calico = jobs.ClothRule(cloths=("ecru calico",))
    jobs.add(
        workroom,
        ROLL,
        [
            jobs.NewJobPiece(pattern=ROLL, piece="body", count=1, rule=heavy),
            jobs.NewJobPiece(pattern=ROLL, piece="pocket", count=1, rule=heavy),
            jobs.NewJobPiece(pattern=ROLL, piece="flap", count=1, rule=calico),
        ],
    )
