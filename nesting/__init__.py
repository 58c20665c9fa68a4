"""Outlines in, a lay out: pure geometry and search, with no workroom, no database and no screen."""

from .forms import Case, Flaw, Panel, Placement, Point, Result, Ring, Sheet, Strip

__all__ = ["Case", "Flaw", "Panel", "Placement", "Point", "Result", "Ring", "Sheet", "Strip"]
