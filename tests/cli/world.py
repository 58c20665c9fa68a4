"""An invented workroom for the examples in the help texts and for the tour: how it stands after each step of a job.

The search is the stand-in of `row_engine`, so that the same lay comes out every time.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

import nesting
from cli.main import run

from . import row_engine

TABLE = """\
tag,cloth,kind,length,width,mass,place
N-21,navy linen,,58cm,31cm,,drawer 2
N-22,navy linen,rectangle,24 1/2 in,16 in,,drawer 2
NE-2,navy linen,envelope,,,86 g,top shelf
"""

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
    return found
