"""The whole stash as plain text, and back: the same to the byte; refused with the line where it is no such text."""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, MultiPolygon, Polygon
from sqlalchemy import MetaData, create_engine, select

from stash import Workroom, audit, book, reading_in, wkt, writing_out
from stash.refusals import NewerStash, Refused, WrongState
from stash.tables import SCHEMA, Base

from .conftest import once, ticking_clock
from .scenes import linen, whole_stash
from .shapes import stars
from .test_audit import stock
from .test_migrations import STASH_0002, stash_of


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory, fresh_stash: Path) -> Path:
    """A stash in which all has happened that can."""
    return once(stock, tmp_path_factory.mktemp("full"), fresh_stash)


def text_of(path: Path) -> str:
    lines: list[str] = []
    with Workroom.open(path) as opened:
        writing_out.write_out(opened, lines.append)
    return "".join(lines)


def read_in(text: str, path: Path) -> reading_in.ReadIn:
    return reading_in.read_in(text.splitlines(keepends=True), path)


def test_out_and_in_and_out_again_is_the_same_to_the_byte(full: Path, tmp_path: Path) -> None:
    text = text_of(full)
    done = read_in(text, tmp_path / "again.fent")
    assert done.rows == len(text.splitlines()) - 1 - done.tables
    assert text_of(tmp_path / "again.fent") == text
    with Workroom.open(full) as one, Workroom.open(tmp_path / "again.fent") as other:
        assert book.entries(one) == book.entries(other)
        assert audit.audit(other).clean


def test_every_row_is_the_same_in_the_database(full: Path, tmp_path: Path) -> None:
    read_in(text_of(full), tmp_path / "again.fent")

    def rows(path: Path) -> dict[str, list[tuple[object, ...]]]:
        with closing(sqlite3.connect(path)) as plain:
            found = {
                t.name: plain.execute(f'SELECT * FROM "{t.name}" ORDER BY 1, 2').fetchall()
                for t in Base.metadata.sorted_tables
            }
        for table in Base.metadata.sorted_tables:  # JSON is the same whatever its spaces
            places = [i for i, column in enumerate(table.columns) if type(column.type).__name__ == "JSON"]
            found[table.name] = [
                tuple(json.loads(str(cell)) if i in places and cell is not None else cell for i, cell in enumerate(row))
                for row in found[table.name]
            ]
        return found

    assert rows(tmp_path / "again.fent") == rows(full)


def test_into_an_empty_stash_that_is_there(full: Path, tmp_path: Path) -> None:
    Workroom.open(tmp_path / "empty.fent").close()
    read_in(text_of(full), tmp_path / "empty.fent")
    assert text_of(tmp_path / "empty.fent") == text_of(full)


def test_work_goes_on_in_what_was_read_in(full: Path, tmp_path: Path) -> None:
    read_in(text_of(full), tmp_path / "again.fent")
    with Workroom.open(tmp_path / "again.fent", clock=ticking_clock) as opened:
        linen(opened, "green linen")
        assert book.balance(opened).balanced
    with closing(sqlite3.connect(tmp_path / "again.fent")) as plain, pytest.raises(sqlite3.IntegrityError):
        plain.execute("UPDATE book_line SET area = 0")
    with closing(sqlite3.connect(tmp_path / "again.fent")) as plain:
        assert plain.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_the_text_tells_itself(full: Path) -> None:
    """A program that knows nothing of Fent adds the book up from the text alone, and finds every outline's area in it."""
    tables: dict[str, list[dict[str, object]]] = {}
    head, *lines = [json.loads(line) for line in text_of(full).splitlines()]
    assert head["form"] == "fent-stash/1"
    for line in lines:
        if "table" in line:
            assert line["columns"]
        else:
            tables.setdefault(line["in"], []).append(line["row"])
    sums: dict[object, list[int]] = {}
    for line in tables["book_line"]:
        entry = sums.setdefault(line["entry_id"], [0, 0])
        entry[0] += int(str(line["area"]))
        entry[1] += int(str(line["mass"]))
    assert set(map(tuple, sums.values())) == {(0, 0)}
    holes = [fault for fault in tables["remnant_fault"] if fault["kind"] == "hole"]
    for remnant in tables["remnant"]:
        shape = shapely.from_wkt(remnant["outline"])
        for hole in holes:
            if hole["remnant_id"] == remnant["id"]:
                shape = shape.difference(shapely.from_wkt(hole["shape"]))
        assert round(shape.area * 100) == pytest.approx(remnant["area"], abs=2)


def older_text(path: Path, version: str) -> str:
    """What a Fent of that version would have written out: its own tables and columns, in the same form."""
    engine = create_engine(f"sqlite:///{path}")
    tables = MetaData()
    tables.reflect(engine)
    lines: list[object] = [{"form": "fent-stash/1", "tables": version, "about": []}]
    with engine.connect() as opened:
        for table in tables.sorted_tables:
            if table.name != "alembic_version":
                lines.append({"table": table.name, "about": "", "columns": {}})
                for row in opened.execute(select(table)).mappings():
                    lines.append({"in": table.name, "row": {name: plain(value) for name, value in row.items()}})
    engine.dispose()
    return "".join(f"{json.dumps(line)}\n" for line in lines)


def plain(value: object) -> object:
    if isinstance(value, bytes):
        return wkt.written(shapely.from_wkb(value))
    return value.isoformat() if hasattr(value, "isoformat") else value


def test_what_an_older_fent_has_written_is_brought_up_to_date(tmp_path: Path) -> None:
    older = stash_of("0002", STASH_0002, tmp_path)
    text = older_text(older, "0002")
    read_in(text, tmp_path / "again.fent")
    with Workroom.open(tmp_path / "again.fent") as again, Workroom.open(older) as upgraded:
        assert book.entries(again) == book.entries(upgraded)
        assert audit.audit(again).clean
    assert text_of(tmp_path / "again.fent") == text_of(older)


def without(text: str, start: str) -> str:
    return "".join(line for line in text.splitlines(keepends=True) if not line.startswith(start))


WRONG: dict[str, tuple[Callable[[str], str], type[Exception], str]] = {
    "nothing": (lambda text: "", Refused, "line 1"),
    "no JSON": (lambda text: text.replace('{"table": "place"', "{'table': 'place'", 1), Refused, "no JSON object"),
    "another form": (lambda text: text.replace("fent-stash/1", "fent-stash/9", 1), Refused, "line 1"),
    "a newer version": (lambda text: text.replace(f'"tables": "{SCHEMA}"', '"tables": "0999"', 1), NewerStash, "newer Fent"),
    "a column more": (
        lambda text: text.replace('"row": {"id": 1, "name"', '"row": {"smell": 2, "id": 1, "name"', 1),
        Refused,
        "'smell' is no column",
    ),
    "a column less": (lambda text: text.replace('"weave": "plain", ', "", 1), Refused, "'weave' is missing"),
    "a table twice": (lambda text: text + '{"table": "cloth"}\n', Refused, "no table 'cloth'"),
    "a table that is none": (lambda text: text + '{"table": "hats"}\n', Refused, "no table 'hats'"),
    "a row out of its place": (lambda text: text + '{"in": "cloth", "row": {}}\n', Refused, "a row of another table"),
    "a shape that is none": (
        lambda text: text.replace("POLYGON ((0.0 0.0, 400.0 0.0", "POLYGON ((0.0, 400.0 0.0", 1),
        Refused,
        "no list of points",
    ),
    "a table left out": (
        lambda text: without(without(text, '{"table": "setting"'), '{"in": "setting"'),
        Refused,
        "ends before setting",
    ),
    "cloths left out": (lambda text: without(text, '{"in": "cloth"'), Refused, "that is not there"),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_what_is_no_such_text_is_refused_and_nothing_is_left(full: Path, tmp_path: Path, name: str) -> None:
    change, kind, what = WRONG[name]
    text = text_of(full)
    damaged = change(text)
    assert damaged != text
    with pytest.raises(kind, match=what):
        read_in(damaged, tmp_path / "again.fent")
    assert not [file for file in tmp_path.iterdir() if file.name.startswith("again")]


def test_nothing_is_mixed(full: Path, tmp_path: Path) -> None:
    there = Path(shutil.copy(full, tmp_path / "there.fent"))
    before = whole_stash(there)
    with pytest.raises(WrongState, match="there is something"):
        read_in(text_of(full), there)
    assert whole_stash(there) == before


def test_an_older_text_wants_a_new_file(tmp_path: Path) -> None:
    text = older_text(stash_of("0002", STASH_0002, tmp_path), "0002")
    Workroom.open(tmp_path / "empty.fent").close()
    with pytest.raises(WrongState, match="tables of version"):
        read_in(text, tmp_path / "empty.fent")


figures = st.floats(allow_nan=False, allow_infinity=False, width=64)


@given(stars(), st.lists(st.tuples(figures, figures), min_size=2, max_size=6, unique=True))
def test_shapes_are_the_same_to_the_last_bit(shape: Polygon, points: list[tuple[float, float]]) -> None:
    hole = shape.buffer(-5)
    ring = shape.difference(hole) if hole.geom_type == "Polygon" and not hole.is_empty else shape
    far = shapely.affinity.translate(shape, 1000.1, 0)
    for each in (shape, ring, LineString(points), MultiPolygon([shape, far])):
        assert shapely.to_wkb(wkt.read(wkt.written(each))) == shapely.to_wkb(each)
        assert shapely.from_wkt(wkt.written(each)).geom_type == each.geom_type


@pytest.mark.parametrize("text", ["", "POINT (0 0)", "POLYGON (0 0, 1 1)", "POLYGON ((0 0, 1 x, 2 2))", "POLYGON ((0 0, 1 1"])
def test_what_is_no_shape(text: str) -> None:
    with pytest.raises(ValueError):  # noqa: PT011 - whichever of the readers notices
        wkt.read(text)


def test_an_empty_shape_has_no_text() -> None:
    with pytest.raises(ValueError, match="is empty"):
        wkt.written(Polygon())
