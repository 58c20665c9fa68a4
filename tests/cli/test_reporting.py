"""`fent book report`: tables, JSON, CSV, the page and the paper."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from datetime import date
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest

from cli import charts, made_year, report_page, report_paper, report_tables, spreadsheet
from cli.shown import Shown, as_told
from stash import Workroom, reports
from stash.reported import Asked, Quantity, Report

from .conftest import Type


@pytest.fixture(scope="session")
def year(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The made year, or every third job of it, made once."""
    file = tmp_path_factory.mktemp("year") / "year.fent"
    made_year.make(file, every=3)
    return file


@pytest.fixture(scope="session")
def found(year: Path) -> Report:
    with Workroom.open(year) as opened:
        return reports.report(opened, Asked(since=date(2025, 1, 1), until=date(2025, 12, 31)))


@pytest.fixture(scope="session")
def page(found: Report) -> str:
    return report_page.as_html(found, Shown())


@pytest.fixture
def in_the_year(fent: Type, year: Path, workroom: Path) -> Type:
    shutil.copy(year, workroom)
    return fent


def test_the_made_year_is_a_year_of_jobs(found: Report) -> None:
    """All forty of them are made by the demo (`test_demo`)."""
    assert len(found.jobs) == 14
    assert len(found.months) >= 9
    assert [each.name for each in found.years] == ["2025"]
    assert found.in_all.taken == found.in_all.panels + found.in_all.spoiled + found.in_all.rag_bag + found.in_all.returned
    assert found.undone == 1


def test_each_part_as_a_table_and_as_json(in_the_year: Type) -> None:
    for part, head in (
        ("bin", "BY FIBRE"),
        ("longest", "tag"),
        ("jobs", "job"),
        ("planned", "lay"),
        ("months", "month"),
        ("years", "year"),
    ):
        said = in_the_year("book", "report", part)
        assert said.status == 0
        assert said.data.split()[0] == head.split()[0]
        assert json.loads(in_the_year("book", "report", part, "--json").data)
    whole = in_the_year("book", "report")
    assert all(title in whole.data for title in ("MONTH BY MONTH", "BY JOB", "PLANNED AGAINST CUT", "BY AGE"))
    assert json.loads(in_the_year("book", "report", "--json").data)["in_all"]["cuts"] == 14


def test_filters(in_the_year: Type) -> None:
    jobs = json.loads(in_the_year("book", "report", "jobs", "--cloth", "slate linen", "--json").data)
    assert 0 < len(jobs) < 14
    one_of_them = jobs[-1]["job"]
    (one,) = json.loads(in_the_year("book", "report", "jobs", "--job", one_of_them, "--json").data)
    assert one["job"] == one_of_them
    months = json.loads(
        in_the_year("book", "report", "months", "--since", "2025-03-01", "--until", "2025-05-31", "--json").data
    )
    assert [month["name"] for month in months] == ["2025-03", "2025-04", "2025-05"]
    assert json.loads(in_the_year("book", "report", "years", "--year", "2024", "--json").data) == []


def test_a_spreadsheet_has_every_digit(in_the_year: Type, found: Report) -> None:
    rows = list(csv.DictReader(io.StringIO(in_the_year("book", "report", "jobs", "--csv").data)))
    assert len(rows) == 15
    total = sum(int(row["cloth used (m²)"].replace(".", "")) for row in rows[:-1])
    assert total == int(rows[-1]["cloth used (m²)"].replace(".", "")) == found.in_all.used.area
    groups = list(csv.DictReader(io.StringIO(in_the_year("book", "report", "bin", "--csv").data)))
    assert {row["by"] for row in groups} == {"fibre", "weight", "colour", "age"}


FORMULAS = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", " =1", "＝1", '=HYPERLINK("x","y")', "\u00a0=1"]


@pytest.mark.parametrize("text", FORMULAS)
def test_no_cell_runs(text: str) -> None:
    (heads, row) = csv.reader(io.StringIO(spreadsheet.as_csv(["tag"], [[text]]), newline=""))
    assert heads == ["tag"]
    assert row == ["'" + text]


def test_a_job_that_is_called_like_a_formula_is_written_as_a_text(fent: Type, workroom: Path) -> None:
    made_year_of_one = ("=cmd|' /C calc'!A0", "−5", "-5")
    table = report_tables.Table("", "", (report_tables.Column("job"),), tuple((name,) for name in made_year_of_one))
    assert spreadsheet.as_csv(*table.exact()).splitlines() == ["job", "'=cmd|' /C calc'!A0", "−5", "'-5"]


def test_negative_figures_stay_figures() -> None:
    table = report_tables.Table("", "", (report_tables.Column("area", report_tables.Kind.AREA),), ((-5,), (123_456_789,)))
    assert spreadsheet.as_csv(*table.exact()).splitlines() == ["area (m²)", "-0.00000005", "1.23456789"]
    assert table.said(Shown()) == [["−0 cm²"], ["1.235 m²"]]


class Reader(HTMLParser):
    """What a page is made of."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str]] = []
        self.ids: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(name, value or "") for name, value in attrs]
        self.ids += [value or "" for name, value in attrs if name == "id"]


def test_the_page_stands_alone(page: str) -> None:
    read = Reader()
    read.feed(page)
    assert "script" not in read.tags
    assert not {"link", "iframe", "object", "embed", "img"} & set(read.tags)
    assert not [name for name, _ in read.attributes if name.startswith("on") or name in ("src", "srcset", "action")]
    assert all(value.startswith("#") for name, value in read.attributes if name in ("href", "xlink:href"))
    assert not re.findall(r"(?:https?:)?//\w", page)
    assert not re.findall(r"@import|url\((?!#)", page)
    assert len(read.ids) == len(set(read.ids))
    assert read.tags.count("svg") == 7
    assert page.count('role="img"') == 7
    assert "default-src 'none'" in page


def test_the_page_is_grey_and_its_shades_can_be_told_apart(page: str) -> None:
    colours = {found.lower() for found in re.findall(r"#[0-9a-fA-F]{6}\b", page)}
    assert colours
    assert all(colour[1:3] == colour[3:5] == colour[5:7] for colour in colours), colours
    shades = sorted(int(colour[1:3], 16) for colour in (charts.DARK, charts.MIDDLE, charts.LIGHT, charts.WHITE))
    assert all(lighter - darker >= 40 for darker, lighter in pairwise(shades))
    hatched = {part.hatch for part in (charts.SPOILED, charts.RAGS, charts.GONE)}
    assert len(hatched) == 3


def test_names_cannot_break_out_of_the_page(workroom: Path) -> None:
    from stash import cloths, outlines, remnants

    with Workroom.open(workroom) as opened:
        bad = "<script>alert(1)</script>"
        cloths.add(opened, cloths.NewCloth(name=bad, fibres={"linen": 100}, weight=180.0, colour='"><b>$x^2$'))
        remnants.log(opened, remnants.NewRemnant(tag="L1", cloth=bad, outline=outlines.rectangle(300, 200)))
        page = report_page.as_html(reports.report(opened), Shown())
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert "<b>" not in page.split("<main>")[1].split("In the bin, by colour")[1].split("<figcaption>")[0]


def test_the_figures_on_the_page(found: Report, page: str) -> None:
    words = report_page.told(found, Shown())
    assert words.title == "The cloth book: 2025"
    assert words.figures[0].amount == Shown().area(found.in_all.panels.area / 100)
    assert f"{found.in_all.share_used:.0%}" in page
    inches = report_page.told(found, as_told("in"))
    assert inches.figures[0].amount.endswith("yd²")
    assert "yd²" in report_page.as_html(found, as_told("in"))
    assert "One entry that was undone is left out." in words.foot
    assert found.bin.all.cloth == sum((group.cloth for group in found.bin.by_age), Quantity())


@pytest.mark.slow
def test_the_page_and_the_paper_are_written_once(stocked: Type, tmp_path: Path) -> None:
    for name in ("year.html", "year.pdf"):
        said = stocked("book", "report", "--page", name)
        assert (said.status, said.data, said.words) == (0, "", f"The report is in {name}.\n")
        first = (tmp_path / name).read_bytes()
        again = stocked("book", "report", "--page", name)
        assert again.status == 2
        assert "is there already" in again.words
        stocked("book", "report", "--page", name, "--write-over")
        assert (tmp_path / name).read_bytes() == first
    assert first.startswith(b"%PDF-")
    assert len(re.findall(rb"/Type /Page\b", first)) >= 2


def test_an_empty_workroom_has_a_page_too(stocked: Type, tmp_path: Path) -> None:
    assert stocked("book", "report", "--page", "all.html").status == 0
    assert "Nothing of the kind." in (tmp_path / "all.html").read_text()


def test_a_year_on_paper(found: Report, tmp_path: Path) -> None:
    report_paper.as_pdf(found, Shown(), tmp_path / "year.pdf")
    text = (tmp_path / "year.pdf").read_bytes()
    assert text.startswith(b"%PDF-")
    assert len(re.findall(rb"/Type /Page\b", text)) >= 4
