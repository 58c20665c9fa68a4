"""Outlines off photographs.

    picture   read: a file, looked over and unpacked
    sheet     what gives the scale: marks of a printed sheet, A4, a card
    scales    … found in the picture
    lens      the camera that sees them so
    zones     what lies on the table, told from it
    edges     an edge to a fraction of a pixel
    rims      the rim of a thing, and a ring of few corners that follows it
    reading   read_photograph: all of it, with what the outline may be out by
    weave     threads: which way they run, from the spectrum
    lines     line_on: a thread laid on the cloth, or a line drawn on it


OpenCV is loaded by the modules that use it, and these only where a photograph is read.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .reading import Seen
    from .weave import Threads

__all__ = ["Seen", "Threads"]
