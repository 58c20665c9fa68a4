"""Lays side by side: their figures in a table, their remnants in one picture; which one is kept."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from . import questions
from .reading import Unreadable
from .saying import Voice, many

if TYPE_CHECKING:
    from stash import Workroom
    from stash.offering import Seen

    from .page import Page
    from .shown import Shown

AIMS = {
    "least lost": "least good cloth lost",
    "matching": "one lot, fewest remnants",
    "fewest": "fewest remnants",
    "small first": "small and odd ones first",
    "oldest first": "oldest first",
}
"""An aim as it is read in an answer."""


def aim_of(one: Seen) -> str:
    """What it was sought by, as it is read."""
    return AIMS[str(one.offer.asked.aim)]


def table(voice: Voice, seen: Sequence[Seen]) -> None:
    """The figures side by side."""
    shown = voice.shown
    voice.line(f"{many(len(seen), 'lay')} to choose from:")
    voice.line()
    rows = []
    for number, one in enumerate(seen, 1):
        pulled = sum(sheet.remnant.area for sheet in one.lay.sheets)
        used = sum(sheet.panel_area for sheet in one.lay.sheets)
        keepers = [keeper for each in one.leaves for keeper in each.keepers]
        tags = ", ".join(sheet.remnant.tag for sheet in one.lay.sheets)
        rows.append(
            [
                str(number),
                aim_of(one),
                tags,
                str(len(one.lay.panels)),
                shown.area(pulled),
                f"{used / pulled:.0%}",
                str(len(keepers)),
                shown.area(sum(each.rag_area for each in one.leaves)),
                shown.area(one.lost),
            ]
        )
    heads = ["", "sought by", "pull", "panels", "pulled", "used", "keepers", "rag bag", "good cloth lost"]
    voice.table(heads, rows, right=[0, 3, 4, 5, 6, 7, 8])
    voice.line()


def which(voice: Voice, seen: Sequence[Seen], keep: int | None) -> int:
    """Which of them is kept: the one that was said, the one that is answered at a terminal, else the first."""
    if keep is None and len(seen) > 1 and questions.at_a_terminal() and not voice.as_json:
        return questions.ask("Which one is kept", lambda answer: _one_of(answer, len(seen)), "1") - 1
    if keep is not None and keep > len(seen):
        voice.aside(f"There is no lay {keep} to keep: {many(len(seen), 'lay')} was found. The first is kept.")
        return 0
    return (keep or 1) - 1


def _one_of(answer: str, most: int) -> int:
    if not answer.isdecimal() or not 1 <= int(answer) <= most:
        raise Unreadable(f"{answer!r} is none of them", f"a number from 1 to {most}")
    return int(answer)


def page(workroom: Workroom, seen: Sequence[Seen], shown: Shown) -> Page:
    """All of them in one picture, at one scale."""
    from . import pictures
    from .drawn import sheets_drawn

    drawn = [
        remnant
        for number, one in enumerate(seen, 1)
        for remnant in sheets_drawn(workroom, one.lay, one.leaves, shown, before=f"{number}. ")
    ]
    lines = [
        f"{number}. {aim_of(one)}: {', '.join(sheet.remnant.tag for sheet in one.lay.sheets)}; "
        f"{shown.area(one.lost)} of good cloth lost"
        for number, one in enumerate(seen, 1)
    ]
    return pictures.lay_picture(f"Lays for {seen[0].lay.job}, side by side", lines, drawn, shown)
