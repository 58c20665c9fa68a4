"""Undoing an entry of the book: the same lines with the opposite sign, with the reason, and what the event changed put back.

Nothing is taken out of the book. An entry on which later ones stand is not undone before those are.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import func, or_, select
from sqlalchemy.orm import Session

from .before import put_back
from .book import Entry, Posting, entry_of, post, undone_entries
from .given import a_reason, initials
from .refusals import Held, StoodOn, Unknown, WrongState
from .tables import (
    ClothBeforeRow,
    ClothRow,
    EntryRow,
    EnvelopeRow,
    LayRow,
    LaySheetRow,
    LineRow,
    MendedRow,
    RemnantBeforeRow,
    RemnantRow,
)
from .words import Account, Event, Fate, LayState, RemnantState, Subject
from .workroom import Workroom

STRUCK = "×"
"""Stands after the tag of a remnant that was struck out, so that the tag itself can be chalked on the cloth again. No tag that
a person gives has it."""
NAMED = 5
"""As many later entries are named in a refusal as can be taken in at a glance."""


@dataclass(frozen=True, slots=True)
class Undone:
    """What undoing did: the entry that undoes, the one that it undoes, and the tags of remnants that are back in the bin or
    held again, and of those that are struck out (as they were called)."""

    entry: Entry
    undone: Entry
    back: tuple[str, ...]
    struck_out: tuple[str, ...]


def undo(workroom: Workroom, number: int, *, why: str, by: str) -> Undone:
    """Undo an entry of the book.

    Raises Unknown; StoodOn (CannotBeDone) where later events stand on it, naming them; Held where a lay holds a remnant that
    would change; WrongState for an entry that is undone already or is itself an undoing; Refused without a reason or initials.
    """
    reason, who = a_reason(why, "undoing an entry"), initials(by, "undoing an entry")
    with workroom.writing() as session:
        entry = _entry_row(session, number)
        _must_stand(session, entry)
        touched = _Touched.by(session, entry)
        _nothing_stands_on(session, entry, touched)
        _no_lay_holds(entry, touched)
        posting = Posting(at=workroom.now(), event=Event.UNDONE, by=who, note=reason, lay_id=entry.lay_id, undoes_id=entry.id)
        posted = post(session, posting, [_opposite(line) for line in entry.lines], even_if_nothing_moves=True)
        work = _Work(session, workroom, entry, posted, touched, [], [])
        _empty_or_fill_envelopes(work)
        HOW.get(entry.event, _measures_back)(work)
        session.flush()
        return Undone(entry_of(posted, None), entry_of(entry, posted.id), tuple(work.back), tuple(work.struck_out))


# --- whether it can be done ----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Touched:
    """The remnants and envelopes of an entry: those that it took out of the bin, those that it put in, and all."""

    remnants: tuple[RemnantRow, ...]
    came: tuple[RemnantRow, ...]
    went: tuple[RemnantRow, ...]
    envelopes: tuple[EnvelopeRow, ...]

    @classmethod
    def by(cls, session: Session, entry: EntryRow) -> _Touched:
        amounts: dict[int, int] = {}
        for line in entry.lines:
            if line.account is Account.BIN and line.remnant_id is not None:
                amounts[line.remnant_id] = amounts.get(line.remnant_id, 0) + (line.area or line.mass)
        ids = {line.remnant_id for line in entry.lines if line.remnant_id is not None}
        if entry.event is Event.CUT:
            # A remnant of the lay from which nothing was cut went back whole: no line tells of it.
            on_it = session.scalars(select(LaySheetRow.remnant_id).where(LaySheetRow.lay_id == entry.lay_id))
            ids |= set(on_it) - _dropped(session, entry.lay_id)
        rows = session.scalars(
            select(RemnantRow).where(RemnantRow.id.in_(ids)).order_by(RemnantRow.id).with_for_update()
        ).all()
        bags = {line.envelope_id for line in entry.lines if line.envelope_id is not None}
        asked = select(EnvelopeRow).where(EnvelopeRow.id.in_(bags)).order_by(EnvelopeRow.id).with_for_update()
        return cls(
            remnants=tuple(rows),
            came=tuple(row for row in rows if amounts.get(row.id, 0) > 0),
            went=tuple(row for row in rows if amounts.get(row.id, 0) < 0),
            envelopes=tuple(session.scalars(asked)),
        )


def _entry_row(session: Session, number: int) -> EntryRow:
    entry = session.scalar(select(EntryRow).where(EntryRow.id == number))
    if entry is None:
        last = session.scalar(select(func.max(EntryRow.id)))
        raise Unknown(
            f"there is no entry {number}",
            where="entry",
            expected=f"a number from 1 to {last}" if last else "",
            next="Look for it with `fent book list`" if last else "The book is empty",
        )
    return entry


def _must_stand(session: Session, entry: EntryRow) -> None:
    """Raise WrongState unless an entry can be undone at all."""
    undone_by = undone_entries(session).get(entry.id)
    if undone_by is not None:
        raise WrongState(
            f"entry {entry.id} is undone already, by entry {undone_by}", where="entry", expected="an entry that stands"
        )
    if entry.event is Event.UNDONE:
        raise WrongState(
            f"entry {entry.id} is itself an undoing, of entry {entry.undoes_id}",
            where="entry",
            expected="an entry of something that was done",
            next="If it was right after all, do it once more",
        )


def _nothing_stands_on(session: Session, entry: EntryRow, touched: _Touched) -> None:
    """Raise StoodOn where later entries that stand have moved the same remnants or envelopes."""
    undone = undone_entries(session)
    mine = or_(
        LineRow.remnant_id.in_([row.id for row in touched.remnants]),
        LineRow.envelope_id.in_([row.id for row in touched.envelopes]),
    )
    if session.scalar(select(ClothBeforeRow.id).where(ClothBeforeRow.entry_id == entry.id)) is not None:
        # By the weight that a cloth was given, remnants have been logged since.
        mine = or_(mine, LineRow.cloth_id.in_({line.cloth_id for line in entry.lines}))
    asked = select(EntryRow).join(LineRow).where(EntryRow.id > entry.id, EntryRow.event != Event.UNDONE, mine)
    later = [row for row in session.scalars(asked.distinct().order_by(EntryRow.id)) if row.id not in undone]
    if later:
        named = ", ".join(f"entry {row.id} ({row.event}, {row.at:%Y-%m-%d})" for row in later[:NAMED])
        more = f" and {len(later) - NAMED} more" if len(later) > NAMED else ""
        raise StoodOn(
            f"later events stand on entry {entry.id}: {named}{more}",
            where="entry",
            expected="an entry on which nothing stands",
            next=f"Undo those first, the last one first: fent book undo {later[-1].id}",
            entries=tuple(row.id for row in later),
        )


def _no_lay_holds(entry: EntryRow, touched: _Touched) -> None:
    """Raise Held where a chalked lay counts on a remnant that would change; WrongState where one that would be struck out is
    in quarantine, which must not be forgotten with it."""
    for row in touched.remnants:
        if row.held_by_id is not None and not _only_its_mass(entry):
            raise Held(
                f"lay {row.held_by_id} stands on entry {entry.id}: it holds {row.tag}",
                where="entry",
                expected="remnants that no lay holds",
                next=f"Rub it out first: fent lay rub-out {row.held_by_id}",
            )
    if entry.event in STRIKES_OUT:
        for row in touched.came:
            if row.quarantined:
                raise WrongState(
                    f"{row.tag} is in quarantine: {row.quarantine_reason}",
                    where="entry",
                    expected="remnants in no quarantine",
                    next=f"Someone who knows that it is safe may release it with `fent bin release {row.tag}`",
                )


def _only_its_mass(entry: EntryRow) -> bool:
    """Whether nothing changes that a lay relies on."""
    return entry.event is Event.WEIGHED_AGAIN


# --- how it is done ------------------------------------------------------------------------------------------------------


@dataclass(slots=True)
class _Work:
    """An undoing at work."""

    session: Session
    workroom: Workroom
    entry: EntryRow
    posted: EntryRow
    touched: _Touched
    back: list[str]
    struck_out: list[str]


def _opposite(line: LineRow) -> LineRow:
    return LineRow(
        account=line.account,
        detail=line.detail,
        cloth_id=line.cloth_id,
        remnant_id=line.remnant_id,
        envelope_id=line.envelope_id,
        job_id=line.job_id,
        area=-line.area,
        mass=-line.mass,
    )


def _empty_or_fill_envelopes(work: _Work) -> None:
    for line in work.posted.lines:
        if line.account is Account.BIN and line.envelope_id is not None:
            envelope = work.session.get_one(EnvelopeRow, line.envelope_id)
            envelope.area, envelope.mass = envelope.area + line.area, envelope.mass + line.mass


def _strike_out(work: _Work) -> None:
    """What the event put into the bin never was; its tag is free again."""
    for row in work.touched.came:
        tag = row.tag
        work.struck_out.append(tag)
        row.state = RemnantState.STRUCK_OUT
        row.revision += 1
        like = select(RemnantRow.tag).where(RemnantRow.tag.startswith(f"{tag}{STRUCK}", autoescape=True))
        taken = set(work.session.scalars(like))
        struck = (f"{tag}{STRUCK}{number}" for number in range(2, len(taken) + 3))
        row.tag = f"{tag}{STRUCK}" if f"{tag}{STRUCK}" not in taken else next(name for name in struck if name not in taken)
        _call_anew_in_lays(work.session, row, tag)
        work.session.add(
            MendedRow(
                at=work.posted.at,
                by=work.posted.by,
                note=f"entry {work.entry.id} undone: {work.posted.note}",
                subject=Subject.REMNANT,
                subject_id=row.id,
                what="tag",
                before=tag,
                after=row.tag,
            )
        )


def _call_anew_in_lays(session: Session, row: RemnantRow, tag: str) -> None:
    """The cases of lays name their sheets by tag."""

    def anew(names: Sequence[str]) -> list[str]:
        return [row.tag if name == tag else name for name in names]

    for lay in session.scalars(select(LayRow).join(LaySheetRow).where(LaySheetRow.remnant_id == row.id)):
        case = dict(lay.case)
        for what, key in (("sheets", "id"), ("fixed", "sheet")):
            if what in case:
                case[what] = [each | {key: row.tag} if each[key] == tag else each for each in case[what]]
        case["panels"] = [each | {"on": anew(each["on"])} if "on" in each else each for each in case["panels"]]
        lay.case = case


def _bring_back(work: _Work) -> None:
    """What the event took out of the bin is in it again."""
    for row in work.touched.went:
        row.state = RemnantState.IN_BIN
        work.back.append(row.tag)


def _bring_back_and_strike_out(work: _Work) -> None:
    _bring_back(work)
    _strike_out(work)


def _lose_again(work: _Work) -> None:
    for row in work.touched.came:
        row.state = RemnantState.LOST


def _not_lost(work: _Work) -> None:
    """Back into the bin; or to the lay that held it, if that has not gone on without it."""
    _bring_back(work)
    if work.entry.lay_id is None:
        return
    lay = work.session.get_one(LayRow, work.entry.lay_id)
    (row,) = work.touched.went
    replaced = any(each.state in (LayState.CHALKED, LayState.CUT) for each in lay.replacements)
    if lay.state is LayState.RUBBED_OUT and not replaced and lay.note.endswith(f"{row.tag} was not there"):
        lay.state, lay.rubbed_out_at, lay.rubbed_out_by = LayState.CHALKED, None, ""
        lay.note = lay.note.removesuffix(f"{row.tag} was not there").rstrip("\n")
    if lay.state is LayState.CHALKED:
        row.state, row.held_by_id = RemnantState.HELD, lay.id
        for panel in lay.panels:
            if panel.remnant_id == row.id:
                panel.fate = Fate.PLANNED


def _uncut(work: _Work) -> None:
    """The keepers never were; the lay is chalked again, and holds what it held."""
    _strike_out(work)
    lay = work.session.get_one(LayRow, work.entry.lay_id)
    dropped = _dropped(work.session, lay.id)
    for sheet in lay.sheets:
        row = sheet.remnant
        if row.id not in dropped:
            if row not in work.touched.went and (row.state is not RemnantState.IN_BIN or row.revision != sheet.revision):
                raise StoodOn(
                    f"{row.tag}, which went back whole when lay {lay.id} was cut, has changed since",
                    where="entry",
                    expected="remnants as they were left by the cut",
                    next="Cut what is wanted as a new lay",
                )
            row.state, row.held_by_id = RemnantState.HELD, lay.id
            work.back.append(row.tag)
    for panel in lay.panels:
        panel.fate = Fate.UNCUT if panel.remnant_id in dropped else Fate.PLANNED
        panel.area = panel.mass = None
    lay.state, lay.cut_at, lay.cut_by = LayState.CHALKED, None, ""


def _dropped(session: Session, lay_id: int | None) -> set[int]:
    """The remnants that were not there when the lay was to be cut."""
    undone = undone_entries(session)
    lost = session.scalars(select(EntryRow).where(EntryRow.lay_id == lay_id, EntryRow.event == Event.LOST))
    return {line.remnant_id for entry in lost if entry.id not in undone for line in entry.lines if line.remnant_id is not None}


def _weight_back(work: _Work) -> None:
    """Mass by area as it was, and the cloth's weight with it; an envelope's is put right by its lines."""
    for line in work.posted.lines:
        if line.remnant_id is not None and line.account in (Account.BIN, Account.LOST):
            work.session.get_one(RemnantRow, line.remnant_id).mass += line.mass
    before = work.session.scalar(select(ClothBeforeRow).where(ClothBeforeRow.entry_id == work.entry.id))
    if before is not None:
        cloth = work.session.get_one(ClothRow, before.cloth_id)
        cloth.weight, cloth.weight_within = before.weight, before.weight_within
    elif work.touched.remnants:
        raise WrongState(
            "what the cloth was said to weigh before was not kept by the Fent of that day",
            where="entry",
            expected="an entry made since",
            next="Weigh the cloth again: `fent cloth weigh`",
        )


def _measures_back(work: _Work) -> None:
    """What `remnant_before` keeps of any event that changes measures."""
    kept = select(RemnantBeforeRow).where(RemnantBeforeRow.entry_id == work.entry.id)
    for before in work.session.scalars(kept).all():
        # How it was washed may have been mended since, and measuring does not change it.
        but = ("washed",) if work.entry.event is Event.MEASURED_AGAIN else ()
        row = work.session.get_one(RemnantRow, before.remnant_id)
        put_back(work.session, row, before, but=but)
        work.back.append(row.tag)


def _nothing_more(work: _Work) -> None:
    """The envelopes are all that it changed."""


STRIKES_OUT = (Event.LOGGED, Event.CUT, Event.SPLIT, Event.JOINED)
HOW: Mapping[Event, Callable[[_Work], None]] = {
    Event.LOGGED: _strike_out,
    Event.CUT: _uncut,
    Event.LOST: _not_lost,
    Event.FOUND_AGAIN: _lose_again,
    Event.MEASURED_AGAIN: _measures_back,
    Event.WEIGHED_AGAIN: _weight_back,
    Event.PUT_AWAY: _bring_back,
    Event.TAKEN_OUT: _nothing_more,
    Event.THROWN_AWAY: _bring_back,
    Event.GIVEN_AWAY: _bring_back,
    Event.SOLD: _bring_back,
    Event.SPLIT: _bring_back_and_strike_out,
    Event.JOINED: _bring_back_and_strike_out,
}
"""What is put back, by kind of event; of any other kind it is the measures that were kept of its remnants."""
