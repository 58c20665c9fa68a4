"""Where a bar of a stripe lies, as it is told: plain arithmetic, for whoever only looks at a remnant."""

from __future__ import annotations


def off_the_edge(bar: float, edge: float, step: float) -> float:
    """How far from an edge a bar lies: the one that was measured or, where that went with another part of the cloth, the next.

    >>> off_the_edge(18.0, 0.0, 50.0), off_the_edge(18.0, 60.0, 50.0)
    (18.0, 8.0)
    """
    return bar - edge if bar >= edge else (bar - edge) % step
