"""What lies on the table, told from the table: zones of even tone between sharp edges, in a reduced picture.

The table is what reaches the picture's rim. A shadow with a soft edge does not part a zone, since its tone changes little
from one pixel to the next; a cut edge does. How large a change counts as an edge is not known beforehand: several are tried,
and what is found by neighbouring ones alike is believed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from .picture import Picture

Floats = NDArray[Any]
Mask = NDArray[Any]
Labels = NDArray[Any]

LONG = 1100
"""Pixels of the reduced picture's longer side: half a millimetre or so each, fine enough to begin from."""
RIM = 0.012
"""Part of the picture's longer side that is taken for its rim."""
LADDER = tuple(1.2 * 1.3**k for k in range(13))
"""Changes of tone from pixel to pixel (CIE L*a*b*) that are tried as edges, least first: 1 or 2 is the least that an eye
sees."""
OWN = 0.004
"""Part of the picture that something must cover to be looked at."""
SAME = 0.03
"""Things are the same where they differ by no more of their area than this."""


@dataclass(frozen=True, slots=True)
class Reduced:
    """A picture reduced: its tones (L*a*b*, smoothed), how they change, and how many pixels of the picture make one."""

    tones: NDArray[Any]
    change: NDArray[Any]
    factor: float

    @property
    def area(self) -> int:
        return int(self.change.size)


@dataclass(frozen=True, slots=True)
class Blob:
    """Something on the table: where it is in the reduced picture (filled, with its holes open), whether it reaches the rim."""

    mask: Mask
    area: int
    at_rim: bool


@dataclass(frozen=True, slots=True)
class Laid:
    """The table, and what lies on it, by one edge of the ladder."""

    edge: float
    table: Mask
    blobs: tuple[Blob, ...]


def reduced(picture: Picture) -> Reduced:
    """The picture as it is looked at for zones."""
    high, wide = picture.shape[:2]
    factor = max(1.0, max(high, wide) / LONG)
    small = cv2.resize(picture, (round(wide / factor), round(high / factor)), interpolation=cv2.INTER_AREA)
    # A median takes away the figure of the table and single threads, and keeps edges where they are.
    small = cv2.medianBlur(small, 5)
    small = cv2.bilateralFilter(small, 7, 8, 3)
    tones = cv2.cvtColor(small.astype(np.float32) / 255, cv2.COLOR_BGR2Lab)
    total = np.zeros(tones.shape[:2], dtype=np.float32)
    for channel in range(3):
        along = cv2.Scharr(tones[:, :, channel], cv2.CV_32F, 1, 0) / 16
        across = cv2.Scharr(tones[:, :, channel], cv2.CV_32F, 0, 1) / 16
        total += along * along + across * across
    return Reduced(tones, np.sqrt(total), factor)


def laid_out(seen: Reduced, covered: list[Floats]) -> list[Laid]:
    """What lies on the table, by each edge of the ladder. `covered`: rings (in the picture) of what is known not to be
    cloth."""
    known: Mask = np.zeros(seen.change.shape, dtype=np.uint8)
    for ring in covered:
        cv2.fillPoly(known, [np.round(ring / seen.factor).astype(np.int32)], 1)
    known = cv2.dilate(known, np.ones((5, 5), np.uint8))
    return [found for edge in LADDER if (found := _by(seen, edge, known)) is not None]


def _by(seen: Reduced, edge: float, known: Mask) -> Laid | None:
    """The zones between changes of at least `edge`; None where hardly any table is left."""
    calm = (seen.change < edge).astype(np.uint8)
    calm[known > 0] = 0
    count, labels, stats, _ = cv2.connectedComponentsWithStats(calm, connectivity=4)
    table = _table(seen, labels, stats, count, known)
    if table is None:
        return None
    # The table reaches over the half of each edge that is its own.
    rest = (table == 0).astype(np.uint8)
    rest = cv2.morphologyEx(rest, cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (5, 5)))
    rest[known > 0] = 0
    count, parts, stats, _ = cv2.connectedComponentsWithStats(rest, connectivity=4)
    high, wide = rest.shape
    blobs = []
    for i in range(1, count):
        left, top, across, down, area = (int(v) for v in stats[i])
        if area < OWN * seen.area / 8:
            continue
        mask = (parts == i).astype(np.uint8)
        rim = left <= 1 or top <= 1 or left + across >= wide - 1 or top + down >= high - 1
        blobs.append(Blob(mask, area, rim))
    return Laid(edge, table, tuple(sorted(blobs, key=lambda blob: -blob.area)))


def _table(seen: Reduced, labels: Labels, stats: NDArray[Any], count: int, known: Mask) -> Mask | None:
    """Where the table is: the zones at the picture's rim of the tone that most of the rim has, and those like them next to
    them (seen through a hole, say)."""
    high, wide = labels.shape
    rim = max(2, round(RIM * max(high, wide)))
    at_rim = np.zeros(labels.shape, dtype=bool)
    at_rim[:rim], at_rim[-rim:], at_rim[:, :rim], at_rim[:, -rim:] = True, True, True, True
    shares = np.bincount(labels[at_rim & (labels > 0)], minlength=count)
    shares[0] = 0
    if not count or shares.sum() < 0.3 * at_rim.sum():
        return None
    main = int(shares.argmax())
    table = labels == main
    if stats[main, cv2.CC_STAT_AREA] < 0.04 * seen.area:
        return None
    zones = [int(i) for i in np.argsort(-stats[:, cv2.CC_STAT_AREA])[:MOST_ZONES] if stats[i, cv2.CC_STAT_AREA] >= LEAST_ZONE]
    for i in zones:
        if i not in (0, main):
            left, top, wide, high = (int(v) for v in stats[i, : cv2.CC_STAT_AREA])
            own = labels[top : top + high, left : left + wide] == i
            if _like_the_table(seen, own, (top, left), table, bool(shares[i])):
                table[top : top + high, left : left + wide] |= own
    return np.asarray(table, dtype=np.uint8)


MOST_ZONES, LEAST_ZONE = 200, 30
"""Zones that are looked at, the largest first, and pixels that one has at least: a hole of 5 mm across or so."""
BESIDE_TONE = 2.0
"""How far (L*a*b*) the tone of a part of the table may be from the rest beside it, from which only its own figure parts it."""
HOLE_TONE, NEARER, DARKEST = 6.0, 0.4, 0.55
"""What is seen through a hole is the table where its tone is so near that of the table round about, or so much nearer to
it (as a part) than the cloth's is; in the cloth's shade the table is darker, down to that part."""


def _like_the_table(seen: Reduced, own: NDArray[Any], at: tuple[int, int], table: NDArray[Any], at_rim: bool) -> bool:
    """Whether a zone (a part of the picture, whose first row and column are `at`) has the tone of the table near by."""
    high, wide = table.shape
    for reach in (12, 60, 120, 240, max(high, wide)):
        top, low = max(0, at[0] - reach), min(high, at[0] + own.shape[0] + reach)
        left, right = max(0, at[1] - reach), min(wide, at[1] + own.shape[1] + reach)
        near = table[top:low, left:right]
        if reach == 12:
            zone = _zone_of(own, at, top, left, near.shape)
            beside = bool((near & (cv2.dilate(zone, np.ones((9, 9), np.uint8)) > 0)).any())
        if np.count_nonzero(near) >= 60 or beside or at_rim:
            break
    if np.count_nonzero(near) < 30:
        return False
    around = np.median(_some(seen.tones[top:low, left:right][near]), axis=0)
    tones = _some(seen.tones[at[0] :, at[1] :][: own.shape[0], : own.shape[1]][own])
    if at_rim or beside:
        return bool(np.linalg.norm(np.median(tones, axis=0) - around) < BESIDE_TONE)
    # The cloth's own shade lies in a hole: its lighter part is looked at, and the table is taken to be as dark as that.
    own_tone = np.median(tones[tones[:, 0] >= np.quantile(tones[:, 0], 0.6)], axis=0)
    darker = min(1.1, max(DARKEST, float(own_tone[0]) / max(float(around[0]), 1.0)))
    ring = _ring_about(_zone_of(own, at, top, left, near.shape))
    cloth = np.median(_some(seen.tones[top:low, left:right][ring]), axis=0)
    off = float(np.linalg.norm(own_tone - around * darker))
    return off < max(HOLE_TONE, NEARER * float(np.linalg.norm(cloth - around)))


def _zone_of(own: NDArray[Any], at: tuple[int, int], top: int, left: int, shape: tuple[int, ...]) -> NDArray[Any]:
    """A zone set into a larger part of the picture, whose first row and column are `top` and `left`."""
    zone: NDArray[Any] = np.zeros(shape, dtype=np.uint8)
    zone[at[0] - top :, at[1] - left :][: own.shape[0], : own.shape[1]] = own
    return zone


def _ring_about(zone: NDArray[Any]) -> NDArray[Any]:
    """What lies round a zone, a little off its edge."""
    near, far = (cv2.dilate(zone, np.ones((wide, wide), np.uint8)) > 0 for wide in (11, 19))
    return np.asarray(far & ~near)


def _some(tones: NDArray[Any]) -> NDArray[Any]:
    """Of many tones some thousand, enough for their median."""
    return tones[:: max(1, len(tones) // 2000)]


def chosen(found: list[Laid]) -> list[Laid]:
    """Those of the ladder whose largest thing is found alike by the next: the surest (found by most in a row) first."""
    runs: list[list[Laid]] = []
    for laid in found:
        if not laid.blobs:
            continue
        if runs and alike(runs[-1][-1].blobs[0], laid.blobs[0]):
            runs[-1].append(laid)
        else:
            runs.append([laid])
    runs.sort(key=lambda run: -len(run))
    return [run[len(run) // 2] for run in runs if len(run) > 1]


def alike(a: Blob, b: Blob) -> bool:
    """Whether two blobs are the same thing, but for a little."""
    both = int(cv2.countNonZero(cv2.bitwise_and(a.mask, b.mask)))
    return a.area + b.area - 2 * both < SAME * max(a.area, b.area)


def without(found: list[Laid], ring: Floats, factor: float) -> list[Laid]:
    """The same without what lies within a ring of the picture: the scale itself."""
    scale = np.zeros(found[0].table.shape, dtype=np.uint8)
    cv2.fillPoly(scale, [np.round(ring / factor).astype(np.int32)], 1)
    area = cv2.countNonZero(scale)

    def is_scale(blob: Blob) -> bool:
        both = cv2.countNonZero(cv2.bitwise_and(blob.mask, scale))
        return both > 0.5 * blob.area or (both > 0.5 * area and blob.area < 1.3 * area)

    return [Laid(laid.edge, laid.table, tuple(blob for blob in laid.blobs if not is_scale(blob))) for laid in found]


def rim_of(mask: Mask, factor: float) -> tuple[Floats, list[Floats]]:
    """The outer ring of a mask, clockwise as seen, and those of its holes, against the clock, in the picture's pixels."""
    rings, order = cv2.findContours(mask, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    outer: list[Floats] = []
    holes: list[Floats] = []
    for ring, (_, _, _, parent) in zip(rings, order[0], strict=True):
        points = (ring.reshape(-1, 2).astype(float) + 0.5) * factor - 0.5
        (outer if parent < 0 else holes).append(points)
    largest = max(outer, key=lambda ring: abs(area_within(ring)))
    return _turned(largest, clockwise=True), [_turned(ring, clockwise=False) for ring in holes]


def _turned(ring: Floats, *, clockwise: bool) -> Floats:
    return ring if (area_within(ring) > 0) == clockwise else ring[::-1].copy()


def area_within(ring: Floats) -> float:
    """The signed area of a ring; above 0 where it runs with the clock as seen (y down)."""
    x, y = ring[:, 0], ring[:, 1]
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2)
