"""A made year of an invented workroom: forty jobs, with all that happens between them, for the yearly page of the cloth book.

No such place, person, cloth or job exists. Lays are laid row by row, as a person would without a program: it is the book that
is shown, not the search. The same year comes out every time.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Self

from .scenario import CLOTHS, WHO, ClothTold

if TYPE_CHECKING:
    from nesting import Placement, Result
    from stash import Workroom
    from stash.asking import Asked

YEAR = 2025
SEWN = (
    ("tool rolls", 420, 300),
    ("bread bags", 330, 260),
    ("peg bags", 280, 220),
    ("oven cloths", 230, 230),
    ("book covers", 310, 240),
    ("pin cushions", 110, 110),
    ("shoe bags", 340, 210),
    ("lens pouches", 150, 120),
)
"""What is sewn, and the length and width in mm of its one piece, as it is cut."""
FOR = ("the Monday stall", "the choir", "the bakery", "the school fair", "a wedding")
PLACES = ("drawer 1", "drawer 2", "shelf by the window", "blue bag", "end of the rack")


@dataclass
class _Clock:
    """The year goes by as it is told to."""

    moment: datetime

    def __call__(self) -> datetime:
        self.moment += timedelta(seconds=41)
        return self.moment

    def go_to(self, day: date) -> None:
        self.moment = max(self.moment, datetime(day.year, day.month, day.day, 9, 5, tzinfo=UTC))


@dataclass
class _Year:
    """The year at work."""

    workroom: Workroom
    clock: _Clock
    chance: random.Random
    logged: dict[str, int] = field(default_factory=dict)
    free: dict[str, list[str]] = field(default_factory=dict)

    @classmethod
    @contextmanager
    def open(cls, file: Path) -> Iterator[Self]:
        from stash import Workroom

        clock = _Clock(datetime(YEAR, 1, 2, 9, 0, tzinfo=UTC))
        with Workroom.open(file, clock=clock) as workroom:
            yield cls(workroom, clock, random.Random(YEAR))


def make(file: Path, *, every: int = 1) -> None:
    """Make the year in a new stash; or every third of its jobs, say, where that is enough."""
    with _Year.open(file) as year:
        _cloths(year)
        for cloth in CLOTHS:
            for _ in range(4):
                _log(year, cloth)
        days = sorted(year.chance.sample(range(8, 350), len(SEWN) * len(FOR)))
        wanted = [(what, whom) for whom in FOR for what in SEWN]
        year.chance.shuffle(wanted)
        for number, (day, (what, whom)) in list(enumerate(zip(days, wanted, strict=True), 1))[::every]:
            year.clock.go_to(date(YEAR, 1, 1) + timedelta(days=day))
            _job(year, *what, whom, CLOTHS[number % len(CLOTHS)])
            _between(year, number)
        year.clock.go_to(date(YEAR, 12, 30))


def _cloths(year: _Year) -> None:
    from stash import cloths, patterns, settings

    from . import reading

    settings.choose_currency(year.workroom, "EUR")
    for told in CLOTHS:
        new = cloths.NewCloth(
            name=told.name,
            fibres=reading.shares([told.fibres], "--fibre"),
            weight=reading.a_cloth_weight(told.weight),
            weave=told.weave,
            colour=told.colour,
            one_way=told.one_way,
            faces_alike=told.faces_alike,
        )
        cloths.add(year.workroom, new)
    for name, length, width in SEWN:
        ring = ((0.0, 0.0), (float(length), 0.0), (float(length), float(width)), (0.0, float(width)))
        patterns.add(year.workroom, name, [patterns.NewPiece(name="side", ring=ring, allowance=10.0)])


def _log(year: _Year, cloth: ClothTold) -> None:
    """A remnant of that cloth comes in."""
    from stash import outlines, remnants
    from stash.words import Nap, Source

    chance = year.chance
    year.logged[cloth.name] = number = year.logged.get(cloth.name, 0) + 1
    tag = f"{''.join(word[0] for word in cloth.name.split()).upper()}-{number:02d}"
    source = chance.choices(list(Source), weights=(2, 4, 3, 2))[0]
    new = remnants.NewRemnant(
        tag=tag,
        cloth=cloth.name,
        outline=outlines.rectangle(chance.randrange(480, 1150, 5), chance.randrange(300, 760, 5)),
        nap=Nap.ALONG if cloth.one_way else None,
        place=chance.choice(PLACES),
        source=source,
        price=chance.randrange(150, 900, 50) if source is Source.BOUGHT else None,
        came_on=year.clock.moment.date() - timedelta(days=chance.choice((0, 0, 0, 40, 200, 900))),
    )
    remnants.log(year.workroom, new, by=WHO)
    year.free.setdefault(cloth.name, []).append(tag)


def _job(year: _Year, what: str, length: int, width: int, whom: str, cloth: ClothTold) -> None:
    """A job written down, laid on what is there of its cloth, and cut."""
    from stash import asking, cutting, jobs, keepers, lays

    for _ in range(year.chance.randrange(1, 4)):
        _log(year, cloth)
    name, count = f"{what} for {whom}", year.chance.randrange(4, 13)
    rule = jobs.ClothRule(cloths=(cloth.name,))
    jobs.add(year.workroom, name, [jobs.NewJobPiece(pattern=what, piece="side", count=count, rule=rule)])
    asked = asking.ask(year.workroom, name)
    result = _rows(asked, length + 20.0, width + 20.0)
    lay = lays.record(year.workroom, asked, result, by=WHO)
    lays.chalk(year.workroom, lay.number, by=WHO)
    spoiled = [1] if year.chance.random() < 0.18 and result.placed > 1 else []
    done = cutting.cut(year.workroom, lay.number, by=WHO, spoiled=spoiled)
    kept = [keeper.tag for sheet in done.sheets for keeper in sheet.keepers]
    if kept:
        keepers.confirm(year.workroom, kept, by=WHO)
    gone = {sheet.tag for sheet in done.sheets if not sheet.whole}
    year.free[cloth.name] = [tag for tag in year.free[cloth.name] if tag not in gone] + kept


def _rows(asked: Asked, length: float, width: float) -> Result:
    """As many panels as are wanted, in rows on the largest rectangle of each remnant in turn."""
    from shapely import Polygon

    from nesting import Placement, Result, largest_rectangle

    (panel,) = asked.case.panels
    left = min(x for x, _ in panel.outline)
    low = min(y for _, y in panel.outline)
    edge, gap = asked.case.edge, asked.case.gap
    placements: list[Placement] = []
    for sheet in asked.case.sheets:
        free = largest_rectangle(Polygon(sheet.outline))
        y = free.y + edge
        while y + width <= free.y + free.width - edge:
            x = free.x + edge
            while x + length <= free.x + free.length - edge and len(placements) < panel.copies:
                placements.append(Placement(sheet.id, panel.id, x - left, y - low))
                x += length + gap
            y += width + gap
    placed = len(placements)
    return Result(tuple(placements), placed=placed, complete=placed == panel.copies, seed=1, rounds=1)


def _between(year: _Year, number: int) -> None:
    """What else happens in a workroom."""
    from stash import cloths, leaving, losing, measuring, outlines, remnants, splitting, undoing

    chance, workroom = year.chance, year.workroom
    cloth = chance.choice([cloth for cloth in CLOTHS if len(year.free[cloth.name]) > 3])
    tag = year.free[cloth.name].pop(chance.randrange(len(year.free[cloth.name])))
    year.clock.moment += timedelta(hours=3)
    match number % 8:
        case 1:
            leaving.give_away(workroom, tag, to="the school", by=WHO)
        case 3:
            leaving.sell(workroom, tag, price=chance.randrange(100, 800, 50), to="a neighbour", by=WHO)
        case 4:
            remnant = remnants.get(workroom, tag)
            smaller = outlines.rectangle(remnant.rect_length - 6, remnant.rect_width - 4)
            told = measuring.Measures(outline=smaller, nap=remnant.nap)
            measuring.measure_again(workroom, tag, told, by=WHO, note="not quite as computed")
            year.free[cloth.name].append(tag)
        case 5:
            remnant = remnants.get(workroom, tag)
            done = splitting.split(workroom, tag, [splitting.across(remnant.length / 2)], by=WHO)
            year.free[cloth.name] += [part.tag for part in done.parts]
        case 6:
            gone = leaving.throw_away(workroom, tag, by=WHO, note="worn through")
            if number % 16 == 6:
                undoing.undo(workroom, gone.entry, why="it was another one", by=WHO)
                year.free[cloth.name].append(tag)
        case 7:
            losing.not_there(workroom, tag, by=WHO)
            if number % 16 == 7:
                losing.found_again(workroom, tag, by=WHO, place="behind the rack")
                year.free[cloth.name].append(tag)
        case _:
            year.free[cloth.name].append(tag)
    if number == 20:
        cloths.weigh_again(workroom, CLOTHS[0].name, 184.0, within=3.0, by=WHO, note="a larger piece was weighed")
