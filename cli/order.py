"""`fent lay order`: in which order to cut, and what to measure first."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from . import options, plying, reading
from .saying import Voice, kept_in

if TYPE_CHECKING:
    from nesting import Nearest
    from stash.hand_proof import HandProof
    from stash.ordering import SheetOrder

    from .shown import Shown


def order(
    number: Annotated[int, typer.Argument(metavar="LAY", parser=reading.a_number, help="The lay.", show_default=False)],
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Tell a safe order of cutting.

    For each remnant: what to measure before the first cut, the hardest panel first, and the cut after which a spoiled panel
    cannot be made good from the rest of it. Mind the blade: cut away from yourself, and close it when you put it down.

    \b
    Example:
      fent lay order 1
        Lay 1 for wheel cushion: measure first, then cut in this order.
        N-02, in drawer 2
          Measure: 620 mm along the grain, 400 mm across it.
        …
    """
    from stash import Workroom, ordering

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    with Workroom.open(workroom, create=False) as opened:
        lay, found = ordering.order(opened, number)
        hands = {one.sheet.remnant.tag: plying.hand_proof_of(opened, lay, one.sheet.remnant.tag) for one in found}
    voice.data(found)
    voice.line(f"Lay {lay.number} for {lay.job}: measure first, then cut in this order.")
    for one in found:
        voice.line()
        for text in _sheet(one, hands[one.sheet.remnant.tag], voice.shown):
            voice.line(text)


def _sheet(one: SheetOrder, hand: HandProof | None, shown: Shown) -> Iterator[str]:
    remnant = one.sheet.remnant
    yield f"{remnant.tag}, {kept_in(remnant.place)}"
    yield f"  Measure: {shown.length(remnant.length)} along the grain, {shown.length(remnant.width)} across it."
    if hand is not None:
        yield f"  {plying.hand_said(hand, shown)}"
    by_number = {n: panel.number for n, panel in enumerate(sorted(one.panels, key=lambda panel: panel.number), 1)}
    for near in one.found.narrowest:
        yield f"  Look at: {_narrow(near, by_number, shown)}."
    yield f"  Cut:     {', '.join(str(panel.number) for panel in one.panels)}"
    yield f"  {_no_other_way(one)}"


def _narrow(near: Nearest, by_number: dict[int, int], shown: Shown) -> str:
    thing = near.other.rstrip(" 0123456789")
    other = by_number[int(near.other)] if near.other.isdigit() else f"{'the' if thing == 'edge' else 'a'} {thing}"
    return f"{shown.fine(round(near.distance, 1))} between panel {by_number[near.panel]} and {other}"


def _no_other_way(one: SheetOrder) -> str:
    last = len(one.panels)
    if one.free_until >= last:
        return "Up to the last cut, one panel that is spoiled can be made good from the rest of it."
    if one.free_until == 0:
        return "From the first cut on there is no other way: a spoiled panel cannot be made good from the rest of it."
    after = one.panels[one.free_until - 1].number
    return f"After panel {after} there is no other way: one spoiled later cannot be made good from the rest of it."
