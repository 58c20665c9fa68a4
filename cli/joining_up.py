"""Panels joined from two, in words: proposed where whole ones do not suffice, and told of in a lay; never silently."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .saying import Voice, many

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from stash import CannotBeDone
    from stash.cutting import Cut
    from stash.jobs import Job, JobPiece
    from stash.lays import LaidPanel, Lay
    from stash.piecing import Joined, Piecing

    from .shown import Shown


def propose(voice: Voice, job: str, found: Piecing) -> None:
    """What joining would give, what it saves and what it costs, and how to ask for it."""
    from .job import quoted

    shown = voice.shown
    rest = f"; {many(found.missing, 'panel')} would still be missing" if found.missing else ": then none is missing"
    voice.line()
    voice.line(f"With joins {many(found.count, 'more panel')} can be had, from what is too small for a whole one{rest}.")
    for each in found.joined:
        voice.line(f"  {in_words(each, shown)}.")
    tags = sorted({p.sheet for p in found.result.placements if found.asked.panels[p.panel].part is not None})
    voice.line(
        f"  It saves looking for {shown.area(found.saved)} of cloth, uses {', '.join(tags)}, and takes "
        f"{shown.area(found.more)} more for the seams, {shown.length(found.seams)} to be sewn."
    )
    voice.next_steps((f"fent lay try {quoted(job)} --joins", "have the lay with joins kept"))


def in_words(each: Joined, shown: Shown) -> str:
    """What is joined, where, and what to mind."""
    hand = f" ({each.hand})" if each.hand else ""
    way, end = ("along", "near edge") if each.along else ("across", "left end")
    said = (
        f"{each.count} {each.piece}{hand} from two parts each, a seam of {shown.length(each.seam)} {way} the grain, "
        f"{shown.length(each.off)} from its {end}, {shown.fine(each.allowance)} on either side"
    )
    return said + ("; do not sew two of them to each other, their seams would meet" if each.apart and each.count > 1 else "")


def tell(voice: Voice, lay: Lay) -> None:
    """Which panels of a lay are parts, and of what."""
    for said in pairs_in_words(lay.panels):
        voice.line(said)


def pairs_in_words(panels: Sequence[LaidPanel]) -> list[str]:
    """Which two parts go together, by their numbers."""
    by_number: dict[int, list[LaidPanel]] = {}
    for panel in panels:
        if panel.joined is not None:
            by_number.setdefault(panel.joined, []).append(panel)
    pieces: dict[str, list[str]] = {}
    for two in by_number.values():
        first = min(two, key=lambda panel: panel.part or 0)
        called = f"{first.piece} ({first.hand})" if first.hand else first.piece
        pieces.setdefault(called, []).append(" and ".join(str(panel.number) for panel in two))
    return [
        f"Joined from two: {piece}, {'; '.join(f'panels {numbers}' for numbers in several)}. Sew these before the others."
        for piece, several in pieces.items()
    ]


def still_missing(job: str, found: Piecing, kept: int) -> CannotBeDone:
    """The last words where joins did not do it all."""
    from stash import CannotBeDone

    return CannotBeDone(
        f"{many(found.missing, 'panel')} for {job} {'is' if found.missing == 1 else 'are'} missing, even with joins",
        next=f"log more remnants (fent bin add); what was found is kept as lay {kept}",
    )


def after_the_cut(voice: Voice, done: Cut) -> None:
    """Parts that were cut and have no other."""
    for good, other in done.widowed:
        voice.aside(
            f"Panel {good} is one part of a panel of which the other, panel {other}, is not there: keep it with the job. "
            "The job still needs that panel."
        )


def kept_in_words(piece: JobPiece) -> Iterator[str]:
    """The parts of a piece that wait for their other, and which that is."""
    for part in piece.kept:
        hand = f" ({part.hand})" if part.hand else ""
        yield f"part {part.part} of one{hand}, panel {part.number} of lay {part.lay}; its part {3 - part.part} is not there"


def tell_kept(voice: Voice, job: Job) -> None:
    """What can be done with parts that lie with a job, while it still lacks what they are of."""
    from .job import quoted

    for piece in job.pieces:
        if not piece.kept or not piece.missing:
            continue
        voice.line()
        voice.line(
            f"The next lay for {job.name} cuts {piece.piece.name} anew, whole or both parts: it does not count on what "
            "is kept."
        )
        if piece.piece.joins:
            others = " or ".join(
                f'"{piece.piece.pattern}/{piece.piece.name}, part {part}: 1"'
                for part in sorted({3 - kept.part for kept in piece.kept})
            )
            voice.line(
                f"To cut only the other part, if it was joined at a marked line: fent pattern in-two "
                f"{quoted(piece.piece.pattern)} {quoted(piece.piece.name)}, then a job of its own, with --piece {others}."
            )
