"""What the workroom owns and has done: cloths, remnants, patterns, jobs, lay plans, the cloth book.

Open a `Workroom` and hand it to the verbs, which are functions in modules named by the trade:

    cloths    add, get, every                    jobs      add, get, every
    outlines  by_points, rectangle, bitten       asking    ask: from a job to the engine's case
    remnants  log, get, put_apart, release       lays      record, get, every, prove, foresee, chalk, rub_out
    finding   find: the bin list                 cutting   cut
    patterns  add, add_piece, get, every         book      balance, entries
    settings  read, change                       words     the fixed words: states, kinds, faces, accounts

They take and give plain frozen data (mm, mm², g, g/m²; the book: 0.01 mm² and mg), never print, and raise `Refused` (what was
given is wrong) or `CannotBeDone` (as things are, it cannot be); each verb is one transaction.
"""

from . import asking, book, cloths, cutting, finding, jobs, lays, outlines, patterns, remnants, settings, words
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
    "remnants",
    "settings",
    "words",
    "workroom_address",
]
