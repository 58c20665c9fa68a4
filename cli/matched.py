"""What matching a stripe or check costs, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .saying import Voice, many

if TYPE_CHECKING:
    from stash.unmatched import MatchingLoss

    from .shown import Shown


def tell(voice: Voice, loss: MatchingLoss) -> None:
    """Against the same lay without."""
    voice.line(in_words(loss, voice.shown))


def in_words(loss: MatchingLoss, shown: Shown) -> str:
    """What the same lay without matching would yield, as far as it was found."""
    if loss.nothing:
        return "Matched on the stripe. Without matching nothing better was found."
    gains = [
        f"{many(loss.panels, 'panel')} more" if loss.panels > 0 else "",
        f"{many(loss.remnants, 'remnant')} fewer" if loss.remnants > 0 else "",
        f"{shown.area(loss.lost)} less of good cloth lost" if loss.lost > 0 else "",
    ]
    return f"Matched on the stripe, which costs something: without it {' and '.join(filter(None, gains))}."
