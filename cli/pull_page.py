"""The pull list on paper: the remnants of a day's lays, place by place, each with a small drawing, to be ticked off."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from shapely.affinity import affine_transform
from shapely.geometry import Polygon, box

from .docket import to_look_for, wanted_twice
from .drawn import faults_drawn
from .papers import LINE_OF_TYPE, POINT, Box, Paper, PaperPage, Papers, broken, shortened, text_size
from .pictures import SCALES, draw_fault
from .saying import many

if TYPE_CHECKING:
    from stash.dockets import Pulled

    from .shown import Shown

MARGIN = 13.0
TITLE, PLACE, TAG, PLAIN = 15.0, 11.0, 13.0, 8.5
DRAWN = Box(9.0, 2.0, 46.0, 22.0)  # where the drawing stands in an entry
ENTRY, HEAD = 26.0, 9.0  # the least height of an entry, the height of a place's head
WORDS = PLAIN * POINT * LINE_OF_TYPE * 1.05  # the height of a line of an entry
FIRST = 9.5  # from the top of an entry to the middle of the first line under its tag
BESIDE = MARGIN + DRAWN.x + DRAWN.width + 6  # where the words of an entry begin
CAUTION = "Leave what is in quarantine where it is. Old or treated cloth may hold dust, mould or residues: gloves and a mask."


def pull_list(found: Sequence[Pulled], paper: Paper, shown: Shown) -> Papers:
    """The list on as many pages as it takes."""
    which = ", ".join(f"lay {number} for {job}" for number, job in dict.fromkeys((each.lay, each.job) for each in found))
    papers = Papers(f"To pull: {which}")
    most = min((_scale(each) for each in found), default=0.1)
    scale = next((1 / n for n in SCALES if 1 / n <= most), most)
    page, y = _begin(papers, paper, which, found, shown, scale)
    place = None
    for each in found:
        kept = each.sheet.remnant.place or "no known place"
        lines = _lines(each, paper, shown)
        tall = max(ENTRY, FIRST + len(lines) * WORDS)
        if y - tall - (HEAD if kept != place else 0) < MARGIN + 6:
            page, y = _begin(papers, paper, which, found, shown, scale)
            place = None
        if kept != place:
            y = _place(page, y, kept)
            place = kept
        y = _entry(page, y, each, lines, tall, scale)
    for number, page in enumerate(papers.pages, start=1):
        end = page.write(f"page {number} of {len(papers.pages)}", page.width - MARGIN, MARGIN - 3, 7, right=True).place
        for n, line in enumerate(broken(CAUTION, 6.5, end.x - 3 - MARGIN)):
            page.write(line, MARGIN, MARGIN - 3 - 3 * n, 6.5)
    return papers


def _scale(each: Pulled) -> float:
    left, low, right, high = each.sheet.remnant.outline.bounds
    return float(min(DRAWN.width / (right - left), DRAWN.height / (high - low)))


def _begin(
    papers: Papers, paper: Paper, which: str, found: Sequence[Pulled], shown: Shown, scale: float
) -> tuple[PaperPage, float]:
    page = papers.page(paper)
    y = page.height - MARGIN
    remnants = len({each.sheet.remnant.tag for each in found})
    page.write("To pull", MARGIN, y - 3, TITLE, bold=True)
    y -= 8
    said = [f"{many(remnants, 'remnant')}, for {which}; drawn right side up, the grain from left to right"]
    if len(papers.pages) == 1:
        said += wanted_twice((each.sheet.remnant.tag, each.lay) for each in found)
    for text in said:
        for line in broken(text, PLAIN, page.width - 2 * MARGIN):
            page.write(line, MARGIN, y - 2, PLAIN)
            y -= 4
    page.scale_bar(MARGIN, y - 3, scale, shown.heading)
    return page, y - 7


def _place(page: PaperPage, y: float, place: str) -> float:
    page.line([(MARGIN, y), (page.width - MARGIN, y)], width=0.9)
    page.write(shortened(place, PLACE, page.width - 2 * MARGIN, True), MARGIN, y - HEAD / 2, PLACE, bold=True)
    return y - HEAD


def _entry(page: PaperPage, y: float, each: Pulled, lines: Sequence[str], tall: float, scale: float) -> float:
    """A box to tick, the remnant small with its faults, and in words what it is and what to look for."""
    remnant = each.sheet.remnant
    page.shape(box(MARGIN, y - 8, MARGIN + 5, y - 3), line=0.9)
    left, low, right, high = remnant.outline.bounds
    x = MARGIN + DRAWN.x + (DRAWN.width - (right - left) * scale) / 2
    bottom = y - ENTRY + DRAWN.y + (DRAWN.height - (high - low) * scale) / 2
    to_page = (scale, 0.0, 0.0, scale, x - left * scale, bottom - low * scale)
    page.shape(affine_transform(Polygon(remnant.outline.exterior), to_page), line=1.2, fill="white")
    for fault in faults_drawn(remnant.faults):
        draw_fault(page, fault, to_page)
    room = page.width - MARGIN - BESIDE
    size = next((size for size in (TAG, 10.0, PLAIN) if text_size(remnant.tag, size, True)[0] <= room), PLAIN)
    page.write(shortened(remnant.tag, size, room, True), BESIDE, y - 4, size, bold=True)
    for n, line in enumerate(lines):
        page.write(line, BESIDE, y - FIRST - n * WORDS, PLAIN)
    page.line([(MARGIN + DRAWN.x, y - tall), (page.width - MARGIN, y - tall)], width=0.3)
    return y - tall


def _lines(each: Pulled, paper: Paper, shown: Shown) -> list[str]:
    """What stands beside a drawing, under the tag: for which lay it is, what it is, what to look for."""
    remnant = each.sheet.remnant
    about = [remnant.cloth.name, remnant.cloth.colour, shown.size(remnant.length, remnant.width), _kind(each)]
    said = [f"lay {each.lay} for {each.job}: {many(len(each.sheet.panels), 'panel')}", ", ".join(filter(None, about))]
    look = to_look_for(each)
    said += [f"Look for: {'; '.join(look)}"] if look else []
    return [line for text in said for line in broken(text, PLAIN, paper.width - MARGIN - BESIDE)]


def _kind(each: Pulled) -> str:
    remnant = each.sheet.remnant
    return " and ".join(kind for kind in dict.fromkeys(str(edge.kind) for edge in remnant.edges) if kind == "selvedge")
