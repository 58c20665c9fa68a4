"""Many at once from a table: all or nothing, every fault by row and column."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stash import Workroom, book, envelopes, lists, outlines, remnants
from stash.lists import Brought, Reading, RowFault
from stash.refusals import Refused
from stash.remnants import NewFault
from stash.words import EdgeKind, Face, FaultKind, Nap, Source

from .scenes import linen, scrap, whole_stash

GOOD = """tag,cloth,kind,length,width,edges,nap,place,washed,mass,lot,source,came on,price,note
N1,blue linen,,300,200,,,Shelf A,,,,,,,
n2,Blue  Linen,rectangle,310.5,90,selvedge cut raw cut,along,shelf a,cold,,,bought,2025-11-30,450,"long, narrow"

N3,blue linen,rough,50,40,,,,,30,,,,,
E1,blue linen,envelope,,,,,Drawer 2,,12.5,B2,given,,,snippets
"""


def stock(workroom: Workroom) -> None:
    linen(workroom)
    linen(workroom, "velvet", one_way=True)
    scrap(workroom, "L1")


@pytest.fixture
def room(stocked: Workroom) -> Workroom:
    return stocked


def test_all_of_a_table_is_logged(room: Workroom) -> None:
    done = lists.log(room, GOOD, by="MB")
    assert done == Brought(("N1", "N3", "N2"), ("E1",), ())
    one, two, three = (remnants.get(room, tag) for tag in ("N1", "N2", "N3"))
    assert (one.rough, one.area, one.place, one.source) == (True, 60_000, "Shelf A", Source.FOUND)
    assert (two.rough, two.length, two.nap, two.washed, two.source, two.price) == (
        *(False, 310.5, Nap.ALONG, "cold"),
        *(Source.BOUGHT, 450),
    )
    assert (str(two.came_on), two.note, two.place) == ("2025-11-30", "long, narrow", "Shelf A")
    assert [edge.kind for edge in two.edges] == [EdgeKind.SELVEDGE, EdgeKind.RAW]
    assert (three.mass, three.weighed) == (30, True)
    kept = envelopes.get(room, "E1")
    assert (kept.mass, kept.lot, kept.place, kept.note) == (12.5, "B2", "Drawer 2", "snippets")
    assert [entry.by for entry in book.entries(room, limit=4)] == ["MB"] * 4
    assert book.balance(room).balanced


@pytest.mark.parametrize("by", [";", "\t"])
def test_semicolons_or_tabs_may_part_the_cells_and_a_mark_begin_them(room: Workroom, by: str) -> None:
    text = (
        "\ufeff" + by.join(["Tag", "CLOTH", "length", "width"]) + "\r\n" + by.join(["N1", "blue linen", "300", "200"]) + "\r\n"
    )
    assert lists.log(room, text).remnants == ("N1",)


def test_cells_are_read_as_the_caller_reads_them(room: Workroom) -> None:
    """Inches with fractions and whole coins, say, which the stash does not know."""

    def inches(text: str) -> float:
        return float(sum(Fraction(part) for part in text.removesuffix("in").split()) * Fraction("25.4"))

    reading = Reading(length=inches, price=lambda text: round(100 * float(text)))
    text = 'tag,cloth,length,width,price\nN1,blue linen,10 1/2 in,4in,4.50\nN2,blue linen,wide,4in,"4,50"\n'
    assert lists.log(room, text, reading=reading).faults == (
        RowFault(3, "length", "'wide' is no length", "a length"),
        RowFault(3, "price", "'4,50' is no price in whole cents", "a price in whole cents"),
    )
    kept = lists.log(room, text.replace("wide", "4in").replace('"4,50"', "4.50"), reading=reading)
    assert kept.faults == ()
    assert (remnants.get(room, "N1").length, remnants.get(room, "N1").price) == (266.7, 450)


def test_a_readers_refusal_is_told_in_its_words(room: Workroom) -> None:
    def refuse(text: str) -> float:
        raise Refused(f"{text} is no measure", expected="a measure such as 30cm")

    (fault, *_) = lists.log(room, "tag,cloth,length,width\nN1,blue linen,x,y\n", reading=Reading(length=refuse)).faults
    assert str(fault) == "row 2, length: x is no measure; expected a measure such as 30cm"


FAULTS = {
    "N1,blue linen,tube,3,2": "row 2, kind: 'tube' is none of them",
    ",blue linen,,3,2": "row 2, tag: it is empty",
    "N_1,blue linen,,3,2": "row 2, tag: 'N_1' is no tag",
    "L1,blue linen,,3,2": "row 2, tag: there is a remnant L1 already",
    "N1,,,3,2": "row 2, cloth: it is empty",
    "N1,blue linnen,,3,2": "row 2, cloth: there is no cloth 'blue linnen'; expected one of: blue linen",
    "N1,blue linen,,,2": "row 2, length: it is empty",
    "N1,blue linen,,3,": "row 2, width: it is empty",
    "N1,blue linen,,0,2": "row 2, length: length is 0",
    "N1,blue linen,,3,-2": "row 2, width: width is -2",
    "N1,blue linen,,nan,2": "row 2, length: length is nan",
    "N1,blue linen,,1e99,2": "row 2, length: length is 1e+99",
    "N1,blue linen,,long,2": "row 2, length: 'long' is no length",
    "N1,blue linen,rectangle,3,2,frayed": "row 2, edges: 'frayed' is none of them",
    "N1,blue linen,rectangle,3,2,cut raw": "row 2, edges: 2 edges",
    "N1,blue linen,rough,3,2,raw": "row 2, edges: a rough remnant has no edges",
    "N1,velvet,,3,2": "row 2, nap: velvet is one way",
    "N1,velvet,,3,2,,up": "row 2, nap: 'up' is none of them",
    "N1,blue linen,,3,2,,,,,0": "row 2, mass: mass is 0",
    "N1,blue linen,,3,2,,,,,heavy": "row 2, mass: 'heavy' is no weight",
    "N1,blue linen,,3,2,,,,,,B2": "row 2, lot: a rough remnant has no lot",
    "N1,blue linen,,3,2,,,,,,,stolen": "row 2, source: 'stolen' is none of them",
    "N1,blue linen,,3,2,,,,,,,,yesterday": "row 2, came on: 'yesterday' is no day",
    "N1,blue linen,,3,2,,,,,,,,2999-01-01": "row 2, came on: the day it came is 2999-01-01",
    "N1,blue linen,,3,2,,,,,,,,,free": "row 2, price: 'free' is no price",
    "N1,blue linen,,3,2,,,,,,,,,-5": "row 2, price: price is -5",
    f"N1,blue linen,,3,2{',' * 17}more": "row 2: it has 22 cells",
    "N1,blue linen,corners,3,2": "row 2, length: a remnant by its corners has no length of its own",
    "N1,blue linen,corners": "row 2, corners: it is empty",
    "N1,blue linen,rough,3,2,,,,,,,,,,,0 0": "row 2, corners: a rough remnant has no corners",
    "N1,blue linen,,,,,,,,,,,,,,0 0 5 5": "row 2, corners: '0 0 5 5' are no corners",
    "N1,blue linen,,3,2,,,,,,,,,,,,,askew": "row 2, grain angle: 'askew' is no angle",
    "N1,blue linen,,3,2,,,,,,,,,,,,,nan": "row 2, grain angle: the grain angle is nan",
    "N1,blue linen,,3,2,,,,,,,,,,,,,,left": "row 2, face: 'left' is none of them",
    "N1,blue linen,drawing": "row 2, drawing: it is empty",
    "N1,blue linen,,,,,,,,,,,,,,,,,,x.svg": "row 2, drawing: 'x.svg' cannot be looked for",
    f"N1,blue linen,,3,2{',' * 16}bent": "row 2, skew: 'bent' is no skew",
    f"N1,blue linen,,3,2{',' * 16}60": "row 2, skew: skew is 60",
    f"E1,blue linen,envelope,,,,,,,5{',' * 11}1.5": "row 2, skew: an envelope has no skew",
    "E1,blue linen,envelope": "row 2, mass: it is empty",
    "E1,blue linen,envelope,3,2,,,,,5": "row 2, length: an envelope has no length",
    "E1,blue linen,envelope,,,,,,,-1": "row 2, mass: mass is -1",
    f"N1,blue linen,,3,2,,,{'x' * 81}": "row 2, place: the place's name is 81 letters",
    f"N1,blue linen,,3,2,,,,{'x' * 81}": "row 2, washed: the washing's name is 81 letters",
}


@pytest.mark.parametrize(("row", "said"), FAULTS.items(), ids=range(len(FAULTS)))
def test_each_fault_is_told_by_row_and_column(room: Workroom, stash_file: Path, row: str, said: str) -> None:
    before = whole_stash(stash_file)
    done = lists.log(room, f"{','.join(lists.COLUMNS)}\n{row}\nN9,blue linen,,300,200\n")
    assert str(done.faults[0]).startswith(said)
    assert (done.remnants, done.envelopes) == ((), ())
    assert whole_stash(stash_file) == before


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "row 1: the table is empty"),
        ("\n , \n", "row 1: the table is empty"),
        ("tag,cloth\n", "row 2: there is nothing under the names"),
        ("tag,clth\nN1,x\n", "row 1, clth: there is no such column; expected cloth"),
        ("tag,cloth,cloth\nN1,x,y\n", "row 1, cloth: the column is there twice"),
        ("tag,length\nN1,3\n", "row 1, cloth: the column is missing"),
        ('tag,cloth\n"N1,x\n', "row 1: it cannot be read as a table"),
        ("tag,cloth\n" + "N1,x\n" * 5001, "row 5002: there are 5001 rows"),
        ("\x00tag,cloth\nN1,x\n", "row 1, \x00tag: there is no such column"),
    ],
)
def test_tables_that_are_none(room: Workroom, text: str, said: str) -> None:
    done = lists.log(room, text)
    assert said in [str(fault)[: len(said)] for fault in done.faults]
    assert done.remnants == ()


def test_all_faults_are_told_at_once_and_nothing_is_kept(room: Workroom, stash_file: Path) -> None:
    before = whole_stash(stash_file)
    text = "tag,cloth,length,width,mass\nN1,blue linen,300,200,\nN1,silk,0,x,-3\nN3,blue linen,,5,\n\nL1,velvet,3,2,\n"
    done = lists.log(room, text)
    assert [(fault.row, fault.column) for fault in done.faults] == [
        *((3, "tag"), (3, "cloth"), (3, "width")),
        *((4, "length"),),
        *((6, "tag"),),
    ]
    assert str(done.faults[0]) == "row 3, tag: row 2 has the tag N1 too; expected each tag once"
    assert whole_stash(stash_file) == before


LINES = {
    '{"tag": "N1", "cloth": "blue linen", "corners": [[0, 0], [5, 5]]}': "row 1, corners: the outline has 2 points",
    '{"tag": "N1", "cloth": "blue linen", "corners": [[0, 0], [5, 5], "x"]}': "row 1, corners: [[0, 0], [5, 5], 'x'] is no",
    '{"tag": "N1", "cloth": "blue linen", "corners": [[0, 0], [9, 9], [9, 0], [0, 9]]}': "row 1, corners: the outline crosses",
    '{"tag": "N1", "cloth": "blue linen", "corners": [[0, true], [9, 9], [9, 0]]}': "row 1, corners: [[0, True]",
    '{"tag": "N1", "cloth": "blue linen", "corners": 7}': "row 1, corners: 7 is no list of corners",
    '{"tag": "N1", "cloth": "blue linen", "length": [3], "width": 2}': "row 1, length: [3] is no length",
    '{"tag": "N1", "cloth": "blue linen", "length": true, "width": 2}': "row 1, length: True is no length",
    '{"tag": "N1", "cloth": "blue linen", "length": 3, "width": NaN}': "row 1: it is no JSON (NaN is no number)",
    '{"tag": "N1", "cloth": "blue linen", "length": 3, "width": 2, "size": 1}': "row 1, size: there is no such column",
    '{"tag": "N1", "cloth": "blue linen", "length": 3, "width": 2, "faults": [{}]}': (
        "row 1, faults: [{}] is no list of faults"
    ),
    '{"tag": "N1", "cloth": "blue linen", "length": 9, "width": 9, "faults": [{"kind": "moth", "ring": []}]}': (
        "row 1, faults: 'moth' is none of them"
    ),
    '{"tag": "N1"': "row 1: it is no JSON",
    '{"tag": "N1", "cloth": "blue linen"}\n[1]': "row 2: it is no object",
    '{"a":' * 5000: "row 1: it is no JSON",
    "{}": "row 1, tag: it is empty",
}


@pytest.mark.parametrize(("text", "said"), LINES.items(), ids=range(len(LINES)))
def test_faults_in_json_lines_are_told_by_line(room: Workroom, stash_file: Path, text: str, said: str) -> None:
    before = whole_stash(stash_file)
    done = lists.log(room, text)
    assert said in [str(fault)[: len(said)] for fault in done.faults], done.faults
    assert whole_stash(stash_file) == before


def test_remnants_written_as_json_lines_come_back_as_they_are(room: Workroom, tmp_path: Path) -> None:
    linen(room, "ecru velvet", one_way=True)
    ring = ((0, 0), (500.125, 20), (480, 1 / 3 + 300), (0, 260))
    kinds = [EdgeKind.SELVEDGE, EdgeKind.CUT, EdgeKind.RAW, EdgeKind.CUT]
    faults = (NewFault(FaultKind.HOLE, ((9, 9), (40, 9), (20, 40))), NewFault(FaultKind.HOLE, ((90, 90), (99, 95))))
    faults += (NewFault(FaultKind.STAIN, ((200, 100), (240, 100), (220, 140)), Face.WRONG),)
    given = {
        "face_up": Face.WRONG,
        "nap": Nap.AGAINST,
        "grain_angle": 33.0,
        "faults": faults,
        "mass": 31.5,
        "price": 250,
        "skew": 1.7,
    }
    scrap(room, "R1", "ecru velvet", outline=outlines.by_points(ring, kinds), place="Shelf B", note="x", **given)
    before = [remnants.get(room, tag) for tag in ("R1", "L1")]
    text = lists.written(before).replace('"R1"', '"R2"').replace('"L1"', '"L2"')
    assert lists.log(room, text).remnants == ("R2", "L2")
    for was, tag in zip(before, ("R2", "L2"), strict=True):
        again = remnants.get(room, tag)
        assert again.outline.hausdorff_distance(was.outline) < 1e-9
        for name in (
            "cloth",
            "area",
            "mass",
            "weighed",
            "one_way",
            "place",
            "washed",
            "source",
            "price",
            "came_on",
            "note",
            "skew",
        ):
            assert getattr(again, name) == getattr(was, name), name
        assert [(f.kind, f.face) for f in again.faults] == [(f.kind, f.face) for f in was.faults]
        pairs = zip([f.shape for f in again.faults], [f.shape for f in was.faults], strict=True)
        assert all(one.hausdorff_distance(other) < 1e-9 for one, other in pairs)
        assert sorted(e.kind for e in again.edges) == sorted(e.kind for e in was.edges)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    text=st.text(max_size=120)
    | st.lists(st.sampled_from([*"\"',;\t\n\r0-=x\x00", "tag", "cloth", "N1", "9e999"])).map("".join)
)
def test_whatever_is_brought_comes_back_as_faults(room: Workroom, text: str) -> None:
    for table in (text, f"tag,cloth,length,width\n{text}"):
        done = lists.log(room, table)
        assert done.faults
        assert not done.remnants
