"""A thousand simulated tapes round one seven-cornered scrap, in each way that an outline is told; and what is said of faults.

`python -m tests.checks.simulated_tapes` writes the two tables of DEVELOPERS.md. The seed is fixed, so that they come out the
same. The scrap is a rectangle of 600 × 400 mm with a bite out of one corner and another cut off on the slant.

Of the tapes, nine in ten are sound: each length is out by up to ± 1 mm, each turn by up to ± 1°. One in twenty is stretched or
shrunk by up to 1 %. One in twenty is sound but for one reading, of which one digit is misread or two have changed places.
The error of an outline is that of its worst corner, once it is shifted and turned onto the truth as well as can be.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from nesting import Ring
from stash import outlines, tying, walking
from stash.outlines import Corner, CornerBite, Measured
from stash.refusals import Refused

SEED, TAPES = 1929, 1000
TRUTH: Ring = ((80.0, 0.0), (600.0, 0.0), (600.0, 310.0), (480.0, 310.0), (480.0, 400.0), (0.0, 400.0), (0.0, 60.0))
LETTERS = "ABCDEFG"
FIXING = ("AB", "BC", "CD", "DE", "EF", "FG", "GA", "AC", "AE", "AF", "CE")
SPARE = ("BF", "CG", "AD", "BE")
A_READING, A_KEY = 3.0, 0.5
"""Seconds: to lay the tape and read it, which is assumed and was not measured; and to type a character, at two a second."""


@dataclass(frozen=True)
class Way:
    """A way of telling the scrap: its true readings (mm, then degrees), what is made of them, and how it is typed."""

    name: str
    lengths: tuple[float, ...]
    turns: tuple[float, ...]
    make: Callable[[Sequence[float], Sequence[float]], Measured]
    typed: str

    @property
    def seconds(self) -> float:
        return A_READING * (len(self.lengths) + len(self.turns)) + A_KEY * len(self.typed)


@dataclass
class Tally:
    """What came of a kind of tape: the errors of what was taken (mm), how many were refused, and named rightly."""

    errors: list[float] = field(default_factory=list)
    refused: int = 0
    named: int = 0
    stated: list[float] = field(default_factory=list)


def between(name: str) -> float:
    return math.dist(*(TRUTH[LETTERS.index(letter)] for letter in name))


def walk_of(ring: Ring) -> tuple[list[float], list[float]]:
    heads = [math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) for a, b in pairwise([*ring, ring[0]])]
    turns = [(heads[(i + 1) % len(ring)] - head + 180) % 360 - 180 for i, head in enumerate(heads)]
    return [math.dist(a, b) for a, b in pairwise([*ring, ring[0]])], turns


def by_ties(names: Sequence[str]) -> Way:
    def make(lengths: Sequence[float], _turns: Sequence[float]) -> Measured:
        return tying.tie(dict(zip(names, lengths, strict=True)), inward=["D"]).measured

    spare = len(names) - 11
    typed = ", ".join(f"{name} {between(name) / 10:.1f}" for name in names) + " cm, D inward"
    return Way(f"ties, {spare} to spare" if spare else "ties, none to spare", tuple(map(between, names)), (), make, typed)


def bites(lengths: Sequence[float], _turns: Sequence[float]) -> Measured:
    length, width, *bite = lengths
    far = CornerBite(Corner.FAR_RIGHT, bite[0], bite[1])
    return outlines.bitten(length, width, [far, CornerBite(Corner.NEAR_LEFT, bite[2], bite[3], slanted=True)])


def grid(lengths: Sequence[float], _turns: Sequence[float]) -> Measured:
    return outlines.by_points(list(zip(lengths[0::2], lengths[1::2], strict=True)))


def walk(lengths: Sequence[float], turns: Sequence[float]) -> Measured:
    return walking.walk(lengths, turns).measured


def ways() -> list[Way]:
    sides, turns = walk_of(TRUTH)
    flat = [value for point in TRUTH for value in point]
    legs = zip(sides, turns, strict=True)
    walked = ", ".join(f"{side / 10:.1f}cm, {'left' if turn > 0 else 'right'} {abs(turn):.0f}" for side, turn in legs)
    return [
        Way(
            "rectangle with bites",
            (600, 400, 120, 90, 80, 60),
            (),
            bites,
            "60x40cm far right: 12x9cm near left: 8x6cm slanted",
        ),
        Way("walk", tuple(sides), tuple(turns), walk, walked),
        by_ties(FIXING),
        by_ties((*FIXING, SPARE[0])),
        by_ties((*FIXING, *SPARE[:2])),
        by_ties((*FIXING, *SPARE)),
        Way("points on a grid", tuple(flat), (), grid, " ".join(f"{x / 10:g},{y / 10:g}" for x, y in TRUTH) + " cm"),
    ]


def misread(value: float, rng: np.random.Generator) -> float:
    """A reading in whole mm with one digit wrong (not the last, which the tape itself may blur), or two changed about."""
    digits = list(str(round(abs(value))))
    if len(digits) < 2:
        return value + 10
    while True:
        told = list(digits)
        at = int(rng.integers(0, len(digits) - 1))
        if rng.random() < 0.5:
            told[at], told[at + 1] = told[at + 1], told[at]
        else:
            told[at] = str(rng.integers(0 if at else 1, 10))
        if told != digits and int("".join(told)) > 0:
            return math.copysign(int("".join(told)), value)


def fitted_error(ring: Ring) -> float:
    """The farthest corner from the truth's (mm), best shifted and turned (Kabsch's rotation), whichever corner is first."""
    truth = np.array(TRUTH)
    truth = truth - truth.mean(axis=0)
    found = np.array(ring)
    if len(found) != len(truth):
        return math.inf
    best = math.inf
    for first in range(len(found)):
        turned = np.roll(found, -first, axis=0)
        turned = turned - turned.mean(axis=0)
        u, _, vt = np.linalg.svd(turned.T @ truth)
        flip = np.diag([1.0, np.sign(np.linalg.det(u @ vt))])
        best = min(best, float(np.linalg.norm(turned @ u @ flip @ vt - truth, axis=1).max()))
    return best


def named_in(refusal: Refused, way: Way, which: int) -> bool:
    """Whether a refusal names the reading that was misread, alone or among others."""
    said = f"{refusal.what} {refusal.next}"
    if way.name == "walk":
        return (f"side {which + 1}" if which < 7 else f"turn after side {which - 6}") in said
    if way.name.startswith("ties"):
        a, b = (*FIXING, *SPARE)[which]
        return any(f"{one}{other} is" in said or f"likeliest {one}{other}" in said for one, other in ((a, b), (b, a)))
    return False


def tried(way: Way, tapes: int = TAPES, seed: int = SEED) -> dict[str, Tally]:
    """What came of the tapes, by their kind."""
    rng = np.random.default_rng(seed)
    tallies = {"sound": Tally(), "stretched": Tally(), "misread": Tally()}
    for number in range(tapes):
        kind = {0: "stretched", 10: "misread"}.get(number % 20, "sound")
        stretch = 1 + rng.uniform(-0.01, 0.01) if kind == "stretched" else 1.0
        lengths = [max(0.5, length * stretch + rng.uniform(-1, 1)) if length else 0.0 for length in way.lengths]
        turns = [turn + rng.uniform(-1, 1) for turn in way.turns]
        which = int(rng.integers(0, len(lengths) + len(turns)))
        if kind == "misread":
            if which < len(lengths):
                lengths[which] = misread(lengths[which], rng)
            else:
                turns[which - len(lengths)] = misread(turns[which - len(lengths)], rng)
        tally = tallies[kind]
        try:
            measured = way.make(lengths, turns)
        except Refused as refusal:
            tally.refused += 1
            tally.named += named_in(refusal, way, which)
        else:
            tally.errors.append(fitted_error(measured.ring))
            if measured.within is not None:
                tally.stated.append(measured.within)
    return tallies


def row(way: Way, tallies: dict[str, Tally]) -> str:
    sound, stretched, wrong = (tallies[kind] for kind in ("sound", "stretched", "misread"))
    count = wrong.refused + len(wrong.errors)
    taken = f"{np.median(wrong.errors):.0f}" if wrong.errors else "–"
    return " | ".join(
        [
            f"| {way.name}",
            str(len(way.lengths) + len(way.turns)),
            f"{way.seconds:.0f}",
            f"± {np.median(sound.stated):.1f}",
            f"{np.median(sound.errors):.1f}, {np.quantile(sound.errors, 0.95):.1f}, {max(sound.errors):.1f}",
            str(sound.refused),
            f"{np.median(stretched.errors):.1f}" if stretched.errors else "–",
            f"{wrong.refused} of {count}",
            str(wrong.named),
            f"{taken} |",
        ]
    )


FAULTS: tuple[tuple[str, Callable[[], object]], ...] = (
    ("a bite as long as the side", lambda: outlines.bitten(600, 400, [CornerBite(Corner.FAR_RIGHT, 600, 90)])),
    ("two bites in one place", lambda: outlines.bitten(600, 400, [CornerBite(Corner.FAR_RIGHT, 120, 90)] * 2)),
    ("a walk of two sides", lambda: walking.walk([600, 400], [90, 90])),
    ("a side misread by 100 mm", lambda: walking.walk([600, 400, 600, 300], [90, 90, 90, 90])),
    ("a turn to the wrong side", lambda: walking.walk(walk_of(TRUTH)[0], [abs(turn) for turn in walk_of(TRUTH)[1]])),
    (
        "a turn of 53 read as 35",
        lambda: walking.walk(walk_of(TRUTH)[0], [35.0 if i == 5 else t for i, t in enumerate(walk_of(TRUTH)[1])]),
    ),
    ("four sides and no diagonal", lambda: tying.tie({"AB": 420, "BC": 311, "CD": 386, "DA": 290})),
    ("a triangle that cannot be", lambda: tying.tie({"AB": 420, "BC": 311, "CD": 386, "DA": 290, "AC": 806})),
    ("BD read as 489, one to spare", lambda: tying.tie({"AB": 420, "BC": 311, "CD": 386, "DA": 290, "AC": 506, "BD": 489})),
    (
        "AE read as 652, two to spare",
        lambda: tying.tie({name: 652.0 if name == "AE" else between(name) for name in (*FIXING, *SPARE[:2])}, inward=["D"]),
    ),
    ("a corner left out", lambda: tying.tie({"AB": 420, "BD": 311, "DA": 290})),
    ("an inward corner not told", lambda: tying.tie({name: between(name) for name in FIXING})),
    ("corners out of order", lambda: outlines.by_points([(0, 0), (600, 400), (600, 0), (0, 400)])),
)


def said_of(fault: Callable[[], object]) -> str:
    try:
        found = fault()
    except Refused as refusal:
        more = refusal.next or (f"Expected: {refusal.expected}" if refusal.expected else "")
        return f"{refusal.what}. {more}{'.' if more else ''}".strip()
    others = getattr(found, "or_else", ())
    return f"taken; it would fit as well with {' or '.join(others)} inward" if others else "taken"


def main() -> None:
    heads = [
        "way",
        "readings",
        "seconds",
        "stated, mm",
        "error of sound tapes: median, 95 %, worst, mm",
        "sound but refused",
        "error if stretched, mm",
        "misread: refused",
        "and named",
        "error if not noticed, mm",
    ]
    print(f"| {' | '.join(heads)} |")
    print("|---" * len(heads) + "|")
    for way in ways():
        print(row(way, tried(way)), flush=True)
    print("\n| fault | what is said |\n|---|---|")
    for name, fault in FAULTS:
        print(f"| {name} | {said_of(fault)} |")


if __name__ == "__main__":
    main()
