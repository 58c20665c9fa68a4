"""What the workroom owns and has done: cloths, remnants, patterns, jobs, lay plans, the cloth book.

Open a `Workroom` and hand it to the verbs, which are functions in modules named by the trade:

    cloths     add, get, every, weigh_again
    weighing   weigh_piece: a cloth's weight from a piece of it
    outlines   by_points, rectangle, bitten, round_spot: how an outline is measured
    walking    walk: … by a walk round it
    tying      tie: … by sides and diagonals between lettered corners
    tape       Tape: how near it was read
    camera     reading.read_photograph: … off a photograph beside its scale
    graining   by_selvedge, by_side, by_thread: which way the grain runs
    remnants   log, get, put_apart, release
    proposing  after_the_last: what is proposed for the next
    lists      log, written: many at once, from a table and into one; piece_lists: the same of pieces
    measuring  measure_again
    washing    wash, worth_washing
    envelopes  add, get, every, put_in, put_away, take_out, weigh_again
    finding    find: the bin list
    recognising  which: the remnant whose tag is lost
    losing     not_there, found_again
    mending    mend_cloth, mend_remnant, mend_envelope, every: descriptions put right
    patterns   add, add_piece, get, piece, every, drafted, tapered
    drawings   of_piece, of_remnant, beside: a drawing at true scale; svg_writing, dxf_writing: written
    drawing_files  read, written: SVG and DXF files; line_roles: sort_out, which line is what
    drawn_pieces, drawn_remnants  pieces, keep; remnants: … out of what was read
    piece_lines edge_lines, notch_ticks, narrowest: what lies on a piece's lines
    piece_parts in_two: a piece made of two at a join
    drafting   Draft, panel, resized: a tapered panel from its measures
    sewn_ring  rings: what panels make when they are sewn together
    seams      sew, unpick, prove: how a pattern goes together
    jobs       add, get, every
    asking     ask, ask_round: from a job to the engine's case
    seeking    seek: the search, with spares, lots, pairs and what must be used
    pairing    in_pairs, odd_ones: left and right from one remnant
    offering   offers: up to three lays, by several aims
    plies      what a stack of a lay is; ply_proof: edges_of, faults, each ply by itself; hand_proof: a measure for the hand
    squareness out_of_square: remnants whose weft is not square to their warp
    piecing    piecing: panels joined from two, where a piece permits it (`joins`)
    flaw_rules every, choose: where flaws may lie, by kind and face
    matching   measure_bars: stripes and checks; unmatched: matching_loss, what matching costs
    shortage   shortage: why a lay falls short, and what would do
    ordering   order: in which order to cut
    dockets    docket, measures, to_pull: what goes to the cutting table
    wrong_side from_the_wrong_side: a docket for whoever chalks there
    yields     of_piece, of_jobs, of_binding: the question turned round
    bias_binding  from_lay: strips from what a lay leaves, with their joins
    terms      Terms, ByHand, AsInLay: how a lay is asked for
    roughness  worth_measuring: which rough remnants
    lays       preview, record, get, every, foresee, chalk, rub_out
    rearranging  begin, change, keep: a lay changed by hand; `on_table` has what may be done to it
    proving    prove: the independent check
    cutting    cut
    keepers    waiting, confirm
    splitting  split, across, along: by hand
    joining    join: sewn together
    leaving    give_away, sell, throw_away
    book       balance, entries
    audit      audit: the whole stash gone through
    reports    report, in_bin, longest, jobs, planned, months, years; what they tell is in `reported`
    undoing    undo
    lives      of_remnant, of_cloth: what became of it
    photographs   keep, of
    tracing    log, measure_again, in_folder: off photographs
    writing_out, reading_in   write_out, read_in: the whole stash as plain text
    telling    tell_in: the units in which refusals and reasons tell measures
    settings   read, change, currency, choose_currency
    words      the fixed words: states, kinds, faces, accounts
    refusals   what is raised, and why

They take and give plain frozen data (mm, mm², g, g/m²; the book: 0.01 mm² and mg), never print, and raise `Refused` (what was
given is wrong) or `CannotBeDone` (as things are, it cannot be); each verb is one transaction.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from . import (
        asking,
        audit,
        bias_binding,
        book,
        camera,
        cloths,
        cutting,
        dockets,
        drafting,
        drawing_files,
        drawings,
        drawn_pieces,
        drawn_remnants,
        dxf_writing,
        envelopes,
        finding,
        flaw_rules,
        found_lines,
        graining,
        hand_proof,
        jobs,
        joining,
        keepers,
        lay_drawings,
        lays,
        leaving,
        line_roles,
        lists,
        lives,
        losing,
        matching,
        measuring,
        mending,
        offering,
        on_table,
        ordering,
        outlines,
        pairing,
        patterns,
        photographs,
        piece_lines,
        piece_lists,
        piece_parts,
        piecing,
        plies,
        ply_proof,
        proposing,
        proving,
        reading_in,
        rearranging,
        recognising,
        refusals,
        remnants,
        reported,
        reports,
        roughness,
        seams,
        seeking,
        settings,
        sewn_ring,
        shortage,
        splitting,
        squareness,
        strange_files,
        svg_writing,
        table_rows,
        tape,
        telling,
        terms,
        tracing,
        tying,
        undoing,
        unmatched,
        walking,
        washing,
        weighing,
        words,
        writing_out,
        wrong_side,
        yields,
    )
    from .refusals import CannotBeDone, Plainly, Refused
    from .workroom import Workroom, workroom_address

# Loaded when they are first asked for: a list of cloths needs no geometry, which takes longer to load than the list to make.
_WHERE = {
    "CannotBeDone": "refusals",
    "Plainly": "refusals",
    "Refused": "refusals",
    "Workroom": "workroom",
    "workroom_address": "workroom",
}

__all__ = [
    "CannotBeDone",
    "Plainly",
    "Refused",
    "Workroom",
    "asking",
    "audit",
    "bars",
    "bias_binding",
    "book",
    "camera",
    "cloths",
    "cutting",
    "dockets",
    "drafting",
    "drawing_files",
    "drawings",
    "drawn_pieces",
    "drawn_remnants",
    "dxf_writing",
    "envelopes",
    "finding",
    "flaw_rules",
    "found_lines",
    "graining",
    "hand_proof",
    "jobs",
    "joining",
    "keepers",
    "lay_drawings",
    "lays",
    "leaving",
    "line_roles",
    "lists",
    "lives",
    "losing",
    "matching",
    "measuring",
    "mending",
    "offering",
    "on_table",
    "ordering",
    "outlines",
    "pairing",
    "patterns",
    "photographs",
    "piece_lines",
    "piece_lists",
    "piece_parts",
    "piecing",
    "plies",
    "ply_proof",
    "proposing",
    "proving",
    "reading_in",
    "rearranging",
    "recognising",
    "refusals",
    "remnants",
    "reported",
    "reports",
    "roughness",
    "seams",
    "seeking",
    "settings",
    "sewn_ring",
    "shortage",
    "splitting",
    "squareness",
    "strange_files",
    "svg_writing",
    "table_rows",
    "tape",
    "telling",
    "terms",
    "tracing",
    "tying",
    "undoing",
    "unmatched",
    "walking",
    "washing",
    "weighing",
    "words",
    "workroom_address",
    "writing_out",
    "wrong_side",
    "yields",
]


def __getattr__(name: str) -> object:
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    module = import_module(f".{_WHERE.get(name, name)}", __name__)
    found: object = getattr(module, name) if name in _WHERE else module
    globals()[name] = found  # asked once
    return found


def __dir__() -> list[str]:
    return __all__
