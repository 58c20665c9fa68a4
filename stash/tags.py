"""Tags: the next in a row, and those of keepers.

A keeper has its parent's tag and one sign more, to be written and read with chalk.

A letter is added to a tag that ends in a digit, a digit to one that ends in a letter, so that each generation can be told at
sight: from L7 come L7A and L7B, from L7B come L7B1 and L7B2. I and O are left out, which chalk cannot tell from 1 and 0.
"""

from __future__ import annotations

import re
from collections.abc import Container, Iterator
from itertools import count, islice

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"


def following(tag: str) -> str:
    """The tag after this one in a row, as many digits wide; "" for one that does not end in a number.

    >>> following("N-07"), following("L99"), following("L7B")
    ('N-08', 'L100', '')
    """
    counted = re.fullmatch(r"(.*?)(\d+)", tag)
    return f"{counted[1]}{int(counted[2]) + 1:0{len(counted[2])}d}" if counted else ""


def tags_for(parent: str, how_many: int, taken: Container[str]) -> list[str]:
    """Tags for that many keepers of a remnant, none of them taken.

    >>> tags_for("L7", 3, {"L7B"})
    ['L7A', 'L7C', 'L7D']
    >>> tags_for("L7B", 2, ())
    ['L7B1', 'L7B2']
    """
    signs = _numbers() if parent[-1].isalpha() else _letters()
    free = (parent + sign for sign in signs if parent + sign not in taken)
    return list(islice(free, how_many))


def _numbers() -> Iterator[str]:
    return (str(number) for number in count(1))


def _letters() -> Iterator[str]:
    """A, B … Z, AA, AB …"""
    for length in count(1):
        for number in range(len(LETTERS) ** length):
            sign = ""
            for _ in range(length):
                number, place = divmod(number, len(LETTERS))
                sign = LETTERS[place] + sign
            yield sign
