"""The stash's tables. `migrations` holds the same, change by change; a test keeps the two from drifting apart.

Outlines and shapes are OGC WKB in mm on the grain (+x is the warp), right side up; beside them stand plain columns to search
by. Lengths are mm and weights g/m², as floats; every `area` and `mass` is a booked amount: a whole number of 0.01 mm² or mg.
"""

from .bin import (
    ClothBeforeRow,
    ClothRow,
    EdgeRow,
    EnvelopeRow,
    FaultRow,
    FibreRow,
    PhotographRow,
    PlaceRow,
    RemnantBeforeRow,
    RemnantJoinedRow,
    RemnantRow,
)
from .book import EntryRow, LineRow, MendedRow, SettingRow
from .columns import Base, Moment, Shape, Word, is_line
from .lay import LayCountRow, LayPanelRow, LayPlyRow, LayRow, LaySheetRow
from .sewing import JobPieceClothRow, JobPieceRow, JobRow, PatternRow, PieceRow

SCHEMA = "0008"
"""The head of `migrations/versions` that these tables are. A stash of this version is opened without loading Alembic."""

__all__ = [
    "SCHEMA",
    "Base",
    "ClothBeforeRow",
    "ClothRow",
    "EdgeRow",
    "EntryRow",
    "EnvelopeRow",
    "FaultRow",
    "FibreRow",
    "JobPieceClothRow",
    "JobPieceRow",
    "JobRow",
    "LayCountRow",
    "LayPanelRow",
    "LayPlyRow",
    "LayRow",
    "LaySheetRow",
    "LineRow",
    "MendedRow",
    "Moment",
    "PatternRow",
    "PhotographRow",
    "PieceRow",
    "PlaceRow",
    "RemnantBeforeRow",
    "RemnantJoinedRow",
    "RemnantRow",
    "SettingRow",
    "Shape",
    "Word",
    "is_line",
]
