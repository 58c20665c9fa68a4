"""Millimetres, grams and cents written back as the workroom wants to read them.

What is stored stays exact; only here is anything rounded, to the nearest millimetre or sixteenth of an inch unless another
step was chosen.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from . import units
from .units import INCH, OUNCE, OUNCE_PER_SQUARE_YARD, YARD, UnitFault

SHOWN = ("mm", "cm", "m", "in", "yd")
SIXTEENTH = Fraction(1, 16)
_STEPS = (1, 2, 4, 8, 16, 32, 64)  # into which a tape divides an inch
_TOLD = re.compile(r"(?P<unit>[a-z]+)(?:\s+to\s+(?P<step>.+?))?(?:\s*,\s*(?P<weights>[a-z]+))?")
EXPECTED = f"one of {', '.join(SHOWN)}, and if you like to what step and how weights are shown: in to 1/8, g"


@dataclass(frozen=True)
class Shown:
    """How measures are written back.

    `unit` is mm, cm, m, in, or yd (yards and inches). `step` is what lengths are rounded to, in mm; `weights` is g or oz,
    which goes with the unit unless it is said.

    >>> Shown().length(92.075), Shown("cm").length(92.075), Shown("in").length(92.075), Shown("yd").length(1155.7)
    ('92 mm', '9.2 cm', '3 5/8 in', '1 yd 9 1/2 in')
    """

    unit: str = "mm"
    step: Fraction = Fraction(0)
    weights: str = ""

    def __post_init__(self) -> None:
        if self.unit not in SHOWN:
            raise UnitFault(f"{self.unit!r} is not a unit that can be shown", EXPECTED)
        if not self.weights:
            object.__setattr__(self, "weights", "oz" if self.in_inches else "g")
        if self.weights not in ("g", "oz"):
            raise UnitFault(f"{self.weights!r} is not a way to show weights", "g or oz")
        if not self.step:
            object.__setattr__(self, "step", INCH * SIXTEENTH if self.in_inches else Fraction(1))
        if self.in_inches and self.step / INCH not in [Fraction(1, parts) for parts in _STEPS]:
            raise UnitFault("a tape is not divided so", f"inches to 1/{', 1/'.join(map(str, _STEPS[1:]))} or 1")

    @property
    def in_inches(self) -> bool:
        return self.unit in ("in", "yd")

    @property
    def heading(self) -> str:
        """The unit that a column of `number`s has in its head: yards are written as inches there."""
        return "in" if self.in_inches else self.unit

    def length(self, mm: float) -> str:
        """A length with its unit."""
        if self.unit == "yd" and abs(mm) >= YARD - self.step / 2:
            inches_in_all = round(Fraction(mm) / self.step) * self.step / INCH
            yards, rest = divmod(abs(inches_in_all), 36)
            return f"{'−' if mm < 0 else ''}{yards} yd" + (f" {_mixed(rest)} in" if rest else "")
        return f"{self.number(mm)} {self.heading}"

    def number(self, mm: float) -> str:
        """A length without its unit, for columns whose head names it."""
        if self.in_inches:
            return inches(mm, self.step / INCH)
        per = {"mm": 1, "cm": 10, "m": 1000}[self.unit]
        value = round(Fraction(mm) / self.step) * self.step / per
        return _decimal(value, _places(self.step / per)).replace("-", "−")

    def fine(self, mm: float) -> str:
        """A length whose tenths matter (a gap between cuts, an allowance).

        >>> Shown().fine(6.35), Shown().fine(5), Shown("in").fine(6.35)
        ('6.35 mm', '5 mm', '1/4 in')
        """
        if self.in_inches:
            return f"{inches(mm, Fraction(1, 64))} in"
        value = mm / {"mm": 1, "cm": 10, "m": 1000}[self.unit]
        return f"{value:.4f}".rstrip("0").rstrip(".") + f" {self.unit}"

    def size(self, length: float, width: float) -> str:
        """Along the grain × across it."""
        if self.unit == "yd" and max(length, width) >= YARD:
            return f"{self.length(length)} × {self.length(width)}"
        return f"{self.two(length, width)} {self.heading}"

    def two(self, length: float, width: float) -> str:
        """The same without the unit, for columns whose head names it."""
        return f"{self.number(length)} × {self.number(width)}"

    def area(self, mm2: float) -> str:
        """cm² or square inches; from a square metre or a square yard on, those.

        >>> Shown().area(1_234_567), Shown().area(45_600), Shown().area(0)
        ('1.235 m²', '456 cm²', '0 cm²')
        """
        if self.in_inches:
            square_inches = mm2 / float(INCH) ** 2
            return f"{square_inches / 1296:.3f} yd²" if square_inches >= 1296 else f"{square_inches:.1f} in²"
        return f"{mm2 / 1e6:.3f} m²" if mm2 >= 1_000_000 else f"{mm2 / 100:.0f} cm²"

    def mass(self, grams: float) -> str:
        """
        >>> Shown().mass(86.25), Shown().mass(1500), Shown("in").mass(28.349523125), Shown("in", weights="g").mass(86)
        ('86.2 g', '1.500 kg', '1.00 oz', '86.0 g')
        """
        if self.weights == "oz":
            return f"{grams / float(OUNCE):.2f} oz"
        return f"{grams / 1000:.3f} kg" if abs(grams) >= 1000 else f"{grams:.1f} g"

    def cloth_weight(self, grams_per_m2: float, within: float | None = None) -> str:
        """
        >>> Shown().cloth_weight(185), Shown("in").cloth_weight(185), Shown().cloth_weight(184.6, 3.2)
        ('185 g/m²', '5.5 oz/yd²', '185 ± 3 g/m²')
        """
        ounces = self.weights == "oz"
        per = float(OUNCE_PER_SQUARE_YARD) if ounces else 1.0
        places = 1 if ounces else 0
        give_or_take = f" ± {max(within / per, 10.0**-places):.{places}f}" if within else ""
        return f"{grams_per_m2 / per:.{places}f}{give_or_take} {'oz/yd²' if ounces else 'g/m²'}"


def as_told(text: str) -> Shown:
    """What a person chose to be shown: `in`, `cm`, `in to 1/8`, `mm to 5`, `in to 1/16 in, g`.

    Raises:
        UnitFault: if it is no such choice.

    >>> as_told("in to 1/8, g")
    Shown(unit='in', step=Fraction(127, 40), weights='g')
    """
    said = _TOLD.fullmatch(" ".join(text.lower().split()))
    if said is None:
        raise UnitFault(f"{text!r} cannot be read", EXPECTED)
    unit, step, weights = said["unit"], said["step"], said["weights"] or ""
    if unit not in SHOWN or step is None:
        return Shown(unit, weights=weights)
    bare = f"{step} {'in' if unit == 'yd' else unit}" if units.is_bare(step) else step
    return Shown(unit, units.length(bare), weights)


def inches(mm: float | Fraction, step: Fraction = SIXTEENTH) -> str:
    """To the nearest step of an inch, as it is read off a tape.

    >>> inches(92.075), inches(6.35), inches(25.4), inches(0.1), inches(-3.175)
    ('3 5/8', '1/4', '1', '0', '−1/8')
    """
    nearest = round(Fraction(mm) / INCH / step) * step
    return ("−" if nearest < 0 else "") + _mixed(abs(nearest))


def money(cents: int, currency: str = "") -> str:
    """
    >>> money(1250, "EUR"), money(5)
    ('12.50 EUR', '0.05')
    """
    return f"{cents // 100}.{cents % 100:02d}{f' {currency}' if currency else ''}"


def _mixed(inch: Fraction) -> str:
    """A whole number and a fraction, as on a tape."""
    whole, rest = divmod(inch, 1)
    return " ".join(filter(None, [str(whole) if whole else "", str(rest) if rest else ""])) or "0"


def _places(step: Fraction) -> int:
    """How many decimals a step needs: 1 for a tenth, 2 for a quarter; no more than 3."""
    return next((places for places in range(3) if step * 10**places % 1 == 0), 3)


def _decimal(value: Fraction, places: int) -> str:
    return f"{float(value):.{places}f}"
