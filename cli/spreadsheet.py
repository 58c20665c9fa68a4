"""Tables for spreadsheets: CSV (RFC 4180) whose cells cannot run.

A spreadsheet takes a cell that begins with =, +, −, @, a tab or a line's end for a formula, and a formula can fetch or start
things (OWASP, *CSV Injection*). Whatever a person has typed is therefore written with an apostrophe before such a beginning;
figures, which are ours, are written as they are.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

BEGINNINGS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""The beginnings of a formula, in full width too, which some programs take for the same."""


def guarded(text: str) -> str:
    """A text that no spreadsheet takes for a formula.

    >>> guarded("=HYPERLINK(A1)"), guarded(" -2"), guarded("navy linen")
    ("'=HYPERLINK(A1)", "' -2", 'navy linen')
    """
    return f"'{text}" if text.lstrip(" \u00a0").startswith(BEGINNINGS) else text


def as_csv(heads: Sequence[str], rows: Iterable[Sequence[str | int | float]]) -> str:
    """Rows under their heads; texts are guarded, numbers are not.

    >>> as_csv(["tag", "g"], [["@L1", -2]]).splitlines()
    ['tag,g', "'@L1,-2"]
    """
    page = io.StringIO()
    writer = csv.writer(page)
    for row in (heads, *rows):
        writer.writerow([guarded(cell) if isinstance(cell, str) else cell for cell in row])
    return page.getvalue()
