"""`fent book report`: the bin, the jobs, the months and years, as tables, for a spreadsheet, and as a page or on paper."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from . import options, reading, report_tables
from .saying import Voice

if TYPE_CHECKING:
    from stash import Workroom
    from stash.reported import Asked

PARTS = ("bin", "longest", "jobs", "planned", "months", "years")
KINDS = (".html", ".pdf")
FIRST_YEAR = 1800


def report(
    what: Annotated[
        str | None, typer.Argument(metavar="WHAT", help=f"One part of it: {', '.join(PARTS)}.", show_default=False)
    ] = None,
    since: Annotated[str | None, typer.Option("--since", metavar="DATE", help="From this day on: 2026-03-02.")] = None,
    until: Annotated[str | None, typer.Option("--until", metavar="DATE", help="Up to this day: 2026-03-31.")] = None,
    year: Annotated[
        int | None, typer.Option("--year", metavar="YEAR", parser=reading.a_number, help="That year: 2026.")
    ] = None,
    job: Annotated[str | None, typer.Option("--job", metavar="JOB", help="Only what was cut for this job.")] = None,
    cloth: options.OfCloth = None,
    page: Annotated[
        Path | None, typer.Option("--page", metavar="FILE", help="All of it as a page to look at or to print: html or pdf.")
    ] = None,
    write_over: options.WriteOver = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="For a spreadsheet, to the last digit (m², g).")] = False,
    workroom: options.Workroom = None,
    as_json: options.AsJson = False,
    plain: options.Plain = False,
    show_in: options.ShowIn = "mm",
) -> None:
    """Report on the bin and the book.

    For someone who was not there: what came in, what it became, what is left. The bin by fibre, weight, colour and age; what
    has lain longest; what each job used; what was planned against what was cut; months and years. Only area and weight are
    told. What was undone is left out.

    \b
    Examples:
      fent book report longest
        tag    cloth        colour  place      came on     days      area  weight
        N-01   navy linen   navy    drawer 1   2026-11-25     0   600 cm²  11.1 g
        N-04   navy linen   navy    drawer 4   2026-11-25     0   391 cm²   7.2 g
        …
      fent book report --year 2026 --page year.html
        The report is in year.html.
    """
    from stash import Workroom

    voice = Voice(as_json=as_json, plain=plain, show_in=show_in)
    part = _part(what)
    asked = _asked(since, until, year, job, cloth)
    if as_csv and (part is None or as_json or page):
        raise reading.Unreadable(
            "a spreadsheet holds one part", f"one of {', '.join(PARTS)}, without --json and --page", "--csv"
        )
    if page is not None:
        if part is not None:
            raise reading.Unreadable("a page has all parts", "no WHAT with it", "--page")
        _a_page(page, write_over)
    with Workroom.open(workroom, create=False) as opened:
        if part is None:
            _everything(voice, opened, asked, page)
        else:
            _one(voice, opened, asked, part, as_csv)


def _part(what: str | None) -> str | None:
    if what is not None and what.strip().lower() not in PARTS:
        raise reading.Unreadable(
            f"there is no report of {what!r}", f"one of: {', '.join(PARTS)}, or none for all of it", "WHAT"
        )
    return None if what is None else what.strip().lower()


def _asked(since: str | None, until: str | None, year: int | None, job: str | None, cloth: str | None) -> Asked:
    from stash.reported import Asked

    begin, end = options.day(since, "--since"), options.day(until, "--until")
    if year is not None:
        if begin or end:
            raise reading.Unreadable("the period is told twice", "either --year or --since and --until", "--year")
        if not FIRST_YEAR <= year <= date.max.year:
            raise reading.Unreadable(f"{year} is not a year of any stash", "a year such as 2026", "--year")
        begin, end = date(year, 1, 1), date(year, 12, 31)
    return Asked(since=begin, until=end, job=job, cloth=cloth)


def _a_page(file: Path, write_over: bool) -> None:
    """Refuse a file that cannot be the page, before any work is done."""
    if file.suffix.lower() not in KINDS:
        raise reading.Unreadable(f"{str(file)!r} is no page", "a name that ends in .html or .pdf", "--page")
    reading.a_new_file(file, write_over, "--page")


def _everything(voice: Voice, opened: Workroom, asked: Asked, page: Path | None) -> None:
    from stash import reports

    found = reports.report(opened, asked)
    voice.data(found)
    if page is None:
        for tables in report_tables.tables_of(found).values():
            for table in tables:
                _show(voice, table, found.currency, titled=True)
        return
    if page.suffix.lower() == ".pdf":
        from .report_paper import as_pdf

        as_pdf(found, voice.shown, page)
    else:
        from .report_page import as_html

        page.write_text(as_html(found, voice.shown), encoding="utf-8")
    voice.aside(f"The report is in {page}.")


def _one(voice: Voice, opened: Workroom, asked: Asked, part: str, as_csv: bool) -> None:
    from stash import settings

    found, tables = _PARTS[part](opened, asked)
    voice.data(found)
    if as_csv:
        from .spreadsheet import as_csv as written

        print(written(*_together(tables)), end="")
        return
    for table in tables:
        _show(voice, table, settings.currency(opened), titled=len(tables) > 1)


def _show(voice: Voice, table: report_tables.Table, currency: str, *, titled: bool) -> None:
    table = table.without_noughts()
    if titled:
        voice.line(table.title.upper())
    voice.table(table.heads, table.said(voice.shown, currency), right=table.right)
    if titled:
        voice.line()


def _together(tables: tuple[report_tables.Table, ...]) -> tuple[list[str], list[list[str | int | float]]]:
    """One sheet; several tables of the same columns stand below each other, each row with what it is grouped by."""
    if len(tables) == 1:
        return tables[0].exact()
    rows: list[list[str | int | float]] = []
    for table in tables:
        heads, exact = table.exact()
        rows += [[heads[0], *row] for row in exact]
    return ["by", "which", *heads[1:]], rows


def _bin(opened: Workroom, asked: Asked) -> tuple[object, tuple[report_tables.Table, ...]]:
    from stash import reports

    found = reports.in_bin(opened, asked)
    return found, report_tables.bin_tables(found)


def _jobs(opened: Workroom, asked: Asked) -> tuple[object, tuple[report_tables.Table, ...]]:
    from stash import reports

    found = reports.jobs(opened, asked)
    return found, (report_tables.jobs_table(found, reports.in_all(found)),)


def _alone(name: str, table: Callable[[Any], report_tables.Table]) -> Callable[[Workroom, Asked], Any]:
    def made(opened: Workroom, asked: Asked) -> tuple[object, tuple[report_tables.Table, ...]]:
        from stash import reports

        found = getattr(reports, name)(opened, asked)
        return found, (table(found),)

    return made


_PARTS: dict[str, Callable[[Workroom, Asked], Any]] = {
    "bin": _bin,
    "longest": _alone("longest", report_tables.longest_table),
    "jobs": _jobs,
    "planned": _alone("planned", report_tables.planned_table),
    "months": _alone("months", lambda found: report_tables.periods_table(found, "Month by month", "month")),
    "years": _alone("years", lambda found: report_tables.periods_table(found, "Year by year", "year")),
}
