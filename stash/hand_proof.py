"""The proving measure of a lay: between which two corners of which panel a tape shows that it is of the right hand."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .words import Hand

if TYPE_CHECKING:
    from nesting import ProvingMeasure

    from .plans import LaidPanel, Lay


@dataclass(frozen=True, slots=True)
class HandProof:
    """A panel of the lay on its remnant, right side up, the grain from left to right, and the measure that proves its hand."""

    tag: str
    panel: int
    piece: str
    hand: Hand | None
    measure: ProvingMeasure


def hand_proof(lay: Lay, one_way: Container[str] = (), tag: str | None = None) -> HandProof | None:
    """The measure of a lay (of one of its remnants, if its tag is given) that tells the hands apart best; None where nothing
    in it has two hands that a tape could tell apart. `one_way`: the pieces that may not be turned head to foot."""
    found = []
    for sheet in lay.sheets:
        if tag in (None, sheet.remnant.tag):
            for panel in sheet.panels:
                if proof := _of(sheet.remnant.tag, panel, one_way=sheet.remnant.one_way or panel.piece in one_way):
                    found.append(proof)
    return max(found, key=lambda one: (round(abs(one.measure.length - one.measure.other), 3), -one.panel), default=None)


def _of(tag: str, panel: LaidPanel, *, one_way: bool) -> HandProof | None:
    from nesting import proving_measure

    measure = proving_measure(panel.cut_line, one_way=one_way)
    return None if measure is None else HandProof(tag, panel.number, panel.piece, panel.hand, measure)
