"""SVG from anyone: read at the size and in the place that the standard says; refused where it cannot be read surely.

Areas are held against closed forms, and paths against svgpathtools, which shares nothing with the reader.
"""

from __future__ import annotations

import gzip
import math
import random
from itertools import pairwise

import pytest
from shapely import Polygon
from svgpathtools import parse_path

from stash import strange_files, svg_reading, svg_sizes
from stash.curves import Affine
from stash.found_lines import FoundDrawing
from stash.refusals import Refused
from stash.svg_paths import runs

HEAD = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
MM = 'width="200mm" height="100mm" viewBox="0 0 200 100"'


def svg(inside: str, frame: str = MM) -> bytes:
    return f"<svg {HEAD} {frame}>{inside}</svg>".encode()


def read(inside: str, frame: str = MM, within: float = 0.1) -> FoundDrawing:
    return svg_reading.read(svg(inside, frame), within=within)


def area(found: FoundDrawing) -> float:
    return sum(Polygon(line.points).area for line in found.lines)


# --- size ----------------------------------------------------------------------------------------------------------------

SQUARE = '<rect width="96" height="48"/>'
SIZES = {
    'width="96" height="48"': 25.4 * 12.7,
    "": 25.4 * 12.7,  # 96 units to the inch (CSS Values 4, 6.2)
    'width="96px" height="48px" viewBox="0 0 96 48"': 25.4 * 12.7,
    'width="72pt" height="36pt" viewBox="0 0 96 48"': 25.4 * 12.7,
    'width="6pc" height="3pc" viewBox="0 0 96 48"': 25.4 * 12.7,
    'width="1in" height="0.5in" viewBox="0 0 96 48"': 25.4 * 12.7,
    'width="96mm" height="48mm" viewBox="0 0 96 48"': 96 * 48,
    'width="9.6cm" height="4.8cm" viewBox="0 0 96 48"': 96 * 48,
    'width="384Q" height="192q" viewBox="0,0,96,48"': 96 * 48,
    'width="96mm" viewBox="0 0 96 48"': 96 * 48,
    'height="48mm" width="100%" viewBox="0 0 96 48"': 96 * 48,
    'width="192mm" height="48mm" viewBox="0 0 96 48"': 96 * 48,  # it is not stretched (preserveAspectRatio, SVG 2, 8.6)
    'width="192mm" height="48mm" viewBox="0 0 96 48" preserveAspectRatio="none"': 192 * 48,
    'width="192mm" height="48mm" viewBox="0 0 96 48" preserveAspectRatio="xMinYMin slice"': 192 * 96,
    'width="96mm" height="48mm" viewBox="500 -900 96 48"': 96 * 48,
}


@pytest.mark.parametrize(("frame", "square_mm"), SIZES.items())
def test_a_drawing_has_the_size_that_its_frame_says(frame: str, square_mm: float) -> None:
    assert math.isclose(area(read(SQUARE, frame)), square_mm, rel_tol=1e-12)


NO_SIZE = ('viewBox="0 0 96 48"', 'width="100%" height="5em" viewBox="0 0 96 48"', 'width="-96mm" viewBox="0 0 96 48"')


@pytest.mark.parametrize("frame", NO_SIZE)
def test_a_frame_of_no_size_is_asked_for_its_unit(frame: str) -> None:
    with pytest.raises(Refused, match="how large it is") as refused:
        read(SQUARE, frame)
    assert refused.value.where == "unit"
    assert math.isclose(area(svg_reading.read(svg(SQUARE, frame), unit=0.5)), 24 * 48)


# --- where it lies -------------------------------------------------------------------------------------------------------

PLACED = {  # the point (3, 1) of a line from (0, 0), as SVG 2, 8.5 places it; y up
    '<g transform="translate(10 20) rotate(90)">': (9, -23),
    '<g transform="rotate(90) translate(10 20)">': (-21, -13),
    '<g transform="translate(10 20)"><g transform="rotate(90)">': (9, -23),
    '<g transform="scale(2)"><g transform="translate(10,20)">': (26, -42),
    '<g transform="translate(10,20) scale(2)">': (16, -22),
    '<g transform="rotate(90 10 20)">': (29, -13),
    '<g transform="matrix(1 2 3 4 5 6)">': (11, -16),
    '<g transform="skewX(45)">': (4, -1),
    '<g transform="skewY(45)">': (3, -4),
    '<g transform="scale(2 -3)">': (6, 3),
    '<g transform=" translate( 1e1 , -5 ) , scale(.5) ">': (11.5, 4.5),
    '<svg x="10" y="20" width="20" height="20" viewBox="0 0 10 10">': (16, -22),
    '<svg x="10" width="40" height="20" viewBox="0 0 10 10">': (26, -2),  # in the middle of its frame
    '<svg x="10" width="40" height="20" viewBox="1 0 10 10" preserveAspectRatio="xMinYMin">': (14, -2),
    '<a><switch><g transform="translate(1)">': (4, -1),
}


@pytest.mark.parametrize(("groups", "place"), PLACED.items())
def test_transforms_and_frames_are_carried_out_in_their_order(groups: str, place: tuple[float, float]) -> None:
    tags = [part.split()[0] for part in groups.split("<")[1:]]
    closing = "".join(f"</{tag.rstrip('>')}>" for tag in reversed(tags))
    (line,) = read(f'{groups}<path d="M 0 0 L 3 1"/>{closing}').lines
    assert line.points[1] == pytest.approx(place, abs=1e-12)


def test_a_drawing_is_used_again_where_it_is_said() -> None:
    found = read(
        '<defs><g id="s"><rect id="r" width="10" height="10"/></g><symbol id="y" viewBox="0 0 1 1">'
        '<rect width="1" height="1"/></symbol></defs><use xlink:href="#s" x="5" transform="scale(2)"/>'
        '<use href="#y" width="20" height="30"/><use href="#r"/>'
    )
    assert [line.points[0] for line in found.lines] == [(10, 0), (0, -5), (0, 0)]
    assert [Polygon(line.points).area for line in found.lines] == pytest.approx([400, 400, 100])


def test_a_symbol_is_drawn_only_where_it_is_used() -> None:
    found = read('<symbol id="s"><rect width="10" height="10"/></symbol><g><use href="#s" x="50"/></g>')
    assert [line.points[0] for line in found.lines] == [(50, 0)]


# --- shapes and paths ----------------------------------------------------------------------------------------------------

SHAPES = {
    '<rect x="1" y="2" width="30" height="20"/>': 600,
    '<rect width="30" height="20" rx="5"/>': 600 - (4 - math.pi) * 25,
    '<rect width="30" height="20" rx="50" ry="4"/>': 600 - (4 - math.pi) * 15 * 4,
    '<circle cx="40" cy="40" r="30"/>': math.pi * 900,
    '<ellipse rx="40" ry="10"/>': math.pi * 400,
    '<polygon points="0,0 30,0 30,20"/>': 300,
    '<path d="M0 0h30v20h-30z"/>': 600,
    '<path d="m5 5 30 0 0 20-30 0z"/>': 600,
    '<path d="M0,0 C0,40 40,40 40,0 Z"/>': 0.6 * 40 * 40,  # three fifths of its box of controls
    '<path d="M0,0 Q20,40 40,0 Z"/>': 2 / 3 * 40 * 20,  # Archimedes
    '<path d="M0,0 Q10,10 20,0 T40,0 V30 H0 Z"/>': 40 * 30,
    '<path d="M0,0C0,10 20,10 20,0S40-10 40,0V30H0z"/>': 40 * 30,
    '<path d="M10,50a40 40 0 1 0 80 0 40 40 0 1080 0"/>'.replace("1080 0", "1 0-80 0"): math.pi * 1600,
    '<path d="M-20,0 A20,10 0 1 1 20,0 A20,10 0 1 1 -20,0"/>': math.pi * 200,
    '<path d="M-20,0 A1,1 0 0 0 20,0 Z"/>': math.pi * 200,  # a radius too short is made to reach
    '<path d="M0 0 A0 5 0 0 0 30 0 L30 20z"/>': 300,  # one of nought is a line
}


@pytest.mark.parametrize(("shape", "square_mm"), SHAPES.items())
def test_shapes_have_their_areas(shape: str, square_mm: float) -> None:
    found = read(shape, within=0.001)
    assert area(found) == pytest.approx(square_mm, rel=2e-4, abs=0.05)
    assert len(found.lines) == 1


@pytest.mark.parametrize("d", ["C", "Q", "S", "T", "A", "c", "q", "s", "t", "a", "l", "h", "v"])
def test_paths_are_read_as_svgpathtools_reads_them(d: str) -> None:
    rng = random.Random(d)
    takes = {"C": 6, "S": 4, "Q": 4, "T": 2, "L": 2, "H": 1, "V": 1}

    def step(letter: str) -> str:
        if letter in "Aa":
            radii = f"{rng.uniform(20, 90):.3f} {rng.uniform(20, 90):.3f} {rng.uniform(-200, 200):.2f}"
            end = f"{rng.uniform(-50, 50):.2f} {rng.uniform(-50, 50):.2f}"
            return f"{letter}{radii} {rng.randint(0, 1)} {rng.randint(0, 1)} {end}"
        return letter + ",".join(f"{rng.uniform(-50, 50):.2f}" for _ in range(takes[letter.upper()]))

    data = "M 3 4 " + " ".join(step(letter) for letter in (d, "C", d, "q", d))
    (found,) = runs(data, Affine(), 0.02)
    meant = parse_path(data)
    places = [(z.real, z.imag) for z in (part.point(t / 10) for part in meant for t in range(11))]
    line = list(pairwise(found.points))
    assert max(min(_off(place, *side) for side in line) for place in places) < 0.021
    assert found.points[-1] == pytest.approx((meant.end.real, meant.end.imag), abs=1e-9)


def _off(place: tuple[float, float], start: tuple[float, float], end: tuple[float, float]) -> float:
    dx, dy = end[0] - start[0], end[1] - start[1]
    share = ((place[0] - start[0]) * dx + (place[1] - start[1]) * dy) / max(dx * dx + dy * dy, 1e-300)
    share = min(max(share, 0.0), 1.0)
    return math.hypot(place[0] - start[0] - share * dx, place[1] - start[1] - share * dy)


@pytest.mark.parametrize("within", [0.01, 0.1, 1.0])
def test_sides_lie_as_near_the_curve_as_was_asked_whatever_it_is_stretched_to(within: float) -> None:
    stretched = read('<g transform="rotate(20) scale(7 3)"><circle r="20"/></g>', within=within).lines[0].points
    ellipse = [Affine(a=7, d=3).at((20 * math.cos(t / 500), 20 * math.sin(t / 500))) for t in range(3142)]
    turn = svg_sizes.transform("rotate(-20)")
    place = [turn.at(point) for point in ellipse]
    sides = list(pairwise([*stretched, stretched[0]]))
    off = max(min(_off(point, *side) for side in sides) for point in place[::25])
    assert off <= within * 1.001


def test_open_lines_that_meet_are_one_outline() -> None:
    found = read('<path d="M0 0H50"/><line x1="50.02" y1="0" x2="50" y2="40"/><polyline points="0,0 0,40 50,40"/>')
    assert [(line.closed, len(line.points)) for line in found.lines] == [(True, 4)]
    apart = read('<g id="a"><path d="M0 0H50V40"/></g><g id="b"><path d="M0 0V40H50"/></g>')
    assert [line.closed for line in apart.lines] == [False, False]
    forked = read('<path d="M0 0H50"/><path d="M50 0V40"/><path d="M50 0L90 9"/>')
    assert len(forked.lines) == 3


# --- what is said of a line ----------------------------------------------------------------------------------------------


def test_colours_layers_and_names_are_found_however_they_are_written() -> None:
    found = read(
        "<style>/* x */ .s {stroke: #0F0; fill:none} #k, path.k { stroke: blue } @media {}</style>"
        '<g id="L" xmlns:i="urn:i" i:label="Stitch lines" stroke="red"><path d="M0 0H9"/><path class="s" d="M0 1H9"/></g>'
        '<g><title>front</title><path id="k" d="M0 2H9" style="stroke : rgb(1,2,3)"/><path id="n" class="k" d="M0 3H9"/></g>'
        '<path d="M0 4H9" stroke="none" fill="#123456"/><path d="M0 5H9"/><path d="M0 6H9" stroke="none" fill="none"/>'
    )
    assert [(line.colour, line.layer, line.name) for line in found.lines] == [
        ("#ff0000", "Stitch lines", ""),
        ("#00ff00", "Stitch lines", ""),
        ("#010203", "front", "k"),
        ("#0000ff", "front", "n"),
        ("#123456", "", ""),
        ("#000000", "", ""),
        ("", "", ""),
    ]


def test_what_is_not_seen_is_left_out_and_what_is_no_line_is_told() -> None:
    found = read(
        '<path d="M0 0H9" display="none"/><g style="visibility:hidden"><path d="M0 0H9"/></g><image href="x.png"/>'
        '<clipPath><rect width="5" height="5"/></clipPath><path d="M0 0H7"/><text x="3" y="4">le<tspan>ft</tspan></text>'
    )
    assert len(found.lines) == 1
    assert found.passed_over == ("what is hidden", "a picture")
    assert [(words.text, words.at) for words in found.words] == [("left", (3, -4))]


def test_in_a_group_that_is_hidden_what_says_so_is_seen() -> None:
    found = read('<g visibility="hidden"><path d="M0 0H5"/><path d="M0 1H6" visibility="visible"/><text>no</text></g>')
    assert [line.points for line in found.lines] == [((0, -1), (6, -1))]
    assert (found.passed_over, found.words) == (("what is hidden",), ())
    assert read('<g display="none"><path d="M0 1H6" display="inline"/></g>').lines == ()


# --- strangers -----------------------------------------------------------------------------------------------------------

USED = '<defs><g id="a"><path d="M0 0H1"/></g>' + "".join(
    f'<g id="{chr(98 + n)}">{f"""<use href="#{chr(97 + n)}"/>""" * 20}</g>' for n in range(12)
)
BAD = {
    "no XML": (b"hello", "it is no SVG that can be read"),
    "half a file": (svg("<g>")[:-12], "it is no SVG that can be read"),
    "another form": (b"<html><body/></html>", "it is no SVG"),
    "nought bytes": (b"<svg\x00/>", "it is no SVG that can be read"),
    "wrong letters": (b'<?xml version="1.0" encoding="klingon"?><svg/>', "it is no SVG that can be read"),
    "an entity of its own": (b'<!DOCTYPE svg [<!ENTITY a "x">]><svg>&a;</svg>', "it declares entities"),
    "an entity outside": (b'<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/passwd">]><svg>&a;</svg>', "it declares entities"),
    "a bomb of entities": (
        b"<!DOCTYPE svg ["
        + b"".join(b'<!ENTITY a%d "%s">' % (n, b"&a%d;" % (n - 1) * 10) for n in range(1, 12))
        + b"]><svg/>",
        "it declares entities",
    ),
    "a bomb of uses": (svg(USED + '</defs><use href="#m"/>'), "it has more than 200 lines"),
    "itself within itself": (svg('<g id="a"><use href="#a"/></g>'), "it draws itself again within itself"),
    "one in the other": (svg('<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>'), "it draws itself again"),
    "a file elsewhere": (svg('<use href="other.svg#a"/>'), "it draws 'other.svg#a', which is not in it"),
    "groups without end": (svg("<g>" * 100 + "</g>" * 100), "it has more than 60 groups within each other"),
    "lines without end": (svg("<path/>" * 201), "it has more than 200 lines"),
    "points without end": (svg(f'<path d="M0 0{"h1v1" * 501}"/>'), "it has more than 1000 points"),
    "curves without end": (svg('<circle r="900000000"/>', 'width="1in"'), "one curve takes more than 5000 straight sides"),
    "out of this world": (svg('<path d="M0 0H1e8"/>'), "it reaches farther than a kilometre"),
    "a path that is none": (svg('<path d="M0 0 L banana"/>'), "a path breaks off at its letter 8"),
    "a figure too many": (svg('<path d="M0 0 L 1 2 3"/>'), "a path breaks off"),
    "a wrong flag": (svg('<path d="M0 0 A 1 1 0 2 0 5 5"/>'), "a path breaks off"),
    "no move": (svg('<path d="L 5 5"/>'), "a path breaks off at its letter 1"),
    "a turn that is none": (
        svg('<g transform="rotate(a)"><path d="M0 0H1"/></g>'),
        "the transform 'rotate(a)' cannot be read",
    ),
    "a turn of another world": (svg('<path transform="rotate3d(1)" d=""/>'), "the transform 'rotate3d(1)' cannot be read"),
    "flat": (svg('<path transform="skewX(90)" d=""/>'), "the transform 'skewX(90)' cannot be read"),
    "moved by its style": (svg('<g style="transform:rotate(9deg)"/>'), "a style moves what is drawn"),
    "a frame of nought": (svg("", 'viewBox="0 0 0 5" width="5mm"'), "the viewBox '0 0 0 5' is none"),
    "a frame of words": (svg("", 'viewBox="all of it" width="5mm"'), "the viewBox 'all of it' is none"),
    "a frame of three": (svg("", 'viewBox="0 0 5" width="5mm"'), "the viewBox '0 0 5' is none"),
    "part of what": (svg('<circle r="5%"/>'), "r is '5%'"),
    "points by threes": (svg('<polygon points="1,2 3,4 5"/>'), "the points '1,2 3,4 5' cannot be read"),
    "a packed bomb": (gzip.compress(b"<svg>" + b" " * (17 * 2**20) + b"</svg>"), "holds more than 16 MB"),
    "packed and cut off": (gzip.compress(svg(SQUARE))[:-9], "breaks off before its end"),
    "packed and damaged": (b"\x1f\x8bgarbage", "cannot be unpacked"),
}


@pytest.mark.parametrize(("held", "said"), BAD.values(), ids=BAD)
def test_what_cannot_be_read_surely_is_refused(held: bytes, said: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """With limits that are lower than they are, so that a test takes no time to reach them."""
    monkeypatch.setattr(strange_files, "MOST_LINES", 200)
    monkeypatch.setattr(strange_files, "MOST_POINTS", 1000)
    with pytest.raises(Refused) as refused:
        svg_reading.read(held)
    assert said in refused.value.what


def test_a_packed_drawing_is_unpacked() -> None:
    assert area(svg_reading.read(gzip.compress(svg(SQUARE)))) == pytest.approx(96 * 48)
    assert strange_files.unpacked(b"plain", "x") == b"plain"
