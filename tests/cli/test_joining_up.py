"""Panels joined from two, as they are told of: on the docket, and in the job where one part is left alone."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from cli import joining_up
from cli.docket_page import dockets as drawn
from cli.papers import paper_named
from cli.shown import as_told
from stash import Workroom, cutting, dockets, jobs, lays

from ..stash.test_piecing import joined_lay


@pytest.mark.slow
def test_a_part_is_told_of_on_the_docket_and_in_the_job(tmp_path: Path) -> None:
    with Workroom.open(tmp_path / "room.db") as workroom:
        lay = joined_lay(workroom)
        lays.chalk(workroom, lay.number, by="MB")
        lay, told = dockets.docket(workroom, lay.number)
        written = BytesIO(drawn(lay, told, paper_named("A4"), as_told("mm"), 1.0).as_pdf())
        part, other = (next(p for p in lay.panels if p.joined == 1 and p.part == number) for number in (1, 2))
        pages = " ".join(" ".join(page.extract_text() for page in PdfReader(written).pages).split())
        assert "wedge, part 1 of 2" in pages
        assert f"{part.number} is sewn to {other.number}, on {other.placement.sheet}: a seam of 70 mm, 8 mm beyond it" in pages
        assert "has changed" not in pages
        cutting.cut(workroom, lay.number, by="MB", spoiled=[part.number])
        (piece,) = jobs.get(workroom, "cushion").pieces
    assert list(joining_up.kept_in_words(piece)) == [
        f"part 2 of one, panel {other.number} of lay {lay.number}; its part 1 is not there"
    ]
