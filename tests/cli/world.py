"""An invented workroom for the examples in the help texts and for the tour: how it stands after each step of a job.

The search is the stand-in of `row_engine`, so that the same lay comes out every time.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

import nesting
from cli.main import run

from .. import photographed
from . import row_engine

TABLE = """\
tag,cloth,kind,length,width,mass,place
N-21,navy linen,,58cm,31cm,,drawer 2
N-22,navy linen,rectangle,24 1/2 in,16 in,,drawer 2
NE-2,navy linen,envelope,,,86 g,top shelf
"""
APRON = """\
<svg xmlns="http://www.w3.org/2000/svg" width="260mm" height="320mm" viewBox="0 0 260 320">
  <g id="bib">
    <path d="M 20 10 H 240 V 290 H 20 Z" fill="none" stroke="black"/>
    <path d="M 130 250 V 60" stroke="blue"/>
    <path d="M 20 150 h 5" stroke="red"/>
  </g>
</svg>
"""
SCRAPS = """\
<svg xmlns="http://www.w3.org/2000/svg" width="320mm" height="220mm" viewBox="0 0 320 220">
  <g id="outline"><rect x="10" y="10" width="300" height="200" fill="none" stroke="black"/></g>
  <g id="hole"><circle cx="100" cy="100" r="10" fill="none" stroke="red"/></g>
  <g id="stain"><rect x="200" y="100" width="20" height="10" fill="none" stroke="green"/></g>
  <g id="selvedge"><path d="M 10 210 H 310" stroke="blue"/></g>
  <g id="edge"><path d="M 10 10 H 310" stroke="brown"/></g>
</svg>
"""
PIECES = """\
pattern,piece,corners,allowance,edges,notches,count
bag,strap,"0,0 60,0 60,8 0,8 cm",1cm,,,2
bag,pocket,"0,0 20,0 20,18 0,18 cm",1cm; top: 3cm,bottom; right; top; left,right at 9cm,1
"""
FILES = {"remnants.csv": TABLE, "pieces.csv": PIECES, "apron.svg": APRON, "scraps.svg": SCRAPS}
"""What lies beside the stash, by name."""

BITE = "far right: 12cm x 9cm"
SHRINKS = ("--shrinks-warp", "5%", "--shrinks-weft", "3%")
FLAT = ("--points", "0,0 31,0 31,18 0,16 cm", "--allowance", "1cm")
TAPER = ("--length", "21cm", "--wide", "84mm", "--narrow", "2cm", "--allowance", "1cm")
STEPS: dict[str, tuple[tuple[str, ...], ...]] = {
    "stocked": (
        ("cloth", "add", "navy linen", "--fibre", "linen", "--weight", "185 g/m2", "--colour", "navy", "--faces-alike"),
        ("book", "currency", "EUR"),
        ("cloth", "add", "ecru cotton", "--fibre", "cotton", "--weight", "135 g/m2", "--colour", "ecru", *SHRINKS),
        ("bin", "add", "N-01", "--cloth", "navy linen", "--size", "30cm x 20cm", "--place", "drawer 1"),
        ("bin", "add", "N-02", "--cloth", "navy linen", "--size", "62cm x 40cm", "--place", "drawer 2"),
        ("bin", "add", "N-03", "--cloth", "navy linen", "--size", "58cm x 31cm", "--place", "drawer 3"),
        ("bin", "add", "N-04", "--cloth", "navy linen", "--size", "23cm x 17cm", "--place", "drawer 4", "--rough"),
        ("bin", "add", "N-05", "--cloth", "navy linen", "--size", "52cm x 34cm", "--place", "drawer 1", "--bite", BITE),
        ("bin", "add", "E-01", "--cloth", "ecru cotton", "--size", "70cm x 50cm", "--place", "top shelf"),
        ("envelope", "add", "NE-1", "--cloth", "navy linen", "--mass", "86 g", "--place", "top shelf"),
        ("pattern", "add", "cushion", "wedge", *TAPER),
        ("pattern", "add", "bag", "body", *FLAT, "--join", "0,9 31,9 cm: 1cm"),
        ("pattern", "add", "bag", "lining", "--points", "0,0 31,0 31,18 0,16 cm", "--allowance", "1cm"),
        ("pattern", "sew", "bag", "body/side 1", "lining/side 1", "--face-to-face"),
        ("job", "add", "summer bag", "--piece", "bag/body: 2", "--cloth", "ecru cotton", "--washed"),
        ("job", "add", "wheel cushion", "--piece", "cushion/wedge: 10", "--fibre", "linen"),
    ),
    "tried": (("lay", "try", "wheel cushion"),),
    "chalked": (("lay", "chalk", "1", "--by", "AK"),),
    "cut": (("lay", "cut", "1", "--by", "AK"),),
}


STRIPED: tuple[tuple[str, ...], ...] = (
    ("cloth", "mend", "navy linen", "--repeat-across", "50mm", "--why", "looked closer", "--by", "AK"),
    ("cloth", "mend", "ecru cotton", "--repeat-along", "30mm", "--why", "looked closer", "--by", "AK"),
    ("bin", "bars", "N-03", "--near", "18mm", "--by", "AK"),
    (
        "pattern",
        "add",
        "apron",
        "band",
        "--points",
        "0,0 30,0 30,11 0,11 cm",
        "--anchor",
        "centre line",
        *("--allowance", "1cm"),
    ),
    ("job", "add", "apron", "--piece", "apron/band: 1", "--cloth", "navy linen"),
)
"""The stocked workroom once it is seen that its linen has a stripe."""


def lay_out_files(folder: Path) -> None:
    """Put the files that the examples and the tour name into a folder."""
    for name, text in FILES.items():
        (folder / name).write_text(text, encoding="utf-8")
    (folder / "drawer-3").mkdir(exist_ok=True)
    for name in ("N-31.jpg", "drawer-3/N-32.jpg"):
        (folder / name).write_bytes(photographed.jpeg(hole=()))


def build(folder: Path) -> dict[str, Path]:
    """Make the workroom; its stash as it stands after each stage."""
    found: dict[str, Path] = {}
    file = folder / "stash.fent"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(nesting, "solve", row_engine.solve, raising=False)
        patch.setenv("FENT_HABITS", str(folder / "none.toml"))
        for stage, steps in STEPS.items():
            for words in steps:
                status = run([*words, "--workroom", str(file)])
                assert status == 0, words
            found[stage] = folder / f"{stage}.fent"
            shutil.copy(file, found[stage])
        for stage, words in {
            "quarantined": ("bin", "quarantine", "N-04", "--why", "moth in the fold", "--by", "AK"),
            "lost": ("bin", "not-there", "N-02", "--by", "AK"),
        }.items():
            shutil.copy(found["chalked"], file)
            assert run([*words, "--workroom", str(file)]) == 0, words
            found[stage] = folder / f"{stage}.fent"
            shutil.copy(file, found[stage])
        shutil.copy(found["stocked"], file)
        for words in STRIPED:
            assert run([*words, "--workroom", str(file)]) == 0, words
        found["striped"] = folder / "striped.fent"
        shutil.copy(file, found["striped"])
    return found
