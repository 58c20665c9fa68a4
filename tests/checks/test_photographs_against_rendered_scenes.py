"""Photographs read, against scenes rendered with known truth. `python -m tests.benchmarks.photographs` does hundreds."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from cli.scale_paper import write_sheets
from stash.camera import reading
from stash.refusals import Refused
from stash.words import Scale

from ..benchmarks.photographs import judged
from . import scenes_rendered as scenes

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("scenes")
    write_sheets(made / "sheets.pdf", [1, 2])
    return made


def taken(scene: scenes.Scene, folder: Path, name: str) -> Path:
    file = folder / f"{name}.jpg"
    file.write_bytes(scenes.shoot(scene, scenes.printed(folder / "sheets.pdf")).jpeg())
    return file


# One sheet from straight above; one from 33 degrees; two sheets; A4; two cards; a hole on a white table.
@pytest.mark.parametrize("number", [0, 1, 2, 4, 11, 13, 24])
def test_a_scene_is_read_well(number: int, folder: Path) -> None:
    scene = scenes.drawn_by_chance(number)
    told = judged(number, scene, taken(scene, folder, str(number)))
    assert told.well, told
    assert told.out <= told.stated
    assert math.isnan(told.grain_off) or told.grain_off < 2
    assert told.grain_wanted or math.isnan(told.grain_off)


def test_what_is_stated_covers_the_card_that_misleads_most(folder: Path) -> None:
    """Of the scenes beside a card that were run, the one read worst: the grain of the wood bows what is seen of its sides."""
    scene = scenes.drawn_by_chance(208)
    told = judged(208, scene, taken(scene, folder, "208"))
    assert not told.confidently_wrong, told
    assert told.out <= told.stated < 3 * told.out


def test_a_sheet_that_does_not_lie_flat_is_refused(folder: Path) -> None:
    scene = replace(scenes.drawn_by_chance(0), curl=4.0)
    with pytest.raises(Refused, match="flat"):
        reading.read_photograph(taken(scene, folder, "curled"), Scale.SHEET)
