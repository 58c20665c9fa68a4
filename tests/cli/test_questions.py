"""Questions for whatever is missing: asked at a terminal, until they are answered, and never of a pipe."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from typing import Any

import pytest

import nesting
from cli import questions

from . import row_engine
from .conftest import Said, Type

Asked = Callable[..., Said]


@pytest.fixture
def at_the_table(stocked: Type, monkeypatch: pytest.MonkeyPatch) -> Iterator[Asked]:
    """Type a command at a terminal, then the answers to its questions; every answer must have been asked for."""
    monkeypatch.setattr(questions, "at_a_terminal", lambda: True)
    monkeypatch.setattr(nesting, "solve", row_engine.solve, raising=False)

    def type_it(*words: str, answers: tuple[str, ...] = ()) -> Said:
        left = list(answers)

        def answer(_: str) -> str:
            if not left:
                raise EOFError
            return left.pop(0)

        monkeypatch.setattr("builtins.input", answer)
        said = stocked(*words)
        assert not left, f"never asked for: {left}"
        return said

    return type_it


def shown(fent: Asked, tag: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(fent("bin", "show", tag, "--json").data)
    return found


def test_a_rough_remnant_in_four_answers(at_the_table: Asked) -> None:
    at_the_table("cloth", "add", "ecru cotton", "--fibre", "cotton", "--weight", "135")
    said = at_the_table("bin", "add", answers=("n-7", "nav", "62x40cm", "drawer 2", ""))
    assert said.status == 0, said.words
    remnant = shown(at_the_table, "N-7")
    assert (remnant["rough"], remnant["length"], remnant["width"], remnant["place"]) == (True, 620, 400, "drawer 2")
    assert remnant["cloth"]["name"] == "navy linen"


def test_a_rectangle_with_bites_and_corners(at_the_table: Asked) -> None:
    assert at_the_table("bin", "add", answers=("n-7", "b", "62x40cm", "far right: 8x5cm", "", "", "", "")).status == 0
    assert shown(at_the_table, "N-7")["area"] == 620 * 400 - 80 * 50
    assert at_the_table("bin", "add", "n-8", answers=("corners", "0,0 30,0 0,20 cm", "", "")).status == 0
    assert shown(at_the_table, "N-8")["area"] == 30_000


def test_a_question_is_asked_again_until_it_is_answered(at_the_table: Asked) -> None:
    said = at_the_table("bin", "add", answers=("n-01", "n-7", "x", "", "62cm", "62x40cm", "", ""))
    assert said.status == 0
    assert "Nothing was answered. Expected: two measures, or one of: whole, bites, corners, walk, ties." in said.words
    assert "There is a remnant N-01 already." in said.words
    assert "'x' is none of them. Expected: one of: whole, bites, corners, walk, ties." in said.words
    assert "'62cm' is not two measures." in said.words


def test_an_outline_by_ties_is_drawn_and_a_misread_one_is_read_again(at_the_table: Asked) -> None:
    sides = ("4", "42cm", "31.1", "38.6", "29", "50.6", "BD 48.9", "")
    said = at_the_table("bin", "add", answers=("n-7", "ties", *sides, "BC", "BD 49.8", "", "", "", ""))
    assert said.status == 0, said.words
    assert "One is wrong. Nothing can tell which from one spare reading" in said.words
    assert "AB 420, BC 311, CD 386, DA 290 mm; 1208 cm²." in said.words
    assert "By the tape: corners within ± 0.7 mm, area ± 3 cm²." in said.words
    drawn = said.words.split("One is wrong.")[1]
    assert all(letter in drawn for letter in "ABCD")
    remnant = shown(at_the_table, "N-7")
    assert remnant["area"] == pytest.approx(120_776, abs=20)
    assert (remnant["way"], remnant["grain_by"], remnant["face_up"]) == ("ties", "side", "right")
    assert remnant["within"] == pytest.approx(0.67, abs=0.01)
    assert "without a unit" not in said.words
    assert remnant["told"] == "AB 42cm, BC 31.1 cm, CD 38.6 cm, DA 29 cm, AC 50.6 cm, BD 49.8 cm"


def test_an_outline_by_a_walk_is_drawn_and_begun_anew_where_it_is_not_it(at_the_table: Asked) -> None:
    wrong = ("walk", "30cm", "left 120", "30", "left 120", "30", "left 120", "", "", "no")
    walk = ("walk", "42cm", "left 94", "31.1", "89", "38.6", "left 84", "29", "left 93", "", "thread 0,0 0,20 cm")
    said = at_the_table("bin", "add", answers=("n-7", *wrong, *walk, "yes", "wrong", "", ""))
    assert said.status == 0, said.words
    assert "grain ↑" in said.words
    assert "The walk of 1407 mm ended" in said.words
    remnant = shown(at_the_table, "N-7")
    assert (remnant["way"], remnant["grain_by"], remnant["grain_angle"], remnant["face_up"]) == (
        "walk",
        "pulled thread",
        90,
        "wrong",
    )


def test_a_walk_that_does_not_close_is_put_right_by_one_reading(at_the_table: Asked) -> None:
    walk = ("walk", "42cm", "left 94", "31.1", "left 89", "38.6", "left 84", "59", "left 93", "", "")
    said = at_the_table("bin", "add", answers=("n-7", *walk, "side 4 29", "", "", "", ""))
    assert said.status == 0, said.words
    assert "The walk does not close: it ends" in said.words
    assert "Read side 4 again first" in said.words or "side 4" in said.words
    assert shown(at_the_table, "N-7")["told"].endswith("29 cm, left 93")


def test_measuring_again_asks_in_every_way(at_the_table: Asked) -> None:
    ties = ("ties", "3", "30cm", "40cm", "50cm", "", "AB", "")
    said = at_the_table("bin", "measure-again", "N-01", "--by", "AK", answers=ties)
    assert said.status == 0, said.words
    assert shown(at_the_table, "N-01")["area"] == pytest.approx(60_000)
    assert at_the_table("bin", "measure-again", "N-01", "--by", "AK", answers=("30x20cm",)).status == 0
    assert shown(at_the_table, "N-01")["rough"] is False


def test_a_first_tag_is_asked_for_until_there_is_one(fent: Type, monkeypatch: pytest.MonkeyPatch) -> None:
    fent("cloth", "add", "navy linen", "--fibre", "linen", "--weight", "185")
    monkeypatch.setattr(questions, "at_a_terminal", lambda: True)
    answers = iter(("", "b1", "62x40cm", "", ""))
    monkeypatch.setattr("builtins.input", lambda _: next(answers))
    said = fent("bin", "add")
    assert "Nothing was answered. Expected: the tag" in said.words
    assert "B1 is logged: navy linen" in said.words


def test_a_bag_of_scraps_one_after_the_other(at_the_table: Asked) -> None:
    """Tag, cloth and place of the last one are proposed, and Enter takes them."""
    at_the_table("cloth", "add", "ecru cotton", "--fibre", "cotton", "--weight", "135")
    first = ("e-1", "ecru", "30x20cm", "top shelf", "y")
    second = ("n-7", "", "31x20cm", "", "yes")  # N-03 had no place
    third = ("", "", "32x20cm", "under the stairs", "y")
    fourth = ("e-2", "", "33x20cm", "", "y")
    fifth = ("", "", "34x20cm", "none", "")
    said = at_the_table("bin", "add", answers=first + second + third + fourth + fifth)
    assert said.status == 0, said.words
    logged = [line.split(", rough")[0] for line in said.words.splitlines() if "is logged" in line]
    assert logged == [
        "E-1 is logged, in top shelf: ecru cotton",
        "N-7 is logged: navy linen",
        "N-8 is logged, under the stairs: navy linen",
        "E-2 is logged, in top shelf: ecru cotton",
        "E-3 is logged: ecru cotton",
    ]


def test_breaking_off_one_of_many_keeps_those_before(at_the_table: Asked) -> None:
    said = at_the_table("bin", "add", answers=("n-7", "62x40cm", "", "y", "n-8"))
    assert said.status == 130
    assert "Stopped; N-7 is the last that was logged." in said.words
    assert "nothing was changed" not in said.words
    assert at_the_table("bin", "show", "n-7").status == 0
    assert at_the_table("bin", "show", "n-8").status == 2


def test_what_was_typed_of_one_is_not_taken_for_the_next(at_the_table: Asked) -> None:
    assert at_the_table("bin", "add", "--mass", "40g", answers=("n-7", "62x40cm", "")).status == 0


def test_nothing_is_asked_that_was_told(at_the_table: Asked) -> None:
    assert at_the_table("bin", "add", "N-7", "--cloth", "navy linen", "--size", "62x40cm").status == 0


def test_the_end_of_what_is_typed_stops_it_and_nothing_is_kept(at_the_table: Asked) -> None:
    said = at_the_table("bin", "add", answers=("n-7",))
    assert said.status == 130
    assert "Stopped; nothing was changed." in said.words
    assert at_the_table("bin", "show", "n-7").status == 2


def test_a_one_way_cloth_asks_for_the_nap(at_the_table: Asked) -> None:
    at_the_table("cloth", "add", "velvet", "--fibre", "silk", "--weight", "250", "--one-way")
    assert at_the_table("bin", "add", "v-1", "--cloth", "velvet", "--size", "30x20cm", answers=("ag",)).status == 0
    assert shown(at_the_table, "V-1")["nap"] == "against"


def test_a_cloth_a_piece_and_a_job(at_the_table: Asked) -> None:
    assert at_the_table("cloth", "add", answers=("calico", "cotton", "40x30cm: 16 g", "0.1 g")).status == 0
    assert json.loads(at_the_table("cloth", "show", "calico", "--json").data)["weight"] == pytest.approx(16 / 0.12)
    said = at_the_table("pattern", "add", answers=("bag", "gore", "", "21cm", "8cm", "2cm", "cut", "16", "1cm"))
    assert said.status == 0, said.words
    said = at_the_table("job", "add", answers=("bags", "bag/gore", "bag/gore: 4", ""))
    assert "'bag/gore' cannot be read. Expected: PATTERN/PIECE: HOW MANY" in said.words
    assert "The job bags is written down: 4 panels." in said.words


def test_cutting_asks_what_went_wrong_and_then_about_the_keepers(at_the_table: Asked) -> None:
    at_the_table("lay", "try", "wheel cushion")
    assert at_the_table("lay", "chalk", "1", answers=("AK",)).status == 0
    said = at_the_table("lay", "cut", "1", answers=("9-3", "3", "", "AK", "smaller", "12x9cm"))
    assert said.status == 0, said.words
    assert "Lay 1 is cut: 5 good panels for wheel cushion, 1 spoiled." in said.data
    keeper = shown(at_the_table, "N-01A")
    assert (keeper["rough"], keeper["length"], keeper["confirmed"]) == (True, 120, True)


@pytest.mark.parametrize(
    ("answers", "ends"),
    [
        (("AK", "yes"), "N-01A is confirmed."),
        (("AK", "env", "ne-1", "20"), "N-01A is in the envelope NE-1, which holds 20.0 g now."),
        (("AK", "thrown"), "N-01A is thrown away."),
        (("AK", "later"), ""),
    ],
)
def test_keepers_one_by_one(answers: tuple[str, ...], ends: str, at_the_table: Asked) -> None:
    for words in (("lay", "try", "wheel cushion"), ("lay", "chalk", "1", "--by", "AK")):
        at_the_table(*words)
    at_the_table("lay", "cut", "1", "--by", "AK", answers=("", "", "later"))
    said = at_the_table("bin", "keepers", answers=answers)
    assert said.status == 0, said.words
    assert ends in said.words
    assert "sum to exactly zero" in at_the_table("book", "balance").data


def test_choices() -> None:
    assert questions.chosen("2", ["all", "one by one"]) == "one by one"
    for answer, says in (("", "nothing"), ("o", "could be one or other"), ("3", "none of them")):
        with pytest.raises(questions.Unreadable, match=says):
            questions.chosen(answer, ["one", "other"])
