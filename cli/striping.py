"""What is typed of stripes and checks, of the grain on the cloth and of joins: repeats, bars, anchors, bands for a seam; and
`fent bin bars`."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Annotated

import typer

from . import options, reading
from .remnant import Tag
from .saying import Voice

if TYPE_CHECKING:
    from stash.cloths import Cloth
    from stash.patterns import Anchor, JoinZone, Piece

    from .shown import Shown

ANCHOR_EXPECTED = (
    'a place on an edge, "hem at 12cm", a point of the drawing, "15,9 cm", or "centre line"; '
    'with ", between bars" where it lies half a repeat beside one'
)
ZONE_EXPECTED = 'a seam along or across the grain, from where to where, and its allowance: "across 10cm to 14cm: 8mm"'
UNEVEN_EXPECTED = "along, across, both or neither"
UNEVEN = {"along": (True, False), "across": (False, True), "both": (True, True), "neither": (False, False)}

RepeatAlong = Annotated[
    float | None,
    typer.Option(
        "--repeat-along", metavar="LENGTH", parser=reading.a_margin, help="Its stripe or check: bar to bar along the grain."
    ),
]
RepeatAcross = Annotated[
    float | None,
    typer.Option("--repeat-across", metavar="LENGTH", parser=reading.a_margin, help="… bar to bar across the grain: 50mm."),
]
Bar = Annotated[
    str | None, typer.Option("--bar", metavar="WORDS", help="… which bar of the repeat is measured: the dark one.")
]
Uneven = Annotated[
    str | None,
    typer.Option("--uneven", metavar="WAY", help="… read backwards it differs: along the grain, across it, both or neither."),
]
BarLeft = Annotated[
    float | None,
    typer.Option("--bar-left", metavar="LENGTH", parser=reading.a_margin, help="From its left end to a bar across the grain."),
]
BarNear = Annotated[
    float | None,
    typer.Option("--bar-near", metavar="LENGTH", parser=reading.a_margin, help="From its near edge to a bar along the grain."),
]
Lies = Annotated[
    str,
    typer.Option(
        "--lies", metavar="WAY", help="Its grain line on the cloth: warp-wise, weft-wise, bias, either bias or free."
    ),
]
Front = Annotated[bool, typer.Option("--front", help="It is looked at first: the best cloth is for it.")]
AnchorTold = Annotated[
    str | None,
    typer.Option(
        "--anchor",
        metavar="PLACE",
        help='What of it lies on a bar: "hem at 12cm", "centre line", "15,9 cm"; or … between bars.',
    ),
]
Zones = Annotated[
    list[str] | None,
    typer.Option(
        "--join-zone", metavar="BAND", help='… or a band for such a seam: "across 10cm to 14cm: 8mm". Again for another.'
    ),
]


def uneven(told: str | None) -> tuple[bool | None, bool | None]:
    """Whether a stripe is uneven along and across the grain; None where nothing is said."""
    if told is None:
        return None, None
    found = UNEVEN.get(" ".join(told.lower().split()))
    if found is None:
        raise reading.Unreadable(f"{told!r} is none of them", UNEVEN_EXPECTED, "--uneven")
    return found


def an_anchor(text: str) -> Anchor:
    """`hem at 12cm`, `centre line`, `15,9 cm`; each may end in `, between bars`."""
    from stash.patterns import Anchor

    said = re.fullmatch(r"\s*(.+?)\s*(?:,\s*(between bars|on a bar))?\s*", text)
    if said is None:
        raise reading.Unreadable(f"{text!r} is no place", ANCHOR_EXPECTED, "--anchor")
    place, between = said[1], said[2] == "between bars"
    if " ".join(place.lower().split()) in ("centre line", "centre"):
        return Anchor(between=between)
    on_edge = re.fullmatch(r"(.+?)\s+at\s+(.+)", place)
    if on_edge:
        at = reading.of_option(reading.a_margin, on_edge[2], "--anchor")
        return Anchor(edge=on_edge[1], along=at, between=between)
    if not re.match(r"[-\d(.]", place):
        raise reading.Unreadable(f"{text!r} is no place", ANCHOR_EXPECTED, "--anchor")
    ring = reading.a_ring(place, "--anchor") if "," in place else ()
    if len(ring) != 1:
        raise reading.Unreadable(f"{text!r} is not one place", ANCHOR_EXPECTED, "--anchor")
    return Anchor(point=ring[0], between=between)


def a_zone(text: str) -> JoinZone:
    """`across 10cm to 14cm: 8mm`, `along 4cm: 8mm`."""
    from stash.patterns import JoinZone

    said = re.fullmatch(r"\s*(along|across)\s+(.+?)(?:\s+to\s+(.+?))?\s*:\s*(.+)", text, re.IGNORECASE)
    if said is None:
        raise reading.Unreadable(f"{text!r} is no band for a join", ZONE_EXPECTED, "--join-zone")
    low, high, width = (reading.of_option(reading.a_margin, part or said[2], "--join-zone") for part in said.group(2, 3, 4))
    return JoinZone(along=said[1].lower() == "along", low=low, high=high, allowance=width)


def stripe_in_words(cloth: Cloth, shown: Shown) -> str:
    """A cloth's repeat, "" where it has none."""
    said = [
        f"every {shown.fine(step)} {way} the grain{', uneven' if uneven_so else ''}"
        for step, way, uneven_so in (
            (cloth.repeat_along, "along", cloth.uneven_along),
            (cloth.repeat_across, "across", cloth.uneven_across),
        )
        if step
    ]
    return " and ".join(said) + (f"; measured to {cloth.bar}" if said and cloth.bar else "")


def anchor_in_words(piece: Piece, shown: Shown) -> str:
    """What of a piece lies on a bar, "" where nothing does."""
    anchor = piece.anchor
    if anchor is None or anchor.point is None:
        return ""
    low_x, low_y, _, _ = piece.cut_line.bounds
    place = f"{anchor.edge} at {shown.fine(anchor.along)}" if anchor.edge else "a point"
    x, y = (shown.fine(round(at - low, 1)) for at, low in zip(anchor.point, (low_x, low_y), strict=True))
    where = f"{x} from its left end, {y} from its near edge"
    return f"{place} ({where}) lies {'between two bars' if anchor.between else 'on a bar'}"


def zones_in_words(piece: Piece, shown: Shown) -> str:
    """The bands in which a piece may be joined from two."""
    return ", ".join(
        f"{'along' if zone.along else 'across'} the grain, {shown.fine(zone.low)} to {shown.fine(zone.high)}, "
        f"{shown.fine(zone.allowance)} on either side"
        for zone in piece.join_zones
    )


def bars(
    tag: Tag,
    left: Annotated[
        float | None,
        typer.Option("--left", metavar="LENGTH", parser=reading.a_margin, help="From its left end to a bar across the grain."),
    ] = None,
    near: Annotated[
        float | None,
        typer.Option("--near", metavar="LENGTH", parser=reading.a_margin, help="From its near edge to a bar along the grain."),
    ] = None,
    repeat_along: RepeatAlong = None,
    repeat_across: RepeatAcross = None,
    why: Annotated[str, typer.Option("--why", metavar="WORDS", help="Why it is measured now.")] = "measured",
    by: options.By = "",
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Measure where the bars of a stripe or check lie.

    Two measurements, as the remnant is drawn (right side up, the grain from left to right): to the middle of the bar that the
    cloth is measured to. Only the one that its repeat needs. A repeat is told where this remnant has another than its cloth,
    after a wash for instance.

    \b
    Example:
      fent bin bars N-02 --near 18mm --by AK
        N-02: every 50 mm across the grain, one 18 mm from its near edge.
    """
    from stash import Workroom, matching

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    who = options.whose(by)
    with Workroom.open(workroom, create=False) as opened:
        remnant = matching.measure_bars(
            opened, tag, left=left, near=near, repeat_along=repeat_along, repeat_across=repeat_across, by=who, why=why
        )
    voice.data(remnant)
    voice.aside(f"{remnant.tag}: {matching.bars_said(remnant)}.")
