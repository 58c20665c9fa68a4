"""An outline by ties: sides and diagonals measured between lettered corners, as a builder ties in a plot.

Corners are lettered in order round the remnant. 2n − 3 well-chosen readings fix n corners; every one more is a check. The
corners are those that fit all readings best (least squares). Where the readings disagree by more than the tape's ± explains,
one is wrong: with one spare reading nothing can tell which, since each alone would explain it; with two or more, leaving out
the wrong one lets the others agree.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from . import telling
from .given import a_figure
from .outlines import Measured, by_points
from .refusals import Refused
from .tape import Tape, unsure_by
from .tie_fitting import Fit, fits, is_rigid, rigidity
from .words import EdgeKind, Way

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
RARE = 0.001
"""A disagreement so large that only one sound set of readings in 1,000 has it is a misreading."""
APART = 4.0
"""χ² by which leaving out one reading must do better than leaving out another, for the two to be told apart."""
Pair = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Tie:
    """A reading between two corners: `name` as it was told ("AC"), mm, and by how much the outline departs from it."""

    name: str
    read: float
    off: float


@dataclass(frozen=True, slots=True)
class Tied:
    """An outline by ties. `spare`: readings beyond those that it takes. `or_else`: corners that would be inward ones in other
    outlines that the readings fit as well."""

    measured: Measured
    ties: tuple[Tie, ...]
    spare: int
    or_else: tuple[str, ...] = ()


def tie(
    readings: Mapping[str, float],
    edges: EdgeKind | Sequence[EdgeKind] = EdgeKind.CUT,
    tape: Tape | None = None,
    *,
    inward: Sequence[str] = (),
    clockwise: bool = False,
) -> Tied:
    """The outline that readings between corners make (mm, by two letters: {"AB": 420, "BC": 311, …}).

    A lies at (0, 0) and B along +x; the letters run against the clock unless `clockwise`. `inward`: the corners that point
    inwards, where the readings alone leave it open; as few as can be unless said.
    Raises Refused for too few readings, an impossible triangle, corners that are tied too loosely, readings that disagree.
    """
    tape = tape or Tape()
    pairs = _looked_over(readings)
    count = max(max(pair) for pair in pairs) + 1
    _enough(pairs, count)
    spare = len(pairs) - (2 * count - 3)
    if spare < 2:  # with more, the wrong one of three can be told
        _possible_triangles(pairs, tape)
    found = fits(pairs, count, tape.length_sigma)
    if not found or found[0].misfit > most_misfit(spare):
        raise _misread(pairs, count, spare, tape)
    fit, others = _chosen([each for each in found if each.misfit <= most_misfit(spare)], pairs, inward)
    ring = fit.ring if not clockwise else tuple((x, -y) for x, y in fit.ring)
    slopes = rigidity(np.array(ring), list(pairs)) / tape.length_sigma
    covariance = np.asarray(np.linalg.pinv(slopes.T @ slopes, rcond=1e-10), dtype=np.float64)
    unsure = unsure_by(ring, covariance)
    return Tied(
        measured=by_points(ring, edges).by(Way.TIES, unsure),
        ties=tuple(_tie(pair, read, fit) for pair, read in pairs.items()),
        spare=spare,
        or_else=tuple(dict.fromkeys(LETTERS[i] for other in others for i in sorted(other.inward - fit.inward))),
    )


def most_misfit(spare: int) -> float:
    """The χ² that sound readings with so many checks hardly ever exceed; rounding alone where there is no check."""
    from scipy.special import chdtri

    return float(chdtri(spare, RARE)) if spare > 0 else 1e-3


def _tie(pair: Pair, read: float, fit: Fit) -> Tie:
    return Tie(_name(pair), read, math.dist(fit.ring[pair[0]], fit.ring[pair[1]]) - read)


def _name(pair: Pair) -> str:
    return LETTERS[pair[0]] + LETTERS[pair[1]]


def _looked_over(readings: Mapping[str, float]) -> dict[Pair, float]:
    """The readings by the numbers of their corners. Raises Refused."""
    pairs: dict[Pair, float] = {}
    for name, length in readings.items():
        said = name.strip().upper()
        if len(said) != 2 or said[0] == said[1] or any(letter not in LETTERS for letter in said):
            raise Refused(f"{name!r} is not a side or a diagonal", where="ties", expected="two corners' letters, such as AC")
        first, second = sorted(LETTERS.index(letter) for letter in said)
        if (first, second) in pairs:
            raise Refused(f"{said} is told twice", where="ties", expected="one reading for each side and diagonal")
        pairs[first, second] = a_figure(length, said, unit="mm")
    corners = {corner for pair in pairs for corner in pair}
    if len(corners) < 3 or len(corners) <= max(corners):
        missing = [LETTERS[i] for i in range(max(corners, default=0)) if i not in corners]
        what = f"no reading goes to {missing[0]}" if missing else f"{len(corners)} corners make no outline"
        raise Refused(what, where="ties", expected="corners lettered A, B, C and so on, in order round the remnant")
    return pairs


def _enough(pairs: Mapping[Pair, float], count: int) -> None:
    """Raise Refused for too few readings, or for ones that leave a corner loose; a reading that would help is named."""
    needed = 2 * count - 3
    if is_rigid(list(pairs), count):
        return
    helps = ", ".join(_name(pair) for pair in _would_help(pairs, count))
    few = len(pairs) < needed
    raise Refused(
        f"{len(pairs)} readings do not fix {count} corners" if few else "some corners are tied to the others too loosely",
        where="ties",
        expected=f"at least {needed} readings, two of them to each corner" if few else "each part tied to the rest",
        next=f"Measure {helps} too",
    )


def _would_help(pairs: Mapping[Pair, float], count: int) -> Iterator[Pair]:
    """Readings that would make the corners fast, sides first."""
    have = list(pairs)
    sides = sorted((min(i, (i + 1) % count), max(i, (i + 1) % count)) for i in range(count))
    short = sorted(combinations(range(count), 2), key=lambda pair: (pair not in sides, pair[1] - pair[0], pair))
    fixed = rigid_rank(have, count)
    for pair in short:
        if pair not in have and rigid_rank([*have, pair], count) > fixed:
            have.append(pair)
            fixed += 1
            yield pair


def rigid_rank(pairs: Sequence[Pair], count: int) -> int:
    """How many of the corners' freedoms the readings take away, wherever the corners lie."""
    generic = np.random.default_rng(7).random((count, 2))
    return int(np.linalg.matrix_rank(rigidity(generic, pairs))) if pairs else 0


def _possible_triangles(pairs: Mapping[Pair, float], tape: Tape) -> None:
    """Raise Refused for three readings that make no triangle, whatever the tape was out by."""
    corners = sorted({corner for pair in pairs for corner in pair})
    for a, b, c in combinations(corners, 3):
        sides = [(a, b), (b, c), (a, c)]
        if all(side in pairs for side in sides):
            short, middle, long = sorted(sides, key=lambda side: pairs[side])
            lacking = pairs[long] - pairs[short] - pairs[middle]
            if lacking > 3 * tape.within:
                raise Refused(
                    f"the triangle {LETTERS[a]}{LETTERS[b]}{LETTERS[c]} cannot be: {_name(long)} is "
                    f"{telling.fine(pairs[long])}, and {_name(short)} and {_name(middle)} together only "
                    f"{telling.fine(pairs[short] + pairs[middle])}",
                    where="ties",
                    expected="readings of which the longest is shorter than the other two together",
                    next="Read these three again",
                )


def _chosen(found: Sequence[Fit], pairs: Mapping[Pair, float], inward: Sequence[str]) -> tuple[Fit, list[Fit]]:
    """The outline that is meant, and others that fit as well. Raises Refused where nothing tells them apart."""
    if inward:
        told = {LETTERS.find(letter.strip().upper()) for letter in inward}
        matching = [fit for fit in found if fit.inward == told]
        if not matching:
            can = " or ".join(sorted({_inward_in_words(fit) for fit in found}))
            raise Refused(f"the readings make no outline with {' and '.join(inward)} inward", where="ties", expected=can)
        simplest = matching
    else:
        fewest = min(len(fit.inward) for fit in found)
        simplest = [fit for fit in found if len(fit.inward) == fewest]
    if len(simplest) > 1:
        pair = _tells_apart(simplest, pairs)
        one, other = (math.dist(fit.ring[pair[0]], fit.ring[pair[1]]) for fit in simplest[:2])
        raise Refused(
            f"the readings fit {len(simplest)} outlines, with {' or '.join(_inward_in_words(fit) for fit in simplest[:2])}",
            where="ties",
            expected="readings that fit one outline only",
            next=f"Measure {_name(pair)} too, {telling.length(one)} in one and {telling.length(other)} in the other; "
            "or say which corners are inward",
        )
    return simplest[0], [] if inward else [fit for fit in found if fit is not simplest[0]]


def _inward_in_words(fit: Fit) -> str:
    return " and ".join(LETTERS[i] for i in sorted(fit.inward)) + " inward" if fit.inward else "no corner inward"


def _tells_apart(found: Sequence[Fit], pairs: Mapping[Pair, float]) -> Pair:
    """The diagonal not yet read that differs most between two outlines."""
    one, other = found[0].ring, found[1].ring
    free = [pair for pair in combinations(range(len(one)), 2) if pair not in pairs]
    return max(free, key=lambda pair: abs(math.dist(one[pair[0]], one[pair[1]]) - math.dist(other[pair[0]], other[pair[1]])))


@dataclass(frozen=True, slots=True)
class _Suspect:
    """A reading that may be the wrong one: how ill the others fit without it, and what they make of it (mm)."""

    pair: Pair
    read: float
    misfit: float
    should: float

    @property
    def slip(self) -> str:
        """How it could have been misread, digit by digit: a wrong one, or two that changed places; "" for neither."""
        return slip(self.read, self.should)


def slip(read: float, should: float) -> str:
    """How one figure of whole mm may have been taken for another, 2 mm at most being left to the tape; "" if not so.

    >>> slip(489, 498), slip(391, 319), slip(520, 320), slip(520, 331)
    ('two digits changed places', 'two digits changed places', 'one digit is wrong', '')
    """
    told = str(round(read))
    for near in range(round(should) - 2, round(should) + 3):
        meant = str(near)
        differ = [i for i, (a, b) in enumerate(zip(told, meant, strict=False)) if a != b]
        if len(meant) != len(told) or abs(near - read) < 5:
            continue
        if len(differ) == 2 and differ[1] == differ[0] + 1 and sorted(told) == sorted(meant):
            return "two digits changed places"
        if len(differ) == 1 and near == round(should) and abs(near - read) >= 10:
            return "one digit is wrong"
    return ""


def _misread(pairs: Mapping[Pair, float], count: int, spare: int, tape: Tape) -> Refused:
    """The refusal of readings that disagree: which is wrong, if that can be told."""
    expected = f"readings that agree within the tape's ± {telling.fine(tape.within)}"
    if not spare:
        letters = "Read them again, and look at the letters: they run in order round the remnant"
        return Refused("no outline has these sides and diagonals", where="ties", expected=expected, next=letters)
    if spare == 1:
        more = "Nothing can tell which from one spare reading: read all again, or one more diagonal"
        return Refused("one is wrong", where="ties", expected=expected, next=more)
    suspects = sorted(_suspects(pairs, count, tape), key=lambda each: each.misfit)
    if not suspects or suspects[0].misfit > most_misfit(spare - 1):
        named = f"; likeliest {_name(suspects[0].pair)}" if suspects else ""
        return Refused(f"more than one is wrong{named}", where="ties", expected=expected, next="Read them again, one by one")
    alike = [each for each in suspects if each.misfit <= suspects[0].misfit + APART]
    likeliest = [each for each in alike if each.slip] if len([each for each in alike if each.slip]) == 1 else alike
    said = "; ".join(
        f"{_name(each.pair)} is read as {telling.fine(each.read)}, and the others make it {telling.length(each.should)}"
        + (f" ({each.slip})" if each.slip else "")
        for each in likeliest
    )
    others = [_name(each.pair) for each in alike if each not in likeliest]
    then = f"; if it stands, {' or '.join(others)}" if others else ""
    return Refused(
        f"one is wrong, likeliest {' or '.join(_name(each.pair) for each in likeliest)}: {said}",
        where="ties",
        expected=expected,
        next=f"Read {' and '.join(_name(each.pair) for each in likeliest)} again{then}",
    )


def _suspects(pairs: Mapping[Pair, float], count: int, tape: Tape) -> Iterator[_Suspect]:
    """Each reading that can be spared, as if it were the wrong one."""
    for pair, read in pairs.items():
        rest = {other: length for other, length in pairs.items() if other != pair}
        if is_rigid(list(rest), count):
            found = fits(rest, count, tape.length_sigma)
            would = [
                (fit.misfit, math.dist(fit.ring[pair[0]], fit.ring[pair[1]]))
                for fit in found
                if fit.misfit <= found[0].misfit + APART
            ]
            if would:
                misfit, should = min(would, key=lambda each: abs(each[1] - read))
                yield _Suspect(pair, read, misfit, should)
