"""Days of work in which all that the book knows happens, in any order, beside a plain model of sums that knows nothing of it.

`Days` does one thing at a time, chosen by whatever chooses: hypothesis in the tests, a seeded generator in the benchmark of
ten thousand events. `Model` is the reference: a dictionary of sums for each account, and what there should be under each tag.
It is told what a person at the table would know (what came, what it measured and weighed before and after), never the book's
lines.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Protocol, TypeVar

from stash import (
    CannotBeDone,
    Refused,
    Workroom,
    asking,
    book,
    cloths,
    cutting,
    envelopes,
    joining,
    keepers,
    lays,
    leaving,
    losing,
    measuring,
    outlines,
    patterns,
    remnants,
    settings,
    splitting,
    undoing,
    washing,
)
from stash.envelopes import NewEnvelope
from stash.jobs import ClothRule, NewJobPiece
from stash.jobs import add as add_job
from stash.measuring import Measures
from stash.remnants import NewRemnant, Remnant
from stash.words import Account, LayState, RemnantState

from .scenes import linen, rows

T = TypeVar("T")
Pair = tuple[int, int]
WEIGHT = 187.3


class Chooser(Protocol):
    """Whatever chooses."""

    def pick(self, among: Sequence[T]) -> T: ...

    def number(self, least: int, most: int) -> int: ...


def booked(remnant: Remnant) -> Pair:
    return round(remnant.area * 100), round(remnant.mass * 1000)


@dataclass
class Model:
    """The plain reference: sums by account; what each tag in the bin and among the lost should hold; what each entry moved."""

    accounts: dict[Account, Pair] = field(default_factory=lambda: dict.fromkeys(Account, (0, 0)))
    there: dict[str, Pair] = field(default_factory=dict)
    lost: dict[str, Pair] = field(default_factory=dict)
    moved: dict[int, dict[Account, Pair]] = field(default_factory=dict)

    def move(self, entry: int, **amounts: Pair) -> None:
        """Move amounts: + into an account. What is not said comes out of, or goes into, nothing: it must add up."""
        by = {Account(name.replace("_", " ").replace("re measured", "re-measured")): pair for name, pair in amounts.items()}
        assert (sum(p[0] for p in by.values()), sum(p[1] for p in by.values())) == (0, 0), amounts
        self.moved[entry] = by
        self._add(by, 1)

    def undo(self, entry: int) -> None:
        """Take it all back."""
        self._add(self.moved.pop(entry), -1)

    def _add(self, by: dict[Account, Pair], sign: int) -> None:
        for account, (area, mass) in by.items():
            old = self.accounts[account]
            self.accounts[account] = (old[0] + sign * area, old[1] + sign * mass)


def minus(pair: Pair) -> Pair:
    return -pair[0], -pair[1]


def plus(*pairs: Pair) -> Pair:
    return sum(pair[0] for pair in pairs), sum(pair[1] for pair in pairs)


@dataclass
class Days:
    """A workroom at work, and the model beside it."""

    workroom: Workroom
    chooser: Chooser
    model: Model = field(default_factory=Model)
    seen: Counter[str] = field(default_factory=Counter)
    logged: int = 0
    chalked: list[int] = field(default_factory=list)
    entries: int = 0
    events: int = 0
    tags: dict[RemnantState, list[str]] = field(default_factory=lambda: defaultdict(list))

    def open_up(self) -> None:
        settings.choose_currency(self.workroom, "EUR")
        linen(self.workroom, weight=WEIGHT)
        patterns.add(
            self.workroom,
            "shirt",
            [patterns.NewPiece(name="cuff", ring=((0, 0), (97.3, 2.1), (95, 61), (0, 58.7)), allowance=5)],
        )
        rule = ClothRule(cloths=("blue linen",))
        add_job(self.workroom, "shirts", [NewJobPiece(pattern="shirt", piece="cuff", count=9_999, rule=rule)])
        envelopes.add(self.workroom, NewEnvelope(tag="E1", cloth="blue linen"))
        self.envelope: Pair = (0, 0)

    # --- what can happen ----------------------------------------------------------------------------------------------

    def happen(self) -> str:
        """One thing that can happen now; its name."""
        can: list[Callable[[], None]] = [self.log, self.put_in]
        if self.in_bin:
            can += [self.chalk, self.measure, self.wash, self.lose, self.leave, self.split, self.put_away]
        if len(self.in_bin) > 1:
            can.append(self.join)
        if self.chalked:
            can += [self.cut, self.cut, self.rub_out]
        if self.tags[RemnantState.LOST]:
            can.append(self.find)
        if self.envelope[1] > 1000:
            can += [self.take_out, self.weigh_envelope]
        if self.model.moved:
            can += [self.undo, self.undo]
        if self.events % 50 == 49:
            can = [self.weigh_cloth]
        doing = self.chooser.pick(can)
        self.events += 1
        doing()
        self.seen[doing.__name__] += 1
        return doing.__name__

    @property
    def in_bin(self) -> list[str]:
        return self.tags[RemnantState.IN_BIN]

    def a_tag(self, among: list[str] | None = None) -> str:
        return self.chooser.pick(among if among is not None else self.in_bin)

    def entry(self) -> int:
        """The number of the entry that was posted just now."""
        self.entries += 1
        return self.entries

    def come(self, *found: Remnant) -> None:
        for remnant in found:
            self.tags[RemnantState.IN_BIN].append(remnant.tag)
            self.model.there[remnant.tag] = booked(remnant)

    def go(self, tag: str) -> Pair:
        self.tags[RemnantState.IN_BIN].remove(tag)
        return self.model.there.pop(tag)

    def log(self) -> None:
        self.logged += 1
        c = self.chooser
        outline = outlines.rectangle(c.number(1100, 4300) / 10, c.number(800, 3300) / 10)
        mass = c.pick((None, None, c.number(500, 60_000) / 1000))
        new = NewRemnant(tag=f"R{self.logged}", cloth="blue linen", outline=outline, mass=mass)
        kept = remnants.log(self.workroom, new, by="MB")
        self.come(kept)
        self.model.move(self.entry(), **{"in": minus(booked(kept)), "bin": booked(kept)})

    def measure(self) -> None:
        tag = self.a_tag()
        before = self.model.there[tag]
        outline = outlines.rectangle(self.chooser.number(900, 4000) / 10, self.chooser.number(700, 3000) / 10)
        mass = self.chooser.pick((None, self.chooser.number(500, 50_000) / 1000))
        after = booked(measuring.measure_again(self.workroom, tag, Measures(outline=outline, mass=mass), by="MB"))
        self.model.there[tag] = after
        self.model.move(self.entry(), bin=plus(after, minus(before)), re_measured=plus(before, minus(after)))

    def wash(self) -> None:
        tag = self.a_tag()
        before = self.model.there[tag]
        remnant = remnants.get(self.workroom, tag)
        share = self.chooser.number(90, 102) / 100
        told = Measures(outline=outlines.rectangle(remnant.rect_length * share, remnant.rect_width))
        after = booked(washing.wash(self.workroom, tag, "cold", told, by="MB").remnant)
        assert after[1] == before[1]
        self.model.there[tag] = after
        self.model.move(self.entry(), bin=plus(after, minus(before)), shrunk=plus(before, minus(after)))

    def lose(self) -> None:
        tag = self.a_tag()
        losing.not_there(self.workroom, tag, by="MB")
        amount = self.go(tag)
        self.tags[RemnantState.LOST].append(tag)
        self.model.lost[tag] = amount
        self.model.move(self.entry(), bin=minus(amount), lost=amount)

    def find(self) -> None:
        tag = self.a_tag(self.tags[RemnantState.LOST])
        losing.found_again(self.workroom, tag, by="MB")
        self.tags[RemnantState.LOST].remove(tag)
        self.tags[RemnantState.IN_BIN].append(tag)
        amount = self.model.there[tag] = self.model.lost.pop(tag)
        self.model.move(self.entry(), bin=amount, lost=minus(amount))

    def leave(self) -> None:
        tag, how = self.a_tag(), self.chooser.number(0, 2)
        if how == 0:
            leaving.give_away(self.workroom, tag, to="the school", by="MB")
        elif how == 1:
            leaving.sell(self.workroom, tag, price=self.chooser.number(0, 900), by="MB")
        else:
            leaving.throw_away(self.workroom, tag, by="MB")
        amount = self.go(tag)
        self.model.move(self.entry(), bin=minus(amount), out=amount)

    def split(self) -> None:
        tag = self.a_tag()
        at = self.chooser.number(5, 95) / 100
        remnant = remnants.get(self.workroom, tag)
        line = splitting.across(remnant.length * at)
        try:
            done = splitting.split(self.workroom, tag, [line], by="MB")
        except Refused:
            return
        amount = self.go(tag)
        parts = plus(*(booked(part) for part in done.parts))
        self.come(*done.parts)
        rag = plus(amount, minus(parts))
        assert min(rag) >= 0
        self.model.move(self.entry(), bin=plus(parts, minus(amount)), rag_bag=rag)

    def join(self) -> None:
        one = self.a_tag()
        other = self.a_tag([tag for tag in self.in_bin if tag != one])
        self.logged += 1
        amount = plus(self.model.there[one], self.model.there[other])
        side = (amount[0] / 100 * 0.9) ** 0.5
        told = Measures(outline=outlines.rectangle(side, side))
        done = joining.join(self.workroom, f"J{self.logged}", [one, other], told, by="MB")
        self.go(one)
        self.go(other)
        self.come(done.remnant)
        whole = booked(done.remnant)
        self.model.move(self.entry(), bin=plus(whole, minus(amount)), re_measured=plus(amount, minus(whole)))

    def chalk(self) -> None:
        """A lay of a few panels on one or two remnants: no entry."""
        tags = list({self.a_tag(), self.a_tag()})
        try:
            asked = asking.ask(self.workroom, "shirts", only=tags)
            lay = lays.record(self.workroom, asked, rows(asked, self.chooser.number(1, 4)), by="MB")
        except (CannotBeDone, Refused):
            return
        lays.chalk(self.workroom, lay.number, by="MB")
        self.chalked.append(lay.number)
        for sheet in lay.sheets:
            self.tags[RemnantState.IN_BIN].remove(sheet.remnant.tag)

    def rub_out(self) -> None:
        number = self.chooser.pick(self.chalked)
        self.chalked.remove(number)
        done = lays.rub_out(self.workroom, number, by="MB")
        self.tags[RemnantState.IN_BIN] += [sheet.remnant.tag for sheet in done.sheets]

    def cut(self) -> None:
        number = self.chooser.pick(self.chalked)
        self.chalked.remove(number)
        panels = len(lays.get(self.workroom, number).panels)
        spoiled = [1] if self.chooser.number(0, 3) == 0 else []
        uncut = [panels] if panels > 2 and self.chooser.number(0, 3) == 0 else []
        done = cutting.cut(self.workroom, number, by="MB", spoiled=spoiled, uncut=uncut)
        taken, good, rags = [], [], []
        for sheet in done.sheets:
            if sheet.whole:
                self.tags[RemnantState.IN_BIN].append(sheet.tag)
                continue
            taken.append(self.model.there.pop(sheet.tag))
            good.append((round(sheet.panel_area * 100), round(sheet.panel_mass * 1000)))
            rags.append((round(sheet.spoiled_area * 100), round(sheet.spoiled_mass * 1000)))
            rags.append((round(sheet.rag_area * 100), round(sheet.rag_mass * 1000)))
            self.come(*sheet.keepers)
            taken += [minus(booked(keeper)) for keeper in sheet.keepers]
        self.model.move(self.entry(), bin=minus(plus(*taken)), cut_work=plus(*good), rag_bag=plus(*rags))
        if waiting := [keeper.tag for sheet in done.sheets for keeper in sheet.keepers]:
            keepers.confirm(self.workroom, waiting, by="MB")

    def put_in(self) -> None:
        mass = self.chooser.number(1, 30_000)
        after = envelopes.put_in(self.workroom, "E1", mass / 1000, by="MB")
        self.fill(after, "in")

    def take_out(self) -> None:
        after = envelopes.take_out(self.workroom, "E1", self.chooser.number(1, self.envelope[1] - 1) / 1000, by="MB")
        self.fill(after, "rag_bag")

    def weigh_envelope(self) -> None:
        mass = self.envelope[1] + self.chooser.pick((-900, -1, 1, 700))
        self.fill(envelopes.weigh_again(self.workroom, "E1", mass / 1000, by="MB"), "re_measured")

    def put_away(self) -> None:
        tag = self.a_tag()
        mass = self.chooser.number(1, 20_000)
        after = envelopes.put_away(self.workroom, "E1", [tag], mass=mass / 1000, by="MB")
        amount = self.go(tag)
        now = round(after.area * 100), round(after.mass * 1000)
        more = plus(now, minus(self.envelope))
        assert more == (amount[0], mass)
        self.envelope = now
        self.model.move(self.entry(), bin=plus(more, minus(amount)), re_measured=plus(amount, minus(more)))

    def fill(self, after: envelopes.Envelope, account: str) -> None:
        now = round(after.area * 100), round(after.mass * 1000)
        more = plus(now, minus(self.envelope))
        self.envelope = now
        self.model.move(self.entry(), **{"bin": more, account: minus(more)})

    def weigh_cloth(self) -> None:
        weight = WEIGHT + self.chooser.number(-400, 400) / 10
        try:
            done = cloths.weigh_again(self.workroom, "blue linen", weight, by="MB")
        except Refused:
            return
        if done.entry is None:
            return
        more = {"bin": 0, "lost": 0}
        for tag in done.remnants:
            now = booked(remnants.get(self.workroom, tag))
            where, kept = ("lost", self.model.lost) if tag in self.model.lost else ("bin", self.model.there)
            more[where] += now[1] - kept[tag][1]
            kept[tag] = now
        amounts = {name: (0, mass) for name, mass in more.items()}
        self.model.move(self.entry(), re_measured=minus(plus(*amounts.values())), **amounts)

    def undo(self) -> None:
        """Undo one of the last entries; refused where later ones stand on it, or a lay does."""
        number = self.chooser.pick(list(self.model.moved)[-12:])
        try:
            done = undoing.undo(self.workroom, number, why="written down wrongly", by="MB")
        except CannotBeDone:
            self.seen["refused to undo"] += 1
            return
        self.entry()
        self.model.undo(number)
        self.look_again(done)

    def look_again(self, done: undoing.Undone) -> None:
        """What an undoing has put back is looked up where a person would look: under the tags that it names."""
        touched = {line.remnant for line in done.entry.lines if line.remnant} | set(done.back) | set(done.struck_out)
        for tag in touched:
            plain = tag.partition("×")[0]
            for kept in (self.model.there, self.model.lost):
                kept.pop(plain, None)
            for tags in self.tags.values():
                if plain in tags:
                    tags.remove(plain)
        for tag in {tag for tag in touched if "×" not in tag} - set(done.struck_out):
            remnant = remnants.get(self.workroom, tag)
            if remnant.state in (RemnantState.IN_BIN, RemnantState.HELD):
                self.model.there[tag] = booked(remnant)
            if remnant.state is RemnantState.LOST:
                self.model.lost[tag] = booked(remnant)
            if remnant.state in (RemnantState.IN_BIN, RemnantState.LOST):
                self.tags[remnant.state].append(tag)
        bag = envelopes.get(self.workroom, "E1")
        self.envelope = round(bag.area * 100), round(bag.mass * 1000)
        self.chalked = [lay.number for lay in lays.every(self.workroom, states=(LayState.CHALKED,))]

    # --- what must hold -----------------------------------------------------------------------------------------------

    def must_agree(self) -> None:
        """The book and the model say the same, account by account; what is there is what the model has."""
        found = book.balance(self.workroom)
        assert found.balanced
        assert {total.account: (total.area, total.mass) for total in found.totals} == self.model.accounts
        assert found.entries == self.entries
        assert plus(*self.model.there.values(), self.envelope) == self.model.accounts[Account.BIN]
        assert plus(*self.model.lost.values()) == self.model.accounts[Account.LOST]
