"""What the workroom owns and has done: cloths, remnants, patterns, jobs, lay plans, the cloth book.

Open a `Workroom` and hand it to the verbs, which are functions in modules named by the trade:

    cloths     add, get, every
    outlines   by_points, rectangle, bitten, round_spot: how an outline is measured
    remnants   log, get, put_apart, release
    finding    find: the bin list
    patterns   add, add_piece, get, every, tapered
    jobs       add, get, every
    asking     ask: from a job to the engine's case
    lays       preview, record, get, every, foresee, chalk, rub_out
    proving    prove: the independent check
    cutting    cut
    book       balance, entries
    settings   read, change
    words      the fixed words: states, kinds, faces, accounts
    refusals   what is raised, and why

They take and give plain frozen data (mm, mm², g, g/m²; the book: 0.01 mm² and mg), never print, and raise `Refused` (what was
given is wrong) or `CannotBeDone` (as things are, it cannot be); each verb is one transaction.
"""

from . import (
    asking,
    book,
    cloths,
    cutting,
    finding,
    jobs,
    lays,
    outlines,
    patterns,
    proving,
    refusals,
    remnants,
    settings,
    words,
)
from .refusals import CannotBeDone, Plainly, Refused
from .workroom import Workroom, workroom_address

__all__ = [
    "CannotBeDone",
    "Plainly",
    "Refused",
    "Workroom",
    "asking",
    "book",
    "cloths",
    "cutting",
    "finding",
    "jobs",
    "lays",
    "outlines",
    "patterns",
    "proving",
    "refusals",
    "remnants",
    "settings",
    "words",
    "workroom_address",
]
