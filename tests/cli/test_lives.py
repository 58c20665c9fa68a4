"""`fent bin life` and `fent cloth life`: the tree and the picture."""

from __future__ import annotations

import json
import re
import shutil
from itertools import combinations
from pathlib import Path

import pytest
from shapely import box

from cli import life_picture
from cli.shown import Shown
from stash import Workroom, lives

from .conftest import Type
from .test_reporting import year as year


@pytest.fixture
def in_the_year(fent: Type, year: Path, workroom: Path) -> Type:
    shutil.copy(year, workroom)
    return fent


def test_a_tree_stands_in_step_by_step(in_the_year: Type) -> None:
    measured = json.loads(in_the_year("book", "list", "--what", "measured again", "--json").data)
    tag = measured[0]["lines"][0]["remnant"]
    said = in_the_year("bin", "life", tag)
    assert said.status == 0
    lines = said.data.splitlines()
    assert lines[0].startswith(f"{tag[:5]}: ")
    assert re.fullmatch(r"  2025-\d\d-\d\d logged \w+", lines[1])
    (mine,) = [line for line in lines if line.endswith("← this one")]
    assert re.match(rf" *{tag}: \d", mine)
    assert [line for line in lines if re.search(r"measured again: .* before, .* after \(not quite as computed\)", line)]
    text = in_the_year("bin", "life", tag, "--json").data
    assert text.count('"asked": true') == 1


def test_at_a_terminal_it_is_drawn_with_lines(in_the_year: Type, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    said = in_the_year("cloth", "life", "slate linen")
    assert "├── " in said.data
    assert "└── " in said.data


def test_nothing_in_the_picture_lies_on_another(year: Path) -> None:
    with Workroom.open(year) as opened:
        page = life_picture.life_page("A life", lives.of_cloth(opened, "slate linen"), Shown())
    words = [box(w.place.x, w.place.y, w.place.x + w.place.width, w.place.y + w.place.height) for w in page.words]
    assert len(words) > 50
    for word in words:
        assert box(0, 0, page.width, page.height).covers(word)
    assert not [(a, b) for a, b in combinations(words, 2) if a.intersection(b).area > 0.35 * min(a.area, b.area)]


def test_a_cloth_of_which_there_is_nothing(stocked: Type, tmp_path: Path) -> None:
    stocked("cloth", "add", "silk", "--fibre", "silk", "--weight", "60 g/m2")
    said = stocked("cloth", "life", "silk", "--picture", "none.png")
    assert (said.status, said.data, said.words) == (0, "", "Nothing has come of it yet.\n")
    assert not (tmp_path / "none.png").exists()
