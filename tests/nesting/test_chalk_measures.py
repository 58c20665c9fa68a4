"""Chalk measures: a panel is found again from what is told, as near as is stated, and no other way would be much nearer.

Panels are rebuilt here in complex numbers, from the letters and the readings alone: the law of cosines for ties, and one turn
and one shift for the template. None of the code under test takes part.
"""

from __future__ import annotations

import cmath
import math
from itertools import combinations, product

import numpy as np
import pytest
from shapely import LineString, Point, Polygon, box
from shapely.affinity import rotate, translate

from nesting.chalk_measures import CLEAR, FLATTEST, LEVER, NEARLY, SQUARE, UNSURE, By, ChalkMeasure, where_to_chalk
from nesting.marks import Mark, marks_of, straight_sides

WEDGE = Polygon([(0, -42), (8, -14), (8, 14), (0, 42), (208, 10), (208, -10)])
ROUND = Point(0, 0).buffer(45)
STEP_MM, STEP_IN = 1.0, 25.4 / 16


def laid(piece: Polygon, *places: tuple[float, float, float]) -> list[tuple[Polygon, tuple[Mark, ...]]]:
    """Copies of a piece at (x, y, turn), each with the marks of the piece as they come to lie."""
    marks = marks_of(piece, small=True)
    found = []
    for x, y, turn in places:
        moved = [translate(rotate(Point(mark.at), turn, origin=(0, 0)), x, y) for mark in marks]
        there = tuple(Mark(mark.letter, (at.x, at.y), mark.turn) for mark, at in zip(marks, moved, strict=True))
        found.append((translate(rotate(piece, turn, origin=(0, 0)), x, y), there))
    return found


BITTEN = Polygon([(0, 0), (622, 0), (622, 330), (546, 330), (546, 406), (0, 406)])
SLANTED = Polygon([(0, 0), (510, 20), (500, 280), (200, 300), (0, 260)])
TABLES = {
    "bitten": (BITTEN, laid(WEDGE, (10, 50, 0), (230, 140, 180), (320, 250, 90), (600, 60, 180), (60, 380, 270))),
    "slanted": (SLANTED, laid(WEDGE, (10, 60, 0), (260, 200, 180), (300, 100, 30))),
    "triangle": (Polygon([(0, 0), (330, 0), (0, 410)]), laid(WEDGE, (50, 5, 90), (10, 60, 0))),
    "round scrap": (Point(300, 300).buffer(200), laid(WEDGE, (200, 300, 0), (300, 380, 45))),
    "round panels": (BITTEN, laid(ROUND, (60, 60, 0), (300, 200, 0), (500, 360, 0))),
    "hardly larger": (box(0, 0, 80, 80), laid(box(0, 0, 70, 70), (5, 5, 0))),
    "long strip": (box(0, 0, 2600, 90), laid(box(0, 0, 150, 60), (15, 15, 0), (1300, 15, 0), (2420, 15, 0))),
}


def rebuilt(
    measure: ChalkMeasure, marks: tuple[Mark, ...], readings: np.ndarray, lean: np.ndarray, rim: np.ndarray
) -> np.ndarray:
    """Where the rim (complex) of the panel comes to lie for each of many sets of readings (n × 4)."""
    at = {mark.letter: complex(*mark.at) for mark in marks}
    a, b = at[measure.start.letter], at[measure.end.letter]
    way = (b - a) / abs(b - a)
    side = 1j if measure.left else -1j
    spots = []
    for n in (0, 2):
        first, second = readings[:, n], readings[:, n + 1]
        if measure.by is By.TIES:
            cosine = (first**2 + abs(b - a) ** 2 - second**2) / (2 * first * abs(b - a))
            spots.append(a + first * way * np.exp((1j if measure.left else -1j) * np.arccos(cosine)))
        else:
            spots.append(a + first * way + second * way * (side + lean[:, n // 2]))
    was = [complex(*point) for point in measure.laid]
    turn = (spots[1] - spots[0]) / (was[1] - was[0])
    turn /= np.abs(turn)
    middle = (spots[0] + spots[1]) / 2
    return np.asarray(middle[:, None] + turn[:, None] * (rim - (was[0] + was[1]) / 2))


def told(measure: ChalkMeasure) -> np.ndarray:
    return np.array([reading for point in measure.points for reading in (point.first, point.second)])


def rim_of(shape: Polygon) -> np.ndarray:
    places = np.asarray(shape.exterior.coords)[:-1]
    return np.asarray(places[:, 0] + 1j * places[:, 1])


@pytest.mark.parametrize("name", TABLES)
def test_a_panel_is_found_again_from_its_letters_and_readings(name: str) -> None:
    outline, panels = TABLES[name]
    marks, measures = where_to_chalk(outline, panels)
    for (shape, _), measure in zip(panels, measures, strict=True):
        rim = rim_of(shape)
        again = rebuilt(measure, marks, told(measure)[None], np.zeros((1, 2)), rim)[0]
        assert np.abs(again - rim).max() < 0.1


@pytest.mark.parametrize("step", [STEP_MM, STEP_IN])
@pytest.mark.parametrize("name", TABLES)
def test_ten_thousand_readings_put_it_as_near_as_is_stated(name: str, step: float) -> None:
    outline, panels = TABLES[name]
    marks, measures = where_to_chalk(outline, panels)
    chance = np.random.default_rng(7)
    farthest = 0.0
    for (shape, _), measure in zip(panels, measures, strict=True):
        printed = np.round(told(measure) / step) * step
        draws = 10_000 // len(panels) + 1
        readings = printed + chance.uniform(-1, 1, (draws, 4))
        corners = printed + np.array(list(product((-1.0, 1.0), repeat=4)))  # chance seldom looks into a corner
        lean = chance.uniform(-SQUARE, SQUARE, (draws + len(corners), 2))
        rim = rim_of(shape)
        out = np.abs(rebuilt(measure, marks, np.vstack([readings, corners]), lean, rim) - rim).max()
        stated = measure.within(1.0 + step / 2)
        assert out <= stated * 1.0001
        farthest = max(farthest, out / stated)
    assert farthest > 0.5  # what is stated is not idle


@pytest.mark.slow
@pytest.mark.parametrize("name", TABLES)
def test_no_other_way_costs_much_less(name: str) -> None:
    outline, panels = TABLES[name]
    marks, measures = where_to_chalk(outline, panels)
    corners = np.array(list(product((-1.0, 1.0), repeat=4)))
    for (shape, of_panel), measure in zip(panels[:2], measures[:2], strict=True):
        rim, best = rim_of(shape), math.inf
        farthest = max(math.dist(p.at, q.at) for p, q in combinations(of_panel, 2))
        for p, q in combinations(of_panel, 2):
            if math.dist(p.at, q.at) < LEVER * farthest:
                continue
            for a, b in combinations(marks, 2):
                by_ties = as_ties(outline, a, b, p, q)
                if by_ties and (by_ties.said <= measure.said):
                    moved = rebuilt(by_ties, marks, told(by_ties) + corners, np.zeros((16, 2)), rim)
                    best = min(best, float(np.abs(moved - rim).max()))
        assert measure.per_mm <= NEARLY * best * 1.02


def as_ties(outline: Polygon, a: Mark, b: Mark, p: Mark, q: Mark) -> ChalkMeasure | None:
    """The ties of two marks from two others; None where the arcs cross too flatly or the marks lie on different sides."""
    from nesting.chalk_measures import Told

    sides = []
    twins = []
    for mark in (p, q):
        to_a, to_b = (complex(*mark.at) - complex(*end.at) for end in (a, b))
        if abs(math.sin(cmath.phase(to_b / to_a))) < FLATTEST:
            return None
        base = complex(*b.at) - complex(*a.at)
        sides.append((to_a / base).imag > 0)
        twin = complex(*a.at) + base * (to_a / base).conjugate()
        twins.append(Point(twin.real, twin.imag))
    if len(set(sides)) > 1:
        return None
    said = any(outline.distance(twin) <= CLEAR for twin in twins)
    points = tuple(Told(m.letter, math.dist(m.at, a.at), math.dist(m.at, b.at)) for m in (p, q))
    return ChalkMeasure(By.TIES, a, b, points, 0.0, sides[0], said, (p.at, q.at), ())  # type: ignore[arg-type]


def test_corners_of_a_raw_edge_are_left_where_others_do_nearly_as_well() -> None:
    raw = LineString([(0, 406), (0, 0)])
    _, plainly = where_to_chalk(BITTEN, TABLES["bitten"][1])
    _, measures = chalk_measures_of(BITTEN, raw)
    for before, after in zip(plainly, measures, strict=True):
        if {after.start.letter, after.end.letter} & {"A", "F"}:  # nothing else is nearly as good
            assert after.per_mm <= NEARLY * before.per_mm
        else:
            assert after.per_mm <= UNSURE * NEARLY * before.per_mm

    def from_the_raw_edge(found: tuple[ChalkMeasure, ...]) -> int:
        return sum(bool({m.start.letter, m.end.letter} & {"A", "F"}) for m in found)

    assert from_the_raw_edge(measures) < from_the_raw_edge(plainly)
    _, measures = chalk_measures_of(BITTEN, BITTEN.exterior)
    assert all(m.per_mm < 3 for m in measures)
    plain = box(0, 0, 622, 406)
    _, measures = chalk_measures_of(plain, raw)  # from the two other corners alone it would be 5 mm
    assert all(m.per_mm < 3.4 for m in measures)


def chalk_measures_of(outline: Polygon, raw: LineString) -> tuple[tuple[Mark, ...], tuple[ChalkMeasure, ...]]:
    return where_to_chalk(outline, TABLES["bitten"][1], unsure=[raw])


def test_the_other_crossing_is_ruled_out_or_said() -> None:
    for outline, panels in TABLES.values():
        _, measures = where_to_chalk(outline, panels)
        for measure in measures:
            if measure.by is By.TIES and not measure.said:
                a, b = complex(*measure.start.at), complex(*measure.end.at)
                for at in measure.laid:
                    twin = a + (b - a) * ((complex(*at) - a) / (b - a)).conjugate()
                    assert outline.distance(Point(twin.real, twin.imag)) > CLEAR


@pytest.mark.slow
def test_panels_of_a_sheet_share_the_ends_of_the_tape() -> None:
    many = laid(box(0, 0, 60, 40), *[(10 + 70 * column, 10 + 50 * row, 0) for row in range(7) for column in range(8)])
    _, measures = where_to_chalk(BITTEN, many)
    assert len({(m.by, m.start.letter, m.end.letter) for m in measures}) <= 8


# --- marks ---------------------------------------------------------------------------------------------------------------


def test_corners_are_lettered_and_arcs_are_not() -> None:
    assert [mark.letter for mark in marks_of(BITTEN)] == list("ABCDEF")
    assert [mark.at for mark in marks_of(BITTEN)] == [(x, y) for x, y in BITTEN.exterior.coords[:-1]]
    rounded = box(0, 0, 300, 200).buffer(-12).buffer(12)
    near = [min(math.dist(mark.at, corner) for corner in box(0, 0, 300, 200).exterior.coords) for mark in marks_of(rounded)]
    assert len(near) == 4
    assert max(near) < 6


@pytest.mark.parametrize("shape", [ROUND, Point(0, 0).buffer(300), Polygon([(0, 0), (200, 5), (100, 8)])])
def test_what_has_no_two_corners_has_the_ends_of_its_chords(shape: Polygon) -> None:
    marks = marks_of(shape)
    assert len(marks) >= 2
    assert all(shape.exterior.distance(Point(mark.at)) < 1e-6 for mark in marks)
    assert max(math.dist(p.at, q.at) for p, q in combinations(marks, 2)) > 0.9 * max(
        shape.bounds[2] - shape.bounds[0], shape.bounds[3] - shape.bounds[1]
    )


def test_straight_sides_run_between_marks_and_bowed_ones_are_none() -> None:
    marks = marks_of(BITTEN)
    assert len(straight_sides(BITTEN, marks)) == 6
    bowed = Polygon([(0, 0), (150, -4), (300, 0), (300, 200), (0, 200)])
    marks = marks_of(bowed)
    ends = {tuple(sorted((marks[i].at, marks[j].at))) for i, j in straight_sides(bowed, marks)}
    assert ((0.0, 0.0), (300.0, 0.0)) not in ends
    assert len(ends) == 3


def test_a_saw_edge_has_no_more_letters_than_there_are() -> None:
    teeth = [(n * 20.0, 15.0 * (n % 2)) for n in range(80)]
    marks = marks_of(Polygon([*teeth, (1580, 300), (0, 300)]))
    assert len({mark.letter for mark in marks}) == len(marks) <= 24
