"""Rendered photographs read, and held against what was rendered: `python -m tests.benchmarks.photographs [HOW MANY] [FIRST]
[FOLDER]` (where the rendered pictures are kept, and taken from).

Each scene (see `tests.checks.scenes_rendered`) is a 12-megapixel picture of a scrap of 500 mm, by a lens that bends, up to
35° from straight above. *Out* is the worst of all corners and of the outline's whole way, once it is shifted and turned onto
the truth; a scene is *confidently wrong* where that is above 2 mm and above what is stated.
"""

from __future__ import annotations

import math
import resource
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from shapely import Polygon, affinity

from cli.scale_paper import write_sheets
from stash.camera import reading, weave
from stash.refusals import Refused
from stash.words import Scale

from ..checks import scenes_rendered as scenes

WELL, AREA = 2.0, 0.01


@dataclass(frozen=True)
class Told:
    """What a scene came to."""

    number: int
    scale: str
    refused: str = ""
    out: float = math.nan
    area: float = math.nan
    stated: float = math.nan
    area_stated: float = math.nan
    holes: bool = True
    seconds: float = math.nan
    grain_wanted: bool = False
    grain_off: float = math.nan

    @property
    def well(self) -> bool:
        return not self.refused and self.out <= WELL and abs(self.area) <= AREA and self.holes

    @property
    def confidently_wrong(self) -> bool:
        return not self.refused and (
            (self.out > WELL and self.out > self.stated)
            or (abs(self.area) > AREA and abs(self.area) > self.area_stated)
            or not self.holes
        )


def fitted(found: Polygon, truth: Polygon) -> tuple[Polygon, float]:
    """An outline shifted and turned (never stretched) onto the truth, and by how many degrees it was turned."""
    own, there = _dense(found), _dense(truth)
    best = None
    for start in range(0, 360, 15):
        c, s = math.cos(math.radians(start)), math.sin(math.radians(start))
        matrix, shift = np.array([[c, -s], [s, c]]), np.zeros(2)
        moved = (own - own.mean(axis=0)) @ matrix.T + there.mean(axis=0)
        for _ in range(40):
            near = there[_nearest(moved[::4], there)]
            a, b = own[::4], near
            a0, b0 = a.mean(axis=0), b.mean(axis=0)
            left, _, right = np.linalg.svd((a - a0).T @ (b - b0))
            matrix = right.T @ np.diag([1, np.linalg.det(right.T @ left.T)]) @ left.T
            shift = b0 - matrix @ a0
            moved, last = own @ matrix.T + shift, moved
            if np.abs(moved - last).max() < 1e-4:
                break
        off = float(np.square(moved[::4] - there[_nearest(moved[::4], there)]).sum(axis=1).mean())
        if best is None or off < best[0]:
            best = (off, matrix, shift)
        if off < 4.0:
            break
    assert best is not None
    _, matrix, shift = best
    # Points a little apart bring it near; the corners themselves then settle it.
    corners, theirs = (np.array(shape.exterior.coords)[:-1] for shape in (found, truth))
    apart = np.linalg.norm((corners @ matrix.T + shift)[None, :, :] - theirs[:, None, :], axis=2)
    near = apart.min(axis=1) < 8
    if near.sum() >= 3:
        a, b = corners[apart.argmin(axis=1)[near]], theirs[near]
        left, _, right = np.linalg.svd((a - a.mean(axis=0)).T @ (b - b.mean(axis=0)))
        matrix = right.T @ np.diag([1, np.linalg.det(right.T @ left.T)]) @ left.T
        shift = b.mean(axis=0) - matrix @ a.mean(axis=0)
    laid = affinity.affine_transform(found, [*matrix[0], *matrix[1], *shift])
    return laid, math.degrees(math.atan2(matrix[1, 0], matrix[0, 0]))


def _dense(shape: Polygon) -> np.ndarray:
    return np.array(shape.exterior.segmentize(2.0).coords)[:-1]


def _nearest(points: np.ndarray, others: np.ndarray) -> np.ndarray:
    return ((points[:, None, :] - others[None, :, :]) ** 2).sum(axis=2).argmin(axis=1)


def out_by(found: Polygon, truth: Polygon) -> float:
    """mm by which the worst corner, or the worst place of the outline, is out."""
    corners = np.array(truth.exterior.coords)[:-1]
    own = np.array(found.exterior.coords)[:-1]
    of_corners = max(float(np.linalg.norm(own - corner, axis=1).min()) for corner in corners)
    return max(of_corners, found.exterior.hausdorff_distance(truth.exterior.segmentize(1.0)))


def judged(number: int, scene: scenes.Scene, file: Path) -> Told:
    scale = f"{scene.scale}{' × 2' if len(scene.scale_at) > 1 else ''}"
    begin = time.process_time()
    try:
        seen = reading.read_photograph(file, Scale(scene.scale))
    except Refused as fault:
        return Told(number, scale, refused=str(fault))
    seconds = time.process_time() - begin
    found = Polygon(seen.measured.ring)
    laid, turn = fitted(found, Polygon(scene.outline.exterior))
    # The finer of the two sets of threads tells whether they can be seen; what is foreshortened is finer still.
    pixels = scene.thread / seen.mm_a_pixel
    threads = weave.threads(seen.picture, np.array(seen.measured.ring), seen.in_picture, seen.mm_a_pixel)
    grain_off = math.nan
    if threads is not None:
        grain_off = max(min(abs((way + turn - scene.grain + k + 90) % 180 - 90) for k in (0, 90)) for way in threads.ways)
    truth = scene.outline
    area = found.area - sum(Polygon(hole).area for hole in seen.holes)
    assert seen.measured.within is not None
    assert seen.measured.area_within is not None
    return Told(
        number,
        scale,
        out=out_by(laid, Polygon(truth.exterior)),
        area=area / truth.area - 1,
        stated=seen.measured.within,
        area_stated=seen.measured.area_within / truth.area,
        holes=len(seen.holes) == len(truth.interiors),
        seconds=seconds,
        grain_wanted=pixels >= weave.FINEST,
        grain_off=grain_off,
    )


printed = cache(scenes.printed)


def rendered(number: int, folder: Path) -> Path:
    """The picture of a scene, rendered unless the folder has it."""
    file = folder / f"scene-{number}.jpg"
    if not file.exists():
        pdf = folder / "sheets.pdf"
        if not pdf.exists():
            write_sheets(pdf, [1, 2])
        picture = scenes.shoot(scenes.drawn_by_chance(number), printed(pdf)).jpeg()
        file.with_suffix(".part").write_bytes(picture)
        file.with_suffix(".part").rename(file)
    return file


def main(count: int, first: int, kept: str | None) -> None:
    told: list[Told] = []
    with tempfile.TemporaryDirectory() as own:
        folder = Path(kept or own)
        for number in range(first, first + count):
            scene = scenes.drawn_by_chance(number)
            one = judged(number, scene, rendered(number, folder))
            told.append(one)
            if not one.well or (one.grain_off > 2 or (not one.grain_wanted and not math.isnan(one.grain_off))):
                what = one.refused or (
                    f"out {one.out:.2f} mm, stated {one.stated:.2f}; area {one.area:+.2%}, stated {one.area_stated:.2%}"
                    f"; grain out {one.grain_off:.1f}°{'' if one.holes else '; holes differ'}"
                    f"{' CONFIDENTLY WRONG' if one.confidently_wrong else ''}"
                )
                print(
                    f"{number}: {one.scale}, {scene.cloth} on {scene.table}, {scene.tilt:.0f}°: {what}",
                    file=sys.stderr,
                    flush=True,
                )
    _print(told)


def _print(told: list[Told]) -> None:
    print(
        "| scale | scenes | well | refused | out, mm: median, 95 %, worst "
        "| stated, mm: median, worst | area off: median, worst |"
    )
    print("|---|---|---|---|---|---|---|")
    for scale in [*sorted({one.scale for one in told}), "all"]:
        some = [one for one in told if scale in ("all", one.scale)]
        read = [one for one in some if not one.refused]
        if not read:
            continue
        out, area = np.array([one.out for one in read]), np.abs([one.area for one in read])
        stated = np.array([one.stated for one in read])
        cells = [
            scale,
            f"{len(some)}",
            f"{sum(one.well for one in some)}",
            f"{len(some) - len(read)}",
            f"{np.median(out):.2f}, {np.percentile(out, 95):.2f}, {out.max():.2f}",
            f"{np.median(stated):.1f}, {stated.max():.1f}",
            f"{np.median(area):.2%}, {area.max():.2%}",
        ]
        print(f"| {' | '.join(cells)} |")
    read = [one for one in told if not one.refused]
    covered = sum(one.out <= one.stated for one in read)
    print(f"confidently wrong: {sum(one.confidently_wrong for one in told)}")
    print(f"the worst corner within what is stated: {covered} of {len(read)}")
    print(f"refused: {dict(Counter(one.refused.split('.')[0] for one in told if one.refused))}")
    grained = [one for one in read if one.grain_wanted]
    ways = [one.grain_off for one in grained if not math.isnan(one.grain_off)]
    print(
        f"threads of {weave.FINEST:g} pixels and more: {len(grained)}, proposed {len(ways)}, "
        f"out by {np.median(ways) if ways else math.nan:.2f}° at the median, {max(ways, default=math.nan):.2f}° at most"
    )
    finer = [one for one in read if not one.grain_wanted]
    print(f"finer threads: {len(finer)}, proposed all the same {sum(not math.isnan(one.grain_off) for one in finer)}")
    seconds = [one.seconds for one in read]
    print(f"processor time to read one: median {np.median(seconds):.1f} s, most {max(seconds):.1f} s")
    print(f"memory at most, of all, rendering too: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    how_many, begin_at, *folder_named = [*sys.argv[1:], *("300", "0")[len(sys.argv) - 1 :]]
    main(int(how_many), int(begin_at), folder_named[0] if folder_named else None)
