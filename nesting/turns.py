"""Whether a panel may lie turned so on a sheet: the panel's own turns and, on one-way cloth, the sheet's."""

from __future__ import annotations

from collections.abc import Iterable

from .forms import Panel, Sheet
from .tolerances import SAME_TURN


def may_be_turned(turn: float, panel: Panel, sheet: Sheet | None = None) -> bool:
    """Whether `turn` degrees is one of the panel's turns, and one of the sheet's if it names any, give or take `off_grain`.

    >>> gore = Panel("gore", ((0, 0), (300, 0), (0, 80)), copies=2, off_grain=2)
    >>> may_be_turned(-178.5, gore), may_be_turned(90, gore)
    (True, False)
    """
    sides: list[Iterable[float]] = [panel.turns]
    if sheet is not None and sheet.turns is not None:
        sides.append(sheet.turns)
    return all(any(_between(turn, allowed) <= panel.off_grain + SAME_TURN for allowed in turns) for turns in sides)


def _between(a: float, b: float) -> float:
    """The lesser angle between two turns, in degrees."""
    return min((a - b) % 360.0, (b - a) % 360.0)
