"""The picture of a life: each remnant with its outline at the time, all at one scale, what came of it below it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from shapely import Polygon
from shapely.affinity import affine_transform, translate

from .lives import became, happened, size
from .page import GREY, PALE, POINT, Page, text_size
from .shown import Shown

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from stash.lives import Life

SCALES = (2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100)  # 1 : n
WIDEST, NODE_WIDE, NODE_TALL = 560.0, 62.0, 46.0  # mm of page: all of it, and the largest outline in it
MARGIN, BESIDE, BELOW = 12.0, 7.0, 13.0
TITLE, TAG, SMALL = 13.0, 9.0, 6.5
LEADING = 1.4
MOST_WORDS = 44
OLD = (0, (3, 2))
FOOT = 16.0
KEY = "dashed: its outline before it was measured again; grey: panels cut from it; bold: the one that was asked for"


@dataclass
class _Node:
    """A remnant in the picture: its life, its words, the size of both on the page, and what stands below it."""

    life: Life
    words: list[str]
    wide: float
    tall: float
    below: list[_Node]

    @property
    def room(self) -> float:
        """How wide it and all below it are."""
        under = sum(node.room for node in self.below) + BESIDE * max(len(self.below) - 1, 0)
        return max(self.wide, under)


def life_page(title: str, lives: Sequence[Life], shown: Shown) -> Page:
    """Lives side by side, each from the top down."""
    n = _scale(lives)
    nodes = [_node(life, shown, n) for life in lives]
    rows: list[list[_Node]] = [[]]
    for node in nodes:
        if rows[-1] and sum(each.room + BESIDE for each in rows[-1]) + node.room > WIDEST:
            rows.append([])
        rows[-1].append(node)
    wide = max(sum(node.room + BESIDE for node in row) for row in rows)
    heights = [max(_deep(node) for node in row) for row in rows]
    head = TITLE * LEADING * POINT + 6
    page = Page(
        max(wide, text_size(KEY, SMALL + 0.5)[0]) + 2 * MARGIN, sum(heights) + BELOW * len(rows) + head + FOOT + 2 * MARGIN
    )
    top = page.height - MARGIN
    page.write(title, MARGIN, top - 3, TITLE, bold=True)
    top -= head
    for row, height in zip(rows, heights, strict=True):
        x = MARGIN
        for node in row:
            _draw(page, node, x, top, n)
            x += node.room + BESIDE
        top -= height + BELOW
    page.scale_bar(MARGIN, MARGIN + 2, 1 / n, shown.heading)
    page.write(KEY, MARGIN, MARGIN + 8, SMALL + 0.5)
    return page


def _scale(lives: Sequence[Life]) -> int:
    """The largest scale at which no outline is larger than its place."""
    bounds = [shape.bounds for life in lives for each in _all(life) for shape in (each.shape,) if shape is not None]
    wide = max((right - left for left, _, right, _ in bounds), default=1.0)
    tall = max((high - low for _, low, _, high in bounds), default=1.0)
    return next((n for n in SCALES if wide / n <= NODE_WIDE and tall / n <= NODE_TALL), SCALES[-1])


def _all(life: Life) -> Iterator[Life]:
    yield life
    for child in life.became:
        yield from _all(child)


def _node(life: Life, shown: Shown, n: int) -> _Node:
    words = [size(life, shown), *(happened(step, shown) for step in life.steps)]
    if life.pieces or life.spoiled or life.rag_area:
        words.append(became(life, shown))
    if life.joined_into:
        words.append(f"joined into {life.joined_into}")
    words = [part for text in words for part in _folded(text)]
    left, low, right, high = _bounds(life)
    wide = max((right - left) / n, text_size(life.tag, TAG, True)[0], *(text_size(word, SMALL)[0] for word in words))
    tall = (high - low) / n + TAG * LEADING * POINT + len(words) * SMALL * LEADING * POINT + 2
    return _Node(life, words, wide, tall, [_node(child, shown, n) for child in life.became])


def _folded(text: str) -> list[str]:
    from textwrap import wrap

    return wrap(text, MOST_WORDS) or [""]


def _bounds(life: Life) -> tuple[float, float, float, float]:
    """The room of its outline, and of what it was before."""
    shapes = [shape for shape in (life.shape, *_before(life)) if shape is not None]
    boxes = [shape.bounds for shape in shapes] or [(0.0, 0.0, 1.0, 1.0)]
    lefts, lows, rights, highs = zip(*boxes, strict=True)
    return min(lefts), min(lows), max(rights), max(highs)


def _before(life: Life) -> list[BaseGeometry]:
    """What it was before it was measured again, its near left corner where that of today's outline is."""
    left, low = life.shape.bounds[:2] if life.shape is not None else (0.0, 0.0)
    every = [step.was for step in life.steps if step.was is not None]
    return [translate(was, left - was.bounds[0], low - was.bounds[1]) for was in every]


def _deep(node: _Node) -> float:
    return node.tall + max((BELOW + _deep(child) for child in node.below), default=0.0)


def _draw(page: Page, node: _Node, x: float, top: float, n: int) -> float:
    """Draw a node and all below it in the room from `x` on; where its middle is."""
    middle = x + node.room / 2
    left, low, _, high = _bounds(node.life)
    y = top - TAG * LEADING * POINT
    begin = middle - node.wide / 2
    page.write(node.life.tag + (" (this one)" if node.life.asked else ""), begin, top - 2, TAG, bold=True)
    to_page = (1 / n, 0, 0, 1 / n, begin - left / n, y - high / n)
    _outline(page, node.life, to_page)
    y -= (high - low) / n + 1.5
    for word in node.words:
        page.write(word, begin, y - 1.4, SMALL)
        y -= SMALL * LEADING * POINT
    place = middle - (sum(child.room for child in node.below) + BESIDE * max(len(node.below) - 1, 0)) / 2
    for child in node.below:
        to = _draw(page, child, place, top - node.tall - BELOW, n)
        page.line([(begin + 4, y - 1), (begin + 4, y - 4), (to, y - 4), (to, top - node.tall - BELOW + 1)], width=0.7)
        place += child.room + BESIDE
    return begin + 4


def _outline(page: Page, life: Life, to_page: tuple[float, ...]) -> None:
    for was in _before(life):
        page.shape(_on_page(was, to_page), line=0.6, dashes=OLD, edge=GREY)
    if life.shape is not None:
        page.shape(_on_page(life.shape, to_page), line=1.8 if life.asked else 0.9, layer=1.1)
    for panel in life.panels:
        page.shape(_on_page(panel, to_page), line=0.5, fill=PALE, layer=1.2)


def _on_page(shape: BaseGeometry, to_page: tuple[float, ...]) -> Polygon:
    return cast(Polygon, affine_transform(shape, to_page))
