"""`fent bin yields`, `fent bin binding`, `fent job sets`: the question turned round. What could the bin give?"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Annotated

import typer

from . import options, reading
from .saying import Voice, many

if TYPE_CHECKING:
    from nesting import Hands
    from stash.jobs import ClothRule

Seconds = Annotated[
    float,
    typer.Option("--seconds", metavar="N", parser=reading.seconds, help="How long to look, all remnants together."),
]
Cloth = Annotated[list[str] | None, typer.Option("--cloth", metavar="NAME", help="Only of this cloth. Again for another.")]
Fibre = Annotated[
    list[str] | None, typer.Option("--fibre", metavar="FIBRE", help="Made of nothing but this fibre. Again for another.")
]


def yields(
    piece: Annotated[str, typer.Argument(metavar="PIECE", help="PATTERN/PIECE, as in a job.", show_default=False)],
    cloths: Cloth = None,
    fibres: Fibre = None,
    seconds: Seconds = 10,
    cluster: options.Cluster = None,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
) -> None:
    """Tell how many of a pattern piece each remnant yields.

    And how many all of them together. Each number was laid; where it is proved that a remnant can give no more, that is said.

    \b
    Example:
      fent bin yields cushion/wedge --cloth "navy linen" --seconds 1
        16 wedge in all, from 4 remnants.
        remnant  place     cloth       wedge  used  proved
        N-02     drawer 2  navy linen      6   40%  no more than 14
        …
    """
    from stash import Workroom, yields

    voice = Voice(as_json=as_json, plain=plain)
    pattern, _, name = (part.strip() for part in piece.partition("/"))
    if not name:
        raise reading.Unreadable(f"{piece!r} is no piece", "the pattern and the piece, such as cushion/wedge", "PIECE")
    with Workroom.open(workroom, create=False) as opened, working(cluster) as hands:
        found = yields.of_piece(opened, pattern, name, _rule(cloths, fibres), seconds=seconds, hands=hands)
    voice.data(found)
    if not found:
        voice.line(f"No remnant that is free holds a {name}.")
        return
    total = sum(one.copies for one in found)
    proved = " Proved: they can give no more." if all(one.copies == one.most for one in found) else ""
    voice.line(f"{total} {name} in all, from {many(len(found), 'remnant')}.{proved}")
    voice.line()
    voice.table(
        ["remnant", "place", "cloth", name, "used", "proved"],
        [[one.tag, one.place, one.cloth, str(one.copies), f"{one.used:.0%}", _proved(one.copies, one.most)] for one in found],
        right=[3, 4],
    )


def sets(
    job: Annotated[str | None, typer.Argument(metavar="JOB", help="Only this job.", show_default=False)] = None,
    seconds: Seconds = 10,
    cluster: options.Cluster = None,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
) -> None:
    """Tell how many whole sets the bin could give today.

    Of every job on the books, each as if it were the only one: all its pieces, as often as the free remnants yield them.

    \b
    Example:
      fent job sets --seconds 1
        job            whole sets  proved               remnants that will do
        summer bag              0  no more is possible                      0
        wheel cushion           1  no more than 3                           4
    """
    from stash import Workroom, yields

    voice = Voice(as_json=as_json, plain=plain)
    with Workroom.open(workroom, create=False) as opened, working(cluster) as hands:
        found = yields.of_jobs(opened, seconds=seconds, hands=hands, job=job)
    voice.data(found)
    voice.table(
        ["job", "whole sets", "proved", "remnants that will do"],
        [[one.job, str(one.sets), _proved(one.sets, one.most), str(one.remnants)] for one in found],
        right=[1, 3],
    )


def binding(
    width: Annotated[
        float,
        typer.Argument(metavar="WIDTH", parser=reading.a_length, help="As it is cut, 4cm for instance.", show_default=False),
    ],
    cloths: Cloth = None,
    fibres: Fibre = None,
    shortest: Annotated[
        float,
        typer.Option("--shortest", metavar="LENGTH", parser=reading.a_length, help="Shorter strips are not worth a join."),
    ] = 150.0,
    cluster: options.Cluster = None,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Tell how much binding the bin holds.

    Straight, along the grain or across it, and on the bias at 45°; strips of one width beside each other, clear of edges,
    holes and flaws, and without the joins. A remnant gives the one or the other.

    \b
    Example:
      fent bin binding 4cm --cloth "navy linen"
        15.5 m of straight binding 40 mm wide, or 12.6 m on the bias.
        remnant  place     cloth       straight  which way          bias
        N-02     drawer 2  navy linen     5.5 m  along the grain   4.9 m
        …
    """
    from stash import Workroom, yields

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    with Workroom.open(workroom, create=False) as opened, working(cluster, processes=False) as hands:
        found = yields.of_binding(opened, width, _rule(cloths, fibres), shortest=shortest, hands=hands)
    voice.data(found)
    if not found:
        voice.line(f"No remnant that is free holds a strip {voice.shown.fine(width)} wide.")
        return
    straight, bias = (sum(lengths) for lengths in zip(*((one.straight, one.bias) for one in found), strict=True))
    voice.line(f"{metres(straight)} of straight binding {voice.shown.fine(width)} wide, or {metres(bias)} on the bias.")
    voice.line()
    voice.table(
        ["remnant", "place", "cloth", "straight", "which way", "bias"],
        [
            [
                one.tag,
                one.place,
                one.cloth,
                metres(one.straight) if one.straight else "none",
                ("along the grain" if one.along else "across the grain") if one.straight else "",
                metres(one.bias) if one.bias else "none",
            ]
            for one in found
        ],
        right=[3, 5],
    )


def metres(mm: float) -> str:
    """
    >>> metres(12345.0)
    '12.3 m'
    """
    return f"{mm / 1000:.1f} m"


def _proved(had: int, most: int) -> str:
    return "no more is possible" if had == most else f"no more than {most}"


def _rule(cloths: list[str] | None, fibres: list[str] | None) -> ClothRule:
    from stash.jobs import ClothRule

    return ClothRule(cloths=tuple(cloths or ()), fibres=tuple(fibres or ()))


@contextmanager
def working(cluster: str | None, *, processes: bool = True) -> Iterator[Hands]:
    """Hands to work with: this machine's cores, or a cluster. `processes`: whether it is worth starting some."""
    from nesting import NoCluster, many_hands
    from stash import CannotBeDone

    try:
        with many_hands(None if processes else 1, cluster) as hands:
            yield hands
    except NoCluster as fault:
        raise CannotBeDone(str(fault), where="--cluster", next="Ask again without it: this machine's cores do it") from None
