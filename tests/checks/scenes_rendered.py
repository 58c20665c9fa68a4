"""Photographs that were never taken: a scrap on a table beside its scale, rendered with every corner known.

Shares nothing with the reader: no OpenCV, a lens of another model (Fitzgibbon's division model, CVPR 2001, where the reader
fits a polynomial), and a scale sheet that is the printed PDF itself, drawn by PDFium. A scene is drawn pixel by pixel: each
pixel's ray, bent by the lens, meets the table at a point, and what lies there has a colour: table with its grain, cloth
with its weave and frayed edge, paper, card; then light that falls off, shadows, the blur of the lens, the noise of the
sensor, JPEG.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numba import njit, prange
from numpy.typing import NDArray
from PIL import Image, ImageFilter
from shapely import Polygon, affinity, box

Floats = NDArray[np.float64]
A4, CARD, CARD_RADIUS = (297.0, 210.0), (85.60, 53.98), 3.18  # ISO 216; ISO/IEC 7810 ID-1
TABLES = {"white": (0.90, 0.90, 0.88), "wood": (0.62, 0.50, 0.38), "slate": (0.30, 0.31, 0.32)}
CLOTHS = {"undyed": (0.78, 0.73, 0.62), "madder": (0.60, 0.25, 0.22), "navy": (0.14, 0.17, 0.30)}
SHEET_DOTS = 300  # to the inch
DIAGONAL_35MM = math.hypot(36, 24)


@dataclass(frozen=True)
class Scene:
    """What is on the table, and how it was photographed. Lengths in mm, angles in degrees, of the picture in pixels."""

    outline: Polygon
    scale: str = "sheet"
    scale_at: tuple[tuple[float, float, float], ...] = ((0.0, -320.0, 0.0),)
    table: str = "wood"
    cloth: str = "undyed"
    size: tuple[int, int] = (4000, 3000)
    focal: float = 0.75
    tilt: float = 0.0
    towards: float = 0.0
    roll: float = 0.0
    lens: float = 0.0
    off_centre: tuple[float, float] = (0.0, 0.0)
    blur: float = 0.7
    noise: float = 0.012
    light: tuple[float, float] = (0.05, 0.03)
    shadow: tuple[float, float, float, float] | None = None
    contact: float = 0.25
    thread: float = 0.8
    weave: float = 0.10
    grain: float = 0.0
    fray: float = 0.3
    line: tuple[float, float, float, float] | None = None
    curl: float = 0.0
    tells_focal: bool = True
    seed: int = 0


@dataclass(frozen=True)
class Shot:
    """A rendered scene: the picture (H × W × 3, uint8)."""

    picture: NDArray[np.uint8]
    scene: Scene

    def jpeg(self, quality: int = 92) -> bytes:
        """As a phone would write it."""
        page = io.BytesIO()
        exif = Image.Exif()
        if self.scene.tells_focal:
            equivalent = self.scene.focal * self.scene.size[0] / math.hypot(*self.scene.size) * DIAGONAL_35MM
            exif.get_ifd(0x8769)[0xA405] = round(equivalent)
        Image.fromarray(self.picture).save(page, "JPEG", quality=quality, exif=exif)
        return page.getvalue()


def shoot(scene: Scene, sheets: Callable[[int], NDArray[np.uint8]]) -> Shot:
    """Render a scene. `sheets`: gives the picture of a printed scale sheet by its number (see `printed`)."""
    wide, high = scene.size
    focal = scene.focal * wide
    rotation = _rotation(scene)
    corners = _all_corners(scene)
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2
    centre = np.array([wide / 2 + scene.off_centre[0], high / 2 + scene.off_centre[1]])
    matrix = np.eye(3)
    for away in np.arange(200.0, 4000.0, 10.0):
        shift = -rotation[:, :2] @ middle + np.array([0, 0, away])
        matrix = np.column_stack([rotation[:, 0], rotation[:, 1], shift])
        seen = _seen(matrix, corners, focal, centre, scene.lens)
        # Framed from where it is seen: the middle of what is seen is brought to the middle of the picture.
        if seen is None:
            continue
        span = seen.max(axis=0) - seen.min(axis=0)
        if (span <= np.array([wide, high]) * 0.90).all():
            drift = (seen.max(axis=0) + seen.min(axis=0)) / 2 - np.array([wide, high]) / 2
            shift = shift - np.array([drift[0], drift[1], 0]) * away / focal
            matrix = np.column_stack([rotation[:, 0], rotation[:, 1], shift])
            seen = _seen(matrix, corners, focal, centre, scene.lens)
            if seen is not None and (seen >= 0.03 * high).all() and (seen <= np.array([wide, high]) - 0.03 * high).all():
                break
    picture = _drawn(scene, matrix, focal, centre, sheets)
    return Shot(_as_sensed(picture, scene), scene)


def printed(pdf: Path) -> Callable[[int], NDArray[np.uint8]]:
    """The pages of a PDF of scale sheets, as grey pictures at true scale."""
    import pypdfium2

    pages = [
        np.asarray(page.render(scale=SHEET_DOTS / 72, grayscale=True).to_pil(), dtype=np.uint8)
        for page in pypdfium2.PdfDocument(pdf)
    ]
    return lambda number: pages[number - 1]


# --- where things are ----------------------------------------------------------------------------------------------------


def _rotation(scene: Scene) -> Floats:
    """The camera looks down, its y towards the person; tilted away from the upright in the direction `towards`."""
    tilt, towards, roll = (math.radians(angle) for angle in (scene.tilt, scene.towards, scene.roll))
    down = np.diag([1.0, -1.0, -1.0])
    axis = np.array([math.cos(towards), math.sin(towards), 0.0])
    cross = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    turn = np.eye(3) + math.sin(tilt) * cross + (1 - math.cos(tilt)) * cross @ cross
    spin = np.array([[math.cos(roll), -math.sin(roll), 0], [math.sin(roll), math.cos(roll), 0], [0, 0, 1]])
    found: Floats = turn @ spin @ down
    return found


def _all_corners(scene: Scene) -> Floats:
    size = CARD if scene.scale == "card" else A4
    things = [scene.outline]
    for x, y, turn in scene.scale_at:
        things.append(
            affinity.translate(affinity.rotate(box(-size[0] / 2, -size[1] / 2, size[0] / 2, size[1] / 2), turn), x, y)
        )
    return np.vstack([np.array(thing.exterior.coords) for thing in things])


def _seen(matrix: Floats, points: Floats, focal: float, centre: Floats, lens: float) -> Floats | None:
    """Where points of the table are seen in the picture; None where one is behind the camera or beyond what the lens bends."""
    rays = np.column_stack([points, np.ones(len(points))]) @ matrix.T
    if (rays[:, 2] <= 50).any():
        return None
    ideal = rays[:, :2] / rays[:, 2:]
    r2 = (ideal**2).sum(axis=1)
    # ideal = bent / (1 + lens × bent²), solved for bent.
    if abs(lens) < 1e-9:
        bent = ideal
    else:
        r = np.sqrt(r2)
        inside = 1 - 4 * lens * r2
        if (inside < 0).any():
            return None
        bent_r = np.where(r > 1e-9, (1 - np.sqrt(inside)) / (2 * lens * np.maximum(r, 1e-9)), r)
        bent = ideal * (bent_r / np.maximum(r, 1e-9))[:, None]
    found: Floats = bent * focal + centre
    return found


# --- what is seen at each pixel ------------------------------------------------------------------------------------------


def _drawn(
    scene: Scene, matrix: Floats, focal: float, centre: Floats, sheets: Callable[[int], NDArray[np.uint8]]
) -> NDArray[np.uint8]:
    wide, high = scene.size
    rings = [np.array(ring.coords)[:-1] for ring in (scene.outline.exterior, *scene.outline.interiors)]
    starts = np.cumsum([0, *(len(ring) for ring in rings)])
    papers = np.array(scene.scale_at).reshape(-1, 3)
    if scene.scale == "sheet":
        texture = np.stack([sheets(i + 1)[:2480, :3507] for i in range(len(papers))])
        kind, size = 0, A4
    else:
        texture = np.full((1, 1, 1), 255, dtype=np.uint8)
        kind, size = (1, A4) if scene.scale == "a4" else (2, CARD)
    shadow = np.array(scene.shadow if scene.shadow is not None else (0.0, 0.0, -1.0, 0.0))
    line = np.array(scene.line if scene.line is not None else (0.0, 0.0, 0.0, 0.0))
    picture = np.empty((high, wide, 3), dtype=np.uint8)
    _draw(
        picture,
        np.linalg.inv(matrix),
        np.array([focal, centre[0], centre[1], scene.lens]),
        np.vstack(rings),
        starts,
        papers,
        kind,
        np.array([*size, CARD_RADIUS]),
        texture,
        np.array(TABLES[scene.table]),
        np.array(CLOTHS[scene.cloth]),
        np.array([scene.thread, scene.weave, math.radians(scene.grain), scene.fray, scene.contact, scene.curl]),
        np.array([*scene.light, *shadow]),
        line,
        scene.seed,
    )
    return picture


@njit(inline="always")
def _chance(a: int, b: int) -> float:
    """A number in [0, 1) that looks drawn by chance, the same for the same a and b."""
    h = (a * 73856093) ^ (b * 19349663)
    h = (h ^ (h >> 13)) * 1274126177
    h = h ^ (h >> 16)
    return (h & 0xFFFFFF) / 16777216.0


@njit
def _smooth(x: float, y: float, seed: int) -> float:
    """Value noise between −1 and 1."""
    i, j = math.floor(x), math.floor(y)
    u, v = x - i, y - j
    u, v = u * u * (3 - 2 * u), v * v * (3 - 2 * v)
    a = _chance(i * 131 + seed, j) * (1 - u) + _chance((i + 1) * 131 + seed, j) * u
    b = _chance(i * 131 + seed, j + 1) * (1 - u) + _chance((i + 1) * 131 + seed, j + 1) * u
    return 2 * (a * (1 - v) + b * v) - 1


@njit
def _away(x: float, y: float, rings: Floats, starts: NDArray[np.int64]) -> tuple[float, float, int]:
    """How far a point is outside the cloth (below 0: inside), and where along which side the nearest point of the rim is."""
    inside = False
    best, along, side = 1e18, 0.0, 0
    for r in range(len(starts) - 1):
        n = starts[r + 1] - starts[r]
        for k in range(n):
            i, j = starts[r] + k, starts[r] + (k + 1) % n
            ax, ay, bx, by = rings[i, 0], rings[i, 1], rings[j, 0], rings[j, 1]
            if (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay):
                inside = not inside
            dx, dy = bx - ax, by - ay
            long2 = dx * dx + dy * dy
            t = min(1.0, max(0.0, ((x - ax) * dx + (y - ay) * dy) / long2))
            d = (x - ax - t * dx) ** 2 + (y - ay - t * dy) ** 2
            if d < best:
                best, along, side = d, t * math.sqrt(long2), i
    far = math.sqrt(best)
    return (-far if inside else far), along, side


@njit
def _sinc(x: float) -> float:
    return 1.0 if abs(x) < 1e-6 else math.sin(math.pi * x) / (math.pi * x)


@njit
def _woven(x: float, y: float, pixel: float, weave: Floats, seed: int) -> float:
    """The brightness of a plain weave: two sets of threads that go over and under, each thread a little of its own."""
    pitch, depth, grain = weave[0], weave[1], weave[2]
    u = x * math.cos(grain) + y * math.sin(grain)
    v = -x * math.sin(grain) + y * math.cos(grain)
    u += 0.12 * pitch * _smooth(v / 9.0, u / 30.0, seed + 5)
    v += 0.12 * pitch * _smooth(u / 9.0, v / 30.0, seed + 6)
    second = pitch * 1.13
    seen = _sinc(pixel / pitch)
    over = _sinc(pixel * 0.7 / pitch)
    threads = seen * (math.cos(2 * math.pi * v / pitch) + 0.9 * math.cos(2 * math.pi * u / second)) / 2
    threads += 0.5 * over * math.cos(math.pi * v / pitch) * math.cos(math.pi * u / second)
    slub = (
        0.3
        * min(1.0, pitch / pixel / 4)
        * (_chance(math.floor(v / pitch), 7 + seed) + _chance(math.floor(u / second), 8 + seed) - 1)
    )
    return 1 + depth * (threads + slub) + 0.02 * _smooth(x / 40, y / 40, seed + 9)


@njit(parallel=True, cache=True)
def _draw(picture, back, camera, rings, starts, papers, kind, size, texture, table, cloth, weave, light, line, seed) -> None:  # type: ignore[no-untyped-def]
    high, wide = picture.shape[:2]
    focal, cx, cy, lens = camera
    fray, contact, curl = weave[3], weave[4], weave[5]
    bounds = (rings[:, 0].min() - 10, rings[:, 1].min() - 10, rings[:, 0].max() + 10, rings[:, 1].max() + 10)
    for row in prange(high):
        for column in range(wide):
            # One ray for the pixel's middle tells what is near; more are cast where something ends there.
            rays = 1
            total0 = total1 = total2 = 0.0
            pixel = 0.0
            n = 0
            while n < rays * rays:
                sub_x = (n % rays + 0.5) / rays - 0.5
                sub_y = (n // rays + 0.5) / rays - 0.5
                dx, dy = (column + sub_x - cx) / focal, (row + sub_y - cy) / focal
                bend = 1 / (1 + lens * (dx * dx + dy * dy))
                dx, dy = dx * bend, dy * bend
                w = back[2, 0] * dx + back[2, 1] * dy + back[2, 2]
                x = (back[0, 0] * dx + back[0, 1] * dy + back[0, 2]) / w
                y = (back[1, 0] * dx + back[1, 1] * dy + back[1, 2]) / w
                if pixel == 0.0:
                    dx2 = (column + 1 - cx) / focal * bend
                    w2 = back[2, 0] * dx2 + back[2, 1] * dy + back[2, 2]
                    pixel = math.hypot(
                        (back[0, 0] * dx2 + back[0, 1] * dy + back[0, 2]) / w2 - x,
                        (back[1, 0] * dx2 + back[1, 1] * dy + back[1, 2]) / w2 - y,
                    )
                paper = -1
                on = 255.0
                near_paper = False
                for k in range(len(papers)):
                    c, s = math.cos(math.radians(papers[k, 2])), math.sin(math.radians(papers[k, 2]))
                    px = (x - papers[k, 0]) * c + (y - papers[k, 1]) * s
                    py = -(x - papers[k, 0]) * s + (y - papers[k, 1]) * c
                    if curl != 0.0:  # a corner that does not lie flat is seen elsewhere
                        bent = max(0.0, px + py)
                        px += curl * bent * bent / 40000
                    half_x, half_y = size[0] / 2, size[1] / 2
                    if abs(px) < half_x + pixel and abs(py) < half_y + pixel:
                        near_paper = True
                    if abs(px) < half_x and abs(py) < half_y:
                        if kind == 2:
                            qx, qy = abs(px) - half_x + size[2], abs(py) - half_y + size[2]
                            if qx > 0 and qy > 0 and qx * qx + qy * qy > size[2] * size[2]:
                                continue
                            on = 200.0 if py > 8 else 90.0
                        if kind == 0:
                            tx = int((px + half_x) / 25.4 * 300)
                            ty = int((half_y - py) / 25.4 * 300)
                            on = texture[k, min(ty, texture.shape[1] - 1), min(tx, texture.shape[2] - 1)]
                        paper = k
                far, along, side = 1e3, 0.0, 0
                if bounds[0] < x < bounds[2] and bounds[1] < y < bounds[3]:
                    far, along, side = _away(x, y, rings, starts)
                if n == 0 and rays == 1 and (near_paper or abs(far) < pixel or (0 < far < 4 * fray + pixel and fray > 0)):
                    rays = 4
                    continue
                hem = 0.0
                if far < 0:
                    hem = 1.0
                elif fray > 0 and far < 4 * fray:
                    thread = math.floor(along / 0.6)
                    reach = -fray * math.log(1 - 0.98 * _chance(thread, side + seed)) * 0.8
                    if far < reach and _chance(thread, side + 77 + seed) < 0.6:
                        hem = 0.75
                if paper >= 0 and far > 0:
                    tone = on / 255.0
                    r, g, b = 0.95 * tone + 0.03, 0.95 * tone + 0.03, 0.93 * tone + 0.03
                    if kind == 2:
                        r, g, b = tone * 0.3, tone * 0.55, tone * 0.95
                else:
                    figure = 1 + 0.05 * _smooth(x / 160, y / 9, seed) + 0.03 * _smooth(x / 30, y / 2.5, seed + 1)
                    r, g, b = table[0] * figure, table[1] * figure, table[2] * figure
                    if contact > 0 and hem == 0.0:
                        near, _, _ = _away(x - 0.7, y + 0.9, rings, starts) if far < 5 else (far, 0.0, 0)
                        if near < 2.0:
                            dark = 1 - contact * (1 - min(1.0, max(0.0, (near + 1.0) / 3.0)))
                            r, g, b = r * dark, g * dark, b * dark
                    if hem > 0:
                        woven = _woven(x, y, pixel, weave, seed)
                        c0, c1, c2 = cloth[0] * woven, cloth[1] * woven, cloth[2] * woven
                        if line[2] != 0.0 or line[3] != 0.0:
                            lx, ly = line[2] - line[0], line[3] - line[1]
                            long = math.hypot(lx, ly)
                            t = ((x - line[0]) * lx + (y - line[1]) * ly) / long
                            if 0 < t < long and abs((x - line[0]) * ly - (y - line[1]) * lx) / long < 0.5:
                                c0, c1, c2 = 1.15 - c0, 1.15 - c1, 1.15 - c2
                        r, g, b = r + hem * (c0 - r), g + hem * (c1 - g), b + hem * (c2 - b)
                # Light: it falls off across the table and towards the picture's corners; a soft shadow may lie over a part.
                lit = 1 + light[0] * (x / 400) + light[1] * (y / 400)
                lit *= 1 - 0.12 * (((column - wide / 2) / wide) ** 2 + ((row - high / 2) / high) ** 2) * 2
                if light[4] > 0:
                    inside = (x - light[2]) * math.cos(light[5]) + (y - light[3]) * math.sin(light[5])
                    edge = min(1.0, max(0.0, inside / light[4] + 0.5))
                    lit *= 1 - 0.35 * edge * edge * (3 - 2 * edge)
                total0, total1, total2 = total0 + r * lit, total1 + g * lit, total2 + b * lit
                n += 1
            full = 255 * 0.92 / n
            picture[row, column, 0] = min(255, int(total0 * full + 0.5))
            picture[row, column, 1] = min(255, int(total1 * full + 0.5))
            picture[row, column, 2] = min(255, int(total2 * full + 0.5))


_GRIT: list[NDArray[np.int16]] = []


def _as_sensed(picture: NDArray[np.uint8], scene: Scene) -> NDArray[np.uint8]:
    """Blurred by the lens, with the noise of the sensor."""
    soft = np.array(Image.fromarray(picture).filter(ImageFilter.GaussianBlur(scene.blur))) if scene.blur else picture
    if scene.noise:
        if not _GRIT:
            _GRIT.append((np.random.default_rng(7).normal(0, 1, (1024, 1031, 3)) * 256).astype(np.int16))
        _add_noise(soft, _GRIT[0], int(scene.noise * 255 * 256), scene.seed)
    return soft


@njit(cache=True)
def _add_noise(picture, grit, strength, seed) -> None:  # type: ignore[no-untyped-def]
    high, wide = picture.shape[:2]
    for row in range(high):
        for column in range(wide):
            for channel in range(3):
                one = grit[(row * 5 + seed) % grit.shape[0], (column + row // 1024 * 77) % grit.shape[1], channel]
                value = picture[row, column, channel] + ((one * strength + (1 << 15)) >> 16)
                picture[row, column, channel] = min(255, max(0, value))


# --- scenes drawn by chance ----------------------------------------------------------------------------------------------


def drawn_by_chance(number: int, *, size: tuple[int, int] = (4000, 3000), scale: str | None = None) -> Scene:
    """The scene of that number: the same number gives the same scene."""
    rng = np.random.default_rng([2611, number])
    pick: Any = rng.choice
    kind = scale or str(pick(["sheet", "sheet", "sheet", "two", "a4", "card"]))
    outline = _a_scrap(rng)
    left, low, right, high = outline.bounds
    half = (CARD[1] if kind == "card" else A4[1]) / 2
    gap = float(rng.uniform(15, 45))
    askew = float(rng.uniform(-12, 12))
    slip = float(rng.uniform(-60, 60)) * (0.3 if kind != "card" else 1)
    reach = half * math.cos(math.radians(askew)) + (CARD[0] if kind == "card" else A4[0]) / 2 * abs(
        math.sin(math.radians(askew))
    )
    places = [((left + right) / 2 + slip, low - gap - reach, askew)]
    if kind == "two":
        places.append(((left + right) / 2 - slip, high + gap + reach, askew + float(rng.uniform(-20, 20))))
    grain = float(rng.uniform(-90, 90))
    shadow = None
    if rng.random() < 0.4:
        at = rng.uniform(-150, 150, 2)
        shadow = (float(at[0]), float(at[1]), float(rng.uniform(50, 120)), float(rng.uniform(0, 2 * math.pi)))
    return Scene(
        outline=outline,
        scale="sheet" if kind == "two" else kind,
        scale_at=tuple(places),
        table=str(pick(list(TABLES))),
        cloth=str(pick(list(CLOTHS))),
        size=size,
        focal=float(rng.uniform(0.68, 1.0)),
        tilt=float(rng.uniform(0, 35)),
        towards=float(rng.uniform(0, 360)),
        roll=float(rng.uniform(-15, 15)),
        lens=float(rng.uniform(-0.05, 0.05)),
        off_centre=(float(rng.normal(0, 12)), float(rng.normal(0, 12))),
        blur=float(rng.uniform(0.5, 1.3)),
        noise=float(rng.uniform(0.005, 0.025)),
        light=(float(rng.uniform(-0.12, 0.12)), float(rng.uniform(-0.12, 0.12))),
        shadow=shadow,
        contact=float(rng.uniform(0.1, 0.35)),
        thread=float(rng.uniform(0.3, 1.8)),
        weave=float(rng.uniform(0.06, 0.14)),
        grain=grain,
        fray=float(pick([0.0, 0.2, 0.4])),
        tells_focal=bool(rng.random() < 0.6),
        seed=number,
    )


def _a_scrap(rng: np.random.Generator) -> Polygon:
    """An odd scrap of some 500 mm, with four to eight corners, and now and then a hole."""
    while True:
        length, width = 500.0, float(rng.uniform(190, 360))
        count = int(rng.integers(4, 9))
        turns = np.sort(rng.uniform(0, 2 * math.pi, count))
        ring = []
        for angle in turns:
            reach = rng.uniform(0.6, 1.0)
            c, s = math.cos(angle), math.sin(angle)
            to_box = 1 / max(abs(c), abs(s))
            ring.append((length / 2 * c * to_box * reach, width / 2 * s * to_box * reach))
        if rng.random() < 0.5:  # a rectangle with a bite out of it
            bite = rng.uniform(0.2, 0.45, 2) * (length, width)
            x, y = length / 2, width / 2
            ring = [(-x, -y), (x, -y), (x, y - bite[1]), (x - bite[0], y - bite[1]), (x - bite[0], y), (-x, y)]
        outline = Polygon(ring)
        if not outline.is_valid or outline.area < 0.45 * length * width:
            continue
        longest = max(math.dist(a, b) for a in ring for b in ring)
        outline = affinity.scale(outline, 500 / longest, 500 / longest, origin=(0, 0))
        corners = np.array(outline.exterior.coords)[:-1]
        before, after = np.roll(corners, 1, axis=0) - corners, np.roll(corners, -1, axis=0) - corners
        lengths = np.hypot(*after.T)
        cosines = (before * after).sum(axis=1) / np.hypot(*before.T) / lengths
        if lengths.min() < 35 or cosines.min() < math.cos(math.radians(160)) or cosines.max() > math.cos(math.radians(25)):
            continue
        outline = affinity.rotate(outline, float(rng.uniform(-12, 12)), origin=(0, 0))
        if rng.random() < 0.3:
            middle = outline.representative_point()
            room = middle.distance(outline.exterior)
            if room > 35:
                hole = affinity.rotate(box(-14, -9, 14, 9), float(rng.uniform(0, 90)))
                hole = affinity.translate(hole, middle.x, middle.y)
                outline = Polygon(outline.exterior, [hole.exterior])
        return outline
