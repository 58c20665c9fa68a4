"""What is fixed by hand, as it is typed: `wedge on N-02 at 3mm,78mm, head to foot`, or `lay 3: 1-6`."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from . import reading

if TYPE_CHECKING:
    from stash.terms import AsInLay, ByHand

EXPECTED = (
    "a piece, its remnant, and how far from its left and its near edge: "
    "wedge on N-02 at 3mm,78mm (or … , head to foot); or panels of an earlier lay: lay 3: 1-6"
)
PANEL = re.compile(
    r"(?:(left|right)\s+)?(.+?)\s+on\s+(\S.*?)\s+at\s+([^,;]+)\s*[,;]\s*([^,;]+?)"
    r"((?:\s*[,;]\s*(?:head to foot|turned over|as drawn))*)",
    re.IGNORECASE,
)
LAY = re.compile(r"lay\s+(\d{1,6})(?:\s*:\s*(.+))?", re.IGNORECASE)


def fixed(text: str, where: str = "--fixed") -> ByHand | AsInLay:
    """What one `--fixed` says. Raises Unreadable."""
    from stash.terms import AsInLay, ByHand
    from stash.words import Hand

    said = text.strip()
    if lay := LAY.fullmatch(said):
        return AsInLay(int(lay[1]), reading.numbers([lay[2]], where) if lay[2] else ())
    panel = PANEL.fullmatch(said)
    if panel is None:
        raise reading.Unreadable(f"{text!r} cannot be read", EXPECTED, where)
    hand, piece, tag, left, near, how = panel.groups()
    return ByHand(
        piece=piece,
        tag=tag,
        left=reading.of_option(reading.a_margin, left, where),
        near=reading.of_option(reading.a_margin, near, where),
        hand=Hand(hand.lower()) if hand else None,
        head_to_foot="head to foot" in how.lower(),
        turned_over="turned over" in how.lower(),
    )
