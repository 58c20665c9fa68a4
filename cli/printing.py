"""What is printed, put into its file: which paper, which file, and that nothing is written over unless that was told."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from .reading import Unreadable, a_new_file

if TYPE_CHECKING:
    from .papers import Paper, Papers
    from .saying import Voice


def a_file(told: Path | None, usual: str, write_over: bool) -> Path:
    """The file to write to, refused before any work is done if it cannot be one. `usual`: its name unless it is told."""
    from .papers import KINDS

    file = told or Path(usual)
    if file.suffix.lower() not in KINDS:
        expected = f"a name that ends in {' or '.join(KINDS)}"
        raise Unreadable(f"{str(file)!r} does not end in a kind of paper", expected, "--file")
    if file.suffix.lower() == ".pdf":
        return a_new_file(file, write_over, "--file")
    return a_new_file(file, True, "--file")  # which pages there will be is known when they are drawn


LEAST = (140.0, 200.0)  # mm: what a page for the cutting table is laid out on, at least; A5 is 148 × 210


def a_paper(told: str) -> Paper:
    """The paper that was told. Raises Unreadable with the names that there are, and for one that is too small."""
    from .papers import paper_named
    from .units import UnitFault

    try:
        paper = paper_named(told)
    except UnitFault as fault:
        raise Unreadable(fault.what, fault.expected, "--paper") from None
    if any(side < least for side, least in zip(sorted((paper.width, paper.height)), LEAST, strict=True)):
        raise Unreadable(f"{told!r} is too small to set this out on", "A5 or larger", "--paper")
    return paper if paper.width <= paper.height else paper.broad


def put_down(voice: Voice, papers: Papers, file: Path, write_over: bool, what: str) -> list[Path]:
    """Write the pages, and say where they are. Raises Unreadable, with nothing written, where one is there already."""
    there = [name for name in papers.files(file) if name.exists()]
    if there and not write_over:
        raise Unreadable(f"{str(there[0])!r} is there already", "another name, or --write-over to write over it", "--file")
    written = papers.save(file)
    pages = len(papers.pages)
    last = f" to {written[-1].name}" if len(written) > 1 else ""
    many = f", {pages} pages" if pages > 1 else ""
    voice.aside(f"{what} is in {written[0]}{last}{many}. Print it at actual size (100 %).")
    return written
