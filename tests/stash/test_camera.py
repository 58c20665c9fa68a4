"""Outlines off photographs: what is found, each thing that is refused and in which words, and files that are no pictures."""

from __future__ import annotations

import io
import random
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageFilter
from shapely import Polygon, affinity

from stash.camera import edges, lines, picture, reading, sheet
from stash.camera.picture import Shot
from stash.camera.reading import Seen, read_photograph, read_shot
from stash.refusals import Refused
from stash.words import Scale, Way

from .. import photographed


def shot(drawn: Image.Image) -> Shot:
    return Shot(np.asarray(drawn)[:, :, ::-1].copy(), None, False, 1)


def read(**told: object) -> Seen:
    return read_shot(shot(photographed.picture(**told)), Scale.SHEET)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def plain() -> Seen:
    return read()


def truth() -> Polygon:
    """The scrap from its near left."""
    there = affinity.scale(Polygon(photographed.SCRAP), 1, -1, origin=(0, 0))
    return affinity.translate(there, -there.bounds[0], -there.bounds[1])


def test_the_outline_lies_where_it_lay(plain: Seen) -> None:
    found = Polygon(plain.measured.ring)
    assert len(plain.measured.ring) == 6
    assert found.exterior.hausdorff_distance(truth().exterior) < 1.0  # pixels of 0.6 mm
    assert found.area == pytest.approx(truth().area, rel=3e-3)
    assert plain.measured.way is Way.PHOTOGRAPH
    a, b = plain.measured.ring[:2]
    assert a == pytest.approx((0, 70), abs=1.0)  # A is nearest near left, as with a tape, and B follows against the clock
    assert b == pytest.approx((170, 70), abs=1.0)


def test_what_is_stated_covers_what_it_is_out_by(plain: Seen) -> None:
    assert plain.measured.within is not None
    assert 0.3 < plain.measured.within < 10  # pixels of 0.6 mm, and nothing told of the lens


def test_a_hole_is_found(plain: Seen) -> None:
    (hole,) = plain.holes
    assert Polygon(hole).area == pytest.approx(Polygon(photographed.HOLE).area, rel=0.03)


@pytest.mark.slow
def test_a_sheet_printed_too_large_is_told_by_its_square(plain: Seen) -> None:
    large = read_shot(shot(photographed.picture(scale=1.02)), Scale.SHEET, square=1.02 * sheet.SQUARE)
    assert Polygon(large.measured.ring).area == pytest.approx(Polygon(plain.measured.ring).area, rel=3e-3)


def test_a_line_laid_on_it_shows_the_grain() -> None:
    seen = read(line=((70, 60), (190, 100)), hole=())
    (ax, ay), (bx, by) = lines.line_on(seen.picture, np.array(seen.measured.ring), [], seen.in_picture)
    angle = np.degrees(np.arctan2(by - ay, bx - ax)) % 180
    assert angle == pytest.approx(180 - np.degrees(np.arctan2(40, 120)), abs=0.5)


def test_where_print_ends_the_edge_of_a_card_stays_where_it_is() -> None:
    """A card light above and dark below, on a table of a tone between: the edge is nowhere pulled towards either."""
    tones = np.full((240, 200), 120.0)
    share = np.clip(np.arange(200) + 0.5 - 100.3, 0, 1)  # of each pixel, right of the edge
    for rows, tone in ((slice(0, 90), 60.0), (slice(90, 240), 200.0)):
        tones[rows] = tone + (120.0 - tone) * share
    card = np.repeat(
        np.asarray(Image.fromarray(tones.astype(np.uint8)).filter(ImageFilter.GaussianBlur(0.9)))[:, :, None], 3, 2
    )
    points, normals = edges.along_side(np.array([99.0, 10.0]), np.array([99.0, 230.0]), 0, 5)
    seen = edges.across(card, points, normals, 6.0, beside=3.0, alike=9, least=1.5, closed=False)
    assert seen.clear.mean() > 0.7
    assert not seen.clear[abs(points[:, 1] - 90) < 4].any()
    assert points[:, 0][seen.clear] + (seen.at * normals[:, 0])[seen.clear] == pytest.approx(100.3, abs=0.15)


NEAR = ((420.0, 30.0), (500.0, 30.0), (500.0, 120.0), (420.0, 120.0))
WRONG = {
    "no mark": ({"marks": 0}, "no mark of a scale sheet"),
    "two marks": ({"marks": 2}, "only 2 of a sheet's 6 marks"),
    "no cloth": ({"scrap": (), "hole": ()}, "alike in tone"),
    "alike": ({"cloth": "#9b7f61", "hole": ()}, "alike in tone"),
    "two scraps": ({"others": (NEAR,)}, "2 things on the table"),
    "at the frame": ({"scrap": ((-5, 30), (330, 30), (330, 190), (-5, 120))}, "reaches the edge of the picture"),
    "blurred": ({"blur": 9.0}, "blur|no mark|sides of|alike|soft"),
}


@pytest.mark.parametrize("case", WRONG)
def test_what_is_wrong_with_a_photograph_is_said(case: str) -> None:
    told, words = WRONG[case]
    with pytest.raises(Refused, match=words) as refused:
        read(**told)
    assert refused.value.expected
    assert refused.value.next


@pytest.mark.parametrize(
    ("tolerance", "square"), [(0.0, 100.0), (float("nan"), 100.0), (25.0, 100.0), (1.0, 80.0), (1.0, float("inf"))]
)
def test_a_tolerance_or_square_that_cannot_be(tolerance: float, square: float) -> None:
    with pytest.raises(Refused, match=r"tolerance|square"):
        read_photograph("any.jpg", tolerance=tolerance, square=square)


# --- files ---------------------------------------------------------------------------------------------------------------


def test_it_is_turned_as_the_camera_says(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    drawn = Image.new("RGB", (700, 900))
    drawn.putpixel((0, 0), (255, 255, 255))
    drawn.save(tmp_path / "turned.png", exif=exif)
    seen = picture.read(tmp_path / "turned.png").picture
    assert seen.shape == (700, 900, 3)
    assert seen[0, 899].tolist() == [255, 255, 255]


def test_what_the_camera_says_of_its_focal_length(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0xA405] = 26
    Image.new("RGB", (800, 600)).save(tmp_path / "a.jpg", exif=exif)
    assert picture.read(tmp_path / "a.jpg").focal == pytest.approx(26 / np.hypot(36, 24) * 1000, rel=1e-3)


@pytest.mark.slow
def test_a_huge_picture_is_reduced_and_a_larger_one_refused(tmp_path: Path) -> None:
    Image.new("RGB", (6000, 4000)).save(tmp_path / "large.jpg")
    assert max(picture.read(tmp_path / "large.jpg").picture.shape) <= 3000
    Image.new("1", (15000, 10000)).save(tmp_path / "bomb.png")
    with pytest.raises(Refused, match="15000 × 10000 pixels"):
        picture.read(tmp_path / "bomb.png")


@pytest.fixture(scope="module")
def whole() -> dict[str, bytes]:
    """Pictures of each kind that is read, by their suffix."""
    drawn = Image.effect_noise((640, 640), 40).convert("RGB")
    return {suffix: as_file(drawn, kind) for kind, suffix in (("JPEG", "jpg"), ("PNG", "png"), ("WEBP", "webp"))}


def as_file(drawn: Image.Image, kind: str) -> bytes:
    page = io.BytesIO()
    drawn.save(page, kind)
    return page.getvalue()


STRANGE = {
    "empty.jpg": (b"", "is empty"),
    "text.jpg": (b"not a picture at all", "is not a picture"),
    "page.png": (b"<html></html>" * 99, "is not a picture"),
    "photo.heic.jpg": (b"\0\0\0\x18ftypheic" + b"\0" * 200, "HEIC"),
    "film.jpg": (b"\0\0\0\x18ftypavif" + b"\0" * 99, "AVIF"),
    "archive.jpg": (b"PK\x03\x04" + b"\0" * 500, "is not a picture"),
    "paper.jpg": (b"%PDF-1.7\n" + b"\0" * 500, "is not a picture"),
    "drawing.png": (b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"/>', "is not a picture"),
    "small.png": (as_file(Image.new("RGB", (64, 64)), "PNG"), "64 × 64 pixels"),
    "other.gif.jpg": (as_file(Image.new("L", (640, 640)), "GIF"), "another kind .GIF."),
    "other.bmp.jpg": (as_file(Image.new("1", (640, 640)), "BMP"), "another kind .BMP."),
    "other.tiff.jpg": (as_file(Image.new("1", (640, 640)), "TIFF"), "another kind .TIFF."),
}


@pytest.mark.parametrize("name", STRANGE)
def test_what_is_no_photograph(name: str, tmp_path: Path) -> None:
    content, words = STRANGE[name]
    (tmp_path / name).write_bytes(content)
    with pytest.raises(Refused, match=words):
        picture.read(tmp_path / name)


@pytest.mark.parametrize("suffix", ["jpg", "png", "webp"])
def test_a_picture_that_is_broken_off(suffix: str, whole: dict[str, bytes], tmp_path: Path) -> None:
    (tmp_path / f"half.{suffix}").write_bytes(whole[suffix][: len(whole[suffix]) // 2])
    with pytest.raises(Refused, match=r"broken off|cannot be read|is not a picture"):
        picture.read(tmp_path / f"half.{suffix}")


def spoiled(whole: dict[str, bytes], count: int) -> list[tuple[str, bytes]]:
    """So many files that were photographs, broken off or spoiled."""
    chance = random.Random(8)
    found: list[tuple[str, bytes]] = []
    while len(found) < count:
        suffix = chance.choice(sorted(whole))
        content = bytearray(whole[suffix])
        way = chance.randrange(3)
        if way == 0:  # broken off
            content = content[: chance.randrange(2, len(content) * 9 // 10)]
        elif way == 1:  # its head spoiled
            for _ in range(chance.randrange(4, 40)):
                content[chance.randrange(0, 60)] = chance.randrange(256)
        else:  # chance alone after the first bytes
            content[chance.randrange(2, 24) :] = chance.randbytes(chance.randrange(50, 3000))
        found.append((f"spoiled-{len(found)}.{suffix}", bytes(content)))
    return found


@pytest.mark.slow
def test_two_hundred_malformed_pictures_are_refused(whole: dict[str, bytes], tmp_path: Path) -> None:
    """One whose head was spoiled where it does not matter may still be read as a picture; it then holds no mark."""
    for name, content in spoiled(whole, 200):
        (tmp_path / name).write_bytes(content)
        with pytest.raises(Refused) as refused:
            read_photograph(tmp_path / name)
        assert str(refused.value)


def test_what_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(Refused, match=r"there is no file none\.jpg"):
        picture.read(tmp_path / "none.jpg")
    with pytest.raises(Refused, match="folder"):
        picture.read(tmp_path)


def test_the_least_and_the_most_that_are_used() -> None:
    assert reading.LEAST_CLOTH > reading.LEAST_HOLE
    assert len(sheet.MARK_PLACES) * sheet.SHEETS <= 50  # marks that the family has
