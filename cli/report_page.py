"""A report as a page that stands alone, for someone who was not there: figures, charts, tables, and what the words mean."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from .charts import as_svg, charts_of
from .report_tables import Table, tables_of
from .saying import many
from .shown import Shown, money

if TYPE_CHECKING:
    from stash.reported import Asked, Report

MOST_ROWS = 200
WORDS = (
    ("remnant", "One piece of cloth that was left over from something, measured and tagged."),
    ("cut work, panels", "The pieces that were cut for a job and are good."),
    ("spoiled", "Panels that were cut and are no good."),
    ("keeper", "A leftover of a cut that is large enough to go back to the bin with a tag of its own."),
    ("rag bag", "What was left and is too small to keep."),
    ("new cloth not bought", "The area and weight of good panels, all of which were cut from remnants."),
    ("cloth used", "What was pulled from the bin for cutting, less the keepers that went back."),
    ("re-measured", "What measuring or weighing again showed to be less (or, with a −, more) than had been written down."),
    ("shrunk", "Area that cloth lost in washing; its weight stays."),
)
UNSAID = "Only area and weight are told: what they spare in water, carbon or money nobody knows closely enough to say."


@dataclass(frozen=True)
class Figure:
    """One of the figures at the head of a report."""

    what: str
    amount: str
    more: str = ""


@dataclass(frozen=True)
class Told:
    """All that a report says in words."""

    title: str
    about: str
    figures: tuple[Figure, ...]
    words: tuple[tuple[str, str], ...]
    foot: str


@dataclass(frozen=True)
class TableTold:
    """A table as it is read: its rows written out, and how many more there are."""

    title: str
    about: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[int, ...]
    more: str


def told(found: Report, shown: Shown) -> Told:
    """The words and figures of a report."""
    used = found.in_all

    def area(amount: int) -> str:
        return shown.area(amount / 100)

    def mass(amount: int) -> str:
        return shown.mass(amount / 1000)

    came = sum(month.came_in.area for month in found.months)
    came_mass = sum(month.came_in.mass for month in found.months)
    went = [sum(getattr(month, name).area for month in found.months) for name in ("given", "sold", "thrown")]
    got, paid = sum(month.got for month in found.months), sum(month.paid for month in found.months)
    figures = [
        Figure(
            "New cloth not bought", area(used.not_bought.area), f"{mass(used.not_bought.mass)} of panels cut from remnants"
        ),
        Figure("Of cloth used became panels", f"{used.share_used:.0%}", f"{area(used.used.area)}, {many(used.cuts, 'cut')}"),
        Figure("Good panels", str(used.good), f"for {many(len(found.jobs), 'job')}"),
        Figure("Remnants used up", str(used.used_up), f"{many(used.keepers, 'keeper')} went back to the bin"),
        Figure("Rag bag", area(used.rag_bag.area), f"{mass(used.rag_bag.mass)}; spoiled panels {area(used.spoiled.area)}"),
        Figure("Came in", area(came), mass(came_mass)),
        Figure("Given, sold, thrown away", area(sum(went)), " + ".join(area(each) for each in went)),
        Figure(
            "In the bin now",
            area(found.bin.all.cloth.area),
            f"{many(found.bin.all.remnants, 'remnant')}, {many(found.bin.all.envelopes, 'envelope')}, "
            f"{mass(found.bin.all.cloth.mass)}",
        ),
    ]
    if got or paid:
        figures.append(
            Figure("Money", money(got, found.currency), f"got for cloth; {money(paid, found.currency)} paid for it")
        )
    undone = {0: "", 1: " One entry that was undone is left out."}.get(
        found.undone, f" {found.undone} entries that were undone are left out."
    )
    return Told(
        title=f"The cloth book: {_period(found.asked)}",
        about=f"What came into this workroom, what it became, and what is left{_only(found.asked)}. {UNSAID}",
        figures=tuple(figures),
        words=WORDS,
        foot=f"From {found.entries} entries of the cloth book, in which nothing appears or vanishes: every entry sums to "
        f"zero, in area and in weight.{undone} What is in the bin is as it was on {found.made_at:%Y-%m-%d}.",
    )


def _period(asked: Asked) -> str:
    since, until = asked.since, asked.until
    if since and until:
        if (since.month, since.day, until.month, until.day) == (1, 1, 12, 31):
            return str(since.year) if since.year == until.year else f"{since.year} to {until.year}"
        return f"{since} to {until}"
    return f"since {since}" if since else f"until {until}" if until else "from the beginning"


def _only(asked: Asked) -> str:
    parts = [f"for {asked.job}" if asked.job else "", f"in {asked.cloth}" if asked.cloth else ""]
    return "".join(f", only {part}" for part in parts if part)


def tables_told(found: Report, shown: Shown) -> list[TableTold]:
    """The tables of a report, as long as can be read."""
    every = [table for name in ("jobs", "months", "years", "bin", "longest", "planned") for table in tables_of(found)[name]]
    return [_told(table.without_noughts(), shown, found.currency) for table in every]


def _told(table: Table, shown: Shown, currency: str) -> TableTold:
    left_out = len(table.rows) - MOST_ROWS
    rows = replace(table, rows=table.rows[:MOST_ROWS]).said(shown, currency)
    more = f"… and {left_out} more." if left_out > 0 else ""
    heads, right = tuple(table.heads), tuple(table.right)
    return TableTold(table.title, table.about, heads, tuple(map(tuple, rows)), right, more)


def as_html(found: Report, shown: Shown) -> str:
    """The page: one file, no script, nothing loaded from anywhere."""
    from importlib.resources import files

    from jinja2 import Environment

    template = Environment(autoescape=True, trim_blocks=False).from_string(
        (files(__package__) / "report.html").read_text(encoding="utf-8")
    )
    charts = [(chart, as_svg(chart, f"chart-{number}")) for number, chart in enumerate(charts_of(found, shown), 1)]
    return template.render(page=told(found, shown), charts=charts, tables=tables_told(found, shown)) + "\n"
