"""Files from strangers: read only so far as they are of a sane size, unpacked only so far, and never beyond their folder."""

from __future__ import annotations

import zlib
from pathlib import Path

from .refusals import Refused

MOST_BYTES = 16 * 2**20
"""Of a file, packed or unpacked: a drawing of ten thousand lines has one or two megabytes. More takes memory for nothing."""
MOST_LINES = 10_000
"""Lines in one drawing, each time that it is drawn counted: a pattern of thirty pieces has a few hundred."""
MOST_POINTS = 100_000
"""Points of all lines together."""
DEEPEST = 60
"""How many groups may stand in each other."""
DAMAGE = (ArithmeticError, AssertionError, AttributeError, LookupError, RecursionError, TypeError, ValueError)
"""What the libraries that read such files raise where one is damaged: they were written for whole ones. (`Refused` is a
`ValueError` too, and is let through.)"""
GZIP = b"\x1f\x8b"


def contents(file: Path, what: str = "file") -> bytes:
    """What is in a file. Raises Refused where it is none, cannot be read, or is larger than any drawing."""
    where = str(file)
    try:
        if not file.is_file():
            missing = "is no plain file" if file.exists() else "is not there"
            raise Refused(f"{where!r} {missing}", where=what, expected="a file that is there")
        with file.open("rb") as page:
            read = page.read(MOST_BYTES + 1)
    except (OSError, ValueError) as fault:
        if isinstance(fault, Refused):
            raise
        told = getattr(fault, "strerror", None) or fault
        raise Refused(f"{where!r} cannot be read: {told}", where=what, expected="a file that may be read") from None
    if len(read) > MOST_BYTES:
        raise _too_large(where)
    if not read.strip():
        raise Refused(f"{where!r} is empty", where=what, expected="a file in which there is something")
    return read


def unpacked(read: bytes, where: str) -> bytes:
    """What a file holds that may be packed by gzip. Raises Refused for one that is damaged, or unpacks without end."""
    if not read.startswith(GZIP):
        return read
    unpacker = zlib.decompressobj(wbits=zlib.MAX_WBITS | 16)
    try:
        held = unpacker.decompress(read, MOST_BYTES + 1)
    except zlib.error as fault:
        raise Refused(f"{where!r} cannot be unpacked: {fault}", where="file", expected="a file that is whole") from None
    if len(held) > MOST_BYTES:
        raise _too_large(where)
    if not unpacker.eof:
        raise Refused(f"{where!r} breaks off before its end", where="file", expected="a file that is whole")
    return held


def inside(folder: Path, name: str) -> Path:
    """The file of that name in a folder, or below it. Raises Refused for one that lies elsewhere, links followed."""
    try:
        root = folder.resolve()
        found = (root / name).resolve()
    except (OSError, ValueError, RuntimeError):
        found = root = Path()
    if found == root or not found.is_relative_to(root):
        raise Refused(f"{name!r:.80} does not lie in the folder of the table", where="drawing", expected="a file beside it")
    return found


def _too_large(where: str) -> Refused:
    return Refused(
        f"{where!r} holds more than {MOST_BYTES // 2**20} MB",
        where="file",
        expected="the lines of a pattern or a scrap, which take far less",
        next="Leave out pictures and what is not needed, and save it again",
    )


def too_much(what: str) -> Refused:
    """The refusal of a file that would take all the memory there is."""
    return Refused(
        f"it has more than {what}",
        where="drawing",
        expected="the lines of a pattern or of some scraps",
        next="Leave out what is not needed, and save it again",
    )
