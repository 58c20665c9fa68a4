"""A zoo of degenerate inputs that all tests share, each with what is wrong with it: none may be refused for another's fault.

Outlines that must be refused, outlines that look odd and must be taken, and cases with one fault each.
"""

from __future__ import annotations

import copy
import math
from dataclasses import dataclass
from typing import Any

Points = list[Any]

SQUARE: Points = [(0, 0), (100, 0), (100, 100), (0, 100)]

REFUSED: dict[str, tuple[Points, str]] = {
    "nothing": ([], "too few points"),
    "one point": ([(3, 4)], "too few points"),
    "two points": ([(0, 0), (50, 0)], "too few points"),
    "one point, said four times": ([(3, 4)] * 4, "too few points"),
    "two points and closed": ([(0, 0), (50, 0), (0, 0)], "too few points"),
    "three points, two of them one": ([(0, 0), (50, 0), (50, 1e-9)], "too few points"),
    "on a line along": ([(0, 0), (50, 0), (100, 0)], "no area"),
    "on a slanting line": ([(0, 0), (30, 10), (90, 30), (60, 20)], "no area"),
    "on a line but for rounding": ([(0, 0), (0.1, 0.1), (0.3, 0.3 + 1e-12)], "no area"),
    "smaller than can be booked": ([(0, 0), (0.1, 0), (0, 0.1)], "no area"),
    "bow-tie": ([(0, 0), (50, 40), (50, 0), (0, 40)], "crosses itself"),
    "bow-tie of no signed area": ([(0, 0), (100, 100), (100, 0), (0, 100)], "crosses itself"),
    "loop": ([(0, 0), (60, 0), (60, 60), (20, -20), (0, 60)], "crosses itself"),
    "twice round": (SQUARE + SQUARE, "crosses itself"),
    "edge run twice": ([(0, 0), (100, 0), (100, 50), (50, 50), (50, 0), (50, -50), (0, -50)], "crosses itself"),
    "two squares at a corner": (
        [(0, 0), (50, 0), (50, 50), (100, 50), (100, 100), (50, 100), (50, 50), (0, 50)],
        "touches itself",
    ),
    "spike out": ([(0, 0), (100, 0), (100, 50), (150, 50), (100, 50), (100, 100), (0, 100)], "spike"),
    "spike in": ([(0, 0), (50, 0), (50, 40), (50, 0), (100, 0), (100, 100), (0, 100)], "spike"),
    "spike along its own edge": ([(0, 0), (100, 0), (60, 0), (60, 80), (0, 80)], "spike"),
    "spike that is but rounding wide": (
        [(0, 0), (100, 0), (100, 50), (150, 50), (100, 50 + 1e-9), (100, 99), (0, 99)],
        "spike",
    ),
    "NaN": ([(0, 0), (100, math.nan), (100, 100)], "not a number"),
    "infinite": ([(0, 0), (math.inf, 0), (100, 100)], "not a number"),
    "minus infinite": ([(0, 0), (100, 0), (100, -math.inf)], "not a number"),
    "a kilometre and more": ([(0, 0), (1e7, 0), (0, 1e7)], "too far out"),
    "absurd": ([(0, 0), (1e300, 0), (0, 1e300)], "too far out"),
    "a number too large for a double": ([(0, 0), (10**400, 0), (0, 5)], "not a point"),
    "a word": ([(0, 0), ("wide", 0), (0, 5)], "not a point"),
    "one number": ([(0, 0), (5,), (0, 5)], "not a point"),
    "three numbers": ([(0, 0, 0), (5, 0, 0), (0, 5, 0)], "not a point"),
    "null": ([(0, 0), None, (0, 5)], "not a point"),
    "too many": ([(i, i * i / 1e4) for i in range(10_001)], "too many points"),
}
"""Outlines that enclose no piece of cloth, or not one: (points, the reason they are refused for)."""

TAKEN: dict[str, tuple[Points, float, int]] = {
    "square": (SQUARE, 10_000.0, 4),
    "clockwise": (SQUARE[::-1], 10_000.0, 4),
    "closed": ([*SQUARE, SQUARE[0]], 10_000.0, 4),
    "closed thrice over": ([*SQUARE, SQUARE[0], SQUARE[0], SQUARE[0]], 10_000.0, 4),
    "doubled points": ([p for p in SQUARE for _ in range(3)], 10_000.0, 4),
    "points on its sides": ([(0, 0), (30, 0), (60, 0), (100, 0), (100, 50), (100, 100), (0, 100), (0, 1)], 10_000.0, 4),
    "begins on a side": ([(50, 0), (100, 0), (100, 100), (0, 100), (0, 0)], 10_000.0, 4),
    "triangle": ([(0, 0), (60, 0), (0, 60)], 1_800.0, 3),
    "needle": ([(0, 0), (1000, 0.05), (0, 0.1)], 50.0, 3),
    "hair of a strip": ([(0, 0), (1000, 0), (1000, 0.001), (0, 0.001)], 1.0, 4),
    "as small as can be": ([(0, 0), (0.2, 0), (0, 0.2)], 0.02, 3),
    "far away": ([(x + 9e5, y - 9e5) for x, y in SQUARE], 10_000.0, 4),
    "comb": (
        [(0, 0), (90, 0), (90, 90), (70, 90), (70, 10), (50, 10), (50, 90), (40, 90), (40, 10), (20, 10), (20, 90), (0, 90)],
        90 * 90 - 80 * 40,
        12,
    ),
    "a point that is hardly a corner": ([(0, 0), (50, -0.001), (100, 0), (100, 100), (0, 100)], 10_000.05, 5),
    "integers and floats": ([(0, 0), (10.0, 0), [10, 10.0], (0, 10)], 100.0, 4),
}
"""Outlines that look odd and must be taken: (points, area in mm², corners)."""


def plain_case() -> dict[str, Any]:
    """A sound case with something in every field, to be spoiled."""
    return {
        "form": "fent-case/1",
        "sheets": [
            {
                "id": "s1",
                "outline": [[0, 0], [900, 0], [900, 600], [0, 600]],
                "holes": [[[100, 100], [120, 100], [110, 120]], [[300, 300], [320, 310]]],
                "flaws": [[[700, 500], [720, 500], [710, 520]], {"ring": [[5, 5], [9, 9]], "spares": ["facing"]}],
                "cost": 12.5,
                "plies": 2,
                "turns": [0],
                "repeat": [0, 50],
                "repeat_at": [0, 10],
            },
            {"id": "s2", "outline": [[0, 0], [400, 0], [400, 300]]},
        ],
        "panels": [
            {"id": "gore", "outline": [[0, 0], [200, 10], [200, 70], [0, 80]], "copies": 8, "anchor": [0, 40], "off_grain": 2},
            {
                "id": "facing",
                "outline": [[0, 0], [90, 0], [90, 40], [0, 40]],
                "sound": [[5, 5], [85, 5], [85, 35], [5, 35]],
                "copies": 3,
                "turns": [0, 90],
                "hidden": True,
                "flip": True,
                "on": ["s1"],
            },
        ],
        "fixed": [{"sheet": "s1", "panel": "gore", "x": 0, "y": 20, "turn": 1, "flipped": False}],
        "gap": 2,
        "edge": 3,
    }


@dataclass(frozen=True)
class Spoiled:
    """A case with one fault: how to spoil the plain case, and the place and a word that the message must have."""

    where: str
    word: str
    path: tuple[str | int, ...]
    value: Any = None
    drop: bool = False

    def data(self) -> dict[str, Any]:
        data = copy.deepcopy(plain_case())
        *to, last = self.path
        at: Any = data
        for step in to:
            at = at[step]
        if self.drop:
            del at[last]
        else:
            at[last] = self.value
        return data


def _set(where: str, word: str, *path: str | int, to: Any) -> Spoiled:
    return Spoiled(where, word, path, to)


def _drop(where: str, word: str, *path: str | int) -> Spoiled:
    return Spoiled(where, word, path, drop=True)


BOWTIE = [[0, 0], [50, 40], [50, 0], [0, 40]]

SPOILED: list[Spoiled] = [
    _drop("", "'form' is missing", "form"),
    _set("form", "fent-case/1", "form", to="fent-case/2"),
    _drop("", "'panels' is missing", "panels"),
    _drop("", "neither sheets nor a strip", "sheets"),
    _set("", "both sheets and a strip", "strip", to={"width": 900}),
    _set("panels", "1 to 10,000", "panels", to=[]),
    _set("panels", "a list of", "panels", to={"id": "gore"}),
    _set("panels[0]", "a panel", "panels", 0, to="gore"),
    _set("sheets", "leave a field out", "sheets", to=None),
    _set("gap", "0 to 10,000", "gap", to=-1),
    _set("gap", "mm between cuts", "gap", to="2 mm"),
    _set("edge", "leave a field out", "edge", to=None),
    _set("edge", "finite", "edge", to=math.nan),
    _set("edge", "0 to 10,000", "edge", to=math.inf),
    _drop("panels[0]", "'copies' is missing", "panels", 0, "copies"),
    _set("panels[0].copies", "whole number", "panels", 0, "copies", to=2.5),
    _set("panels[0].copies", "whole number", "panels", 0, "copies", to=-1),
    _set("panels[0].copies", "whole number", "panels", 0, "copies", to=True),
    _set("panels[0].copies", "0 to 100,000", "panels", 0, "copies", to=10**7),
    _set("panels[1].hidden", "true or false", "panels", 1, "hidden", to=1),
    _set("panels[1].flip", "true or false", "panels", 1, "flip", to="yes"),
    _set("panels[0].turns", "at least one turn", "panels", 0, "turns", to=[]),
    _set("panels[0].turns[1]", "a turn in degrees", "panels", 0, "turns", to=[0, "over"]),
    _set("panels[0].off_grain", "0 to 180", "panels", 0, "off_grain", to=-2),
    _set("panels[0].anchor", "two numbers", "panels", 0, "anchor", to=[1]),
    _set("panels[0].anchor[0]", "finite", "panels", 0, "anchor", to=[math.nan, 1.0]),
    _set("panels[0].id", "1 to 200 characters", "panels", 0, "id", to=""),
    _set("panels[0].id", "an id", "panels", 0, "id", to=7),
    _set("panels[1].id", "already", "panels", 1, "id", to="gore"),
    _set("sheets[1].id", "already", "sheets", 1, "id", to="s1"),
    _set("panels[1].on[0]", "'s9' is no sheet", "panels", 1, "on", to=["s9"]),
    _set("sheets[0].flaws[1].spares[0]", "'cuff' is no panel", "sheets", 0, "flaws", 1, "spares", to=["cuff"]),
    _set("sheets[0].flaws[1]", "'ring' is missing", "sheets", 0, "flaws", 1, to={"spares": []}),
    _set("panels[0].outline", "crosses itself", "panels", 0, "outline", to=BOWTIE),
    _set("panels[0].outline", "3 to 10,000 points", "panels", 0, "outline", to=[[0, 0], [1, 1]]),
    _set("panels[0].outline[2]", "two numbers", "panels", 0, "outline", to=[[0, 0], [1, 0], [1, 1, 1]]),
    _set("panels[0].outline[2][1]", "a number of mm", "panels", 0, "outline", to=[[0, 0], [1, 0], [1, "1"]]),
    _set("panels[0].outline[1]", "finite", "panels", 0, "outline", to=[[0, 0], [math.nan, 0], [1, 1]]),
    _set("panels[0].outline[1]", "is the unit right", "panels", 0, "outline", to=[[0, 0], [1e9, 0], [1, 1]]),
    _set("panels[1].sound", "encloses nothing", "panels", 1, "sound", to=[[0, 0], [5, 5], [9, 9]]),
    _set("sheets[1].outline", "one line", "sheets", 1, "outline", to=[[0, 0], [5, 5], [9, 9]]),
    _set("sheets[0].holes[0]", "crosses itself", "sheets", 0, "holes", 0, to=BOWTIE),
    _set("sheets[0].holes[1]", "two points are one", "sheets", 0, "holes", 1, to=[[7, 7], [7, 7]]),
    _set("sheets[0].holes[1]", "a tear of two", "sheets", 0, "holes", 1, to=[[7, 7]]),
    _set("sheets[0].flaws[0]", "crosses itself", "sheets", 0, "flaws", 0, to=BOWTIE),
    _set("sheets[0].flaws[1].ring", "crosses itself", "sheets", 0, "flaws", 1, "ring", to=BOWTIE),
    _set("sheets[0].plies", "1 to 1,000", "sheets", 0, "plies", to=0),
    _set("sheets[0].cost", "a cost", "sheets", 0, "cost", to=-5),
    _set("sheets[0].turns", "at least one turn", "sheets", 0, "turns", to=[]),
    _set("sheets[0].repeat", "along and across", "sheets", 0, "repeat", to=[50]),
    _set("sheets[0].repeat[1]", "0 to 1,000,000", "sheets", 0, "repeat", to=[0, -50]),
    _set("fixed[0].sheet", "no sheet", "fixed", 0, "sheet", to="s7"),
    _set("fixed[0].panel", "no panel", "fixed", 0, "panel", to="cuff"),
    _set("fixed[0].turn", "may not lie turned by 180", "fixed", 0, "turn", to=180),
    _set("fixed[0].flipped", "may not be flipped", "fixed", 0, "flipped", to=True),
    _set("fixed[0].x", "a number of mm", "fixed", 0, "x", to="left"),
    _drop("fixed[0]", "'y' is missing", "fixed", 0, "y"),
    _set("fixed[0]", "only 1 are wanted", "panels", 0, "copies", to=1),
]
"""Cases that must be refused, each with one fault, and the place of it."""

NOT_JSON: dict[str, tuple[str | bytes, str]] = {
    "nothing at all": ("", "is not JSON"),
    "cut off": ('{"form": "fent-case/1", "panels": [', "line 1"),
    "a word": ("sixteen gores", "is not JSON"),
    "NaN": ('{"form": "fent-case/1", "gap": NaN}', "NaN"),
    "Infinity": ('{"gap": Infinity}', "Infinity"),
    "a field twice": ('{"gap": 1, "gap": 2}', "'gap' is given twice"),
    "a number of thousands of digits": ('{"gap": ' + "9" * 5000 + "}", "plain JSON"),
    "lists without end": ("[" * 200_000, "too deep"),
    "not text": (b"\xff\xfe\x00", "UTF-8"),
    "a list": ("[]", "expected an object"),
    "a number": ("16", "expected an object"),
    "null": ("null", "expected an object"),
}
"""Texts that are no case at all."""
