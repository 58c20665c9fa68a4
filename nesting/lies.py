"""How a ply lies in its stack. By itself, since who only looks at a lay must not wait for a geometry library."""

from __future__ import annotations

from dataclasses import dataclass, replace

from .forms import Point


@dataclass(frozen=True, slots=True)
class Lie:
    """How a ply lies in its stack: turned over across the grain ((x, y) → (x, −y)) if `flipped`, then turned by `turn` (0 or
    180 degrees), then shifted by (x, y)."""

    x: float = 0.0
    y: float = 0.0
    turn: float = 0.0
    flipped: bool = False

    def after(self, first: Lie) -> Lie:
        """What comes of lying so what lies as `first` says already.

        >>> Lie(y=300.0, flipped=True).after(Lie(y=300.0, flipped=True))
        Lie(x=0.0, y=0.0, turn=0.0, flipped=False)
        """
        x, y = self.apply((first.x, first.y))
        turn = (self.turn - first.turn if self.flipped else self.turn + first.turn) % 360.0
        return Lie(x, y, turn, self.flipped != first.flipped)

    def apply(self, point: Point) -> Point:
        """Where a point of the ply's own cloth lies in the stack."""
        x, y = point
        y = -y if self.flipped else y
        if self.turn % 360.0 == 180.0:
            x, y = -x, -y
        return x + self.x, y + self.y

    def back(self) -> Lie:
        """The way from the stack to the ply's own cloth."""
        x, y = replace(self, x=0.0, y=0.0).apply((-self.x, -self.y))
        return Lie(x, y, self.turn if self.flipped else -self.turn % 360.0, self.flipped)


AS_IT_IS = Lie()
"""Right side up, in its own coordinates."""
