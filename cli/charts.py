"""The charts of a report: bars told apart by shade and hatch, so that a grey print says as much as a screen. matplotlib is
loaded only here, and only when a chart is drawn."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from .shown import Shown
from .units import YARD

if TYPE_CHECKING:
    from stash.reported import Group, Report, Used

WIDTH = 118.0
"""mm: what a chart is drawn for; at a phone's width its words are still read."""
INCH = 25.4
TYPE = 8.0
FONT = "DejaVu Sans"
DARK, MIDDLE, LIGHT, WHITE, INK = "#2b2b2b", "#8a8a8a", "#d4d4d4", "#ffffff", "#111111"
MOST_BARS = 40
MOST_LETTERS = 26
FEW_MONTHS = 12


@dataclass(frozen=True)
class Chart:
    """A chart: its title, what it shows in a sentence (for whoever cannot see it), its height in mm, how it is drawn on a pair
    of axes, and how many mm the names at its left take."""

    title: str
    says: str
    height: float
    draw: Callable[[Any], None]
    left: float = 14.0


@dataclass(frozen=True)
class _Part:
    """A part of a stacked bar: what it is, how it is filled."""

    name: str
    fill: str
    hatch: str = ""


PANELS = _Part("panels", DARK)
SPOILED = _Part("spoiled", WHITE, "xxxx")
RAGS = _Part("rag bag", LIGHT, "\\\\\\\\")
GONE = _Part("given, sold, thrown away", MIDDLE, "////")


def charts_of(found: Report, shown: Shown) -> list[Chart]:
    """The charts that a report has something to show on."""
    made: list[Chart] = []
    if found.months:
        made += [_months(found, shown), _not_bought(found, shown)]
    if found.jobs:
        made.append(_jobs(found.jobs))
    if found.bin.all.cloth.area:
        for title, groups in (
            ("In the bin, by fibre", found.bin.by_fibre),
            ("In the bin, by weight", found.bin.by_weight),
            ("In the bin, by colour", found.bin.by_colour),
            ("In the bin, by age", found.bin.by_age),
        ):
            made.append(_bin(title, groups, shown))
    return made


def _square(shown: Shown) -> tuple[float, str]:
    """Units of 0.01 mm² in the unit that areas are charted in, and its name."""
    return (100 * float(YARD) ** 2, "yd²") if shown.in_inches else (1e8, "m²")


def _months(found: Report, shown: Shown) -> Chart:
    per, unit = _square(shown)
    months = found.months
    parts = (
        (PANELS, [month.panels.area / per for month in months]),
        (SPOILED, [month.spoiled.area / per for month in months]),
        (RAGS, [month.rag_bag.area / per for month in months]),
        (GONE, [month.went.area / per for month in months]),
    )
    came = [month.came_in.area / per for month in months]

    def draw(axes: Any) -> None:
        places = range(len(months))
        foot = [0.0] * len(months)
        for part, heights in parts:
            if any(heights):
                axes.bar(places, heights, bottom=foot, color=part.fill, hatch=part.hatch, label=part.name, **_BAR)
                foot = [a + b for a, b in zip(foot, heights, strict=True)]
        axes.plot(places, came, marker="o", markersize=3.5, color=INK, markerfacecolor=WHITE, linewidth=1, label="came in")
        _name_months(axes, [month.name for month in months])
        axes.set_ylabel(unit)
        axes.margins(y=0.12)
        _tidy(axes)
        axes.legend(fontsize=TYPE - 1, frameon=False, loc="lower left", bbox_to_anchor=(-0.02, 1.0), ncols=3)

    says = f"Bars: what became of cloth in each of {len(months)} months; the line: what came in."
    return Chart("What became of the cloth, month by month", says, 76, draw)


def _not_bought(found: Report, shown: Shown) -> Chart:
    per, unit = _square(shown)
    total, sums = 0, []
    for month in found.months:
        total += month.panels.area
        sums.append(total / per)

    def draw(axes: Any) -> None:
        places = range(len(sums))
        axes.fill_between(places, sums, color=LIGHT, step=None, linewidth=0)
        axes.plot(places, sums, color=INK, linewidth=1.6, marker="." if len(sums) <= 2 * FEW_MONTHS else "")
        axes.annotate(f"{sums[-1]:.2f} {unit}", (len(sums) - 1, sums[-1]), ha="right", va="bottom", fontsize=TYPE + 1)
        _name_months(axes, [month.name for month in found.months])
        axes.set_ylabel(unit)
        axes.set_ylim(0, (max(sums) or 1) * 1.15)
        _tidy(axes)

    says = f"It adds up to {sums[-1]:.2f} {unit} by {found.months[-1].name}."
    return Chart("New cloth not bought: panels cut from remnants, added up", says, 62, draw)


def _jobs(jobs: Sequence[Used]) -> Chart:
    last = [used for used in jobs if used.used.area][-MOST_BARS:]

    def draw(axes: Any) -> None:
        places = range(len(last), 0, -1)
        foot = [0.0] * len(last)
        for part, of in ((PANELS, "panels"), (SPOILED, "spoiled"), (RAGS, "rag_bag")):
            shares = [100 * getattr(used, of).area / used.used.area for used in last]
            axes.barh(places, shares, left=foot, color=part.fill, hatch=part.hatch, label=part.name, **_BAR)
            foot = [a + b for a, b in zip(foot, shares, strict=True)]
        axes.set_yticks(list(places), [_short(used.job) for used in last])
        axes.set_xlim(0, 100)
        axes.set_ylim(0.4, len(last) + 0.6)
        axes.set_xlabel("% of the cloth that was used")
        _tidy(axes, along="x")
        axes.legend(fontsize=TYPE - 1, frameon=False, loc="lower left", bbox_to_anchor=(-0.02, 1.0), ncols=3)

    more = f", the last {MOST_BARS} of {len(jobs)} jobs" if len(jobs) > MOST_BARS else ""
    says = f"Each bar is the cloth that a job used: panels, spoiled panels, rag bag{more}."
    return Chart("What the jobs made of their cloth", says, 30 + 4.4 * len(last), draw, left=44)


def _bin(title: str, groups: Sequence[Group], shown: Shown) -> Chart:
    per, unit = _square(shown)
    top = list(groups[:12])

    def draw(axes: Any) -> None:
        places = range(len(top), 0, -1)
        areas = [group.cloth.area / per for group in top]
        axes.barh(places, areas, color=MIDDLE, **_BAR)
        for place, area in zip(places, areas, strict=True):
            axes.annotate(f" {area:.2f}", (area, place), va="center", ha="left", fontsize=TYPE)
        axes.set_yticks(list(places), [_short(group.name) for group in top])
        axes.set_xlim(0, (max(areas) or 1) * 1.18)
        axes.set_ylim(0.4, len(top) + 0.6)
        axes.set_xlabel(unit)
        _tidy(axes, along="x")

    says = "; ".join(f"{group.name} {group.cloth.area / per:.2f} {unit}" for group in top)
    return Chart(title, says, 26 + 6.5 * len(top), draw, left=32)


_BAR: dict[str, Any] = {"edgecolor": INK, "linewidth": 0.6}


def _short(name: str) -> str:
    return name if len(name) <= MOST_LETTERS else f"{name[: MOST_LETTERS - 1]}…"


def _name_months(axes: Any, names: Sequence[str]) -> None:
    """As many names as there is room for, the last among them."""
    step = -(-len(names) // FEW_MONTHS)
    places = list(range(len(names) - 1, -1, -step))[::-1]
    axes.set_xticks(places, [names[place] for place in places], rotation=45, ha="right", rotation_mode="anchor")


def _tidy(axes: Any, along: str = "y") -> None:
    axes.grid(axis=along, color=LIGHT, linewidth=0.5)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.tick_params(labelsize=TYPE, length=2.5)
    for label in (axes.xaxis.label, axes.yaxis.label):
        label.set_size(TYPE)


def as_svg(chart: Chart, name: str) -> str:
    """A chart as SVG to stand in a page: no script, nothing from outside, the names in it its own."""
    import matplotlib as mpl
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    with mpl.rc_context(
        {"svg.fonttype": "none", "svg.hashsalt": name, "font.family": FONT, "hatch.linewidth": 0.5, "text.parse_math": False}
    ):
        figure = Figure(figsize=(WIDTH / INCH, chart.height / INCH), layout="constrained")
        FigureCanvasSVG(figure)
        chart.draw(figure.add_subplot())
        page = io.StringIO()
        figure.savefig(
            page, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None}, transparent=True
        )
    return _to_stand_in_a_page(page.getvalue(), name)


def _to_stand_in_a_page(svg: str, name: str) -> str:
    """Without the head of a file of its own; sized by the page; every name in it with `name` before it."""
    svg = svg[svg.index("<svg") :]
    svg = re.sub(r"<metadata>.*?</metadata>|<style.*?</style>", "", svg, flags=re.DOTALL)
    svg = re.sub(r'<svg [^>]*?viewBox="([^"]*)"[^>]*>', r'<svg viewBox="\1" aria-hidden="true">', svg, count=1)
    svg = svg.replace(f"'{FONT}'", f"'{FONT}', Verdana, sans-serif")
    svg = re.sub(r' id="', f' id="{name}-', svg)
    svg = re.sub(r"url\(#", f"url(#{name}-", svg)
    return re.sub(r'xlink:href="#', f'href="#{name}-', svg)
