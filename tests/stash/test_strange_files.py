"""Files from strangers: what is no plain file, too large, or beyond its folder is refused before it is read."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from stash import drawing_files, strange_files
from stash.refusals import Refused


def test_what_is_no_plain_file_is_not_read(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.svg")
    (tmp_path / "empty.svg").write_bytes(b" \n")
    with (tmp_path / "large.svg").open("wb") as large:
        large.truncate(strange_files.MOST_BYTES + 1)
    for name, said in (
        ("none.svg", "is not there"),
        ("pipe.svg", "is no plain file"),
        (".", "is no plain file"),
        ("empty.svg", "is empty"),
        ("large.svg", "holds more than 16 MB"),
        ("a\0b.svg", "is not there"),
        ("x" * 300 + ".svg", "is not there"),
    ):
        with pytest.raises(Refused) as refused:
            strange_files.contents(tmp_path / name)
        assert said in refused.value.what or "cannot be read" in refused.value.what


def test_nothing_beyond_the_folder_is_found_by_name_or_by_link(tmp_path: Path) -> None:
    folder = tmp_path / "scraps"
    (folder / "more").mkdir(parents=True)
    (tmp_path / "secret.svg").write_text("<svg/>")
    (folder / "link.svg").symlink_to(tmp_path / "secret.svg")
    (folder / "away").symlink_to(tmp_path)
    assert strange_files.inside(folder, "a.svg") == folder.resolve() / "a.svg"
    assert strange_files.inside(folder, "more/../a.svg") == folder.resolve() / "a.svg"
    for name in ("../secret.svg", "link.svg", "away/secret.svg", str(tmp_path / "secret.svg"), ".", "", "more/../..", "a\0b"):
        with pytest.raises(Refused, match="does not lie in the folder"):
            strange_files.inside(folder, name)


@pytest.mark.parametrize(
    ("name", "said", "more"),
    [
        ("a.png", "is no drawing that can be read", {}),
        ("a.svg", "0 mm is no distance", {"within": 0.0}),
        ("a.svg", "nan mm is no distance", {"within": float("nan")}),
        ("a.svg", "a unit of 0 mm is none", {"unit": 0.0}),
        ("a.svg", "a unit of inf mm is none", {"unit": float("inf")}),
    ],
)
def test_a_drawing_is_asked_for_sensibly(tmp_path: Path, name: str, said: str, more: dict[str, float]) -> None:
    with pytest.raises(Refused) as refused:
        drawing_files.read(tmp_path / name, **more)  # type: ignore[arg-type]
    assert said in refused.value.what
