"""Where an edge runs, to a fraction of a pixel: the picture's colours along short lines square to it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from .picture import Picture

Floats = NDArray[Any]
SHADE = 0.10
"""A shadow at the edge may darken what it falls on by so much: along that colour, less is believed."""
STEP = 0.5
"""Pixels between samples across an edge."""
STEADY = 0.12
"""Part of an edge's contrast by which the tone on either side may change along a straight side, from half of the neighbours
that are taken as one to the other half: where print ends on a card, neither half's tone is the point's own."""
AROUND = 1.5
"""Pixels before and after an edge between which its steepness is taken."""


@dataclass(frozen=True, slots=True)
class Found:
    """What was found across an edge at each of n points.

    `at`: pixels along the normal from the point to the edge. `clear`: whether an edge is there. `contrast`: how far the two
    sides' colours are apart (0 to 255). `noise`: how far either varies. `width`: pixels from a tenth to nine tenths, were it
    as steep all the way as at its middle.
    """

    at: Floats
    clear: NDArray[Any]
    contrast: Floats
    noise: Floats
    width: Floats


def across(
    picture: Picture,
    points: Floats,
    normals: Floats,
    reach: float,
    *,
    beside: float,
    alike: int,
    broad: float = 2.0,
    least: float = 3.0,
    closed: bool = True,
) -> Found:
    """Find an edge near points (n × 2), within `reach` pixels along the outward normals (n × 2).

    The colours of either side are taken `beside` pixels farther than that, over `alike` neighbouring points; each sample is
    the mean of three, `broad` pixels apart along the edge. An edge is clear where the sides' colours are apart by `least`
    times their noise. The points go round a ring (`closed`), or along a side of one straight thing, whose ends are no
    neighbours, and whose tones must be steady along it.
    """
    count = len(points)
    tangents = np.column_stack([-normals[:, 1], normals[:, 0]])
    steps = np.arange(-reach - beside, reach + beside + STEP / 2, STEP)
    samples = np.zeros((count, len(steps), 3), dtype=np.float32)
    for aside in (-broad, 0.0, broad):
        where = points[:, None, :] + steps[None, :, None] * normals[:, None, :] + aside * tangents[:, None, :]
        samples += sampled(picture, where)
    samples /= 3
    edge = round(beside / STEP)
    within, beyond = samples[:, :edge].mean(axis=1), samples[:, -edge:].mean(axis=1)
    inside, outside = _of_neighbours(within, alike, closed=closed), _of_neighbours(beyond, alike, closed=closed)
    noise = np.sqrt((samples[:, :edge].var(axis=1) + samples[:, -edge:].var(axis=1)).mean(axis=1) / 2)
    noise = _of_neighbours(noise[:, None], alike, closed=closed)[:, 0]
    apart = inside - outside
    weights = _weights(apart, outside, noise)
    profile = ((samples - outside[:, None, :]) * weights[:, None, :]).sum(axis=2)[:, edge:-edge]
    at, there = _crossing(profile, 0.5, steps[edge:-edge])
    contrast = np.linalg.norm(apart, axis=1)
    # How steeply it falls where it crosses: a cut edge throws a line of shade beside it, whose own fall is gentle.
    fall = _fall(profile, np.where(there, at, 0.0), steps[edge:-edge])[:, None]
    fall = _of_neighbours(fall, alike, closed=closed)[:, 0]
    width = np.where(fall > 1e-3, 0.8 * 2 * AROUND / np.maximum(fall, 1e-3), np.inf)
    clear = there & (contrast > least * np.maximum(noise, 1.0))
    if not closed:
        clear &= np.maximum(_change(within, alike), _change(beyond, alike)) < STEADY * contrast + 2 * np.maximum(noise, 1.0)
    return Found(at, clear, contrast, noise, width)


def sampled(picture: Picture, where: Floats) -> NDArray[Any]:
    """The picture's colours at places (… × 2, pixels), between pixels too."""
    flat = where.reshape(-1, where.shape[-2], 2).astype(np.float32)
    parts = [
        # OpenCV takes no more than 32,767 rows at once.
        cv2.remap(
            picture, flat[i : i + 30000, :, 0], flat[i : i + 30000, :, 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
        )
        for i in range(0, len(flat), 30000)
    ]
    return np.concatenate(parts).astype(np.float32)


def along_side(first: Floats, last: Floats, skip: float, apart: float) -> tuple[Floats, Floats]:
    """Points along a straight side of the picture, `skip` pixels from its ends and `apart` pixels from each other, and the
    normal to the left of its way (outward, where the thing is on the right)."""
    long = float(np.linalg.norm(last - first))
    count = max(4, int((long - 2 * skip) / apart))
    parts = np.linspace(skip / long, 1 - skip / long, count)[:, None]
    way = (last - first) / long
    return first + parts * (last - first), np.tile([way[1], -way[0]], (count, 1))


def _of_neighbours(values: NDArray[Any], alike: int, *, closed: bool = True) -> NDArray[Any]:
    """The mean over neighbours, in a ring or (not `closed`) along a side, at whose ends there are fewer."""
    if alike <= 1:
        return values
    wide = min(alike, len(values))
    if not closed:
        sums = np.cumsum(np.concatenate([np.zeros((1, values.shape[1])), values]), axis=0)
        first, last = _neighbours(len(values), wide // 2)
        return np.asarray((sums[last] - sums[first]) / (last - first)[:, None], dtype=np.float32)
    wrapped = np.concatenate([values[-(wide // 2) :], values, values[: wide - 1 - wide // 2]])
    sums = np.cumsum(np.concatenate([np.zeros((1, values.shape[1])), wrapped]), axis=0)
    return np.asarray(((sums[wide:] - sums[:-wide]) / wide)[: len(values)], dtype=np.float32)


def _neighbours(count: int, half: int) -> tuple[NDArray[Any], NDArray[Any]]:
    """For each of so many points in a row the first of its neighbours, and the one behind its last."""
    at = np.arange(count)
    return np.maximum(at - half, 0), np.minimum(at + half + 1, count)


def _change(values: NDArray[Any], alike: int) -> NDArray[Any]:
    """By how much (a colour's length) values in a row change from the neighbours before each to those after it."""
    sums = np.cumsum(np.concatenate([np.zeros((1, values.shape[1])), values]), axis=0)
    at = np.arange(len(values))
    first, last = _neighbours(len(values), alike // 2)
    before = (sums[at + 1] - sums[first]) / (at + 1 - first)[:, None]
    after = (sums[last] - sums[at]) / (last - at)[:, None]
    return np.asarray(np.linalg.norm(after - before, axis=1))


def _weights(apart: NDArray[Any], outside: NDArray[Any], noise: NDArray[Any]) -> NDArray[Any]:
    """For each point the mixture of colours that is 1 inside and 0 outside, and tells least of noise and of shadow (a linear
    discriminant, with the shadow's colour as one direction of noise)."""
    shade = SHADE * outside
    # (N I + s sᵀ)⁻¹ a by Sherman and Morrison.
    within = (np.maximum(noise, 2.0) ** 2)[:, None]
    bent = apart / within - shade * ((shade * apart).sum(axis=1, keepdims=True) / within) / (
        within + (shade * shade).sum(axis=1, keepdims=True)
    )
    scale = (bent * apart).sum(axis=1, keepdims=True)
    return np.asarray(bent / np.where(np.abs(scale) > 1e-9, scale, np.inf), dtype=np.float32)


def _fall(profile: NDArray[Any], at: Floats, steps: Floats) -> NDArray[Any]:
    """How far each profile falls from a little before a place to a little after it."""
    rows = np.arange(len(profile))
    before, after = (
        np.clip(np.round((at + way * AROUND - steps[0]) / STEP).astype(int), 0, len(steps) - 1) for way in (-1, 1)
    )
    return np.asarray(profile[rows, before] - profile[rows, after], dtype=np.float32)


def _crossing(profile: NDArray[Any], level: float, steps: Floats) -> tuple[Floats, NDArray[Any]]:
    """Where each profile falls through a level, nearest to its middle, and whether it does."""
    above = profile >= level
    falls = above[:, :-1] & ~above[:, 1:]
    far = np.where(falls, np.abs(steps[:-1] + STEP / 2)[None, :], np.inf)
    first = far.argmin(axis=1)
    rows = np.arange(len(profile))
    there = np.isfinite(far[rows, first])
    a, b = profile[rows, first].astype(float), profile[rows, first + 1].astype(float)
    part = np.where(there, (a - level) / np.where(a > b, a - b, 1.0), 0.0)
    return np.where(there, steps[first] + part * STEP, math.nan), there
