"""A picture's file, read: looked over before it is unpacked, upright, and no larger than is of use."""

from __future__ import annotations

import math
import os
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import ExifTags, Image, ImageOps, UnidentifiedImageError

from ..refusals import Refused

Picture = NDArray[Any]
KINDS = ("JPEG", "PNG", "WEBP")
LARGEST = 64 * 1024 * 1024
"""Bytes: several times what a good camera writes."""
MOST_PIXELS = 130_000_000
"""Above it a picture is refused before it is unpacked; no telephone takes a larger one by itself but for show."""
USED_PIXELS = 16_000_000
"""A larger picture is reduced: more tells nothing more of an outline, and takes memory."""
LEAST_SIDE = 600
"""Pixels: a smaller picture cannot show a scrap to a millimetre or two."""
UNLIKELY_SHAPE = 0.02
"""Sensors are 4 : 3, 3 : 2, 16 : 9 or square; a picture of other proportions has been cropped."""
EXPECTED = "a photograph (jpg, png or webp)"


@dataclass(frozen=True, slots=True)
class Shot:
    """A picture (H × W × 3, blue, green, red), its focal length in pixels if it tells one, and whether it seems cropped."""

    picture: Picture
    focal: float | None
    cropped: bool
    reduced: int


def read(file: str | os.PathLike[str]) -> Shot:
    """Read a photograph. Raises Refused: not there, too large, not a picture, of another kind, broken off, too small."""
    path = Path(file)
    try:
        size = path.stat().st_size
        if size > LARGEST:
            raise Refused(
                f"{path.name} has {size / 1e6:.0f} megabytes",
                where="photograph",
                expected=f"at most {LARGEST // 1_000_000}",
                next="Save it smaller, as JPEG",
            )
        with path.open("rb") as opened:
            head = opened.read(16)
        if head[4:8] == b"ftyp":
            raise Refused(
                f"{path.name} is a picture of a kind that cannot be read here (HEIC or AVIF)",
                where="photograph",
                expected=EXPECTED,
                next="Have the telephone save photographs as JPEG (often called 'most compatible')",
            )
        with warnings.catch_warnings():
            warnings.simplefilter(
                "ignore"
            )  # of a picture that is large, or whose notes are broken: both are looked after here
            return _unpacked(path)
    except Refused:
        raise
    except (OSError, UnidentifiedImageError) as fault:
        raise Refused(_why(path, fault), where="photograph", expected=EXPECTED) from None
    except (
        ValueError,
        SyntaxError,
        EOFError,
        OverflowError,
        Image.DecompressionBombError,
        MemoryError,
        TypeError,
        KeyError,
        IndexError,
    ) as fault:
        raise Refused(
            f"{path.name} cannot be read as a picture: {fault}"[:160], where="photograph", expected=EXPECTED
        ) from None


def _unpacked(path: Path) -> Shot:
    with Image.open(path, formats=[*KINDS, "BMP", "GIF", "TIFF"]) as opened:
        if opened.format not in KINDS:
            raise Refused(f"{path.name} is a picture of another kind ({opened.format})", where="photograph", expected=EXPECTED)
        wide, high = opened.size
        if wide * high > MOST_PIXELS:
            raise Refused(
                f"{path.name} has {wide} × {high} pixels",
                where="photograph",
                expected=f"at most {MOST_PIXELS // 1_000_000} million",
                next="Save it smaller",
            )
        if min(wide, high) < LEAST_SIDE:
            raise Refused(
                f"{path.name} has {wide} × {high} pixels",
                where="photograph",
                expected=f"at least {LEAST_SIDE} either way",
                next="Use the picture as the camera wrote it, not a reduced one",
            )
        focal = _focal(opened)
        cropped = _seems_cropped(wide, high)
        by = max(1, math.ceil(math.sqrt(wide * high / USED_PIXELS)))
        if by > 1 and opened.format == "JPEG":
            opened.draft("RGB", (wide // by, high // by))  # unpacks no more than is used
        opened.load()
        upright = ImageOps.exif_transpose(opened).convert("RGB")
    left = max(1, math.ceil(math.sqrt(upright.size[0] * upright.size[1] / USED_PIXELS)))
    if left > 1:
        upright = upright.reduce(left)
    picture = np.asarray(upright)[:, :, ::-1].copy()
    scale = math.hypot(*upright.size) / math.hypot(wide, high)
    return Shot(picture, None if focal is None else focal * math.hypot(wide, high) * scale, cropped, round(1 / scale))


def _focal(opened: Image.Image) -> float | None:
    """The focal length in parts of the picture's diagonal, where the camera wrote what it is on 35 mm film (Exif 2.32,
    41989)."""
    try:
        told = float(opened.getexif().get_ifd(ExifTags.IFD.Exif).get(ExifTags.Base.FocalLengthIn35mmFilm, 0))
    except (ValueError, TypeError, SyntaxError, OSError, KeyError, IndexError, OverflowError, ArithmeticError):
        return None
    return told / math.hypot(36, 24) if 8 <= told <= 300 else None


def _seems_cropped(wide: int, high: int) -> bool:
    shape = max(wide, high) / min(wide, high)
    return all(abs(shape / usual - 1) > UNLIKELY_SHAPE for usual in (4 / 3, 3 / 2, 16 / 9, 1.0))


def _why(path: Path, fault: Exception) -> str:
    """Why a file could not be read."""
    if isinstance(fault, UnidentifiedImageError):
        return f"{path.name} is not a picture" if path.stat().st_size else f"{path.name} is empty"
    if isinstance(fault, FileNotFoundError):
        return f"there is no file {path.name}"
    if isinstance(fault, IsADirectoryError):
        return f"{path.name} is a folder"
    if "truncated" in str(fault) or "broken" in str(fault):
        return f"{path.name} is broken off: part of the picture is missing"
    return f"{path.name} cannot be read as a picture: {fault}"[:160]
