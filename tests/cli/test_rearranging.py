"""`fent lay change` and `fill`: told with the command or typed at a terminal, and drawn there."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

import nesting
from cli import change_words, questions
from cli.lay_sketch import SheetSketched, sheet_sketch, show
from cli.reading import Unreadable
from cli.saying import Voice
from stash.on_table import Change, Move, PutIn, Spot, TakeOut, Turn
from stash.words import Hand

from . import row_engine
from .conftest import Said, Type, fingerprint


@pytest.fixture
def tried(fent: Type, stages: dict[str, Path], workroom: Path, monkeypatch: pytest.MonkeyPatch) -> Type:
    """Ten wedges: 1 to 6 on N-02, 7 to 10 on N-03, in rows."""
    monkeypatch.setattr(nesting, "solve", row_engine.solve, raising=False)
    shutil.copy(stages["tried"], workroom)
    return fent


@pytest.fixture
def at_the_table(tried: Type, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[..., Said]]:
    """Changes typed at a terminal, one after the other, on which they are drawn; a few words for each drawing."""
    monkeypatch.setattr(questions, "at_a_terminal", lambda: True)
    monkeypatch.setattr(Voice, "draws", property(lambda voice: not voice.plain))

    def type_it(*answers: str) -> Said:
        left = list(answers)

        def answer(_: str) -> str:
            if not left:
                raise EOFError
            return left.pop(0)

        monkeypatch.setattr("builtins.input", answer)
        said = tried("lay", "change", "1", "--by", "AK")
        assert not left, f"never asked for: {left}"
        return said

    return type_it


def lies(fent: Type, lay: int) -> dict[int, tuple[float, float]]:
    """Where each panel of a lay lies on its remnant: x and y of its placement."""
    found = json.loads(fent("lay", "show", str(lay), "--json").data)["lay"]
    panels = [panel for sheet in found["sheets"] for panel in sheet["panels"]]
    return {p["number"]: (round(p["placement"]["x"], 1), round(p["placement"]["y"], 1)) for p in panels}


@pytest.mark.slow
def test_what_is_changed_is_a_lay_of_its_own(tried: Type) -> None:
    before = lies(tried, 1)
    said = tried("lay", "change", "1", "move 4-6 by 10mm right", "take out 7", "--by", "AK")
    assert said.status == 0
    assert said.data.startswith(
        "Lay 2 is lay 1 changed by hand: 9 panels for wheel cushion, 1 panel short of what the job needs."
    )
    assert "Numbers moved up: 8-10 are now 7-9." in said.words
    after = lies(tried, 2)
    assert {n: after[n] for n in (1, 2, 3)} == {n: before[n] for n in (1, 2, 3)}
    assert all(after[n] == (before[n][0] + 10, before[n][1]) for n in (4, 5, 6))
    assert lies(tried, 1) == before
    assert tried("lay", "prove", "2").status == 0


def test_what_cannot_be_is_refused_and_nothing_is_kept(tried: Type, workroom: Path) -> None:
    before = fingerprint(workroom)
    said = tried("lay", "change", "1", "take out 7", "move 5 to 240mm,10mm")
    assert said.status == 1
    assert "It cannot be done: panel 5 cannot lie so: beside 4, they overlap by " in said.words
    assert "  Where:    move 5 to 240mm,10mm\n" in said.words
    assert "  Do next:  The nearest place that works is " in said.words
    assert fingerprint(workroom) == before
    assert tried("lay", "change", "1", "take out 7", "move 5 to 240mm,10mm", "--nearest").status == 0


@pytest.mark.slow
def test_measures_are_told_as_they_are_shown(tried: Type) -> None:
    said = tried("lay", "change", "1", "move 5 to 240mm,10mm", "--show-in", "in")
    assert " in from the left and " in said.words
    assert " mm" not in said.words.replace("240mm", "")


@pytest.mark.slow
def test_a_whole_change_of_mind_at_a_terminal(at_the_table: Callable[..., Said], tried: Type) -> None:
    said = at_the_table(
        "?",
        "take out 5",
        "move 4 by 11cm far",
        "yes",
        "move 3 to 30cm,2cm",
        "no",
        "dance",
        "take out 1",
        "put back",
        "add another 4",
        "",
    )
    assert said.status == 0
    assert "take out 3,4" in said.data
    assert "'dance' is no change that is known" in said.words
    assert "Panel 4 cannot lie so: beside 6, they lie" in said.words
    assert "--nearest" not in said.words
    assert "Lay 2 is lay 1 changed by hand: 10 panels for wheel cushion." in said.data
    assert "N-02:" in said.data
    assert len(lies(tried, 2)) == 10
    assert tried("lay", "prove", "2").status == 0


@pytest.mark.slow
@pytest.mark.parametrize(
    ("answers", "status"), [(("take out 5", "put back", ""), 0), pytest.param(("take out 5",), 130, marks=pytest.mark.slow)]
)
def test_without_a_change_nothing_is_kept(
    answers: tuple[str, ...], status: int, at_the_table: Callable[..., Said], workroom: Path
) -> None:
    before = fingerprint(workroom)
    assert at_the_table(*answers).status == status
    assert fingerprint(workroom) == before


@pytest.mark.slow
def test_some_stay_and_the_rest_is_looked_for(tried: Type) -> None:
    before = lies(tried, 1)
    said = tried("lay", "fill", "1", "--fixed", "2,9", "--by", "AK")
    assert said.data.startswith("Yes: all 10 panels for wheel cushion")
    assert {before[2], before[9]} <= set(lies(tried, 2).values())


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("move 3 to 120mm,40mm", Move((3,), to=Spot(120, 40))),
        ("Move 3 to 1 1/2 in; 2in", Move((3,), to=Spot(38.1, 50.8))),
        ("move 3 to n-02 at 5mm,5mm", Move((3,), to=Spot(5, 5, "N-02"))),
        ("move 3, 4 and 7 by 10mm right", Move((3, 4, 7), by=(10, 0))),
        ("move 3-5 by 1cm left and 1/4in far", Move((3, 4, 5), by=(-10, 6.35))),
        ("turn 3", Turn((3,))),
        ("turn 3-4 head to foot", Turn((3, 4))),
        ("turn 3 by 90", Turn((3,), by=90)),
        ("turn 3 over", Turn((3,), by=0, over=True)),
        ("take out 3,4", TakeOut((3, 4))),
        ("leave out 3", TakeOut((3,))),
        ("add another 3", PutIn(like=3)),
        ("add another 3 at 12cm,4cm, head to foot", PutIn(like=3, at=Spot(120, 40), head_to_foot=True)),
        ("add another 3 on N-05 at 1cm,4cm", PutIn(like=3, at=Spot(10, 40, "N-05"))),
        (
            "add left flap on n 2 at 3mm,78mm, turned over",
            PutIn(piece="flap", hand=Hand.LEFT, at=Spot(3, 78, "N 2"), turned_over=True),
        ),
    ],
)
def test_a_change_as_it_is_typed(text: str, expected: Change) -> None:
    assert change_words.change(text) == expected


@pytest.mark.parametrize(
    "text",
    [
        "",
        "move",
        "move 3",
        "move 3 to there",
        "move 3 by 5mm",
        "turn x",
        "take out",
        "add another",
        "add another 3 on N-05",
        "add lay 3",
    ],
)
def test_what_is_no_change_says_what_is(text: str) -> None:
    with pytest.raises(Unreadable) as refused:
        change_words.change(text)
    assert refused.value.expected


SQUARES = {n: ((x, 0.0), (x + 100, 0.0), (x + 100, 100.0), (x, 100.0)) for n, x in ((1, 0.0), (27, 100.0), (305, 200.0))}
SHEET = ((0.0, 0.0), (400.0, 0.0), (400.0, 100.0), (0.0, 100.0))


@pytest.mark.parametrize("plain", [True, False])
def test_the_small_drawing_has_every_number_in_its_panel(plain: bool) -> None:
    hole = ((320.0, 30.0), (380.0, 30.0), (380.0, 70.0), (320.0, 70.0))
    drawn = sheet_sketch(SheetSketched(SHEET, SQUARES, (hole,)), plain=plain)
    assert len({line[0] for line in drawn}) == 1
    assert max(map(len, drawn)) <= 2 + 72
    assert len(drawn) <= 18
    assert all(line.isascii() for line in drawn) == plain
    wide = max(map(len, drawn)) - 2
    for number, mark in ((1, "1"), (27, "27"), (305, "305"), (None, "x")):
        row = next(line for line in drawn if mark in line)
        at = row.index(mark) - 2 + len(mark) / 2
        low, high = (SQUARES[number][0][0], SQUARES[number][1][0]) if number else (300.0, 400.0)
        assert low < 400 * at / wide < high


def test_a_sheet_of_120_panels_is_drawn_so_large_that_all_numbers_stand(capsys: pytest.CaptureFixture[str]) -> None:
    cells = [(112.0 * (n % 12), 84.0 * (n // 12)) for n in range(120)]
    panels = {n: ((x, y), (x + 110, y), (x + 110, y + 82), (x, y + 82)) for n, (x, y) in enumerate(cells, 1)}
    sheet = SheetSketched(((0.0, 0.0), (1344.0, 0.0), (1344.0, 840.0), (0.0, 840.0)), panels)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COLUMNS", "80")
        show(Voice(), sheet)
    drawn = capsys.readouterr().out
    assert sorted(int(number) for number in re.findall(r"[0-9]+", drawn)) == list(range(1, 121))


def test_numbers_that_have_no_room_are_left_out() -> None:
    slivers = {n: ((x, 0.0), (x + 2, 0.0), (x + 2, 100.0), (x, 100.0)) for n, x in ((1, 10.0), (2, 12.0))}
    drawn = sheet_sketch(SheetSketched(SHEET, slivers), plain=True)
    assert not any(figure in line for line in drawn for figure in "12")


@pytest.mark.parametrize(
    ("plain", "json_"),
    [(True, False), pytest.param(False, False, marks=pytest.mark.slow), pytest.param(False, True, marks=pytest.mark.slow)],
)
def test_it_is_drawn_for_no_pipe_and_not_where_all_is_plain(
    plain: bool, json_: bool, tried: Type, monkeypatch: pytest.MonkeyPatch
) -> None:
    words = ("lay", "show", "1", *(["--plain"] if plain else []), *(["--json"] if json_ else []))
    assert "the grain from left to right" not in tried(*words).data
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    assert ("the grain from left to right" in tried(*words).data) == (not plain and not json_)
