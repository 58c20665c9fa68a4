"""Which way the threads of a cloth run, proposed from what the picture's spectrum shows.

A weave repeats along both its sets of threads, so that the power spectrum of a flat piece of it has peaks on two lines
that are nearly square to each other. Patches of the cloth are laid flat (perspective and lens undone) at the picture's own
fineness, and what their spectra have in common is looked at. Nothing is proposed where threads are finer than three pixels:
what such threads leave in a picture is a false pattern (moiré) at another angle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from .picture import Picture

Floats = NDArray[Any]

PATCH = 256
"""Pixels a patch is wide: some fifty threads of five pixels, so that a peak is told to a fifth of a degree."""
MOST_PATCHES = 24
FINEST = 3.0
"""Pixels that a thread must be wide at least."""
COARSEST = 40.0
"""Pixels, above which a repeat is a stripe or a crease rather than a thread."""
STANDS_OUT = 9.0
"""Times the power round about that a peak must have."""
SQUARE = 6.0
"""Degrees by which the two sets of threads may be from square to each other: cloth is skewed a little, and bowed."""
AGREE = 1.5
"""Degrees within which halves of the cloth must say the same."""


@dataclass(frozen=True, slots=True)
class Threads:
    """The two ways in which threads run (degrees, counter-clockwise from the outline's x, from −90 up to 90), what each takes
    (mm from one to the next), and degrees by which the ways may be out."""

    ways: tuple[float, float]
    pitches: tuple[float, float]
    within: float


def threads(picture: Picture, ring: Floats, to_picture: object, mm_a_pixel: float) -> Threads | None:
    """The threads of the cloth within a ring (n × 2, mm on the table); None where they cannot be seen, or are too fine.

    `to_picture`: takes points of the table (n × 2, mm) to the picture.
    """
    assert callable(to_picture)
    spots = _spots(ring, PATCH * mm_a_pixel)
    if len(spots) < 2:
        return None
    window = np.outer(np.hanning(PATCH), np.hanning(PATCH))
    powers, coarse = [], []
    for spot in spots:
        patch, pixels = _flat(picture, spot, to_picture, mm_a_pixel)
        coarse.append(pixels)
        patch = patch - cv2.GaussianBlur(patch, (0, 0), 12)
        powers.append(np.abs(np.fft.fftshift(np.fft.fft2(patch * window))) ** 2)
    # A patch that is seen foreshortened shows threads finer than they seem once it is laid flat.
    finest = FINEST * float(np.median(coarse))
    halves = [np.mean(powers[i::2], axis=0) for i in (0, 1)]
    whole = _ways(np.mean(powers, axis=0), finest)
    parts = [_ways(half, finest) for half in halves]
    if whole is None or any(part is None for part in parts):
        return None
    out = [max(abs(_turn(part[i][0], whole[i][0])) for part in parts if part is not None) for i in (0, 1)]
    if max(out) > AGREE:
        return None
    ways = sorted(whole, key=lambda each: abs(each[0]))
    return Threads((ways[0][0], ways[1][0]), (ways[0][1] * mm_a_pixel, ways[1][1] * mm_a_pixel), max(0.3, *out))


def _ways(power: Floats, finest: float) -> list[tuple[float, float]] | None:
    """The ways of the two sets of threads (degrees, from −90 up to 90) with the pixels from one thread to the next."""
    middle = PATCH // 2
    rows, columns = np.indices(power.shape)
    u, v = (columns - middle) / PATCH, -(rows - middle) / PATCH
    radius = np.hypot(u, v)
    band = (radius > 1 / COARSEST) & (radius < 0.5)
    # How far each place stands out of what is usual at its fineness.
    ring = np.clip((radius * PATCH).astype(int), 0, PATCH)
    order = np.zeros(PATCH + 1)
    for i in range(3, PATCH // 2):
        order[i] = np.median(power[ring == i])
    order[:3], order[PATCH // 2 :] = order[3], order[PATCH // 2 - 1]
    usual = np.maximum(order[ring], 1e-9)
    out = np.where(band, cv2.GaussianBlur(power / usual, (0, 0), 0.8), 0.0)
    upper = (v > 0) | ((v == 0) & (u > 0))
    peaks = []
    left = np.where(upper, out, 0.0)
    for _ in range(12):
        at = np.unravel_index(int(left.argmax()), left.shape)
        if left[at] < STANDS_OUT:
            break
        peaks.append((*_centred(out, at), float(left[at])))
        left[max(0, at[0] - 4) : at[0] + 5, max(0, at[1] - 4) : at[1] + 5] = 0
    if len(peaks) < 2:
        return None
    # The strongest pair that is square to each other, both of threads wide enough; if any strong peak is finer, none is sure.
    best: tuple[float, list[tuple[float, float]]] | None = None
    for i, a in enumerate(peaks):
        for b in peaks[i + 1 :]:
            one, other = math.degrees(math.atan2(a[1], a[0])), math.degrees(math.atan2(b[1], b[0]))
            if abs(abs(_turn(one, other)) - 90) > SQUARE:
                continue
            strength = min(a[2], b[2])
            if best is None or strength > best[0]:
                # Threads run square to the way in which they repeat.
                found = [(_turn(way + 90, 0.0), 1 / math.hypot(peak[0], peak[1])) for way, peak in ((one, a), (other, b))]
                best = (strength, found)
    if best is None or min(pixels for _, pixels in best[1]) < finest:
        return None
    return best[1]


def _centred(out: Floats, at: tuple[np.intp, ...]) -> tuple[float, float]:
    """A peak's frequency (a pixel) to a fraction of a step, by the middle of what is round it."""
    row, column = int(at[0]), int(at[1])
    part = out[row - 2 : row + 3, column - 2 : column + 3]
    if part.shape != (5, 5):
        return (column - PATCH // 2) / PATCH, -(row - PATCH // 2) / PATCH
    rows, columns = np.indices(part.shape)
    weight = part / part.sum()
    middle_row, middle_column = row - 2 + (weight * rows).sum(), column - 2 + (weight * columns).sum()
    return (middle_column - PATCH // 2) / PATCH, -(middle_row - PATCH // 2) / PATCH


def _turn(a: float, b: float) -> float:
    """From b to a, as ways that have no head: from −90 up to 90 degrees."""
    return (a - b + 90.0) % 180.0 - 90.0


def _spots(ring: Floats, wide: float) -> list[Floats]:
    """Middles of patches that lie within the ring, spread over it."""
    shape = ring.astype(np.float32).reshape(-1, 1, 2)
    low, high = ring.min(axis=0), ring.max(axis=0)
    reach = wide * math.sqrt(0.5) * 0.95
    for step in (wide, wide / 2, wide / 4):
        found = [
            np.array([x, y])
            for x in np.arange(low[0] + step / 2, high[0], step)
            for y in np.arange(low[1] + step / 2, high[1], step)
            if cv2.pointPolygonTest(shape, (float(x), float(y)), True) > reach
        ]
        if len(found) >= 6:
            break
    return [found[i] for i in np.linspace(0, len(found) - 1, min(MOST_PATCHES, len(found))).astype(int)] if found else []


def _flat(picture: Picture, spot: Floats, to_picture: object, mm: float) -> tuple[NDArray[Any], float]:
    """A patch of the cloth laid flat, x to the right and y up, a pixel of it `mm` wide; and how many of the picture's pixels,
    where they are coarsest, make one of it."""
    assert callable(to_picture)
    half = (np.arange(PATCH) - PATCH / 2 + 0.5) * mm
    grid = np.stack(np.meshgrid(spot[0] + half[::16], spot[1] - half[::16]), axis=2)
    seen = to_picture(grid.reshape(-1, 2)).reshape(*grid.shape).astype(np.float32)
    # Every sixteenth point is worked out, and those between are drawn straight: the bend within is far below a pixel.
    steps = (np.arange(PATCH, dtype=np.float32) / 16).astype(np.float32)
    columns, rows = np.meshgrid(steps, steps)
    where = [
        cv2.remap(np.pad(seen[:, :, i], ((0, 1), (0, 1)), mode="reflect", reflect_type="odd"), columns, rows, cv2.INTER_LINEAR)
        for i in (0, 1)
    ]
    flat = cv2.remap(picture, where[0], where[1], cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    steps_seen = np.stack([seen[8, 9] - seen[8, 8], seen[9, 8] - seen[8, 8]]) / 16
    least = float(np.linalg.svd(steps_seen, compute_uv=False)[-1])
    return flat.astype(np.float32).mean(axis=2), 1 / max(least, 1e-6)
