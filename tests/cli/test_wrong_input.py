"""Wrong input: exit status 2, what was wrong, where, what was expected; the stash is not touched; never a traceback."""

from __future__ import annotations

from pathlib import Path

import pytest

from .conftest import Type, fingerprint

ADD = ("bin", "add", "N-99", "--cloth", "navy linen")
PIECE = ("pattern", "add", "cushion", "band")
JOB = ("job", "add", "another job")
CLOTH = ("cloth", "add", "green linen")

# what was typed · what must be said of it (each in the words that are shown)
WRONG: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "no such noun": (("remnant", "list"), ("no command 'remnant'", "fent --help")),
    "no such verb": (("bin", "lst"), ("no command 'lst'", "fent bin --help")),
    "no such option": (("bin", "list", "--color", "red"), ("--color", "fent bin list --help")),
    "nothing after an option": ((*ADD, "--size"), ("--size", "fent bin add --help")),
    "a tag is missing": (("bin", "add", "--cloth", "navy linen"), ("TAG is missing", "the tag that is pinned to it")),
    "the cloth is missing": (("bin", "add", "N-99", "--size", "3 x 4"), ("--cloth is missing", "which cloth it is")),
    "no outline": (ADD, ("the outline is not told", "--size", "--points")),
    "two outlines": ((*ADD, "--size", "3x4", "--points", "0,0 5,0 5,5"), ("told twice", "either --size")),
    "not a length": ((*ADD, "--size", "wide x 40cm"), ("'wide' cannot be read", "--size", "a length such as")),
    "a length of nothing": ((*ADD, "--size", "0 x 40"), ("nothing at all", "--size", "greater than 0")),
    "less than nothing": ((*ADD, "--size", "-3 x 40"), ("less than nothing", "--size")),
    "one measure only": ((*ADD, "--size", "62cm"), ("not two measures", "--size", "62cm x 40cm")),
    "a unit on one of two": ((*ADD, "--size", "62cm x 40"), ("'40' has no unit", "--size")),
    "can be read two ways": ((*ADD, "--size", "1,250 x 300"), ("two ways", "1250", "--size")),
    "a weight for a length": (
        ("cloth", "add", "x", "--fibre", "linen", "--weight", "185", "--width", "3 kg"),
        ("'kg'", "--width", "mm, cm, m, in"),
    ),
    "corners that cannot be read": ((*ADD, "--points", "0,0 31,0 31"), ("corner 3", "--points", "0,0 310,0")),
    "two corners": ((*ADD, "--points", "0,0 31,0"), ("outline",)),
    "crossed like a bow": ((*ADD, "--points", "0,0 30,20 30,0 0,20 cm"), ("cross", "outline")),
    "no such corner": ((*ADD, "--size", "30x20cm", "--bite", "top right: 3cm x 4cm"), ("top right", "--bite", "far right")),
    "a bite too large": ((*ADD, "--size", "30x20cm", "--bite", "far right: 31cm x 4cm"), ("bite",)),
    "no such kind of fault": (
        (*ADD, "--size", "30x20cm", "--fault", "rust: 3cm at 4cm,4cm"),
        ("'rust'", "--fault", "hole, thin, stain"),
    ),
    "a fault without a place": ((*ADD, "--size", "30x20cm", "--fault", "hole"), ("--fault", "4cm at 10cm,12cm")),
    "a fault off the cloth": ((*ADD, "--size", "30x20cm", "--fault", "hole: 300,300 400,300 400,400 cm"), ("hole",)),
    "no such edge": ((*ADD, "--size", "30x20cm", "--edges", "frayed"), ("'frayed'", "--edges", "selvedge, cut, raw")),
    "three edges of four": ((*ADD, "--size", "30x20cm", "--edges", "cut; raw; cut"), ("3", "4")),
    "no such cloth": (("bin", "add", "N-99", "--cloth", "navy lnen", "--size", "3x4cm"), ("'navy lnen'", "navy linen")),
    "a tag in use": (("bin", "add", "n-01", "--cloth", "navy linen", "--size", "30x20cm"), ("N-01", "already")),
    "weighs nothing": ((*ADD, "--size", "30x20cm", "--mass", "0 g"), ("nothing at all", "--mass", "greater than 0")),
    "no such source": (
        (*ADD, "--size", "30x20cm", "--source", "stolen"),
        ("'stolen'", "--source", "bought, given, found, unpicked"),
    ),
    "fibres not all of it": ((*CLOTH, "--fibre", "60% linen, 30% cotton", "--weight", "180"), ("90", "100")),
    "no such fibre": ((*CLOTH, "--fibre", "lnen", "--weight", "180"), ("'lnen'", "linen")),
    "a weight without its area": ((*CLOTH, "--fibre", "linen", "--weight", "8 oz"), ("'oz'", "--weight", "oz/yd2")),
    "a cloth in use": (("cloth", "add", "Navy Linen", "--fibre", "linen", "--weight", "180"), ("navy linen", "already")),
    "half a taper": ((*PIECE, "--length", "20cm", "--wide", "8cm"), ("--narrow missing", "--points")),
    "taper and corners": ((*PIECE, "--length", "20cm", "--points", "0,0 1,0 1,1"), ("--length", "--points")),
    "no such ends": (
        (*PIECE, "--length", "20cm", "--wide", "8cm", "--narrow", "2cm", "--ends", "round"),
        ("'round'", "--ends", "trued, straight"),
    ),
    "two allowances of four": ((*PIECE, "--points", "0,0 9,0 9,9 0,9 cm", "--allowance", "1cm; 2cm"), ("allowance", "4")),
    "a piece in use": (("pattern", "add", "cushion", "wedge", "--points", "0,0 9,0 9,9 cm"), ("wedge", "already")),
    "a job without a count": ((*JOB, "--piece", "cushion/wedge"), ("'cushion/wedge'", "--piece", "cushion/wedge: 16")),
    "a job for none": ((*JOB, "--piece", "cushion/wedge: 0"), ("0",)),
    "no such piece": ((*JOB, "--piece", "cushion/wegde: 4"), ("'wegde'", "wedge")),
    "no such job": (("lay", "try", "weel cushion"), ("'weel cushion'", "wheel cushion")),
    "no time to look": (("lay", "try", "wheel cushion", "--seconds", "0"), ("'0'", "--seconds", "more than 0")),
    "no such tag to keep to": (("lay", "try", "wheel cushion", "--only", "N-77"), ("'N-77'",)),
    "no such lay": (("lay", "show", "7"), ("no lay 7",)),
    "a lay that is no number": (("lay", "show", "seven"), ("'seven' is not a whole number", "LAY")),
    "no kind of picture": (("bin", "picture", "bin.bmp"), ("'bin.bmp'", "FILE", ".png, .pdf, .svg")),
    "no such folder": (("bin", "picture", "nowhere/bin.png"), ("no such folder", "FILE")),
    "no such unit to show": (("bin", "list", "--show-in", "ell"), ("'ell'", "--show-in", "mm, cm, m, in")),
    "no such state": (("lay", "list", "--state", "gone"), ("'gone'", "--state", "tried, chalked, cut, rubbed out")),
    "apart without a reason": (("bin", "quarantine", "N-01", "--by", "AK"), ("--why is missing",)),
}


@pytest.mark.parametrize("name", WRONG)
def test_wrong_input_is_refused_and_nothing_changes(name: str, stocked: Type, workroom: Path) -> None:
    typed, expected = WRONG[name]
    before = fingerprint(workroom)
    said = stocked(*typed)
    assert said.status == 2, said.words
    for words in expected:
        assert words.lower() in said.words.lower(), said.words
    assert said.data == ""
    assert fingerprint(workroom) == before


def test_there_are_twenty_kinds_and_more() -> None:
    assert len(WRONG) >= 20


def test_nothing_is_written_over_unless_told(stocked: Type, tmp_path: Path) -> None:
    file = tmp_path / "bin.png"
    file.write_text("mine")
    said = stocked("bin", "picture", str(file))
    assert said.status == 2
    assert "--write-over" in said.words
    assert file.read_text() == "mine"
    assert stocked("bin", "picture", str(file), "--write-over").status == 0
    assert file.read_bytes().startswith(b"\x89PNG")


def test_a_workroom_that_is_not_there_is_not_made_by_looking(fent: Type, workroom: Path) -> None:
    said = fent("bin", "list")
    assert said.status == 2
    assert str(workroom) in said.words
    assert not workroom.exists()


def test_a_file_that_is_no_stash(fent: Type, workroom: Path) -> None:
    workroom.write_text("dear diary, " * 100)
    said = fent("bin", "list")
    assert said.status == 2
    assert workroom.read_text() == "dear diary, " * 100
