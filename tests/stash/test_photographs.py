"""Photographs: kept by their content, without the place where they were taken; missing and swapped ones are found."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from stash import Workroom, audit, photographs
from stash.audit import Damage
from stash.refusals import CannotBeDone, Refused, Unknown

from .scenes import linen, scrap


def stock(workroom: Workroom) -> None:
    linen(workroom)
    scrap(workroom)


@pytest.fixture
def bin_(stocked: Workroom, monkeypatch: pytest.MonkeyPatch) -> Workroom:
    monkeypatch.delenv("FENT_PHOTOGRAPHS", raising=False)
    return stocked


def shot(folder: Path, name: str = "shot.jpg", colour: str = "blue") -> Path:
    """A photograph as a phone writes it: lying on its side, with the place where it was taken."""
    picture = Image.new("RGB", (60, 40), colour)
    picture.putpixel((0, 0), (255, 255, 255))
    exif = Image.Exif()
    exif[0x0112] = 6  # orientation: turn it by a quarter
    exif[0x010F] = "SECRET PHONE"
    exif.get_ifd(0x8825)[1] = "N"
    picture.save(folder / name, exif=exif)
    return folder / name


def test_it_is_kept_upright_and_without_its_place(bin_: Workroom, tmp_path: Path) -> None:
    file = shot(tmp_path)
    assert b"SECRET PHONE" in file.read_bytes()
    kept = photographs.keep(bin_, "l1", file, by="MB", note="the stain")
    copy = Path(kept.file)
    assert copy.parent == tmp_path / "workroom.photographs"
    assert photographs.name_of(copy.read_bytes(), ".jpg") == copy.name
    with Image.open(copy) as opened:
        assert opened.size == (40, 60)
        assert not opened.getexif()
    assert b"SECRET PHONE" not in copy.read_bytes()
    assert photographs.of(bin_, "L1") == (kept,)
    assert (kept.remnant, kept.note, kept.kept_by) == ("L1", "the stain", "MB")
    assert audit.audit(bin_).clean
    assert audit.audit(bin_).photographs == 1


def test_the_same_photograph_twice_is_one_file(bin_: Workroom, tmp_path: Path) -> None:
    for _ in range(2):
        photographs.keep(bin_, "L1", shot(tmp_path), by="MB")
    assert len(list((tmp_path / "workroom.photographs").iterdir())) == 1
    assert len(photographs.of(bin_, "L1")) == 2


def test_one_that_is_gone_and_one_that_was_swapped_are_found(bin_: Workroom, tmp_path: Path) -> None:
    one = Path(photographs.keep(bin_, "L1", shot(tmp_path), by="MB").file)
    other = Path(photographs.keep(bin_, "L1", shot(tmp_path, "other.png", "red"), by="MB").file)
    other.write_bytes(shot(tmp_path, "third.png", "green").read_bytes())
    one.unlink()
    found = [(fault.damage, fault.place) for fault in audit.audit(bin_).faults]
    assert found == [(Damage.PHOTOGRAPH_MISSING, "remnant L1"), (Damage.PHOTOGRAPH_CHANGED, "remnant L1")]


def test_a_folder_that_is_named(bin_: Workroom, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FENT_PHOTOGRAPHS", str(tmp_path / "elsewhere"))
    kept = photographs.keep(bin_, "L1", shot(tmp_path), by="MB")
    assert Path(kept.file).parent == tmp_path / "elsewhere"


def test_what_is_refused(bin_: Workroom, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "letter.jpg").write_text("dear diary")
    Image.new("RGB", (5, 5)).save(tmp_path / "drawn.bmp")
    for name, what in (
        ("letter.jpg", "cannot be read as a picture"),
        ("none.jpg", "cannot be read"),
        ("drawn.bmp", "another kind"),
    ):
        with pytest.raises(Refused, match=what):
            photographs.keep(bin_, "L1", tmp_path / name, by="MB")
    with pytest.raises(Refused, match="initials"):
        photographs.keep(bin_, "L1", shot(tmp_path), by=" ")
    with pytest.raises(Unknown):
        photographs.keep(bin_, "L9", shot(tmp_path), by="MB")
    monkeypatch.setattr(photographs, "folder_of", lambda workroom: None)
    with pytest.raises(CannotBeDone, match="no folder"):
        photographs.keep(bin_, "L1", shot(tmp_path), by="MB")
    assert not (tmp_path / "workroom.photographs").exists()
