"""Pieces and remnants through drawings and tables and back, and out of drawings that say nothing of themselves."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest
from shapely import Polygon
from shapely.affinity import translate

from nesting import Ring
from stash import Workroom, drawing_files, drawings, drawn_pieces, drawn_remnants, line_roles, patterns, piece_lists, remnants
from stash import found_lines as found
from stash.drawings import Drawing, Layer, beside
from stash.drawn_pieces import DrawnPiece, HowDrawn
from stash.line_roles import By, Told
from stash.patterns import NewEdge, NewPiece, Notch
from stash.piece_lists import Reading
from stash.refusals import Refused

from .scenes import linen, scrap, whole_stash
from .test_drawings import stock

ROUND_TRIP = 0.01  # mm: what the issue asks of a way there and back
BLACK, RED, BLUE = "#000000", "#ff0000", "#0000ff"


@pytest.fixture
def room(stocked: Workroom) -> Workroom:
    return stocked


__all__ = ["stock"]


def off(one: Polygon, other: Polygon) -> float:
    """How far two outlines lie apart, mm."""
    return float(one.exterior.hausdorff_distance(other.exterior))


# --- there and back ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", [".svg", ".dxf"])
def test_pieces_and_remnants_come_back_from_a_drawing_as_they_were(room: Workroom, tmp_path: Path, kind: str) -> None:
    """Both in one drawing, moved and turned, so that a sign or an order that is wrong shows."""
    was, scrap_was = patterns.piece(room, "apron", "front"), remnants.get(room, "N-1")
    parts = beside([drawings.of_piece(was).moved(30, -70, turn=33), drawings.of_piece(was).moved(turn=117)])
    file = tmp_path / f"apron{kind}"
    file.write_text(drawing_files.written(Drawing("apron", parts), kind), encoding="utf-8")
    read = drawing_files.read(file)
    known = line_roles.sort_out(read.lines)
    assert not known.untold
    drawn = drawn_pieces.pieces(read, known.lines, HowDrawn(names=("one", "two")))
    assert [each.left_out for each in drawn] == [("1 inner line",)] * 2
    for again in drawn_pieces.keep(room, "again", drawn):
        # Where a piece lies in its drawing is nothing; how its lines lie to each other is.
        dx, dy = (again.sewing_line.bounds[i] - was.sewing_line.bounds[i] for i in (0, 1))
        assert off(again.sewing_line, translate(was.sewing_line, dx, dy)) < ROUND_TRIP
        assert off(again.cut_line, translate(was.cut_line, dx, dy)) < ROUND_TRIP
        assert [notch.marks for notch in again.notches] == [1, 2]
        assert [notch.at for notch in again.notches] == pytest.approx([60, 40], abs=ROUND_TRIP)
        assert [edge.allowance for edge in again.edges] == [30, 10, 6.35, 6.35, 10]

    file.write_text(drawing_files.written(Drawing("scrap", (drawings.of_remnant(scrap_was),)), kind), encoding="utf-8")
    read = drawing_files.read(file)
    (one,) = drawn_remnants.remnants(read, line_roles.sort_out(read.lines).lines)
    assert one.name == "N-1"
    given = {"outline": one.outline, "faults": one.faults, "grain_angle": one.grain_angle, "grain_by": one.grain_by}
    back = scrap(room, "N-2", **given)
    assert off(back.outline, scrap_was.outline) < ROUND_TRIP
    assert (back.area, back.way) == (scrap_was.area, "drawing")
    assert sorted(map(str, (fault.kind for fault in back.faults))) == ["hole", "hole", "stain"]
    assert [edge.kind for edge in back.edges] == [edge.kind for edge in scrap_was.edges]


def test_svg_keeps_what_is_said_of_a_piece(room: Workroom, tmp_path: Path) -> None:
    (tmp_path / "a.svg").write_text(
        drawing_files.written(Drawing("a", (drawings.of_piece(patterns.piece(room, "apron", "front")),)), ".svg")
    )
    read = drawing_files.read(tmp_path / "a.svg")
    (drawn,) = drawn_pieces.pieces(read, line_roles.sort_out(read.lines).lines, HowDrawn())
    assert (drawn.piece.name, drawn.piece.one_way, drawn.piece.count) == ("front", True, 2)


@pytest.fixture
def reading() -> Reading:
    def no(text: str, *_: object) -> object:
        raise Refused(f"{text!r} is none")

    return Reading(no, lambda text, names: (float(text),) * len(names), no, no)  # type: ignore[arg-type]


def test_pieces_written_as_json_lines_come_back_as_they_are(room: Workroom, reading: Reading) -> None:
    half = NewPiece(
        name="back",
        ring=((0, 0), (90, 0), (80, 200), (0, 210)),
        edges=(NewEdge("hem", 0, 30), NewEdge("side", 1, 10), NewEdge("neck", 2, 6), NewEdge("middle", 3)),
        fold="middle",
        notches=(Notch("side", 50, 2),),
        grain_angle=90,
        off_grain=3,
        left_and_right=True,
        hidden=True,
    )
    cut = NewPiece(name="tie", ring=((0, 0), (500, 0), (500, 40), (0, 40)), allowance=7, drawn="cut")  # type: ignore[arg-type]
    patterns.add(room, "smock", [half, cut])
    every = [*patterns.get(room, "apron").pieces, *patterns.get(room, "smock").pieces]
    text = piece_lists.written(every).replace('"apron"', '"apron, again"').replace('"smock"', '"smock, again"')
    assert piece_lists.add(room, text, reading).pieces == ("apron, again/front", "smock, again/back", "smock, again/tie")
    for was in every:
        again = patterns.piece(room, f"{was.pattern}, again", was.name)
        assert off(again.sewing_line, was.sewing_line) < 1e-9
        assert off(again.cut_line, was.cut_line) < 1e-9
        for name in ("edges", "allowances", "notches", "joins", "drawn", "count", *SAID):
            assert getattr(again, name) == getattr(was, name), name


SAID = ("one_way", "left_and_right", "hidden", "off_grain")


# --- strangers' drawings -------------------------------------------------------------------------------------------------


def drawn(lines: list[found.FoundLine], how: HowDrawn | None = None, told: tuple[Told, ...] = ()) -> tuple[DrawnPiece, ...]:
    read = found.FoundDrawing(lines=tuple(found.joined(lines)))
    known = line_roles.sort_out(read.lines, told)
    assert not known.untold
    return drawn_pieces.pieces(read, known.lines, how or HowDrawn())


def line(*points: tuple[float, float], closed: bool = False, **said: object) -> found.FoundLine:
    return found.FoundLine(points=points, closed=closed, **said)  # type: ignore[arg-type]


def ring(*points: tuple[float, float], said: Layer = Layer.CUT, **more: object) -> found.FoundLine:
    return line(*points, closed=True, said=said, **more)


HALF = ((0.0, 0.0), (100.0, 0.0), (90.0, 150.0), (0.0, 160.0))
UP = line((40, 20), (40, 120), said=Layer.GRAIN)
LEFT = line((0, 10), (0, 140), said=Layer.FOLD)
FOLDS = {
    "on the side": LEFT,
    "a bracket beside it": line((25, 20), (15, 20), (15, 140), (25, 140), said=Layer.FOLD),
    "drawn out beyond it": line((0.3, -20), (0.3, 180), said=Layer.FOLD),
}


@pytest.mark.parametrize("fold", FOLDS.values(), ids=FOLDS)
def test_half_a_piece_on_the_fold_is_made_whole(room: Workroom, fold: found.FoundLine) -> None:
    notch = line((98, 60), (94, 60), said=Layer.NOTCH)
    halves = drawn([ring(*HALF), UP, fold, notch], HowDrawn(allowance=10))
    (piece,) = drawn_pieces.keep(room, "skirt", halves)
    assert math.isclose(piece.cut_line.area, 2 * Polygon(HALF).area)
    assert piece.fold is not None
    assert len(piece.notches) == 2
    assert all(abs(bound) == pytest.approx(100) for bound in piece.cut_line.bounds[1::2])  # the grain runs up the half


def test_both_lines_of_a_half_are_made_whole_and_kept_as_they_are_drawn(room: Workroom) -> None:
    sewing = ((0.0, 20.0), (88.0, 20.0), (80.0, 140.0), (0.0, 149.0))
    (half,) = drawn([ring(*HALF), ring(*sewing, said=Layer.SEWING), UP, LEFT])
    assert half.piece.fold
    (piece,) = drawn_pieces.keep(room, "skirt", [half])
    assert math.isclose(piece.cut_line.area, 2 * Polygon(HALF).area)
    assert math.isclose(piece.sewing_line.area, 2 * Polygon(sewing).area)
    hem = next(edge for edge in piece.edges if edge.allowance == 20)
    assert hem.sides == 1


def test_a_whole_piece_with_the_fold_down_its_middle_is_left_whole(room: Workroom) -> None:
    whole = ring((-100, 0), (100, 0), (90, 150), (0, 160), (-90, 150))
    (piece,) = drawn_pieces.keep(room, "skirt", drawn([whole, UP, line((0, 0), (0, 160), said=Layer.FOLD)]))
    assert piece.fold is None


def test_pieces_are_told_apart_and_named_by_group_words_layer_or_number() -> None:
    def at(x: float) -> list[tuple[float, float]]:
        return [(x + px, py) for px, py in ((0, 0), (50, 0), (50, 80), (0, 80))]

    lines = [ring(*at(x), group=group, layer=layer) for x, group, layer in ((200, "b", ""), (0, "", "sleeve"), (100, "", "1"))]
    lines += [ring(*at(300), layer="1"), ring((110, 10), (120, 10), (120, 20), layer="1")]
    lines += [line((x + 5, 40), (x + 45, 40), said=Layer.GRAIN) for x in (0, 100, 200, 300)]
    read = found.FoundDrawing(lines=tuple(lines), words=(found.FoundWords(at=(110, 60), text="left  front"),))
    pieces = drawn_pieces.pieces(read, line_roles.sort_out(lines).lines, HowDrawn())
    assert [each.piece.name for each in pieces] == ["sleeve", "left front", "b", "piece 4"]
    assert pieces[1].left_out == ("1 cut line inside it",)


def test_edges_end_at_corners_and_where_the_allowance_changes() -> None:
    bend = [(100 * math.sin(t / 10), 100 - 100 * math.cos(t / 10)) for t in range(1, 16)]
    sewing = [(0.0, 0.0), *bend, (60.0, 200.0), (0.0, 200.0), (0.0, 100.0)]
    cut = Polygon(sewing).buffer(10, join_style="mitre").union(Polygon([(-30, 100), (0, 100), (0, 210), (-30, 210)]))
    lines = [ring(*sewing, said=Layer.SEWING), ring(*cut.exterior.coords[:-1]), UP]
    (piece,) = drawn(lines)
    assert [edge.allowance for edge in piece.piece.edges] == pytest.approx([10, 10, 10, 30, 10], abs=0.3)


def test_marks_are_notches_however_they_are_drawn(room: Workroom) -> None:
    marks = [
        line((30, 0), said=Layer.NOTCH),  # a point on the cut line, with the line that goes in to it
        line((30, 10), (30, 0), said=Layer.NOTCH),
        line((60, 10), (60, 0), said=Layer.NOTCH),  # a double one
        line((64, 10), (64, 0), said=Layer.NOTCH),
        line((88, 0), (90, 6), (92, 0), said=Layer.NOTCH),  # a V
    ]
    square = ring((0, 0), (120, 0), (120, 80), (0, 80))
    (piece,) = drawn_pieces.keep(
        room, "p", drawn([square, *marks, line((20, 40), (90, 40), said=Layer.GRAIN)], HowDrawn(allowance=10))
    )
    assert [(notch.at, notch.marks) for notch in piece.notches] == [(20, 1), (52, 2), (80, 1)]


ROLES: dict[str, tuple[Told, ...]] = {
    "by colour": (Told(Layer.CUT, By.COLOUR, "black"), Told(Layer.GRAIN, By.COLOUR, "#00f"), Told(None, By.COLOUR, "red")),
    "by layer": (Told(Layer.CUT, By.LAYER, "Layer  1"), Told(Layer.GRAIN, By.LAYER, "L2"), Told(None, By.LAYER, "l3")),
    "by name": (Told(None, By.ALL), Told(Layer.CUT, By.NAME, "p1"), Told(Layer.GRAIN, By.NAME, "p2")),
}
PLAIN = [
    line((0, 0), (100, 0), (100, 50), (0, 50), closed=True, colour=BLACK, layer="layer 1", name="p1"),
    line((10, 25), (90, 25), colour=BLUE, layer="L2", name="p2"),
    line((10, 5), (15, 5), colour=RED, layer="L3", name="p3"),
]


@pytest.mark.parametrize("told", ROLES.values(), ids=ROLES)
def test_a_person_says_which_line_is_what(told: tuple[Told, ...]) -> None:
    assert {str(each).split(" (")[0] for each in line_roles.sort_out(PLAIN).untold} == {"1 outline", "1 open line"}
    (piece,) = drawn(list(PLAIN), told=told)
    assert Polygon(piece.piece.ring).area == 5000


SQUARE: Ring = ((0, 0), (100, 0), (100, 50), (0, 50))
ACROSS = line((10, 25), (90, 25), said=Layer.GRAIN)
WRONG: dict[str, tuple[Callable[[], object], str]] = {
    "no outline": (lambda: drawn([ACROSS]), "it has no cut line or sewing line"),
    "open": (lambda: drawn([line(*SQUARE, said=Layer.CUT), ACROSS]), "a cut line is open: its ends are 50 mm apart"),
    "a point": (lambda: drawn([line((1, 1), said=Layer.CUT)]), "a cut line is one point, 1 mm across and 1 mm up"),
    "crossing": (lambda: drawn([ring((0, 0), (9, 9), (9, 0), (0, 9))]), "the outline crosses itself"),
    "no grain": (lambda: drawn([ring(*SQUARE)]), "no grain line is drawn"),
    "a grain of one point": (lambda: drawn([ring(*SQUARE), line((1, 1), said=Layer.GRAIN)]), "a grain line is one point"),
    "two grains": (lambda: drawn([ring(*SQUARE), ACROSS, UP]), "two grain lines run 90° apart"),
    "no side on the fold": (
        lambda: drawn([ring(*SQUARE), ACROSS, line((0, 0), (30, 40), said=Layer.FOLD)]),
        "no straight side of it runs along its fold line",
    ),
    "a fold of one point": (lambda: drawn([ring(*SQUARE), ACROSS, line((0, 0), (0, 0.5), said=Layer.FOLD)]), "its fold line"),
    "two sewing lines": (
        lambda: drawn([ring(*SQUARE), ACROSS, *[ring((5, 5), (9, 5), (9, 9), said=Layer.SEWING)] * 2]),
        "it has 2 sewing lines",
    ),
    "an open sewing line": (
        lambda: drawn([ring(*SQUARE), ACROSS, line((5, 5), (9, 5), (9, 9), said=Layer.SEWING)]),
        "its sewing line is open",
    ),
    "a sewing line outside": (
        lambda: drawn([ring(*SQUARE), ACROSS, ring((5, 5), (200, 5), (9, 40), said=Layer.SEWING)]),
        "its sewing line runs outside its cut line",
    ),
    "names": (lambda: drawn([ring(*SQUARE), ACROSS], HowDrawn(names=("a", "b"))), "2 names are told for 1 outlines"),
    "a stray": (
        lambda: drawn([ring(*SQUARE), ring((300, 0), (400, 0), (400, 50)), line((200, 0), (200, 5), said=Layer.NOTCH)]),
        "a notch 200 mm across and 2 mm up lies 100 mm from every outline",
    ),
    "no such layer": (lambda: drawn(list(PLAIN), told=(Told(Layer.CUT, By.LAYER, "cuts"),)), "no line has the layer 'cuts'"),
}


@pytest.mark.parametrize(("wrong", "said"), WRONG.values(), ids=WRONG)
def test_what_cannot_be_a_piece_is_refused(wrong: Callable[[], object], said: str) -> None:
    with pytest.raises(Refused) as refused:
        wrong()
    assert said in refused.value.what


def test_all_pieces_of_a_drawing_come_in_or_none(room: Workroom, stash_file: Path) -> None:
    two = drawn([ring(*SQUARE, group="front"), ring((300, 0), (400, 0), (400, 50), group="back")], HowDrawn(grain_angle=0))
    before = whole_stash(stash_file)
    with pytest.raises(Refused, match="has a piece 'front' already"):
        drawn_pieces.keep(room, "apron", two[::-1])
    assert whole_stash(stash_file) == before


PIECE_ROWS = {
    '{"pattern": "p", "piece": "q"}': "row 1, corners: it is empty",
    '{"pattern": "p", "piece": "q", "corners": [[0, 0], [9, 9], [9, 0], [0, 9]]}': "row 1: the outline crosses itself",
    '{"pattern": "p", "piece": "q", "corners": [[0,0],[90,0],[0,90]], "drawn": "both"}': "row 1, drawn: 'both' is none",
    '{"pattern": "p", "piece": "q", "corners": [[0,0],[90,0],[0,90]], "allowance": "wide"}': "row 1, allowance: 'wide' is no",
    '{"pattern": "p", "piece": "q", "corners": [[0,0],[90,0],[0,90]], "allowance": 900}': "row 1: q: allowance is 900",
    '{"pattern": "p", "piece": "q", "corners": [[0,0],[90,0],[0,90]], "count": 2.5}': "row 1, count: 2.5 is no whole number",
    '{"pattern": "p", "piece": "q", "corners": [[0,0],[90,0],[0,90]], "one way": "perhaps"}': "row 1, one way: 'perhaps' is",
    '{"pattern": "p", "piece": "q", "corners": [[0,0],[90,0],[0,90]], "edges": "a; b"}': "row 1, edges: 2 names for 3 sides",
    '{"pattern": "p", "piece": "q", "corners": [[0,0],[90,0],[0,90]], "edges": [{"name": "a"}]}': "row 1, edges: [{'name'",
    '{"pattern": "p", "piece": "q", "corners": [[0,0],[90,0],[0,90]], "notches": [{"edge": "x", "at": 3}]}': "row 1",
    '{"pattern": "p", "piece": "q", "corners": [[0,0],[90,0],[0,90]], "joins": [{"line": [[0,0]]}]}': "row 1, joins: [{'line'",
    '{"pattern": "p", "piece": "q", "corners": [[0,0],[90,0],[0,90]], "fold": "hem"}': "row 1: there is no edge 'hem'",
    '{"pattern": "p", "piece": "q", "corners": [[0,0],[90,0],[0,90]], "grain angle": "inf"}': "row 1: the grain angle is inf",
    '{"pattern": "apron", "piece": "Front", "corners": [[0,0],[90,0],[0,90]]}': "row 1, piece: apron has a piece",
    '{"pattern": "p", "piece": "q", "corners": [[0,0],[90,0],[0,90]], "drawn": "cut", "cut line": [[0,0],[9,0],[0,9]]}': (
        "row 1, cut line: the corners are on the cut line already"
    ),
}


@pytest.mark.parametrize(("row", "said"), PIECE_ROWS.items(), ids=range(len(PIECE_ROWS)))
def test_each_fault_in_a_table_of_pieces_is_told_by_row(
    room: Workroom, stash_file: Path, reading: Reading, row: str, said: str
) -> None:
    before = whole_stash(stash_file)
    good = '{"pattern": "p", "piece": "good", "corners": [[0,0],[90,0],[0,90]]}'
    done = piece_lists.add(room, f"{row}\n{good}\n", reading)
    assert str(done.faults[0]).startswith(said), done.faults[0]
    assert done.pieces == ()
    assert whole_stash(stash_file) == before


def test_a_remnant_shows_its_grain_by_its_selvedge_or_is_refused(room: Workroom) -> None:
    linen(room, "wool")
    lines = [ring(*SQUARE, said=Layer.REMNANT), ring((10, 10), (20, 10), (20, 20), said=Layer.HOLE)]
    with pytest.raises(Refused, match="neither a grain line nor a selvedge"):
        drawn_remnants.remnants(found.FoundDrawing(lines=tuple(lines)), lines)
    lines.append(line((100, 0), (100, 50), said=Layer.SELVEDGE))
    (one,) = drawn_remnants.remnants(found.FoundDrawing(lines=tuple(lines)), lines)
    assert (one.grain_angle, one.grain_by) == (90, "selvedge")
    lines.append(line((50, 20), (60, 20), said=Layer.SELVEDGE))
    with pytest.raises(Refused, match="does not lie on the rim"):
        drawn_remnants.remnants(found.FoundDrawing(lines=tuple(lines)), lines)
    flaw = [*lines[:3], ring((50, 20), (60, 20), (60, 30), said=Layer.FLAW, layer="odd")]
    with pytest.raises(Refused, match="what is wrong at a flaw"):
        drawn_remnants.remnants(found.FoundDrawing(lines=tuple(flaw)), flaw)
