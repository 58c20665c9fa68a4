"""A shortage in words: what is missing, the true reason, what would do, and which remnants came closest."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .saying import Voice, many

if TYPE_CHECKING:
    from stash import CannotBeDone
    from stash.shortage import Loosening, OneHanded, Shortage, TooSmall

    from .shown import Shown

MOST_TAGS = 6


def tell(voice: Voice, short: Shortage) -> None:
    """The shortage, under the lay that was found or where there is none."""
    voice.line()
    voice.line(f"Missing: {_counts(short)}.")
    voice.line(f"Why: {reason(short, voice.shown)}")
    for one in short.one_handed:
        voice.line(_one_handed(one))
    would = [*(loosened(one, voice.shown) for one in short.loosenings), *_rectangle(short, voice.shown)]
    if would:
        voice.line("What would do, each by itself:")
        for text in would:
            voice.line(f"  {text}")
    else:
        voice.line("No one rule, loosened, was found to do.")
    if short.nearest:
        voice.line("Passed over, the nearest first:")
        for over in short.nearest:
            voice.line(f"  {over.tag}, for {over.piece}: {'; '.join(over.reasons)}")


def _counts(short: Shortage) -> str:
    return ", ".join(f"{count} {piece}" for piece, count in short.missing.items())


def reason(short: Shortage, shown: Shown) -> str:
    """The true reason, in a sentence or two."""
    pieces = " and ".join(short.pieces)
    if short.cause == "little":
        if not short.area:
            return "nothing in the bin will do, whatever its size."
        return (
            f"too little cloth will do. The panels of {pieces} take {shown.area(short.needed)}; all that the job allows is "
            f"{shown.area(short.area)}, its selvedges and raw edges left aside."
        )
    if short.cause == "small":
        return _too_small(short, pieces, shown)
    if short.cause == "turn":
        return f"{_forbids(short)} forbids it. Turned head to foot, all would go in; one way they {_proved(short)}."
    if short.cause == "hand":
        return (
            f"the two faces of the cloth are unlike, and {pieces} would have to be turned over. Turned over, all would go in; "
            f"right side up they {_proved(short)}."
        )
    if short.cause == "bound":
        return f"proved: these remnants can give no more than {many(short.bound or 0, 'panel')}, however they are laid."
    return "time ran out. It is not proved that these remnants cannot give them all: a longer try may."


def _proved(short: Shortage) -> str:
    if not short.proved:
        return "were not found to, which is not proved"
    return "cannot" if short.bound is None else f"cannot be more than {short.bound}, which is proved"


def _one_handed(one: OneHanded) -> str:
    """Which hand a remnant holds, and which it does not."""
    if one.holds is None:
        return f"{one.tag} would hold {one.piece} only turned over, with its wrong side up."
    return (
        f"{one.tag} holds the {one.holds} hand of {one.piece} and not the {one.lacks}: the faces of its cloth are unlike, and "
        f"the {one.lacks} hand would show the wrong side."
    )


def _forbids(short: Shortage) -> str:
    cloth = "cloth" in short.one_way
    pieces = [name for name in short.one_way if name != "cloth"]
    if cloth and not pieces:
        return "the nap of the cloth"
    one_way = f"that {' and '.join(pieces)} must lie one way"
    return f"the nap of the cloth, and {one_way}," if cloth else one_way


def _too_small(short: Shortage, pieces: str, shown: Shown) -> str:
    nearest = next(iter(short.too_small), None)
    if short.area:
        return (
            f"too few are long and wide enough on the grain. The remnants on which {pieces} has a place hold "
            f"{shown.area(short.area)}, and {shown.area(short.needed)} are wanted."
        )
    said = f"none of the remnants that will do is long and wide enough on the grain for {pieces}."
    return f"{said} {_nearest(nearest, shown)}" if nearest else said


def _nearest(one: TooSmall, shown: Shown) -> str:
    lacks = [f"{shown.length(by)} too {what}" for by, what in ((one.short, "short"), (one.narrow, "narrow")) if by > 0]
    if lacks:
        return f"{one.tag} comes nearest: {' and '.join(lacks)}."
    return f"{one.tag} is long and wide enough, but its outline, a fault or the way it must lie leaves no place."


def loosened(one: Loosening, shown: Shown) -> str:
    """A rule that would do, loosened so far: what it would have to allow, what it asks now, and what comes in by it."""
    tags = ", ".join(one.tags[:MOST_TAGS]) + (f" and {len(one.tags) - MOST_TAGS} more" if len(one.tags) > MOST_TAGS else "")
    come_in = f": {tags}" if tags else ""
    if isinstance(one.to, float) and isinstance(one.now, float):
        if one.rule in ("heaviest", "lightest"):
            which = "up to" if one.rule == "heaviest" else "from"
            return f"cloth {which} {shown.cloth_weight(one.to)} ({which} {shown.cloth_weight(one.now)} is asked){come_in}"
        if one.rule == "off grain":
            return f"panels up to {one.to:g}° off the grain, not {one.now:g}°"
        where = "between two cuts" if one.rule == "gap" else "kept from edges and faults"
        return f"{shown.fine(one.to)} {where}, not {shown.fine(one.now)}"
    if one.rule == "held":
        return f"what lay {one.to:g} holds, if it is rubbed out{come_in}"
    if one.rule == "quarantine":
        return f"what is in quarantine ({one.to}), if someone who knows that it is safe releases it{come_in}"
    if one.rule == "turn":
        return "panels turned head to foot, where the nap does not matter"
    if one.rule == "washed":
        return f"remnants that are not washed yet (`fent bin to-wash`; wash, press and measure them again){come_in}"
    only = "nothing but " if one.rule == "fibre" else ""
    return f"{one.to} as well ({only}{one.now} is asked){come_in}"


def _rectangle(short: Shortage, shown: Shown) -> list[str]:
    if short.closing is None:
        return []
    size = shown.size(short.closing.length, short.closing.width)
    area = shown.area(short.missing_area)
    return [f"one more remnant with a rectangle of {size} on the grain, clear of faults (its panels are {area})"]


def refusal(job: str, short: Shortage, kept: int | None) -> CannotBeDone:
    """The last words: what is missing, and what to do next."""
    from stash import CannotBeDone

    also = f"; what was found is kept as lay {kept}" if kept else ""
    longer = "try for longer, " if short.cause == "time" else ""
    return CannotBeDone(
        f"{_counts(short)} for {job} {'is' if sum(short.missing.values()) == 1 else 'are'} missing",
        next=f"{longer}loosen a rule or log more remnants (fent bin add){also}",
    )
