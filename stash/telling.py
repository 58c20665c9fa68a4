"""How the stash's sentences tell measures: in the units that whoever reads them has chosen.

The stash itself counts in mm, mm², g and g/m² and knows no other unit. Its refusals and reasons carry measures all the same
("its rectangle lacks 40 mm …"), and a person who measures in inches must read them in inches: the floor above says how, once,
before it asks for anything.
"""

from __future__ import annotations

import re
from contextvars import ContextVar
from typing import Protocol


class Telling(Protocol):
    """Measures in words, each with its unit."""

    def length(self, mm: float) -> str:
        """To what is read off a tape."""

    def fine(self, mm: float) -> str:
        """Where less than that matters: a limit, a margin, what was typed."""

    def size(self, length: float, width: float) -> str: ...

    def area(self, mm2: float) -> str: ...

    def mass(self, grams: float) -> str: ...

    def cloth_weight(self, grams_per_m2: float) -> str: ...


class InMillimetres:
    """As they are told where nobody has chosen.

    >>> told = InMillimetres()
    >>> told.length(620.4), told.fine(6.35), told.size(620, 400), told.area(24_800), told.mass(86.25), told.cloth_weight(185)
    ('620 mm', '6.35 mm', '620 × 400 mm', '248 cm²', '86.25 g', '185 g/m²')
    """

    def length(self, mm: float) -> str:
        return f"{mm:.0f} mm"

    def fine(self, mm: float) -> str:
        return f"{_plain(mm)} mm"

    def size(self, length: float, width: float) -> str:
        return f"{length:.0f} × {width:.0f} mm"

    def area(self, mm2: float) -> str:
        return f"{mm2 / 100:.0f} cm²"

    def mass(self, grams: float) -> str:
        return f"{_plain(grams)} g"

    def cloth_weight(self, grams_per_m2: float) -> str:
        return f"{_plain(grams_per_m2)} g/m²"


def _plain(figure: float) -> str:
    """No powers of ten, and nothing of what floats lose."""
    return f"{figure:.6f}".rstrip("0").rstrip(".")


_IN_MILLIMETRES = InMillimetres()
_chosen: ContextVar[Telling | None] = ContextVar("chosen", default=None)


def tell_in(chosen: Telling | None) -> None:
    """From now on measures are told so; None for millimetres and grams again."""
    _chosen.set(chosen)


def _told() -> Telling:
    return _chosen.get() or _IN_MILLIMETRES


def length(mm: float) -> str:
    return _told().length(mm)


def fine(mm: float) -> str:
    return _told().fine(mm)


def size(length: float, width: float) -> str:
    """Along the grain × across it."""
    return _told().size(length, width)


def area(mm2: float) -> str:
    return _told().area(mm2)


def mass(grams: float) -> str:
    return _told().mass(grams)


def cloth_weight(grams_per_m2: float) -> str:
    return _told().cloth_weight(grams_per_m2)


_OF_UNIT = {"mm": fine, "mm²": area, "g": mass, "g/m²": cloth_weight}


def in_their_units(words: str) -> str:
    """What the engine says of a lay, in mm, as it is read.

    >>> in_their_units("overlap by 1.48e+04 mm²"), in_their_units("lie 0.500 mm apart: the gap is 2")
    ('overlap by 148 cm²', 'lie 0.5 mm apart: the gap is 2 mm')
    """
    words = re.sub(r"([\d.]+(?:e[+-]?\d+)?) mm²", lambda said: area(float(said[1])), words)
    words = re.sub(r"([\d.]+) mm\b", lambda said: fine(round(float(said[1]), 1)), words)
    return re.sub(r"(gap is |: )([\d.]+)( are kept|$)", lambda said: f"{said[1]}{fine(float(said[2]))}{said[3]}", words)


def figure(value: float, unit: str) -> str:
    """A figure of any unit; one that the stash does not count in stays as it is.

    >>> figure(300, "mm"), figure(45, "degrees"), figure(3, "")
    ('300 mm', '45 degrees', '3')
    """
    return _OF_UNIT[unit](value) if unit in _OF_UNIT else f"{value:g} {unit}".rstrip()
